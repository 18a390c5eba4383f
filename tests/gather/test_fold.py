"""The fold: what holds of all that the copies say, drawn small; and its laws over whatever they may say.

That rows are compared with what was issued, that what one copy lacks is never taken out, and that all claims of a
conflict are kept is the three-way comparison with base, ours and theirs of version control, with ODK Central's kinds of
updates (getodk/docs, central-entities) as the counter-example: there the last one written wins.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apiarybook.book.memory import raw_book
from apiarybook.book.tables import read_book
from apiarybook.gather.claims import SAVED_BY, Claim, from_frame, joined, new_ref, to_frame
from apiarybook.gather.decisions import Decision, ask_key, decisions_frame
from apiarybook.gather.fold import fold
from apiarybook.gather.refs import typed_claims
from apiarybook.readers.canonical import canonical_text
from tests.gather.small_claims import (
    CLUB,
    KNOWN,
    ROSTER,
    SHEET,
    feed,
    gatherings,
    handed,
    returned,
    told,
    typed,
)

if TYPE_CHECKING:
    from apiarybook.gather.folded import Folded

REF = "M1a-F1"
LAW = settings(deadline=None)  # a slow machine breaks no law


def folded(*claims: list[Claim] | Claim, decisions: dict[str, object] | None = None) -> Folded:
    flat = [one for some in claims for one in (some if isinstance(some, list) else [some])]
    return fold(flat, [Decision(key, holds, "2026-09-21") for key, holds in (decisions or {}).items()], ROSTER)


def amounts(found: Folded) -> dict[str, object]:
    return found.rows[SHEET]["amount"].to_dict()


def lines(found: Folded, *columns: str) -> list[tuple[object, ...]]:
    return list(found.changes[list(columns)].itertuples(index=False, name=None))


def test_a_new_row_is_one_line_of_changes_with_its_place() -> None:
    found = folded(returned("M1a", "10", {REF: feed()}))
    assert amounts(found) == {REF: 5.0}
    assert lines(found, "what", "ref", "came", "file", "place") == [
        ("new", REF, "date 2026-09-12; colony A1; feed kind Fondant; amount 5; unit kg", "M1a-10.xlsx", "2")
    ]


def test_the_later_saved_of_two_files_of_one_copy_holds() -> None:
    early, late = returned("M1a", "10", {REF: feed(5.0)}), returned("M1a", "11", {REF: feed(6.0)})
    for order in ((early, late), (late, early)):
        found = folded(*order)
        assert amounts(found) == {REF: 6.0}
        assert ("superseded", "amount", "5", "E2") in lines(found, "what", "column", "came", "place")


@pytest.mark.parametrize("saved", ["", "10"])
def test_files_saved_at_one_time_or_none_conflict_where_they_differ(saved: str) -> None:
    found = folded(
        returned("M1a", saved, {REF: feed(5.0)}, file="one.xlsx"),
        returned("M1a", "10", {REF: feed(6.0)}, file="two.xlsx"),
    )
    (conflict,) = found.conflicts
    assert sorted(str(one.value) for one in conflict.claims) == ["5.0", "6.0"]
    assert amounts(found) == {REF: None}
    assert found.held[SHEET] == {REF: "amount is in conflict, see the sheet Questions"}


def test_a_known_row_that_comes_back_unchanged_says_nothing() -> None:
    found = folded(handed("M1a", {KNOWN[0]: feed()}), returned("M1a", "10", {KNOWN[0]: feed()}))
    assert amounts(found) == {KNOWN[0]: 5.0}
    assert found.changes.empty
    assert found.counts[0]["unchanged"] == 1


def test_a_changed_cell_is_amended_and_a_cleared_one_withdrawn() -> None:
    found = folded(handed("M1a", {KNOWN[0]: feed(remarks="late")}), returned("M1a", "10", {KNOWN[0]: feed(6.0)}))
    assert lines(found, "what", "column", "was", "came") == [
        ("amended", "amount", "5", "6"),
        ("withdrawn", "remarks", "late", None),
    ]
    assert found.rows[SHEET].loc[KNOWN[0], "remarks"] is None


def test_a_row_cleared_to_its_ref_is_withdrawn_and_not_absent() -> None:
    found = folded(handed("M1a", {KNOWN[0]: feed()}), returned("M1a", "10", {}, blank=[KNOWN[0]]))
    assert amounts(found) == {}
    assert not [one for one in found.asks if one.rule == "absent-row"]
    assert set(found.changes["what"]) == {"withdrawn"}


def test_a_column_that_a_file_lacks_is_not_cleared() -> None:
    found = folded(
        handed("M1a", {KNOWN[0]: feed(remarks="late")}),
        returned("M1a", "10", {KNOWN[0]: feed()}, columns=("ref", "date", "colony", "feed_kind", "amount", "unit")),
    )
    assert found.rows[SHEET].loc[KNOWN[0], "remarks"] == "late"


def test_two_members_who_change_one_cell_differently_are_in_conflict() -> None:
    found = folded(
        *(handed(copy, {KNOWN[0]: feed()}) for copy in ("M1a", "M2a")),
        returned("M1a", "10", {KNOWN[0]: feed(6.0)}),
        returned("M2a", "12", {KNOWN[0]: feed(7.0)}),
    )
    (conflict,) = found.conflicts
    assert [(one.letter, one.value, one.copy, one.place) for one in conflict.claims] == [
        ("A", 6.0, "M1a", "E2"),
        ("B", 7.0, "M2a", "E2"),
    ]
    assert amounts(found) == {KNOWN[0]: 5.0}, "the last agreed value is shown"


def test_two_members_who_change_one_cell_alike_agree() -> None:
    found = folded(
        *(handed(copy, {KNOWN[0]: feed()}) for copy in ("M1a", "M2a")),
        *(returned(copy, "10", {KNOWN[0]: feed(6.0)}) for copy in ("M1a", "M2a")),
    )
    assert (amounts(found), found.conflicts) == ({KNOWN[0]: 6.0}, [])


def test_different_cells_of_one_row_come_together() -> None:
    found = folded(
        *(handed(copy, {KNOWN[0]: feed()}) for copy in ("M1a", "M2a")),
        returned("M1a", "10", {KNOWN[0]: feed(6.0)}),
        returned("M2a", "12", {KNOWN[0]: feed(remarks="late")}),
    )
    assert found.rows[SHEET].loc[KNOWN[0], ["amount", "remarks"]].tolist() == [6.0, "late"]


def test_what_was_typed_on_top_of_a_members_value_holds_until_the_member_says_something_else() -> None:
    first = returned("M1a", "10", {REF: feed(5.0)})
    over = typed(REF, {"amount": 5.0}, {"amount": 6.0})
    assert amounts(folded(first, over)) == {REF: 6.0}
    again = returned("M1a", "16", {REF: feed(5.0, remarks="late")})
    assert amounts(folded(first, over, again)) == {REF: 6.0}
    other = returned("M1a", "17", {REF: feed(8.0)})
    assert [one.value for one in folded(first, over, again, other).conflicts[0].claims] == [6.0, 8.0]


def test_the_club_may_type_a_value_back() -> None:
    first = returned("M1a", "10", {REF: feed(5.0)})
    there, back = typed(REF, {"amount": 5.0}, {"amount": 6.0}, "14"), typed(REF, {"amount": 6.0}, {"amount": 5.0}, "15")
    found = folded(first, there, back)
    assert (amounts(found), found.conflicts) == ({REF: 5.0}, [])


def test_two_states_of_the_clubs_book_typed_over_one_value_are_in_conflict() -> None:
    here, there = (typed("club26-F9", {"amount": 5.0}, {"amount": one}, day) for one, day in ((6.0, "14"), (7.0, "15")))
    assert len(folded(here, there).conflicts) == 1


def test_copies_that_stand_on_each_other_are_in_conflict() -> None:
    found = folded(
        handed("M1a", {KNOWN[0]: feed(5.0)}),
        handed("M2a", {KNOWN[0]: feed(6.0)}),
        returned("M1a", "10", {KNOWN[0]: feed(6.0)}),
        returned("M2a", "10", {KNOWN[0]: feed(5.0)}),
    )
    assert len(found.conflicts) == 1


def test_a_second_copy_that_was_handed_the_first_ones_value_stands_on_it() -> None:
    found = folded(
        returned("M1a", "10", {REF: feed(5.0)}),
        handed("M1b", {REF: feed(5.0)}, "11"),
        returned("M1b", "12", {REF: feed(7.0)}),
    )
    assert (amounts(found), found.conflicts) == ({REF: 7.0}, [])
    assert ("superseded", "5") in lines(found, "what", "came")


def test_a_row_that_a_file_lacks_stays_and_is_asked_about() -> None:
    both = returned("M1a", "10", {REF: feed(5.0), "M1a-F2": feed(3.0, colony="B1")})
    found = folded(both, returned("M1a", "11", {REF: feed(5.0)}))
    assert amounts(found) == {REF: 5.0, "M1a-F2": 3.0}
    assert [(one.rule, one.sheet, one.ref, one.value) for one in found.asks] == [("absent-row", SHEET, "M1a-F2", "M1a")]
    key = ask_key("absent-row", SHEET, "M1a-F2", "M1a")
    left = folded(both, returned("M1a", "11", {REF: feed(5.0)}), decisions={key: "Leave out"})
    assert left.held == {SHEET: {"M1a-F2": "left out by decision"}}
    assert amounts(left) == amounts(found), "even then it stays to be seen"


def test_a_row_taken_out_of_the_clubs_book_stays_and_is_asked_about() -> None:
    gone = replace(typed(REF, {}, {}), place="")
    found = folded(returned("M1a", "10", {REF: feed()}), gone)
    assert amounts(found) == {REF: 5.0}
    assert [(one.rule, one.value) for one in found.asks] == [("absent-row", CLUB)]


def test_alike_new_rows_of_two_copies_are_one_and_asked_about() -> None:
    claims = [*returned("M1a", "10", {"M1a-F10": feed()}), *returned("M2a", "10", {"M2a-F9": feed()})]
    found = folded(claims)
    assert amounts(found) == {"M1a-F10": 5.0}
    assert found.aliases == {(SHEET, "M2a-F9"): "M1a-F10"}
    (ask,) = found.asks
    assert (ask.rule, ask.value) == ("same-row-twice", "M2a-F9")
    assert set(amounts(folded(claims, decisions={ask.key: "both"}))) == {"M1a-F10", "M2a-F9"}


def test_two_alike_rows_of_each_of_two_copies_are_two() -> None:
    found = folded(*(returned(copy, "10", {f"{copy}-F{at}": feed() for at in (1, 2)}) for copy in ("M1a", "M2a")))
    assert set(amounts(found)) == {"M1a-F1", "M1a-F2"}


def test_rows_called_one_stay_one_when_one_of_them_is_corrected() -> None:
    key = ask_key("same-row-twice", SHEET, REF, "M2a-F1")
    claims = [*returned("M1a", "10", {REF: feed()}), *returned("M2a", "12", {"M2a-F1": feed(6.0)})]
    found = folded(claims, decisions={key: "as it stands"})
    assert len(found.conflicts) == 1
    assert list(found.rows[SHEET].index) == [REF]


def test_a_row_typed_for_a_member_meets_that_members_own_row() -> None:
    values = feed(typed_for="m1", remarks="from paper")
    paper = typed("club26-F1", dict.fromkeys(values), values)
    found = folded(paper, returned("M1a", "16", {REF: feed()}))
    assert amounts(found) == {"club26-F1": 5.0}
    assert found.asks == []
    other = folded(paper, returned("M2a", "16", {"M2a-F1": feed(remarks="mine")}))
    assert len(amounts(other)) == 2, "another member's row is another row"


def test_a_ref_seen_twice_stays_with_the_row_nearest_to_what_was_last_said() -> None:
    twice = returned("M1a", "10", [(KNOWN[0], feed(9.0, colony="B1")), (KNOWN[0], feed(5.0, remarks="late"))])
    found = folded(handed("M1a", {KNOWN[0]: feed()}), twice)
    assert amounts(found)[KNOWN[0]] == 5.0
    (ask,) = found.asks
    assert (ask.rule, ask.value, amounts(found)[ask.ref]) == ("copied-ref", KNOWN[0], 9.0)


def test_a_ref_of_another_member_is_copied_and_its_row_is_new() -> None:
    found = folded(returned("M1a", "10", {REF: feed()}), returned("M2a", "10", {REF: feed(7.0)}))
    assert amounts(found)[REF] == 5.0
    assert sorted(amounts(found).values()) == [5.0, 7.0]
    assert found.conflicts == []


def test_codes_of_colonies_that_differ_in_case_only_are_one_row() -> None:
    claims = [
        Claim(
            copy, "Colonies", code, "2026-09-10T10:00:00", f"{copy}.xlsx", copy, "2", {"colony": code, "state": "alive"}
        )
        for copy, code in (("M1a", "A1"), ("M2a", "a1"))
    ]
    assert list(folded(claims).rows["Colonies"].index) == ["A1"]


def conflict() -> list[Claim]:
    return [
        *handed("M1a", {KNOWN[0]: feed()}),
        *handed("M2a", {KNOWN[0]: feed()}),
        *returned("M1a", "10", {KNOWN[0]: feed(6.0)}),
        *returned("M2a", "12", {KNOWN[0]: feed(7.0)}),
    ]


@pytest.mark.parametrize(
    ("holds", "amount", "reason"),
    [
        ("B", 7.0, None),
        (" a ", 6.0, None),
        ("as it stands", 5.0, None),
        (6.5, 6.5, None),
        ("Leave Out", 5.0, "left out by decision"),
        ("C", 5.0, "amount is in conflict, see the sheet Questions"),
        ("6,5", 5.0, "amount is in conflict, see the sheet Questions"),
    ],
)
def test_what_the_secretary_writes_holds(holds: object, amount: float, reason: str | None) -> None:
    (key,) = [one.key for one in folded(conflict()).conflicts]
    found = folded(conflict(), decisions={key: holds})
    assert amounts(found) == {KNOWN[0]: amount}
    assert found.held.get(SHEET, {}).get(KNOWN[0]) == reason
    understood = reason is None or reason == "left out by decision"
    assert len(found.wrong) == (not understood)
    assert ("decided" in set(found.changes["what"])) == understood


def test_another_claim_asks_again_and_keeps_the_old_answer_in_sight() -> None:
    decision = Decision(folded(conflict()).conflicts[0].key, "A", "2026-09-21", question="What?")
    more = [*conflict(), *handed("M1b", {KNOWN[0]: feed()}), *returned("M1b", "13", {KNOWN[0]: feed(8.0)})]
    found = fold(more, [decision], ROSTER)
    assert found.conflicts[0].holds is None
    frame = decisions_frame(found, [decision])
    assert frame["holds"].tolist() == [None, "A"]
    assert decisions_frame(found, [decision, replace(decision, question=frame["question"][1])]).equals(frame)


def test_an_older_file_that_comes_late_does_not_ask_again() -> None:
    (key,) = [one.key for one in folded(conflict()).conflicts]
    late = returned("M1a", "09", {KNOWN[0]: feed(4.0)})
    assert amounts(folded(conflict(), late, decisions={key: "B"})) == {KNOWN[0]: 7.0}


def test_unknown_columns_and_text_as_typed_are_kept_in_changes() -> None:
    heads, row = returned("M1a", "10", {REF: feed(remarks="two lines")})
    row = replace(row, raw={"? hive colour": "green", "remarks": "two\nlines"})
    found = folded([heads, row])
    assert ("refused", "hive colour", "green") in lines(found, "what", "column", "came")
    assert "as typed" in set(found.changes["what"])


def by(claims: list[Claim], program: str, saved: str = "") -> list[Claim]:
    """Claims of a file that a program saved, at another time if that is given."""
    heads, *rows = claims
    heads = replace(heads, raw=heads.raw | {SAVED_BY: program})
    return [replace(one, saved=saved or one.saved) for one in (heads, *rows)]


def test_two_people_who_fill_one_copy_are_both_heard() -> None:
    ann, bob = feed(5.0), feed(7.0, colony="A2")
    files = [*by(returned("M1a", "10", {REF: ann}), "a"), *by(returned("M1a", "11", {REF: bob}), "a")]
    found = folded(files)
    assert (amounts(found), found.held) == ({REF: 7.0}, {})
    (ask,) = found.asks
    assert (ask.rule, ask.ref, ask.value) == ("two-rows-one-mark", REF, "A1 on 2026-09-12")
    assert sorted(amounts(folded(files, decisions={ask.key: "both"})).values()) == [5.0, 7.0]
    assert amounts(folded(files, decisions={ask.key: "as it stands"})) == {REF: 7.0}
    same_hour = by(returned("M1a", "11", {REF: bob}), "b", "2026-09-10T11:00:00")
    assert REF in folded(by(returned("M1a", "10", {REF: ann}), "a"), same_hour).held[SHEET]


@pytest.mark.parametrize(
    ("program", "saved", "conflicts"),
    [
        ("a", "2026-09-10T10:00:05", 0),
        ("b", "2026-09-10T23:00:00", 1),
        ("b", "2026-09-11T01:00:00", 0),
        ("a", "2031-01-01T00:00:00", 1),
        ("a", "2099-01-01T00:00:00", 1),
    ],
)
def test_only_a_file_that_is_surely_later_replaces_another(program: str, saved: str, conflicts: int) -> None:
    """Programs differ by 14 hours at most in what they take for the time; a time after the gathering is no time."""
    first = by(returned("M1a", "10", {REF: feed(5.0)}), "a")
    found = folded(first, by(returned("M1a", "11", {REF: feed(6.0)}), program, saved))
    assert len(found.conflicts) == conflicts
    assert amounts(found) == ({REF: 6.0} if not conflicts else {REF: None})


def test_a_row_that_stands_blank_in_a_later_file_stays_and_is_asked_about() -> None:
    found = folded(returned("M1a", "10", {REF: feed()}), returned("M1a", "12", {}, blank=[REF]))
    assert amounts(found) == {REF: 5.0}
    assert [ask.rule for ask in found.asks] == ["absent-row"]


def test_an_alike_pair_stays_one_when_one_of_it_is_amended() -> None:
    first = [*returned("M1a", "10", {REF: feed()}), *returned("M2a", "10", {"M2a-F1": feed()})]
    found = folded(first, returned("M2a", "12", {"M2a-F1": feed(6.0)}))
    assert list(found.rows[SHEET].index) == [REF]
    assert [one.column for one in found.conflicts] == ["amount"]


def test_a_row_without_a_ref_is_the_same_row_when_it_was_mended() -> None:
    told, mended = feed(remarks="late", colony="A1"), feed(remarks="late", colony="A2")
    files = [returned("M1a", day, {f"M1a-x0000000{day[1]}": one}) for day, one in (("10", told), ("12", mended))]
    found = folded(*files)
    assert list(found.rows[SHEET]["colony"]) == ["A2"]


@LAW
@given(gatherings(), st.randoms(use_true_random=False))
def test_law_order_does_not_enter(claims: list[Claim], chance: object) -> None:
    shuffled = list(claims)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    assert told(folded(shuffled)) == told(folded(claims))


@LAW
@given(gatherings(), gatherings())
def test_law_together_is_one_after_the_other_and_twice_is_once(first: list[Claim], second: list[Claim]) -> None:
    kept = from_frame(to_frame(joined(first)))
    after = joined(kept, second)
    assert after == joined(second, first) == joined(after, second, first)
    assert told(folded(after)) == told(folded(from_frame(to_frame(joined(second, first)))))


@LAW
@given(gatherings())
def test_law_what_stands_in_the_book_is_no_new_claim(claims: list[Claim]) -> None:
    found = folded(claims)
    tables = {name: frame.reset_index(drop=True) for name, frame in found.rows.items() if len(frame)}
    tables = tables or {SHEET: pd.DataFrame({"ref": ["club26-F1"], "colony": [None]})}
    book = read_book(raw_book(tables, {"unit": "kg", "winter": 2026.0}, {}))
    assert typed_claims(book, found.values, CLUB) == []


def _stands(found: Folded, claim: Claim, key: str, value: object) -> bool:
    refs = {found.aliases.get((SHEET, claim.ref), claim.ref)}
    refs |= {ask.ref for ask in found.asks if ask.rule == "copied-ref" and ask.value == claim.ref}
    own = {new_ref(replace(claim, ref=ref)) for ref in refs}  # where both rows under one mark were said to be right
    refs |= own | {found.aliases.get((SHEET, ref), ref) for ref in own}
    text, heading = canonical_text(value), key.replace("_", " ")
    if any(found.values[SHEET].get(ref, {}).get(key) == value for ref in refs):
        return True
    if any(
        one.ref in refs and one.column == key and any(said.value == value for said in one.claims)
        for one in found.conflicts
    ):
        return True
    of_row = found.changes[found.changes["ref"].isin(refs)]
    of_cell = of_row[of_row["column"] == heading]
    whole = of_row[of_row["column"].isna()]["came"].dropna()
    return text in {*of_cell["was"], *of_cell["came"]} or any(f"{heading} {text}" in one for one in whole)


@LAW
@given(gatherings())
def test_law_no_value_vanishes(claims: list[Claim]) -> None:
    found = folded(claims)
    for claim in claims:
        if claim.ref and claim.file != "handed out":
            assert all(_stands(found, claim, key, value) for key, value in claim.values.items()), claim


@LAW
@given(gatherings())
def test_law_counts_close(claims: list[Claim]) -> None:
    for one in folded(claims).counts:
        of_file = (one["copy"], one["file"], one["sha256"])
        rows = [claim for claim in claims if (claim.copy, claim.file, claim.sha256) == of_file and claim.ref]
        fates = sum(int(str(one[key])) for key in one if key not in ("copy", "file", "sha256", "sheet", "rows"))
        assert one["rows"] == fates == len(rows) + int(str(one["blank"]))


@LAW
@given(gatherings(), st.data())
def test_law_a_row_missing_from_a_file_is_never_deleted(claims: list[Claim], data: st.DataObject) -> None:
    before = folded(claims)
    copy = data.draw(st.sampled_from(sorted(ROSTER)))
    after = folded([*claims, *returned(copy, "13", {})])
    kept = {ref for ref, values in before.values[SHEET].items() if values}
    now = {after.aliases.get((SHEET, ref), ref) for ref in after.values[SHEET]}
    assert {after.aliases.get((SHEET, ref), ref) for ref in kept} <= now
    assert all(after.values[SHEET][after.aliases.get((SHEET, ref), ref)] for ref in kept)


@LAW
@given(gatherings(), st.data())
def test_law_answers_hold_in_any_order_and_nothing_is_lost_by_them(claims: list[Claim], data: st.DataObject) -> None:
    found = folded(claims)
    entries = st.sampled_from(["A", "b", "as it stands", "leave out", "both", 4.5, "rubbish", None])
    keys = [one.key for one in [*found.conflicts, *found.asks]]
    decisions = {key: data.draw(entries) for key in keys}
    backwards = dict(reversed(list(decisions.items())))
    decided = folded(claims, decisions=decisions)
    assert told(decided) == told(folded(list(reversed(claims)), decisions=backwards))
    for claim in claims:
        if claim.ref and claim.file != "handed out":
            assert all(_stands(decided, claim, key, value) for key, value in claim.values.items()), claim
