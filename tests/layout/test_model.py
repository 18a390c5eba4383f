"""The declarations: a contradiction is refused, and the book as declared keeps its own laws."""

import ast
from pathlib import Path
from typing import Any

import pytest

import apiarybook
from apiarybook.book.headings import plain_heading
from apiarybook.book.settings import setting_column
from apiarybook.errors import LayoutError
from apiarybook.layout import BOOK, SETTINGS, Column, Group, Kind, Layout, Role, Setting, Sheet, View

EVERY_SHEET = pytest.mark.parametrize("sheet", BOOK.sheets, ids=lambda sheet: sheet.name)

PACKAGE = Path(apiarybook.__file__).parent
OF_TWO = {"rules_balance.py"}
"""Its rule is about feeds and moves and would be about no other sheet."""

PROMPT_LIMIT = 255  # characters of an input message, ECMA-376 part 1, dataValidation@prompt
TITLE_LIMIT = 32  # characters of its title, the same, @promptTitle


@pytest.mark.parametrize(
    ("declared", "part"),
    [
        ({"key": "Gross"}, "lower case"),
        ({"key": "two words"}, "lower case"),
        ({"prompt": ""}, "needs a prompt"),
        ({"prompt": "x" * 256}, "at most 255"),
        ({"heading": "x" * 33}, "at most 32"),
        ({"possible": None}, "needs possible bounds"),
        ({"possible": (9.0, 1.0)}, "wrong way round"),
        ({"likely": (0.0, 60.0)}, "outside possible"),
        ({"kind": Kind.NUMBER}, "needs a unit"),
        ({"kind": Kind.TEXT}, "bounds are for numbers"),
        ({"kind": Kind.CHOICE, "possible": None}, "needs its choices"),
        ({"role": Role.VALUE, "required": True}, "only a typed column"),
    ],
)
def test_a_column_that_contradicts_itself_is_refused(declared: dict[str, Any], part: str) -> None:
    sound: dict[str, Any] = {"key": "gross", "kind": Kind.MASS, "possible": (1.0, 50.0), "prompt": "Type it."}
    Column(**sound)
    with pytest.raises(LayoutError, match=part):
        Column(**{**sound, **declared})


def text(key: str, **declared: Any) -> Column:
    return Column(key=key, kind=Kind.TEXT, prompt="Type it.", **declared)


def sheet(name: str, *columns: Column, group: Group = Group.TYPE_HERE) -> Sheet:
    return Sheet(name=name, group=group, row_is="a row", columns=columns)


@pytest.mark.parametrize("name", ["", "x" * 32, "a/b", "a:b", "[a]", "it's"])
def test_a_sheet_name_that_no_spreadsheet_takes_is_refused(name: str) -> None:
    with pytest.raises(LayoutError, match="1 to 31"):
        sheet(name, text("a"))


def test_a_doubled_key_heading_or_alias_is_refused() -> None:
    with pytest.raises(LayoutError, match="stands twice"):
        sheet("One", text("a"), text("a", heading="other"))
    with pytest.raises(LayoutError, match="stands twice"):
        sheet("One", text("a"), text("b", heading="A"))
    with pytest.raises(LayoutError, match="stands twice"):
        sheet("One", text("a"), text("b", aliases=("a",)))


def test_a_reference_or_view_that_leads_nowhere_is_refused() -> None:
    with pytest.raises(LayoutError, match=r"'Two\.a' is no column"):
        Layout(sheets=(sheet("One", text("a", refers_to="Two.a")),))
    with pytest.raises(LayoutError, match=r"'One\.b' is no column"):
        Layout(sheets=(sheet("One", text("a")),), views=(View(name="V", parts=(("One", ("b",)),)),))


def test_sheets_of_one_name_or_out_of_order_are_refused() -> None:
    with pytest.raises(LayoutError, match="one name"):
        Layout(sheets=(sheet("One", text("a")), sheet("One", text("a"))))
    with pytest.raises(LayoutError, match="order"):
        Layout(sheets=(sheet("One", text("a"), group=Group.SETTINGS), sheet("Two", text("a"))))


def test_no_list_of_sheets_is_kept_outside_the_layout() -> None:
    names = {*BOOK.by_name, *(view.name for view in BOOK.views)}
    kept = [
        f"{path.name}:{node.lineno}"
        for path in PACKAGE.rglob("*.py")
        if not {"layout", "demo"} & set(path.parts) and path.name not in OF_TWO
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, (ast.Tuple, ast.List, ast.Set)) and not _of_names(node)
        if len([one for one in node.elts if isinstance(one, ast.Constant) and one.value in names]) > 1
    ]
    assert kept == []


def _of_names(node: ast.expr) -> bool:
    """Two constants in one line: names, not a list."""
    return isinstance(node, ast.Tuple) and len(node.elts) == 2


@EVERY_SHEET
def test_what_people_fill_says_what_belongs_there(sheet: Sheet) -> None:
    for column in sheet.columns:
        assert sheet[column.key] is column
        assert len(column.prompt) <= PROMPT_LIMIT
        assert 0 < len(column.heading) <= TITLE_LIMIT
        if column.role is Role.TYPED:
            assert column.prompt.endswith((".", "?"))


@EVERY_SHEET
def test_a_number_has_a_unit_and_a_typed_one_its_bounds(sheet: Sheet) -> None:
    for column in sheet.columns:
        if column.numeric:
            assert column.unit
        if column.numeric and column.role is Role.TYPED:
            assert column.possible
            assert column.possible[0] < column.possible[1]
        if column.likely and column.possible:
            assert column.possible[0] <= column.likely[0] < column.likely[1] <= column.possible[1]


@EVERY_SHEET
def test_a_reference_leads_to_the_code_or_name_of_its_list(sheet: Sheet) -> None:
    for column in sheet.columns:
        if column.refers_to:
            name, _, key = column.refers_to.partition(".")
            assert BOOK[name][key].kind in {Kind.CODE, Kind.TEXT}
            assert BOOK[name][key].unique or BOOK[name].group is Group.MACHINERY


@EVERY_SHEET
def test_choices_are_different_words_of_one_line(sheet: Sheet) -> None:
    for column in sheet.columns:
        words = [word.casefold() for word in column.choices]
        assert len(set(words)) == len(words)
        assert all(word == " ".join(word.split()) for word in words)
        assert len(",".join(column.choices)) <= PROMPT_LIMIT  # a list typed into a validation has the same limit


@EVERY_SHEET
def test_headings_differ_also_as_they_are_compared(sheet: Sheet) -> None:
    names = [plain_heading(name) for column in sheet.columns for name in (column.heading, *column.aliases)]
    assert len(set(names)) == len(names)


@EVERY_SHEET
def test_a_row_that_people_fill_can_be_named(sheet: Sheet) -> None:
    if sheet.group is Group.TYPE_HERE:
        assert any(column.unique for column in sheet.typed)


@pytest.mark.parametrize("view", BOOK.views, ids=lambda view: view.name)
def test_a_view_shows_each_heading_once_and_is_no_sheet_of_its_own(view: View) -> None:
    columns = [BOOK[name][key] for name, keys in view.parts for key in keys]
    names = [plain_heading(column.heading) for column in columns]
    assert sorted({name for name in names if names.count(name) > 1}) == []
    assert view.name not in BOOK.by_name


@pytest.mark.parametrize("setting", SETTINGS, ids=lambda setting: setting.key)
def test_a_setting_is_a_sound_column_and_its_default_is_allowed(setting: Setting) -> None:
    column = setting_column(setting)
    if isinstance(setting.default, float) and column.possible:
        assert column.possible[0] <= setting.default <= column.possible[1]
    if column.choices and setting.default:
        assert setting.default in column.choices
    if setting.refers_to:
        name, _, key = setting.refers_to.partition(".")
        assert key in BOOK[name].by_key
