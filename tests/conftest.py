"""Which tests are long: whole books written and read many times over; they run on their own with -m long."""

from __future__ import annotations

from pathlib import Path

import pytest

LONG = {
    "engines/test_typed_oddly.py",
    "files/test_kept.py",
    "gather/test_collate.py",
    "gather/test_faults.py",
    "gather/test_fold.py",
    "gather/test_handout.py",
    "gather/test_hostile.py",
    "gather/test_real_programs.py",
    "reckon/test_verdict_laws.py",
    "show/test_cards_printed.py",
}
HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.is_relative_to(HERE) and item.path.relative_to(HERE).as_posix() in LONG:
            item.add_marker(pytest.mark.long)
