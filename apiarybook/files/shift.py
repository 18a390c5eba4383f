"""Formulas that a file writes once for a run of cells, shifted to the cell they stand in."""

import re

from apiarybook.files.limits import column_letters, column_number

_TOKEN = re.compile(
    r"""
    "(?:[^"]|"")*"                                              # text
    | '(?:[^']|'')*'!?                                          # a quoted sheet name
    | \[[^\]]*\]                                                # a part of a table or another book
    | (?P<lead>\$?)(?P<letters>[A-Z]{1,3})(?P<fix>\$?)(?P<digits>[1-9]\d{0,6})(?![\w.(!\[])
    | (?P<from_fix>\$?)(?P<from_column>[A-Z]{1,3}):(?P<to_fix>\$?)(?P<to_column>[A-Z]{1,3})(?![\w.(!$])
    | (?P<top_fix>\$?)(?P<top>[1-9]\d{0,6}):(?P<end_fix>\$?)(?P<end>[1-9]\d{0,6})(?![\w.(!$])
    | [\w.\\]+[!(]?                                             # names, numbers, functions, sheet names
    """,
    re.VERBOSE,
)


def shift_formula(formula: str, down: int, right: int) -> str:
    r"""Shift the relative references of a formula as copying its cell would.

    Args:
        formula: the formula without its leading =.
        down: rows downward.
        right: columns to the right.

    >>> shift_formula("IF(A2>$B$1,SUM(C:C),'D4'!E$5)&\"F6\"", 1, 2)
    'IF(C3>$B$1,SUM(E:E),\'D4\'!G$5)&"F6"'
    """
    return _TOKEN.sub(lambda found: _shifted(found, down, right), formula)


def _shifted(found: re.Match[str], down: int, right: int) -> str:
    if found["letters"]:
        return _column(found["lead"], found["letters"], right) + _row(found["fix"], found["digits"], down)
    if found["from_column"]:
        first = _column(found["from_fix"], found["from_column"], right)
        return first + ":" + _column(found["to_fix"], found["to_column"], right)
    if found["top"]:
        return _row(found["top_fix"], found["top"], down) + ":" + _row(found["end_fix"], found["end"], down)
    return found[0]


def _column(fix: str, letters: str, right: int) -> str:
    return fix + (letters if fix else column_letters(column_number(letters) + right))


def _row(fix: str, digits: str, down: int) -> str:
    return fix + (digits if fix else str(int(digits) + down))
