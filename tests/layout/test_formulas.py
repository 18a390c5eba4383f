"""Laws over all live formulas: every live column has one, and none needs a newer program than the portable set."""

import re

import pytest

from apiarybook.layout import BOOK, Role
from apiarybook.layout.formulas import TEMPLATES
from apiarybook.writers.plan import club_plan

PLACES = club_plan({sheet.name: 10 for sheet in BOOK.sheets}, 9).places()
PORTABLE = {
    "ABS",
    "AND",
    "AVERAGEIFS",
    "CHOOSE",
    "COUNTA",
    "COUNTIF",
    "COUNTIFS",
    "DATE",
    "DAY",
    "FIND",
    "IF",
    "IFERROR",
    "INDEX",
    "INT",
    "ISNUMBER",
    "ISTEXT",
    "LEFT",
    "MATCH",
    "MAX",
    "MAXIFS",
    "MIN",
    "MOD",
    "MONTH",
    "NORMSDIST",
    "NORMSINV",
    "NOT",
    "OR",
    "RIGHT",
    "ROUND",
    "ROUNDUP",
    "ROW",
    "ROWS",
    "SQRT",
    "SUM",
    "SUMIFS",
    "SUMPRODUCT",
    "YEAR",
}
"""Functions of the OpenFormula small to large groups that three engines were seen to agree on; none is volatile.

MAXIFS is younger (Microsoft, Excel 2019): it stands only where something else does for programs that do not know it.
"""
LONGEST, DEEPEST = 8192, 64
"""Characters of a formula and levels of nesting (ISO/IEC 29500 as spreadsheet programs implement it)."""


def test_live_columns_and_templates_are_one_set() -> None:
    live = {(sheet.name, column.key) for sheet in BOOK.sheets for column in sheet.columns if column.role is Role.LIVE}
    assert live == set(TEMPLATES)


@pytest.mark.parametrize("place", TEMPLATES, ids=".".join)
def test_formula_is_portable(place: tuple[str, str]) -> None:
    formula = PLACES.compile(TEMPLATES[place], place[0], BOOK[place[0]].first_row)
    bare = re.sub(r'"[^"]*"', '""', formula)
    assert set(re.findall(r"([A-Z][A-Z0-9.]*)\(", bare)) <= PORTABLE
    assert bare.count("MAXIFS(") == bare.count("IFERROR(_xlfn.MAXIFS(")
    assert len(formula) <= LONGEST
    depth = deepest = 0
    for sign in bare:
        depth += (sign == "(") - (sign == ")")
        deepest = max(deepest, depth)
    assert depth == 0
    assert deepest <= DEEPEST
    assert not re.search(r"[\[\]{}]", bare)
