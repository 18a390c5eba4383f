"""Reply notes say what is open, where, and what to do, and whatever anyone typed stands in them as text."""

from dataclasses import replace
from datetime import date
from html.parser import HTMLParser

import pytest

from apiarybook.pages.notes import Note, Question, Received, Stands, as_page, as_text, note_name, reminder

NOTE = Note(
    club="Alder Vale",
    member="M1",
    name="Ann Alder",
    winter="2026/27",
    as_at=date(2026, 9, 25),
    received=(Received("May.xlsx", "2026-09-24T20:15:00", "12 rows: 9 new, 3 as they were"),),
    questions=(
        Question(
            "May.xlsx", "Weighings", ("F7",), "reading 1", "385", "It weighs too much.", "Weigh again.", held=True
        ),
    ),
    colonies=(
        Stands(
            "A1",
            "feed",
            should_weigh="35.5 kg",
            should_on="2026-09-25",
            short_by="4.5 kg",
            feed="5.1 kg of Syrup (4.0 l, 1 fill)",
            by_date="2026-10-05",
            because="15.9 of 20.4 kg, give or take 1.1; weighed 24 Sep",
        ),
        Stands("A2", "enough"),
    ),
)
HOSTILE = ("<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "{{ 7*7 }}", "=HYPERLINK(1)", "{% raw %}")


class Tags(HTMLParser):
    """The tags and addresses of a page, and its words."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.addresses: list[str] = []
        self.words = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.addresses += [str(value) for name, value in attrs if name in ("src", "href", "action")]

    def handle_data(self, data: str) -> None:
        self.words += data


def test_text_names_place_value_and_what_to_do() -> None:
    text = as_text(NOTE)
    assert "May.xlsx, saved 2026-09-24T20:15:00: 12 rows: 9 new, 3 as they were" in text
    assert "1. May.xlsx, sheet Weighings, cell F7 (reading 1)\n   You typed: 385" in text
    assert "not used until it is mended" in text
    assert "What to do: Weigh again." in text
    assert (
        "- A1: feed; short by 4.5 kg, give 5.1 kg of Syrup (4.0 l, 1 fill), by 2026-10-05, then it should weigh "
        "35.5 kg on 2026-09-25 (15.9 of 20.4 kg, give or take 1.1; weighed 24 Sep)" in text
    )


def test_page_says_the_same_as_the_text() -> None:
    words = Tags(as_page(NOTE)).words
    for said in (
        "12 rows: 9 new",
        "cell F7 (reading 1)",
        "You typed: 385",
        "Weigh again.",
        "5.1 kg of Syrup",
        "enough",
    ):
        assert said in words


def test_cautions_go_with_what_is_advised() -> None:
    assert [title for title, _ in NOTE.cautions] == ["Lifting", "Feeding", "Stings"]
    calm = replace(NOTE, questions=(), colonies=(Stands("A2", "enough"),))
    assert calm.cautions == ()
    assert "None. Thank you." in as_text(calm)
    assert "food only" in as_text(calm)


@pytest.mark.parametrize("evil", HOSTILE)
def test_nothing_typed_becomes_markup_or_template(evil: str) -> None:
    question = Question(evil, evil, (evil,), evil, evil, evil, evil, held=False)
    note = Note(evil, evil, evil, evil, NOTE.as_at, (Received(evil, evil, evil),), (question,), (Stands(*[evil] * 6),))
    plain, seen = Tags(as_page(NOTE)), Tags(as_page(note))
    assert set(seen.tags) <= set(plain.tags) | {"br", "span"}
    assert seen.addresses == []
    assert evil in seen.words


def test_page_needs_nothing_from_elsewhere() -> None:
    page = as_page(NOTE)
    assert Tags(page).addresses == []
    assert "http" not in page.replace("http-equiv", "")
    assert "default-src 'none'" in page


def test_long_value_and_many_cells_are_cut() -> None:
    question = replace(NOTE.questions[0], value="x" * 500, cells=tuple(f"F{row}" for row in range(2, 40)))
    text = as_text(replace(NOTE, questions=(question,)))
    assert "x" * 81 not in text
    assert "F7 and 32 more" in text


def test_names_of_notes_are_safe_and_apart() -> None:
    taken: list[str] = []
    for member in ("M1", "m1", "../../x", "a/b", "CON", "é" * 300):
        taken.append(note_name(member, taken))
    assert len({name.casefold() for name in taken}) == len(taken)
    assert all(len(name) < 60 and not set(name) & set("/\\:.") for name in taken)


def test_reminder_says_when_it_was_due() -> None:
    assert "asked for by 2026-09-20" in reminder(NOTE, date(2026, 9, 20))
    assert "asked for by" not in reminder(NOTE, None)
