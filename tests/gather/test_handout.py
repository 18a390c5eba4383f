"""Member copies: they work on their own, hold nothing of other members, and map back to the club's sheets."""

from __future__ import annotations

import io
import json
import re
import zipfile
from dataclasses import replace
from datetime import date, datetime
from itertools import groupby
from random import Random
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from click.testing import CliRunner

from apiarybook.book.settle import settle
from apiarybook.book.tables import read_book
from apiarybook.checks.loop import check_book
from apiarybook.cli.commands import main
from apiarybook.errors import CannotRead, CannotWrite
from apiarybook.gather.claims import claims_of, from_frame
from apiarybook.gather.collate import collate
from apiarybook.gather.handout import Handing, handout
from apiarybook.gather.on_disk import look_at_file, reckon_book, reckon_file
from apiarybook.gather.redaction import SOMEONE_ELSE, masks, unmasked
from apiarybook.gather.shares import shares
from apiarybook.layout import LAYOUT_VERSION
from apiarybook.writers.set_by_people import LAYOUT_MARK, layout_mark
from tests.engines.oracle import Values, by_formualizer, differences, read_xlsx
from tests.gather.small_club import AS_AT, DAY, HIVE, ROWS, Row, club_book

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from apiarybook.gather.claims import Claim

IN_VIEW = ["Start here", "My colonies", "Weighings", "Feedings", "Winter rounds", "After winter"]


def hand_out(club: Path, *members: str, as_at: date = AS_AT) -> Handing:
    return handout(club, club.parent / "copies", members=members, as_at=as_at, book_id="0badcafe")


@pytest.fixture(scope="module", name="handed")
def handed_out_once(tmp_path_factory: pytest.TempPathFactory) -> Handing:
    """The small club handed out, for tests that only look."""
    return hand_out(club_book(tmp_path_factory.mktemp("club") / "c.xlsx"))


def copies(handing: Handing) -> dict[str, bytes]:
    return {copy.member: copy.path.read_bytes() for copy in handing.copies}


def known(club: Path) -> list[Claim]:
    return from_frame(read_book(club).kept["Claims"].raw)


WORD = re.compile(r"zq[0-9a-f]{11}")


def planted(data: bytes) -> set[str]:
    """The planted words in any part of a workbook, in the names of the parts and in the file as it lies there."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = [f"{part.filename}\n{archive.read(part).decode('utf-8', 'replace')}" for part in archive.infolist()]
    return set(WORD.findall("\n".join([*parts, data.decode("latin-1")]).casefold()))


def test_six_sheets_are_in_view_and_what_they_need_stands_behind(handed: Handing) -> None:
    book = openpyxl.load_workbook(io.BytesIO(copies(handed)["M1"]))
    assert [sheet.title for sheet in book if sheet.sheet_state == "visible"] == IN_VIEW
    assert {sheet.sheet_state for sheet in book} == {"visible", "hidden"}
    assert {"Moves", "Claims", "Returns", "Changes", "Questions", "Scale loans", "Scale checks"}.isdisjoint(
        book.sheetnames
    )
    about = {row[0].value: row[1].value for row in book["About"].iter_rows(min_row=2) if row[0].value}
    told = {"book id": "00c0ffee", "copy id": "M1a_00c0", "member": "M1", "winter": "2026/27"}
    told |= {"layout version": LAYOUT_VERSION}
    assert about | told == about
    assert {one.name: one.value for one in book.custom_doc_props.props} == told | {LAYOUT_MARK: layout_mark()}


def test_the_first_eight_columns_of_my_colonies_say_what_to_do(handed: Handing) -> None:
    data = copies(handed)["M1"]
    sheet = openpyxl.load_workbook(io.BytesIO(data), data_only=True)["My colonies"]
    lines = [[cell.value for cell in row[:8]] for row in sheet.iter_rows(min_row=4, max_row=5)]
    headings = ["colony", "apiary", "verdict", "give (kg)", "that is (l)", "of", "by", "should weigh (kg)"]
    assert lines[0] == headings
    assert lines[1][:3] == ["A1", "P1", "feed"]
    assert all(not sheet.column_dimensions[letter].hidden for letter in "ABCDEFGHIJKL")


def pinned(data: bytes) -> bytes:
    """A copy held to the day for which it was reckoned, as its member would type it: copies follow the calendar."""
    book, target = openpyxl.load_workbook(io.BytesIO(data)), io.BytesIO()
    book["My colonies"][PIN] = datetime(AS_AT.year, AS_AT.month, AS_AT.day)  # noqa: DTZ001 cells know no zones
    book.save(target)
    return target.getvalue()


PIN = "D2"


@pytest.mark.parametrize("unit", ["kg", "lb"])
def test_every_formula_of_a_copy_gives_what_python_wrote(tmp_path: Path, unit: str) -> None:
    for data in copies(hand_out(club_book(tmp_path / "c.xlsx", unit=unit))).values():
        found = differences(read_xlsx(data), by_formualizer(pinned(data), tmp_path))
        assert [one for one in found if not one.startswith("My colonies!R2C4:")][:20] == []


def test_a_copy_reckons_by_itself_what_its_member_types(tmp_path: Path, handed: Handing) -> None:
    book = openpyxl.load_workbook(io.BytesIO(pinned(copies(handed)["M1"])))
    typed = {"date": date(2026, 9, 24), "colony": "A2", "how": "full lift", "reading 1 (kg)": 34.0}
    free = next(row for row in book["Weighings"].iter_rows(min_row=2) if "M1a_00c0-W1" in [cell.value for cell in row])
    heads = [cell.value for cell in book["Weighings"][1]]
    for heading, value in typed.items():
        free[heads.index(heading)].value = value
    target = io.BytesIO()
    book.save(target)
    theirs = recalculated(target.getvalue(), tmp_path)
    ours = reckon_book(read_book(("r.xlsx", target.getvalue())), AS_AT).season.standing
    sheet = book["My colonies"]
    columns = [cell.value for cell in sheet[4]]
    for key, heading in (("stores_today", "stores today (kg)"), ("gross", "gross (kg)"), ("short_by", "short by (kg)")):
        value: Any = theirs["My colonies", 6, columns.index(heading) + 1]
        assert value == pytest.approx(ours[key].iloc[1], rel=1e-9)
    assert theirs["My colonies", 6, columns.index("verdict") + 1] == ours["verdict"].iloc[1]


def recalculated(data: bytes, folder: Path) -> Values:
    """What another engine makes of a file whose formulas hold no results."""
    import formualizer

    source, target = folder / "typed.xlsx", folder / "recalculated.xlsx"
    source.write_bytes(data)
    assert formualizer.recalculate_file(str(source), str(target))["errors"] == 0
    return read_xlsx(target.read_bytes()).values


def test_drop_downs_offer_the_members_own_colonies_and_the_clubs_lists(handed: Handing) -> None:
    data = copies(handed)["M1"]
    book = openpyxl.load_workbook(io.BytesIO(data))
    lists = {
        str(rule.sqref).split(":")[0].rstrip("0123456789"): rule.formula1
        for rule in book["Weighings"].data_validations.dataValidation
        if rule.type == "list"
    }
    assert lists["B"] == "'My colonies'!$A$5:$A$12"
    words = [cell.value for row in book[lists["D"].split("!")[0]][lists["D"].split("!")[1]] for cell in row]
    assert words[:2] == ["full lift", "two sides"]
    apiaries = next(r for r in book["My colonies"].data_validations.dataValidation if "B5" in str(r.sqref))
    assert [cell.value for (cell,) in book["Apiaries"][apiaries.formula1.split("!")[1]]] == ["P1", None]


def test_a_copy_maps_back_to_the_clubs_sheets(handed: Handing) -> None:
    book = read_book(("returned.xlsx", copies(handed)["M1"]))
    assert [(one.rule, one.sheet) for one in book.faults] == []
    colonies = book.tables["Colonies"]
    assert colonies.name == "My colonies"
    assert colonies.typed["colony"].dropna().tolist() == ["A1", "A2"]
    assert colonies.typed["takes_fondant"].dropna().tolist() == ["yes", "yes"]
    assert colonies.unknown.empty
    refs = book.tables["Weighings"].typed["ref"].tolist()
    assert refs[:4] == ["club26-W1", "club26-W3", "club26-W4", "M1a_00c0-W1"]
    given = [claim for claim in known(handed.target) if claim.copy == "M1a_00c0"]
    assert unmasked(claims_of(book, "M1a_00c0"), given) == [
        replace(claim, saved=SAVED, file="returned.xlsx", gathered="", raw=_without_shown(claim.raw)) for claim in given
    ]


SAVED = "2026-09-25T00:00:00"
"""What a copy says of its own time until somebody saves it: the day for which it was reckoned."""


def _without_shown(raw: dict[str, str]) -> dict[str, str]:
    return {key: text for key, text in raw.items() if not key.startswith("shown: ")}


def test_other_people_read_someone_else_and_the_club_still_knows_who(handed: Handing) -> None:
    book = read_book(("r.xlsx", copies(handed)["M1"]))
    assert book.tables["Weighings"].typed["by"].dropna().tolist() == ["Ann Alder", SOMEONE_ELSE, SOMEONE_ELSE]
    assert book.tables["Hefting"].raw["by"].dropna().tolist()[:1] == ["any other hand"]
    true = {claim.ref: claim.values["by"] for claim in known(handed.target) if claim.sheet == "Weighings" and claim.ref}
    assert true == {
        "club26-W1": "Ann Alder",
        "club26-W2": "Bob Birch",
        "club26-W3": "Bob Birch",
        "club26-W4": "Bob Birch",
    }


def test_a_name_that_the_member_changes_is_what_the_member_says(handed: Handing) -> None:
    returned = [
        replace(claim, values=claim.values | {"by": "Cy"})
        for claim in claims_of(read_book(("r.xlsx", copies(handed)["M1"])), "M1a_00c0")
        if claim.ref == "club26-W3"
    ]
    assert [claim.values["by"] for claim in unmasked(returned, known(handed.target))] == ["Cy"]


@pytest.mark.parametrize(
    ("remark", "shown"),
    [
        ("lifted with Bob Birch and bob  birch", "lifted with someone else and someone else"),
        ("Bob saw wasps at the mill pond", "someone else saw wasps at the someone else"),
        ("comb swapped with B1", "comb swapped with someone else"),
        ("birch bark on the roof of A2, Ann", "birch bark on the roof of A2, Ann"),
        ("B12 is no colony", "B12 is no colony"),
    ],
)
def test_remarks_name_nobody_else(handed: Handing, remark: str, shown: str) -> None:
    book = settle(read_book(handed.target), "club26")
    assert masks(book, shares(book, {})).text(remark, "M1") == shown


NOBODY = "9"
"""Whose what stands in the club's own book only is among the tokens: no copy may hold it, not even the member's own."""


class Tokens:
    """Words that stand nowhere else, noted by whose they are."""

    def __init__(self, seed: int) -> None:
        self.random = Random(seed)  # noqa: S311 a seed, no secret
        self.of: dict[str, list[str]] = {}

    def new(self, member: str) -> str:
        word = f"Zq{self.random.getrandbits(44):011x}"
        self.of.setdefault(member, []).append(word.casefold())
        return word


def planted_club(tokens: Tokens) -> tuple[dict[str, list[Row]], list[str]]:
    """A club whose every text is a word of its member; colonies are weighed by others too, and remarks name them."""
    pick = tokens.random.choice
    codes = [tokens.new(f"{number}") for number in range(3)]
    whose = dict(zip(codes, "012", strict=True))
    rows: dict[str, list[Row]] = {name: [] for name in ROWS}
    names = {code: f"{tokens.new(of)} {tokens.new(of)}" for code, of in whose.items()}
    apiaries, colonies = {}, {}
    for code, of in whose.items():
        private = {"phone": tokens.new(NOBODY), "mail": tokens.new(NOBODY)}
        rows["Members"].append({"member": code, "name": names[code], **private})
        rows["Scale loans"].append({"scale": "H1", "member": code, "out": DAY, "remarks": tokens.new(of)})
        rows["Scale checks"].append(
            {"date": DAY, "scale": "H1", "known": 20.0, "reading": 20.1, "by": names[code], "remarks": tokens.new(of)}
        )
        for _ in range(2):
            apiaries[place := tokens.new(of)] = code
            rows["Apiaries"].append(
                {"apiary": place, "member": code, "place": tokens.new(of), "profile": "british-isles"}
            )
    for place, code in apiaries.items():
        colonies[hive := tokens.new(whose[code])] = code
        rows["Colonies"].append({"colony": hive, "apiary": place, "hive_type": pick([HIVE, tokens.new(whose[code])])})
    rows["Moves"], rows["Winter rounds"], rows["After winter"] = [], [], []
    for hive, code in [*colonies.items()] * 2:
        other = pick(codes)
        mine, theirs = tokens.new(whose[code]), pick([names[other], other, pick(names[other].split())])
        base: Row = {"date": DAY, "colony": hive, "remarks": f"{mine} with {theirs}, {pick([*colonies, *apiaries])}"}
        by = pick([names[code], names[other], other, theirs])
        lifted = {
            "how": "full lift",
            "reading_1": 35.0,
            "feed_left": pick([0.0, theirs]),
            "scale": pick(["H1", theirs]),
        }
        rows["Weighings"].append({**base, "by": by, **lifted, "typed_for": pick([None, other])})
        rows["Feedings"].append({**base, "feed_kind": "Fondant", "amount": pick([2.0, theirs]), "unit": "kg"})
        rows["Winter rounds"].append({**base, "by": by, "heft": pick(["light", f"as {theirs} says"])})
        rows["Moves"].append({**base, "what": "united into", "into": pick([*colonies])})
        rows["After winter"].append({**base, "outcome": pick(["wintered", theirs])})
    rows["Scales"] = ROWS["Scales"]
    return rows, codes


def add_trimmings(club: Path, tokens: Tokens) -> None:
    """What a secretary may add: a column, a note and a sheet, all about the last member."""
    book = openpyxl.load_workbook(club)
    sheet = book["Weighings"]
    sheet.cell(1, sheet.max_column + 1, "own notes")
    sheet.cell(2, sheet.max_column, tokens.new("2"))
    book["Members"]["A2"].comment = openpyxl.comments.Comment(tokens.new("2"), tokens.new("2"))
    book.create_sheet("Sheet of ours")["A1"] = tokens.new("2")
    book.properties.creator = tokens.new("2")
    book.save(club)


@pytest.mark.parametrize("seed", range(2))
def test_a_copy_holds_nothing_of_other_members(tmp_path: Path, seed: int) -> None:
    tokens = Tokens(seed)
    rows, codes = planted_club(tokens)
    club = club_book(tmp_path / "c.xlsx", rows)
    if seed % 2:
        add_trimmings(club, tokens)
    first = hand_out(club)
    second = hand_out(first.target, codes[0], as_at=date(2026, 10, 2))
    for handing in (first, second):
        for copy in handing.copies:
            own = f"{codes.index(copy.member)}"
            found = planted(copy.path.read_bytes()) | set(WORD.findall(copy.path.name.casefold()))
            assert found <= set(tokens.of[own])
            assert len(found) > 10, "the search finds what is there"


def test_handing_out_again_goes_on_with_the_refs_and_is_noted(tmp_path: Path) -> None:
    club = club_book(tmp_path / "c.xlsx")
    hand_out(club)
    again = hand_out(club, "m1", as_at=date(2026, 10, 2))
    refs = read_book(again.copies[0].path).tables["Weighings"].typed["ref"].tolist()
    assert refs[:4] == ["club26-W1", "club26-W3", "club26-W4", "M1b_00c0-W121"]
    returns = read_book(club).kept["Returns"].raw
    assert returns[["member", "copy", "state"]].to_numpy().tolist() == [
        ["M1", "M1a_00c0", "superseded"],
        ["M2", "M2a_00c0", "missing"],
        ["M1", "M1b_00c0", "missing"],
    ]
    assert returns["handed_out"].tolist() == [AS_AT, AS_AT, date(2026, 10, 2)]
    handed_out = {claim.copy for claim in known(club) if claim.kind == "handed out"}
    assert handed_out == {"M1a_00c0", "M1b_00c0", "M2a_00c0"}


def test_what_a_member_was_not_shown_merges_back_as_unchanged(tmp_path: Path) -> None:
    club = club_book(tmp_path / "c.xlsx")
    back = hand_out(club).copies[0].path
    book = openpyxl.load_workbook(back)
    sheet = book["Weighings"]
    heads = [cell.value for cell in sheet[1]]
    sheet.cell(3, heads.index("remarks") + 1, "wasps")
    sheet.cell(5, heads.index("date") + 1, date(2026, 9, 24))
    sheet.cell(5, heads.index("colony") + 1, "A2")
    sheet.cell(5, heads.index("how") + 1, "heft")
    sheet.cell(5, heads.index("heft: guess or word") + 1, "heavy")
    book.save(back)
    gathered = collate(club, [back], as_at=date(2026, 10, 2))
    assert (gathered.rebuilt.folded.conflicts, gathered.rebuilt.folded.asks) == ([], [])
    rows = read_book(club).tables["Weighings"].typed.set_index("ref")
    assert rows.loc[["club26-W1", "club26-W3", "club26-W4"], "by"].tolist() == ["Ann Alder", "Bob Birch", "Bob Birch"]
    assert (rows.loc["club26-W3", "remarks"], rows.loc["M1a_00c0-W1", "heft"]) == ("wasps", "heavy")


def test_tokens_are_unique_whatever_the_codes(tmp_path: Path) -> None:
    members = [{"member": code, "name": code} for code in ("M-1", "M1", "m_1")]
    apiaries = [
        {"apiary": f"P{at}", "member": one["member"], "profile": "british-isles"} for at, one in enumerate(members)
    ]
    club = club_book(tmp_path / "c.xlsx", {"Members": members, "Apiaries": apiaries, "Colonies": [], "Weighings": []})
    assert [copy.copy for copy in hand_out(club).copies] == ["M1a_00c0", "M1b_00c0", "m1c_00c0"]


def test_the_same_club_gives_the_same_bytes(tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    one, two = (hand_out(club_book(tmp_path / name / "c.xlsx"), "M1") for name in ("one", "two"))
    assert copies(one) == copies(two)
    assert one.target.read_bytes() == two.target.read_bytes()


def test_a_row_that_the_club_holds_is_held_in_the_copy(tmp_path: Path) -> None:
    slip: list[Row] = [*ROWS["Weighings"][:3], {"date": DAY, "colony": "A1", "how": "full lift", "reading_1": "31,5"}]
    handing = hand_out(club_book(tmp_path / "c.xlsx", {"Weighings": slip}))
    assert handing.club.checked.held["Weighings"] == {5: "reading 1: decimal comma"}
    book = read_book(handing.copies[0].path)
    assert book.tables["Weighings"].raw["held"].dropna().tolist() == ["reading 1: decimal comma"]


def test_what_moves_gave_is_known_to_the_check_of_a_copy(tmp_path: Path) -> None:
    """50 kg are too much for the single that is listed, and right for the double that it has become."""
    move: Row = {"date": date(2026, 9, 5), "colony": "A1", "what": "new hive type", "into": "National double"}
    heavy: Row = {**ROWS["Weighings"][0], "reading_1": 50.0}
    club = club_book(tmp_path / "club.xlsx", {"Moves": [move], "Weighings": [heavy]})
    (copy,) = hand_out(club, "M1").copies
    assert check_book(read_book(copy.path), AS_AT).held == {}


def test_a_member_without_an_apiary_gets_none_and_is_named(tmp_path: Path) -> None:
    members = [*ROWS["Members"], {"member": "M3", "name": "Cy Cedar"}]
    handing = hand_out(club_book(tmp_path / "c.xlsx", {"Members": members}))
    assert ([copy.member for copy in handing.copies], handing.skipped) == (["M1", "M2"], ["M3"])


def test_a_member_with_an_apiary_but_no_colony_gets_a_copy_to_fill(tmp_path: Path) -> None:
    handing = hand_out(club_book(tmp_path / "c.xlsx", {"Colonies": [], "Weighings": [], "Feedings": []}), "M1")
    data = handing.copies[0].path.read_bytes()
    assert (handing.copies[0].colonies, handing.copies[0].rows) == (0, 0)
    found = differences(read_xlsx(data), by_formualizer(pinned(data), tmp_path))
    assert [one for one in found if not one.startswith("My colonies!R2C4:")][:20] == []


def test_an_unknown_member_is_refused_with_the_nearest_code(tmp_path: Path) -> None:
    with pytest.raises(CannotRead, match=r"no member has the code 'M11' \(perhaps M1\)"):
        hand_out(club_book(tmp_path / "c.xlsx"), "M11")


def test_a_member_copy_is_no_club_book(tmp_path: Path) -> None:
    handing = hand_out(club_book(tmp_path / "c.xlsx"))
    with pytest.raises(CannotRead, match="is the copy of a member"):
        handout(handing.copies[0].path, tmp_path, as_at=AS_AT, book_id="0badcafe")


def test_a_book_open_elsewhere_is_not_touched_and_no_copy_made(tmp_path: Path) -> None:
    club = club_book(tmp_path / "c.xlsx")
    before = club.read_bytes()
    (tmp_path / ".~lock.c.xlsx#").write_text("Ann,ann,desk,25.09.2026 10:00,file:///books/ann;")
    with pytest.raises(CannotWrite, match=r"open in a spreadsheet program \(Ann\)"):
        hand_out(club)
    assert (club.read_bytes(), list((tmp_path / "copies").glob("*"))) == (before, [])


def test_nothing_is_left_where_a_copy_cannot_stand(tmp_path: Path) -> None:
    club = club_book(tmp_path / "c.xlsx")
    before = club.read_bytes()
    (tmp_path / "copies").mkdir()
    (tmp_path / "copies" / "Stores 2026-27 M2a_00c0.xlsx").write_bytes(b"something of somebody's")
    with pytest.raises(CannotWrite, match="stands there already"):
        hand_out(club)
    assert [one.name for one in (tmp_path / "copies").iterdir()] == ["Stores 2026-27 M2a_00c0.xlsx"]
    assert club.read_bytes() == before


def test_the_command_says_what_it_made(tmp_path: Path) -> None:
    club = club_book(tmp_path / "c.xlsx")
    words = ["handout", str(club), "--into", str(tmp_path / "out"), "--as-at", "2026-09-25"]
    said = CliRunner().invoke(main, words)
    assert said.exit_code == 0
    assert "M1  2 colonies  Stores 2026-27 M1a_00c0.xlsx" in said.stdout
    assert "M2  1 colony " in said.stdout
    assert CliRunner().invoke(main, [*words, "--member", "nobody"]).exit_code == 2


def test_the_command_speaks_json(tmp_path: Path) -> None:
    club = club_book(tmp_path / "c.xlsx")
    words = ["handout", str(club), "--into", str(tmp_path / "out"), "--member", "M2", "--as-at", "2026-09-25", "--json"]
    said = CliRunner().invoke(main, words)
    told = json.loads(said.stdout)
    assert (said.exit_code, told["handed_out"][0]["copy"], told["skipped"]) == (0, "M2a_00c0", [])
    assert {"handed_out", "skipped", "book", "findings", "counts"} == set(told)


@pytest.mark.parametrize("look", [reckon_file, look_at_file])
def test_a_member_copy_is_not_reckoned_as_if_it_were_the_clubs_book(
    handed: Handing, look: Callable[[Path, date], object]
) -> None:
    path = next(copy.path for copy in handed.copies)
    before = path.read_bytes()
    with pytest.raises(CannotRead, match="is the copy of a member"):
        look(path, AS_AT)
    assert path.read_bytes() == before


def test_blank_rows_of_the_clubs_book_stand_in_a_band_for_each_member(handed: Handing) -> None:
    sheet = openpyxl.load_workbook(handed.target)["Weighings"]
    headings = [cell.value for cell in sheet[1]]
    columns = [headings.index(heading) for heading in ("kept for", "date", "colony")]
    rows = [[row[number].value for number in columns] for row in sheet.iter_rows(min_row=2)]
    free = [kept for kept, day, colony in rows if day is None and colony is None]
    assert [kept for kept, day, _ in rows if day is not None] == [None] * len(ROWS["Weighings"])
    bands = [(kept, len(list(band))) for kept, band in groupby(free)]
    assert [kept for kept, _ in bands] == ["M1", "M2", None]
    assert min(count for _, count in bands[:2]) > 30
    assert "kept for" not in [
        cell.value for cell in openpyxl.load_workbook(io.BytesIO(copies(handed)["M1"]))["Weighings"][1]
    ]
