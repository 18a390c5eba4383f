"""Returns gathered into a club's book on disk: nothing lost, in any order, as often as one likes."""

from __future__ import annotations

import hashlib
import json
import shutil
from datetime import date, datetime
from itertools import permutations
from typing import TYPE_CHECKING

import openpyxl
import pytest
from click.testing import CliRunner
from openpyxl.comments import Comment

from apiarybook.cli.commands import main
from apiarybook.club.reckoned import read_book
from apiarybook.errors import CannotRead
from apiarybook.gather.collate import collate
from apiarybook.gather.on_disk import reckon_file
from apiarybook.gather.provenance import trail
from tests.gather.copies import BOOK_ID, SAVED, data, edited, filled, gathered, returned, saved
from tests.gather.small_club import AS_AT, DAY, Row

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from openpyxl.worksheet.worksheet import Worksheet

    from apiarybook.gather.collate import Gathering
    from tests.gather.conftest import Evening

DAY_2 = date(2026, 9, 20)
LATER = datetime(2026, 9, 22, 8, 0)  # noqa: DTZ001 cells know no zones
ANN: Row = {"date": DAY_2, "colony": "A1", "by": "Ann Alder", "how": "full lift", "reading_1": 33.0, "feed_left": 0.0}
BOB: Row = {"date": DAY_2, "colony": "B1", "by": "Bob Birch", "how": "full lift", "reading_1": 38.5, "feed_left": 0.0}
FED: Row = {"date": DAY_2, "colony": "A1", "feed_kind": "Fondant", "amount": 2.0, "unit": "kg"}


def gather(evening: Evening, *paths: Path) -> Gathering:
    return collate(evening.club, paths, as_at=AS_AT)


def weighings(club: Path) -> dict[object, list[object]]:
    """Ref to colony and reading."""
    return {row[0]: [row[2], row[5]] for row in data(club)["Weighings"]}


def cell(club: Path, sheet: str, ref: str, key: str) -> object:
    raw = read_book(club).tables[sheet].raw
    mark = "colony" if sheet == "Colonies" else "ref"
    return raw[raw[mark] == ref][key].iloc[0]


def states(gathering: Gathering) -> list[tuple[str, str]]:
    return [(line.copy, line.state) for line in gathering.rebuilt.lines]


def digests(folder: Path) -> dict[str, str]:
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}


def test_evening_from_copies_to_notes(evening: Evening) -> None:
    inbox = evening.folder / "in"
    returned(evening.copies["M1"], inbox / "hives ann.xlsx", {"Weighings": [ANN, {**ANN, "colony": "A2", "how": None}]})
    before = digests(inbox)
    done = gather(evening, inbox)
    assert weighings(evening.club) | {"M1a_00c0-W1": ["A1", 33.0], "M1a_00c0-W2": ["A2", 33.0]} == weighings(
        evening.club
    )
    assert states(done) == [("M1a_00c0", "has questions"), ("M2a_00c0", "missing")]
    assert digests(inbox) == before
    assert done.backup is not None
    assert read_book(done.backup).sha256 == read_book(evening.folder / "as handed out.xlsx").sha256
    note = done.notes["M1"].read_text(encoding="utf-8")
    assert "hives ann.xlsx, saved 2026-09-20 18:00: 9 filled rows: 2 new, 7 as they were" in note
    assert "hives ann.xlsx, sheet Weighings, cell D6 (how)" in note
    assert "A1: feed" in note
    assert sorted(path.name for path in done.notes["M1"].parent.iterdir()) == ["note M1.html", "note M1.txt"]
    counts = [one for one in done.rebuilt.folded.counts if one["sheet"] == "Weighings"]
    fates = ("new", "same", "amended", "unchanged", "conflict", "superseded", "refused", "blank")
    assert [one["rows"] for one in counts] == [sum(one[fate] for fate in fates) for one in counts]  # type: ignore[misc]


def test_any_order_any_number_of_runs_one_book(evening: Evening) -> None:
    inbox = evening.folder / "in"
    known = ("Weighings", "club26-W3", "reading_1")
    files = (
        returned(evening.copies["M1"], inbox / "a.xlsx", {"Weighings": [ANN], "Feedings": [FED]}),
        returned(evening.copies["M1"], inbox / "b.xlsx", {"Weighings": [{**ANN, "reading_1": 33.5}]}, LATER),
        returned(evening.copies["M2"], inbox / "c.xlsx", {"Weighings": [BOB], "Feedings": [FED]}, changes={}),
    )
    at_once = gathered(evening.club, *files)
    assert gathered(evening.club, inbox) == at_once
    assert [path.name for path in evening.folder.glob("*backup*")] == [f"club backup {AS_AT}.xlsx"]
    for number, order in enumerate((files[::-1], (files[1], files[2], files[0]))):
        club = evening.another(str(number))
        for file in order:
            last = gathered(club, file)
        assert last == at_once
    assert cell(evening.club, *known) == 17.0
    assert weighings(evening.club)["M1a_00c0-W1"] == ["A1", 33.5]
    assert [row[:3] for row in data(evening.club)["Feedings"][-1:]] == [["M1a_00c0-F1", DAY_2, "A1"]]


def test_later_saved_wins_and_the_earlier_stays_in_changes(evening: Evening) -> None:
    early = returned(evening.copies["M1"], evening.folder / "x.xlsx", {"Weighings": [ANN]})
    late = returned(evening.copies["M1"], evening.folder / "y.xlsx", {"Weighings": [{**ANN, "reading_1": 33.5}]}, LATER)
    gather(evening, late)
    done = gather(evening, early)
    assert weighings(evening.club)["M1a_00c0-W1"] == ["A1", 33.5]
    assert states(done)[:2] == [("M1a_00c0", "superseded"), ("M1a_00c0", "accepted")]
    changes = read_book(evening.club).kept["Changes"].raw
    gone = changes[changes["what"] == "superseded"]
    assert gone[["ref", "came", "file", "place"]].to_numpy().tolist() == [["M1a_00c0-W1", "33", "x.xlsx", "E5"]]


def conflict(evening: Evening) -> tuple[Path, Path]:
    """Both members see the weighing of A2 by Bob, and each mends it otherwise."""
    first = returned(
        evening.copies["M1"],
        evening.folder / "ann.xlsx",
        {},
        changes={("Weighings", "club26-W3", "reading_1"): 18.0},
    )
    return first, edited(evening.club, {("Weighings", "club26-W3", "reading_1"): 19.0})


def test_conflict_is_held_until_decided_and_the_decision_is_kept(evening: Evening) -> None:
    first, _ = conflict(evening)
    done = gather(evening, first)
    assert cell(evening.club, "Weighings", "club26-W3", "reading_1") == 17.0
    assert "conflict" in str(cell(evening.club, "Weighings", "club26-W3", "held"))
    rules = [(one.rule, one.cell) for one in done.rebuilt.reckoned.checked.findings]
    assert ("conflict", "E4") in rules
    assert states(done)[0] == ("M1a_00c0", "has questions")
    note = done.notes["M1"].read_text(encoding="utf-8")
    assert "the secretary decides" in note
    assert "19" not in note.partition("OPEN QUESTIONS")[2].partition("YOUR COLONIES")[0].replace("2026-09-19", "")
    said = read_book(evening.club).tables["Questions"].raw
    assert said["claims"].iloc[0].startswith(("A: 18 (M1a_00c0", "A: 19 (club26"))
    letter = "A" if said["claims"].iloc[0].startswith("A: 19") else "B"
    edited(evening.club, {("Questions", "club26-W3", "holds"): letter})
    reckon_file(evening.club, AS_AT)
    assert cell(evening.club, "Weighings", "club26-W3", "reading_1") == 19.0
    assert cell(evening.club, "Weighings", "club26-W3", "held") is None
    after = evening.club.read_bytes()
    assert gathered(evening.club, first) == after
    again = returned(
        evening.copies["M1"],
        evening.folder / "ann 2.xlsx",
        {},
        LATER,
        changes={("Weighings", "club26-W3", "reading_1"): 18.5},
    )
    gather(evening, again)
    assert cell(evening.club, "Weighings", "club26-W3", "reading_1") == 17.0
    assert read_book(evening.club).tables["Questions"].raw["holds"].isna().any()


def test_absent_row_is_kept_and_asked_about(evening: Evening) -> None:
    early = returned(evening.copies["M1"], evening.folder / "x.xlsx", {"Weighings": [ANN]})
    gather(evening, early)
    raw = filled(evening.copies["M1"], {})
    raw.sheets["Weighings"].rows[:] = [row for row in raw.sheets["Weighings"].rows if "M1a_00c0-W1" not in row]
    done = gather(evening, saved(raw, evening.folder / "y.xlsx", LATER))
    assert weighings(evening.club)["M1a_00c0-W1"] == ["A1", 33.0]
    assert any(one.rule == "absent-row" and one.ref == "M1a_00c0-W1" for one in done.rebuilt.reckoned.checked.findings)


def test_row_typed_for_a_member_meets_the_return_without_doubling(evening: Evening) -> None:
    typed = {"date": DAY_2, "how": "full lift", "reading_1": 33.0, "typed_for": "M1"}  # where A1 stands ready
    edited(evening.club, {("Weighings", "club26-W6", key): value for key, value in typed.items()})
    reckon_file(evening.club, AS_AT)
    assert weighings(evening.club)["club26-W6"] == ["A1", 33.0]
    gather(evening, returned(evening.copies["M1"], evening.folder / "x.xlsx", {"Weighings": [ANN]}))
    rows = [row for row in data(evening.club)["Weighings"] if row[1] == DAY_2]
    assert [row[:6] for row in rows] == [["club26-W6", DAY_2, "A1", "Ann Alder", "full lift", 33.0]]


def test_conflict_copy_beside_the_book_is_offered_and_taken_when_named(evening: Evening) -> None:
    state = evening.folder / "club (conflicted copy 2026-09-24).xlsx"
    edited(evening.club, {("Weighings", "club26-W5", key): value for key, value in ANN.items()}, state)
    edited(evening.club, {("Weighings", "club26-W6", key): value for key, value in BOB.items()})
    inbox = evening.folder / "in"
    returned(evening.copies["M1"], inbox / "x.xlsx", {})
    done = gather(evening, inbox)
    assert done.offered == [state.name]
    assert "club26-W5" not in weighings(evening.club)
    done = gather(evening, state)
    assert weighings(evening.club)["club26-W5"] == ["A1", 33.0]
    assert weighings(evening.club)["club26-W6"] == ["B1", 38.5]
    after = evening.club.read_bytes()
    assert gathered(evening.club, state) == after


def test_dry_run_writes_nothing(evening: Evening) -> None:
    file = returned(evening.copies["M1"], evening.folder / "in" / "x.xlsx", {"Weighings": [ANN]})
    names, book = sorted(path.name for path in evening.folder.iterdir()), evening.club.read_bytes()
    done = collate(evening.club, [file], as_at=AS_AT, dry_run=True)
    assert (done.is_new, done.backup, done.notes) == (True, None, {})
    assert (sorted(path.name for path in evening.folder.iterdir()), evening.club.read_bytes()) == (names, book)


def test_what_is_no_return_is_named_and_left_alone(evening: Evening) -> None:
    inbox = evening.folder / "in"
    raw = filled(evening.copies["M1"], {"Weighings": [ANN]})
    for name, key, value in (("other.xlsx", "book id", "deadbeef"), ("never.xlsx", "copy id", "M9z")):
        about = raw.sheets["About"].rows
        at = next(row for row in about if row and row[0] == key)
        former, at[1] = at[1], value
        saved(raw, inbox / name)
        at[1] = former
    swapped = filled(evening.copies["M2"], {})
    next(row for row in swapped.sheets["About"].rows if row and row[0] == "copy id")[1] = "M1a_00c0"
    saved(swapped, inbox / "swapped.xlsx")
    (inbox / "strange.csv").write_text("date,colony,how,reading 1\n2026-09-12,A1,full lift,38\n")
    (inbox / "letter.docx").write_bytes(b"PK\x03\x04 no book")
    (inbox / "photo.jpg").write_bytes(b"\xff\xd8")
    done = gather(evening, inbox)
    why = {one.name: one.why for one in done.left_alone}
    assert sorted(why) == ["letter.docx", "never.xlsx", "other.xlsx", "photo.jpg", "strange.csv", "swapped.xlsx"]
    assert "another club" in why["other.xlsx"]
    assert "never handed out" in why["never.xlsx"] or "was ever handed out" in why["never.xlsx"]
    assert "marks of M2a_00c0" in why["swapped.xlsx"]
    assert "no row carries the mark" in why["strange.csv"]
    assert done.returns == []


def test_csv_is_known_by_its_refs(evening: Evening) -> None:
    target = evening.folder / "rows.csv"
    target.write_text("Ref,Date,Colony,By,How,Reading 1 (kg)\nM1a_00c0-W1,2026-09-20,A1,Ann Alder,full lift,33\n")
    colonies = evening.folder / "my.csv"
    colonies.write_text("colony,apiary,hive type,state\nA1,P1,National single,sold\nA2,P1,National single,\n")
    done = gather(evening, target, colonies)
    assert sorted(one.copy for one in done.returns) == ["M1a_00c0", "M1a_00c0"]
    assert weighings(evening.club)["M1a_00c0-W1"] == ["A1", 33.0]
    assert cell(evening.club, "Colonies", "A1", "state") == "sold"


def test_what_the_book_does_not_use_is_in_changes_and_in_the_note(evening: Evening) -> None:
    book = openpyxl.load_workbook(evening.copies["M1"])
    book["Weighings"]["E7"].comment = Comment("windy", "Ann")
    book.create_sheet("Rota")["B2"] = "Monday"
    book["Start here"]["F3"] = "ring me"
    sheet = book["My colonies"]
    sheet["G1"] = "mine"
    verdict = next(cell.column for cell in sheet[4] if cell.value == "verdict")
    sheet.cell(5, verdict).value = "enough, says Ann"
    book.save(evening.folder / "x.xlsx")
    done = gather(evening, evening.folder / "x.xlsx")
    told = done.rebuilt.folded.changes
    told = told[told["what"] == "not used"]
    assert told[["sheet", "place", "came", "why"]].to_numpy().tolist() == [
        ["Weighings", "E7", "windy", "a note on a cell"],
        ["Rota", "B2", "Monday", "the book has no such sheet"],
        ["My colonies", "G1", "mine", "it stands above the headings"],
        ["Start here", "F3", "ring me", "no rows stand on this page"],
        ["My colonies", "C5", "enough, says Ann", "the book computes this cell itself"],
    ]
    assert done.returns[0].remarks == ("5 things in it are not used, see the sheet Changes.",)
    note = done.notes["M1"].read_text(encoding="utf-8")
    assert "The book does not use Weighings E7: windy; Rota B2: Monday; My colonies G1: mine; " in note


def test_a_copy_as_it_was_handed_out_has_nothing_that_is_not_used(evening: Evening) -> None:
    assert gather(evening, *evening.copies.values()).returns[0].remarks == ()


def test_the_marks_of_another_clubs_copies_are_not_taken(evening: Evening) -> None:
    target = evening.folder / "rows.csv"
    target.write_text("Ref,Date,Colony,By,How,Reading 1 (kg)\nM1a_beef-W1,2026-09-20,A1,Ann Alder,full lift,33\n")
    (left,) = gather(evening, target).left_alone
    assert "no row carries the mark of a copy handed out" in left.why


def test_own_hive_type_is_asked_about(evening: Evening) -> None:
    raw = filled(evening.copies["M1"], {})
    rows = raw.sheets["Hive types"].rows
    at = next(number for number, one in enumerate(rows[0]) if str(one).startswith("want"))
    next(row for row in rows if row[0] == "National single")[at] = 23.0
    done = gather(evening, saved(raw, evening.folder / "x.xlsx"))
    (found,) = [one for one in done.rebuilt.reckoned.checked.findings if one.rule == "own-hive-type"]
    assert (found.file, found.value) == ("x.xlsx", "National single")
    assert "want 23 where the club has" in found.message


def test_command_says_what_came_and_gives_one_object(evening: Evening) -> None:
    file = returned(evening.copies["M1"], evening.folder / "x.xlsx", {"Weighings": [ANN]})
    words = ["collate", str(evening.club), str(file), "--as-at", AS_AT.isoformat()]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    assert "x.xlsx: taken as copy M1a_00c0" in done.output
    assert "1 accepted: M1" in done.output
    assert "1 missing: M2" in done.output
    again = CliRunner().invoke(main, [*words, "--json"])
    told = json.loads(again.stdout)
    assert (told["written"], told["roster"]) == (False, {"M1": "accepted", "M2": "missing"})
    assert {"findings", "counts", "returns", "left_alone", "gathered", "notes"} <= told.keys()
    why = CliRunner().invoke(main, ["check", str(evening.club), "--why", "weighings!e6"])
    assert "M1a_00c0-W1: 33" in why.output
    assert "x.xlsx, E5" in why.output
    for place, says in (("Standing!B2", "no colony's row"), ("Settings!B2", "none of the sheets")):
        wrong = CliRunner().invoke(main, ["check", str(evening.club), "--why", place])
        assert (wrong.exit_code, says in wrong.output) == (2, True)


def test_why_a_reckoned_cell_names_the_rows_of_its_colony(evening: Evening) -> None:
    file = returned(evening.copies["M1"], evening.folder / "x.xlsx", {"Weighings": [ANN]})
    gather(evening, file)
    found = trail(evening.club, "Standing!C5")
    assert (found.sheet, found.ref) == ("Standing", ANN["colony"])
    days = [one.when for one in found.said]
    assert days == sorted(days)
    assert {one.place.partition("!")[0] for one in found.said} == {"Colonies", "Weighings", "Feedings"}
    assert (DAY_2.isoformat(), "Ann Alder, full lift, reading 1 33, feed left in feeder 0") in {
        (one.when, one.value) for one in found.said
    }


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda sheet: sheet.delete_rows(1, 300), "no row of it is one colony's"),
        (lambda sheet: sheet.delete_rows(5, 300), "run apiarybook reckon first"),
        (lambda sheet: sheet.cell(5, 1, "Gone 7"), "no typed row names Gone 7"),
        (lambda sheet: sheet.cell(4, 1, "hive"), "no row of it is one colony's"),
    ],
)
def test_why_of_a_sheet_that_was_changed_by_hand(
    evening: Evening, change: Callable[[Worksheet], object], says: str
) -> None:
    book = openpyxl.load_workbook(evening.club)
    change(book["Standing"])
    book.save(evening.folder / "changed.xlsx")
    with pytest.raises(CannotRead, match=says):
        trail(evening.folder / "changed.xlsx", "Standing!C5")


def test_overdue_gets_a_reminder(evening: Evening) -> None:
    raw = read_book(evening.club)
    assert raw.properties["book id"] == BOOK_ID
    row = next(row for row in _settings(evening.club) if row[0] == "returns due")
    assert row is not None
    club = _with_due(evening.club, date(2026, 9, 21))
    (evening.folder / "none").mkdir()
    done = CliRunner().invoke(main, ["collate", str(club), str(evening.folder / "none"), "--as-at", str(AS_AT)])
    assert "2 overdue: M1, M2" in done.output
    assert "asked for by 2026-09-21" in done.output


def _settings(club: Path) -> list[list[object]]:
    from apiarybook.readers.raw import read_raw

    return read_raw(club).sheets["Settings"].rows


def _with_due(club: Path, due: date) -> Path:
    from apiarybook.readers.raw import read_raw

    raw = read_raw(club)
    next(row for row in raw.sheets["Settings"].rows if row[0] == "returns due")[1] = due
    return saved(raw, club)


def test_member_copy_is_no_club_book(evening: Evening) -> None:
    copy = shutil.copy(evening.copies["M1"], evening.folder / "copy.xlsx")
    with pytest.raises(CannotRead, match="the copy of a member"):
        collate(copy, [evening.club], as_at=AS_AT)
    with pytest.raises(CannotRead, match="names no cell"):
        trail(evening.club, "F7")


def test_all_orders_of_a_conflict_give_one_question(evening: Evening) -> None:
    files = [
        returned(evening.copies[member], evening.folder / f"{member}.xlsx", rows, when, changes=changed)
        for member, rows, when, changed in (
            ("M1", {}, SAVED, {("Weighings", "club26-W3", "remarks"): "one"}),
            ("M2", {"Weighings": [{**BOB, "date": DAY}]}, SAVED, {}),
        )
    ]
    found = {gathered(evening.another(str(at)), *order) for at, order in enumerate(permutations(files))}
    assert len(found) == 1


def test_note_holds_nothing_of_other_members(evening: Evening) -> None:
    """Random words planted in all that the other says stand nowhere in a member's note, nor does the other's name."""
    planted = "zqx7931kvw"
    theirs: list[Row] = [
        {**BOB, "colony": "A1", "reading_1": 43.625, "remarks": planted, "by": planted, "date": DAY_2},
        {**BOB, "colony": "B1", "remarks": f"{planted} near the mill pond", "how": planted, "scale": planted},
        {**ANN, "colony": "A2", "reading_1": 31.0},
    ]
    ours: list[Row] = [
        {**ANN, "date": DAY_2, "reading_1": 30.0},
        {**ANN, "colony": "B11"},
        {**ANN, "colony": "A2", "reading_1": 31.0},
    ]
    inbox = evening.folder / "in"
    returned(evening.copies["M2"], inbox / f"bob {planted}.xlsx", {"Weighings": theirs, "Feedings": [FED]})
    returned(evening.copies["M1"], inbox / "ann.xlsx", {"Weighings": ours, "Feedings": [FED]})
    done = gather(evening, inbox)
    rules = {one.rule for one in done.rebuilt.reckoned.checked.findings}
    assert {"weighed-by-two", "unknown-code", "someone-elses-colony", "same-row-twice"} <= rules
    for ending in (".txt", ".html"):
        note = done.notes["M1"].with_suffix(ending).read_text(encoding="utf-8")
        assert "B11" in note
        for word in (planted, "Bob", "Birch", "43.6", "mill pond", "M2", "P2", "Perhaps B1 "):
            assert word not in note, word


def test_no_typed_value_vanishes(evening: Evening) -> None:
    """Every filled cell of every return stands in the club's book: as current, in Changes, Decisions or Claims."""
    inbox = evening.folder / "in"
    returned(evening.copies["M1"], inbox / "a.xlsx", {"Weighings": [{**ANN, "remarks": "first word"}]})
    returned(
        evening.copies["M1"],
        inbox / "b.xlsx",
        {"Weighings": [{**ANN, "remarks": "second word", "reading_1": "33,5"}]},
        LATER,
        changes={("Weighings", "club26-W3", "reading_1"): 18.25, ("My colonies", "A1", "state"): "sold"},
    )
    edited(evening.club, {("Weighings", "club26-W3", "reading_1"): 19.75})
    gather(evening, inbox)
    book = read_book(evening.club)
    current = {str(one) for rows in data(evening.club).values() for row in rows for one in row}
    changes = " ".join(str(one) for row in book.kept["Changes"].raw.to_numpy().tolist() for one in row)
    decisions = " ".join(str(one) for row in book.tables["Questions"].raw.to_numpy().tolist() for one in row)
    assert {"second word", "33,5", "sold"} <= current
    assert "first word" in changes
    assert "18.25" in decisions
    assert "19.75" in decisions
