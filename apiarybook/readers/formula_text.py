"""Formula texts brought to one notation, whichever program wrote them and however the file shares them."""

import re

from apiarybook.readers.limits import column_letters, column_number

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


_NAMESPACE = re.compile(r"[a-z]+:(?==)")
_OPEN_TOKEN = re.compile(r"""(?P<text>"(?:[^"]|"")*")|\[(?P<reference>(?:'(?:[^']|'')*'|[^\]'])*)\]|;""")
_SIDE = re.compile(r"(?:\$?(?P<sheet>'(?:[^']|'')*'|[^.:'#]+))?\.(?P<cell>[$A-Z0-9]+)")


def from_open_formula(formula: str) -> str:
    r"""Write an OpenDocument formula as the other formats do: A1 references, arguments parted by commas.

    Args:
        formula: as it stands in the file, with or without its namespace.

    >>> from_open_formula('of:=IF([.A1]<>"a;b";SUM([$\'Hive types\'.B$2:.B9]);0)')
    '=IF(A1<>"a;b",SUM(\'Hive types\'!B$2:B9),0)'
    """
    return _OPEN_TOKEN.sub(_from_open_token, _NAMESPACE.sub("", formula, count=1))


def _from_open_token(found: re.Match[str]) -> str:
    if found["text"] is not None:
        return found[0]
    if found["reference"] is None:
        return ","
    sides = [_SIDE.fullmatch(side) for side in re.split(r":(?=[.$'A-Z])", found["reference"])]
    cells = [side["cell"] for side in sides if side]
    if len(cells) != len(sides) or sides[0] is None:
        return found[0]
    sheet = sides[0]["sheet"]
    return (f"{sheet}!" if sheet else "") + ":".join(cells)


_CONSTANTS = {"=TRUE()", "=FALSE()"}


def is_constant(formula: str) -> bool:
    """Whether this is no formula that a person typed, but the way in which some programs save true and false.

    >>> is_constant("=TRUE()"), is_constant("=A1")
    (True, False)
    """
    return formula in _CONSTANTS
