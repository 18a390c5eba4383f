"""Claims: what a file says of its rows, the same whichever program saved it, kept on a sheet and read back."""

from __future__ import annotations

from datetime import date, datetime

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.book.memory import raw_book
from apiarybook.book.tables import read_book
from apiarybook.errors import CannotRead
from apiarybook.gather.claims import CELL_LIMIT, Claim, claims_of, from_frame, in_words, joined, to_frame
from apiarybook.gather.ref_ranges import Runs, natural, runs
from apiarybook.gather.refs import typed_claims
from apiarybook.readers.canonical import canonical
from apiarybook.readers.records import RawBook, RawSheet
from tests.gather.small_claims import CLUB, DAY, feed, gatherings

HEADINGS = ["ref", "date", "colony", "feed kind", "amount", "unit", "taken back", "remarks", "hive colour"]
LAW = settings(deadline=None)  # a slow machine breaks no law


def feedings(*rows: list[object], **where: object) -> list[Claim]:
    """Claims of a file of feeds, without those of its headings."""
    raw = RawBook("feeds.xlsx", "0f", "xlsx", None, {}, {"Feedings": RawSheet("Feedings", [HEADINGS, *rows], **where)})  # type: ignore[arg-type]
    return [claim for claim in claims_of(read_book(raw), "M1a", source=raw) if claim.ref]


def test_the_same_rows_as_cells_and_as_csv_text_are_the_same_claims() -> None:
    cells = feedings(["M1a-F1", DAY, "A1", "Fondant", 5.0, "kg", True, 12.0])
    text = b"ref,date,colony,feed kind,amount,unit,taken back,remarks\nM1a-F1,2026-09-12,A1,Fondant,5,KG,TRUE,12\n"
    from_csv = [claim for claim in claims_of(read_book(("Feedings.csv", text)), "M1a") if claim.ref]
    assert cells[0].values == from_csv[0].values == feed(taken_back="yes", remarks="12")


def test_what_cannot_be_read_is_claimed_as_it_was_typed() -> None:
    (row,) = feedings(["M1a-F1", "12/9/2026", "A1", "Fondant", "5,5", "stones"])
    assert row.values == {
        "date": "12/9/2026",
        "colony": "A1",
        "feed_kind": "Fondant",
        "amount": "5,5",
        "unit": "stones",
    }


def test_a_formula_in_an_input_cell_is_claimed_as_its_text() -> None:
    (row,) = feedings(["M1a-F1", DAY, "A1", "Fondant", 5.0, "kg"], formulas={(2, 5): "=2+3"})
    assert row.values["amount"] == "=2+3"


def test_text_under_unknown_headings_and_text_as_typed_are_kept() -> None:
    (row,) = feedings(["M1a-F1", DAY, "A1", "Fondant", 5.0, "kg", None, "two\nlines", "green"])
    assert row.raw == {"remarks": "two\nlines", "? hive colour": "green"}


def test_rows_without_a_ref_have_one_made_of_their_content_wherever_they_stand() -> None:
    one, other = [None, DAY, "A1", "Fondant", 5.0, "kg"], [None, DAY, "A1", "Fondant", 6.0, "kg"]
    here = {claim.ref: claim.values["amount"] for claim in feedings(one, other)}
    assert here == {claim.ref: claim.values["amount"] for claim in feedings(other, one)}
    assert len(here) == 2
    assert all(ref.startswith("M1a-x") for ref in here)


def test_a_ref_that_is_none_is_kept_as_text() -> None:
    (row,) = feedings(["../etc", DAY, "A1", "Fondant", 5.0, "kg"])
    assert row.ref.startswith("M1a-x")
    assert row.raw["ref"] == "../etc"


def test_rows_with_a_ref_only_are_named_together() -> None:
    frame = pd.DataFrame({"ref": ["M1a-F1", "M1a-F2", "M1a-F3"], "date": None, "colony": None, "unit": None})
    raw = raw_book({"Feedings": frame}, {"unit": "kg"}, {})
    (heads,) = [claim for claim in claims_of(read_book(raw), "M1a") if claim.sheet == "Feedings"]
    assert heads.raw == {"blank rows": "M1a-F1:3"}


def club(**amounts: float | None) -> dict[str, dict[str, dict[str, object]]]:
    """What the claims of a club's book give."""
    rows = {f"club26-{ref}": {} if amount is None else feed(amount) for ref, amount in amounts.items()}
    return {"Feedings": {ref: values for ref, values in rows.items() if values}}


def typed_over(before: dict[str, dict[str, dict[str, object]]], rows: list[dict[str, object]]) -> list[Claim]:
    columns = ["ref", "date", "colony", "feed_kind", "amount", "unit", "remarks"]
    frame = pd.DataFrame([{key: row.get(key) for key in columns} for row in rows], columns=columns, dtype=object)
    book = read_book(raw_book({"Feedings": frame}, {"unit": "kg"}, {}))
    return typed_claims(book, before, CLUB)


def test_what_was_typed_is_claimed_with_what_it_was_before() -> None:
    (claim,) = typed_over(club(F1=5.0), [{"ref": "club26-F1", **feed(6.0)}])
    assert (claim.values, claim.was, claim.kind) == ({"amount": 6.0}, {"amount": 5.0}, "typed")


def test_a_cleared_row_is_claimed_cell_by_cell_and_a_row_taken_out_as_gone() -> None:
    (cleared,) = typed_over(club(F1=5.0), [{"ref": "club26-F1"}])
    assert (cleared.values, cleared.was) == ({}, feed(5.0))
    (gone,) = typed_over(club(F1=5.0), [{"ref": "club26-F2"}])
    assert (gone.ref, gone.values, gone.was, gone.place) == ("club26-F1", {}, {}, "")


def test_a_row_copied_in_the_clubs_book_with_its_ref_is_new() -> None:
    copied = {"ref": "club26-F1", **feed(7.0, colony="B1")}
    (claim,) = typed_over(club(F1=5.0), [copied, {"ref": "club26-F1", **feed(5.0)}])
    assert claim.ref.startswith("club26-x")
    assert claim.values == feed(7.0, colony="B1")


CELLS = st.one_of(
    st.text().map(canonical).filter(lambda one: one is not None),
    st.floats(allow_nan=False, allow_infinity=False).map(canonical),
    st.dates(),
    st.datetimes().map(canonical),
)
CLAIMS = st.builds(
    Claim,
    copy=st.sampled_from(["M1a", "club26"]),
    sheet=st.sampled_from(["Moves", "Feedings", "Colonies"]),
    ref=st.sampled_from(["", "A1", "M1a-F2", "M1a-F10"]),
    saved=st.sampled_from(["", "2026-09-10T10:00:00"]),
    file=st.sampled_from(["handed out", "a, b.csv"]),
    sha256=st.sampled_from(["0f", "1e5"]),
    place=st.integers(1, 9).map(str),
    values=st.dictionaries(st.sampled_from(["date", "colony", "amount"]), CELLS),
    was=st.none() | st.dictionaries(st.sampled_from(["date", "amount"]), st.none() | CELLS),
    raw=st.dictionaries(st.sampled_from(["remarks", "? colour"]), st.text()),
    gathered=st.sampled_from(["", "2026-09-20"]),
)


@LAW
@given(st.lists(CLAIMS, max_size=4))
def test_law_claims_come_back_from_their_sheet(claims: list[Claim]) -> None:
    frame = to_frame(claims)
    assert to_frame(from_frame(frame)).equals(frame)
    assert all(canonical(one) == one for one in frame["row"]), "as the sheet is read"
    assert joined(from_frame(frame)) == joined(claims)


@pytest.mark.parametrize("text", ["long " * 20_000, " " * 40_000 + "end", "é" * 30_000])
def test_a_row_too_long_for_a_cell_is_split_and_comes_back(text: str) -> None:
    claim = Claim("M1a", "Moves", "M1a-M1", "", "m.csv", "0f", "2", {"remarks": text, "date": date(2026, 9, 5)})
    frame = to_frame([claim])
    assert frame["row"].str.len().max() <= CELL_LIMIT
    assert all(canonical(one) == one for one in frame["row"])
    assert from_frame(frame) == [claim]


def test_a_claim_changed_by_hand_is_refused_with_its_row() -> None:
    frame = to_frame([Claim("M1a", "Moves", "M1a-M1", "", "m.csv", "0f", "2", {})])
    frame["row"] = "oops"
    with pytest.raises(CannotRead, match="sheet Claims, row 2"):
        from_frame(frame)


@LAW
@given(gatherings())
def test_law_a_file_under_another_name_says_nothing_new(claims: list[Claim]) -> None:
    assert joined(claims, claims) == joined(claims)


@LAW
@given(CELLS)
def test_law_words_are_the_canonical_text(value: object) -> None:
    from apiarybook.readers.canonical import canonical_text

    assert in_words(value) == canonical_text(value)


@LAW
@given(st.lists(st.from_regex(r"[a-c]{0,2}-?0{0,1}\d{0,2}", fullmatch=True).filter(bool)))
def test_law_refs_written_short_are_the_same_refs(refs: list[str]) -> None:
    assert set(Runs(runs(refs))) == set(refs)
    assert all(ref in Runs(runs(refs)) for ref in refs)


def test_refs_stand_in_the_order_of_their_numbers() -> None:
    assert sorted(["M10a-W1", "M2a-W10", "M2a-W9"], key=natural) == ["M2a-W9", "M2a-W10", "M10a-W1"]
    assert datetime(2026, 9, 5, 10).isoformat() == "2026-09-05T10:00:00"  # noqa: DTZ001
