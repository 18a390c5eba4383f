"""The house: imports point down, nothing goes in a circle, and every room keeps its door."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "apiarybook"
ROOMS = (
    "errors",
    "handbook",
    "layout",
    "readers",
    "reckon",
    "book",
    "writers",
    "checks",
    "club",
    "pages",
    "gather",
    "desk",
    "cli",
    "demo",
    "guide",
    "api",
)
"""From the ground up: a room takes from those before it."""
ON_TOP = {"apiarybook.cli.commands", "apiarybook.__main__"}
"""The commands themselves stand over all rooms."""
KEPT_APART = {"errors": set(), "handbook": {"errors"}, "readers": {"errors"}, "reckon": {"handbook"}}
"""Rooms that take from few: what each may import of ours."""


def _name(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {_name(path): path for path in sorted(PACKAGE.rglob("*.py"))}


def _imported(path: Path) -> set[str]:
    """Every module of ours that a module imports, at the top, when called, and for types alone."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == "apiarybook":
            inner = {f"{node.module}.{name.name}" for name in node.names}
            found |= {one if one in MODULES else node.module for one in inner}
        elif isinstance(node, ast.Import):
            found |= {name.name for name in node.names if name.name in MODULES}
    return found


COLLECTED = {name for name in MODULES if name.startswith("apiarybook.checks.rules_")}
"""Modules that `checks/rules.py` finds by their names."""


@pytest.fixture(scope="module")
def imports() -> dict[str, set[str]]:
    """By module of ours, which others of ours it imports."""
    found = {name: _imported(path) for name, path in MODULES.items()}
    found["apiarybook.checks.rules"] |= COLLECTED
    return found


def _room(module: str) -> str:
    return module.split(".")[1] if "." in module else ""


def _below(module: str, imports: dict[str, set[str]]) -> set[str]:
    seen: set[str] = set()
    ahead = list(imports[module])
    while ahead:
        one = ahead.pop()
        if one not in seen:
            seen.add(one)
            ahead += imports[one]
    return seen


def test_no_import_goes_in_a_circle(imports: dict[str, set[str]]) -> None:
    assert [name for name in MODULES if name in _below(name, imports)] == []


@pytest.mark.parametrize("room", sorted(KEPT_APART))
def test_a_room_that_stands_alone_imports_no_other(room: str, imports: dict[str, set[str]]) -> None:
    taken = {(name, one) for name, of in imports.items() if _room(name) == room for one in of}
    assert {pair for pair in taken if _room(pair[1]) not in KEPT_APART[room] | {room}} == set()


def test_rooms_take_only_from_those_below(imports: dict[str, set[str]]) -> None:
    order = {room: at for at, room in enumerate(ROOMS)}
    known = {_room(name) for name in MODULES} - {"", "__main__"}
    assert known <= set(ROOMS), "a new room: give it its place in ROOMS and a line in DEVELOPERS.md"
    pairs = {(name, one) for name, of in imports.items() for one in of if not {name, one} & ON_TOP}
    within = {(name, one) for name, one in pairs if _room(name) in order and _room(one) in order}
    upward = {(name, one) for name, one in within if order[_room(one)] > order[_room(name)]}
    assert upward == set()


SERVES_ONE = {
    "demo.season": "the days of the invented club, apart from the year that is told of it",
    "desk.gathering": "the page of one evening, with its own buttons and files",
    "desk.guard": "what keeps strangers out is read and tried apart from what it guards",
    "gather.changes": "the lines of one sheet, apart from the rows that they tell of",
    "gather.fold": "a pure function of claims and decisions, tried in any order without a book",
    "gather.returns": "one file that came back, apart from all of them together",
    "handbook.load": "the door of its room, which all others take, has nothing to do but open it",
    "layout.formulas.standing": "a table of formulas that the door of its room puts beside the others",
    "layout.formulas.winter": "likewise",
    "layout.lists": "a table of sheets that the door of its room puts beside the others",
    "layout.read_here": "likewise",
    "readers.ods": "a format of files, and all that may be wrong with one",
    "readers.xls_worker": "runs in a process of its own, which must be able to end without harm",
    "reckon.outlook.rate": "one model, with its own sources, of the season that is made of many",
}
"""Modules that are right to stand apart from the only one of their room that imports them, and why."""


def test_few_modules_serve_a_single_other(imports: dict[str, set[str]]) -> None:
    """A fragment that only one module needs belongs into it; doors of a room, and what a command does, are none."""
    importers = {name: {other for other, of in imports.items() if name in of} for name in MODULES}
    single = {
        name.removeprefix("apiarybook.")
        for name, by in importers.items()
        if len(by) == 1 and MODULES[name].name != "__init__.py" and _room(name) == _room(next(iter(by)))
        if name not in COLLECTED and not (_room(name) == "cli" and by == {"apiarybook.cli.commands"})
    }
    assert single == SERVES_ONE.keys()


def test_every_room_stands_in_the_map() -> None:
    told = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert [room for room in ROOMS if room != "errors" and f"apiarybook/{room}" not in told] == []
