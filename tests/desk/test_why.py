"""The arithmetic that the desk lays out comes to the figure that it stands under."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from apiarybook.book.tables import read_book
from apiarybook.club.reckoned import reckon_book
from apiarybook.desk.reading import why

BOOK = Path(__file__).parents[2] / "demo" / "Alder Vale 2026.xlsx"
SIGNS = {"": 1.0, "and": 1.0, "less": -1.0}
SHOWN = 0.005
"""Half the last digit of a term; the sum of a short one is shown to a tenth."""


@pytest.mark.parametrize("day", [date(2026, 9, 20), date(2026, 10, 10), date(2027, 1, 20)])
def test_the_terms_of_every_colony_come_to_their_sum(day: date) -> None:
    reckoned = reckon_book(read_book(BOOK), day)
    hefted = 0
    for colony in reckoned.season.standing["colony"].dropna():
        for title, terms in why(reckoned, colony).steps:
            total, added = 0.0, 0
            for term in terms:
                value = float(term.value.split()[0])
                if term.is_sum:
                    tenth = 0.05 if term.what == "short by" else SHOWN
                    assert value == pytest.approx(total, abs=added * SHOWN + tenth + 1e-9), (colony, title)
                    break
                total, added = total + SIGNS[term.how] * value, added + 1
                hefted += term.what == "moved by the heft"
    assert hefted > 0
