"""Which tests are long, and which are quick.

Long are those that write and read whole books many times over; they run on their own with -m long. Quick is, by what
its own code, its fixtures and its helpers name, a test that needs no other process and writes no whole book.
"""

from __future__ import annotations

from inspect import isclass, isfunction, ismodule, unwrap
from pathlib import Path
from types import CodeType, FunctionType
from typing import TYPE_CHECKING

import pytest
from hypothesis import Phase, settings

if TYPE_CHECKING:
    from collections.abc import Iterator

settings.register_profile("untimed", deadline=None, max_examples=30)
settings.register_profile("unshrunk", deadline=None, max_examples=30, phases=(Phase.explicit, Phase.generate))
settings.load_profile("untimed")

LONG = {
    "checks/test_hands.py",
    "checks/test_unexplained.py",
    "layout/test_newcomer.py",
    "engines/test_change_by_hand.py",
    "engines/test_later_hefts.py",
    "engines/test_many_books.py",
    "engines/test_typed_oddly.py",
    "book/test_dates_written.py",
    "readers/test_hostile_kinds.py",
    "book/test_older_layout.py",
    "writers/test_set_by_people.py",
    "writers/test_user_additions.py",
    "gather/test_collate.py",
    "gather/test_faults.py",
    "gather/test_fold.py",
    "gather/test_handout.py",
    "gather/test_hostile.py",
    "gather/test_real_programs.py",
    "gather/test_typed_oddly.py",
    "outside/test_balance_of_record.py",
    "reckon/balance/test_balance.py",
    "reckon/standing/test_evidence.py",
    "reckon/hive/test_moves.py",
    "reckon/balance/test_readings.py",
    "reckon/outlook/test_till_flow.py",
    "reckon/standing/test_verdict_laws.py",
    "reckon/year/test_year.py",
    "pages/test_cards.py",
    "pages/test_cards_printed.py",
    "demo/test_demo.py",
    "cli/test_hefting.py",
    "cli/test_sharing.py",
    "speed/test_hefting_saves.py",
    "speed/test_outlook_coverage.py",
    "speed/test_year_learns.py",
    "club/test_carry.py",
    "club/test_closing.py",
    "club/test_year_end.py",
}
WHOLE = (
    *(
        "doctest",
        "subprocess",
        "multiprocessing",
        "openpyxl",
        "xlsxwriter",
        "formualizer",
        "frictionless",
        "playwright",
    ),
    *("apiarybook.api", "apiarybook.cli", "apiarybook.club", "apiarybook.demo", "apiarybook.desk.desk"),
    *("apiarybook.desk.server", "apiarybook.gather.collate", "apiarybook.gather.handout", "apiarybook.gather.on_disk"),
    *("apiarybook.gather.sharing", "apiarybook.guide.blank_books", "apiarybook.pages.card_page"),
    *("apiarybook.readers.xls_worker", "apiarybook.writers.workbook", "tests.engines.small_books"),
)
"""Modules, and rooms, whose functions write whole books or draw them by chance, look into them or start processes."""
HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    seen: dict[object, bool] = {}
    for item in items:
        if item.path.is_relative_to(HERE) and item.path.relative_to(HERE).as_posix() in LONG:
            item.add_marker(pytest.mark.long)
        if not any(map(item.get_closest_marker, ("long", "speed", "engine"))) and not _needs_whole(item, seen):
            item.add_marker(pytest.mark.quick)


def _needs_whole(item: pytest.Function | pytest.DoctestItem, seen: dict[object, bool]) -> bool:
    if not isinstance(item, pytest.Function):
        return _is_in(item.dtest.globs["__name__"], WHOLE)
    fixtures = [one.func for named in item._fixtureinfo.name2fixturedefs.values() for one in named]
    test = getattr(item.obj, "hypothesis", None)
    given = item.callspec.params.values() if hasattr(item, "callspec") else ()
    return any(_reaches(one, seen) for one in (test.inner_test if test else item.obj, *fixtures, *given))


def _reaches(thing: object, seen: dict[object, bool]) -> bool:
    """Whether something is of such a module, or is of the tests and names such a thing."""
    module = thing.__name__ if ismodule(thing) else str(getattr(thing, "__module__", ""))
    if _is_in(module, WHOLE):
        return True
    if not _is_in(module, ("tests", "conftest")) or not (callable(thing) or ismodule(thing)):
        return False
    if thing not in seen:
        seen[thing] = False
        seen[thing] = any(
            _reaches(one, seen) if not isinstance(one, str) else _is_in(one, WHOLE) for one in _named(thing)
        )
    return seen[thing]


def _named(thing: object) -> Iterator[object]:
    """What the code of a function or class names: things of its module, and modules that it imports."""
    if isclass(thing):
        yield from (one for one in vars(thing).values() if isfunction(one))
    bare = unwrap(thing) if callable(thing) else thing
    if isinstance(bare, FunctionType):
        codes = [bare.__code__]
        for code in codes:
            codes += [one for one in code.co_consts if isinstance(one, CodeType)]
            yield from (bare.__globals__.get(name, name) for name in code.co_names)


def _is_in(module: str, rooms: tuple[str, ...]) -> bool:
    return any(module == room or module.startswith(f"{room}.") for room in rooms)
