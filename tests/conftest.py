"""Which tests are long: whole books written and read many times over; they run on their own with -m long."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")

LONG = {
    "checks/test_counts.py",
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
HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.is_relative_to(HERE) and item.path.relative_to(HERE).as_posix() in LONG:
            item.add_marker(pytest.mark.long)
