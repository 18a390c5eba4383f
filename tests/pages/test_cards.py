"""The cards say what the reckoning says, in either unit, on either paper, and each fits its page."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook
from scipy.integrate import quad
from scipy.stats import norm

from apiarybook.cli.commands import main
from apiarybook.club.reckoned import read_book, reckon_book
from apiarybook.handbook.cautions import CAUTIONS, LIFTING, STINGS
from apiarybook.pages import card_words
from apiarybook.pages.card_content import _natural, lift
from apiarybook.pages.card_page import as_book, as_page, content, free_refs, make_cards
from apiarybook.reckon.core.winter import day_of
from tests.gather.small_club import HIVE, club_book
from tests.pages.small_cards import KEPT, POUND, club_in, rows_in

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from apiarybook.book.tables import Book
    from apiarybook.club.reckoned import Reckoned
    from apiarybook.pages.card_words import Cards

    Club = tuple[Path, Book, Reckoned, Cards]
    Maker = Callable[[str, str], Club]


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Maker:
    folder = tmp_path_factory.mktemp("cards")

    def made(unit: str, paper: str) -> Club:
        path, book, reckoned, cards = club_in(unit, folder)
        return path, book, reckoned, replace(cards, paper=paper)

    return made


@pytest.mark.parametrize("unit", ["kg", "lb"])
def test_targets_are_those_of_the_list_of_hive_types(club: Maker, unit: str) -> None:
    _, _, reckoned, cards = club(unit, "A4")
    types = reckoned.season.hive_types.set_index("name")
    assert [card.hive_type for card in cards.targets] == [HIVE, "Six frame nucleus polystyrene"]
    assert [card.colonies for card in cards.targets] == [3, 1]
    assert [[group.colonies for group in card.reached] for card in cards.targets] == [[2, 1], [1]]
    for card in cards.targets:
        soonest = card.reached[0].october
        assert (soonest.day, soonest.full) == (date(2026, 10, 15), False)
        assert soonest.target.gross == pytest.approx(types.loc[card.hive_type, "target"])
        days = [one.day.isoformat()[5:] for one in card.reached[0].days]
        assert days == ["09-01", "09-15", "10-01", "10-15", "11-01"]
        assert (card.tare, card.want) == pytest.approx(tuple(types.loc[card.hive_type, ["tare", "want"]]))
        assert soonest.target.one_edge == pytest.approx(soonest.target.gross / 2.2)  # East Central Wisconsin beekeepers


@pytest.mark.parametrize(("takes", "when"), [("yes", date(2026, 12, 1)), ("no", date(2027, 3, 1))])
def test_least_is_the_least_of_a_colony_looked_at_on_the_card_day(
    club: Maker, tmp_path: Path, takes: str, when: date
) -> None:
    """The card's least is what the reckoning itself says of a colony on 15 October, its winter not yet begun."""
    cards = club("kg", "A4")[3]
    weighing = {"date": date(2026, 10, 14), "colony": "A1", "by": "Ann", "how": "platform", "reading_1": 38.0}
    colony = {"colony": "A1", "apiary": "P1", **KEPT, "takes_fondant": takes}
    apiaries = [{"apiary": "P1", "member": "M1", "profile": "british-isles", "winter_starts": date(2026, 10, 31)}]
    rows = rows_in("kg") | {"Colonies": [colony], "Weighings": [weighing | {"feed_left": 0.0}], "Apiaries": apiaries}
    standing = reckon_book(read_book(club_book(tmp_path / "one.xlsx", rows)), date(2026, 10, 15)).season.standing
    least = {one.fed_next: one.october.least for one in cards.targets[0].reached}
    assert sorted(least) == [date(2026, 12, 1), date(2027, 3, 1)]
    assert day_of(standing["reach"].iloc[0]) == when
    assert least[when].stores == pytest.approx(standing["least"].iloc[0])
    target = cards.targets[0].reached[0].october.target
    assert least[when].gross == pytest.approx(target.gross - target.stores + least[when].stores)


def test_two_people_from_the_limits_on() -> None:
    """25 kg whole and 16 kg at the edge: older HSE guidance, from memory."""
    assert [(lift(gross, 5.0).two_whole, lift(gross, 5.0).two_edge) for gross in (25.0, 25.1, 32.0, 32.1)] == [
        (False, False),
        (True, False),
        (True, False),
        (True, True),
    ]


def test_lines_are_in_visiting_order_with_the_refs_of_ready_made_rows(club: Maker) -> None:
    _, book, _, cards = club("kg", "A4")
    assert [line.colony for line in cards.lines] == ["A2", "A10", "B1", "B2"]
    refs = [line.ref for line in cards.lines]
    raw = book.tables["Weighings"].raw.set_index("ref")
    assert refs == ["club26-W2", "club26-W1", "club26-W3", "club26-W4"]
    assert raw.loc[refs, "ready_colony"].tolist() == ["A2", "A10", "B1", "B2"]
    assert raw.loc[refs, "colony"].isna().all()
    single = cards.targets[0]
    october = single.reached[0].october.target.gross
    assert cards.lines[0].target == pytest.approx(october - single.tare + 18.0)
    assert cards.lines[1].target == pytest.approx(october)


def test_rows_that_somebody_typed_into_are_not_offered(tmp_path: Path) -> None:
    book = read_book(club_book(tmp_path / "club.xlsx"))
    assert next(iter(free_refs(book))) == "club26-W5"


def test_more_colonies_than_ready_made_rows(club: Maker) -> None:
    _, _, reckoned, _ = club("kg", "A4")
    cards = content(reckoned, {"club26-W1": ""}, "A4")
    assert [line.ref for line in cards.lines] == ["club26-W1", "", "", ""]
    assert "type it after the last one" in as_page(cards)


def test_codes_in_their_own_order() -> None:
    assert sorted(["B1", "A10", "a2", "A1"], key=_natural) == ["A1", "a2", "A10", "B1"]


@pytest.mark.parametrize(("unit", "per"), [("kg", 1.0), ("lb", POUND)])
def test_page_and_workbook_say_the_same_masses(club: Maker, tmp_path: Path, unit: str, per: float) -> None:
    cards = club(unit, "A4")[3]
    page, path = as_page(cards), tmp_path / "cards.xlsx"
    path.write_bytes(as_book(cards))
    sheet = load_workbook(path)["Target card"]
    numbers = {cell.value for row in sheet.iter_rows() for cell in row if isinstance(cell.value, float | int)}
    for card in cards.targets:
        days = [one for group in card.reached for one in group.days]
        grosses = [lifted.gross for one in days for lifted in (one.target, one.least)]
        for kilograms in grosses:
            assert round(kilograms / per, 1) in numbers
            assert f"{kilograms / per:.1f}" in page
        kit = f"tare {card.tare / per:.1f}, want {card.want / per:.1f}"
        assert kit in page
        assert any(kit in str(cell.value) for cell in sheet["A"])
    assert f"guess, {unit}" in page
    assert f"Masses in {unit}" in str(sheet["A3"].value)


@pytest.mark.parametrize(("paper", "number"), [("A4", 9), ("Letter", 1)])
def test_paper(club: Maker, tmp_path: Path, paper: str, number: int) -> None:
    """Numbers of papers: ISO/IEC 29500-1, 18.3.1.63."""
    cards = club("kg", paper)[3]
    path = tmp_path / "cards.xlsx"
    path.write_bytes(as_book(cards))
    sheets = load_workbook(path).worksheets
    assert [sheet.title for sheet in sheets] == list(card_words.TITLES)
    assert {int(sheet.page_setup.paperSize) for sheet in sheets} == {number}
    assert f"size: {paper} landscape" in as_page(cards)


def test_an_apiary_has_its_own_page_and_the_guess_stands_before_what_is_read(club: Maker, tmp_path: Path) -> None:
    cards = club("kg", "A4")[3]
    assert [[line.colony for line in lines] for _, lines in cards.apiaries] == [["A2", "A10"], ["B1", "B2"]]
    page, path = as_page(cards), tmp_path / "cards.xlsx"
    path.write_bytes(as_book(cards))
    sheet = load_workbook(path)["Weigh-day sheet"]
    heads = [[cell.value for cell in row] for row in sheet.iter_rows() if row[0].value == "colony"]
    assert len(heads) == 2
    assert len(sheet.row_breaks.brk) == 1
    for said in (heads[0], re.findall(r'<th scope="col"[^>]*>([^<]+)<', page.split("<section")[2])):
        order = [said.index(one) for one in ("guess first", "how", "reading 1", "target gross, kg", "row")]
        assert order == sorted(order)


def test_keepers_pages_are_for_the_secretary_alone(tmp_path: Path) -> None:
    """Phone and mail stand on the keeper's own page, and in no other file that is made."""
    reach = {"M1": {"phone": "0700 900111", "mail": "one@example.org"}, "M2": {"phone": "0700 900222"}}
    rows = rows_in("kg")
    plain = read_book(club_book(tmp_path / "plain.xlsx", rows)).tables["Members"].typed
    members = [
        {"member": row["member"], "name": row["name"], **reach.get(str(row["member"]), {})}
        for row in plain.to_dict("records")
        if row["member"]
    ]
    path = club_book(tmp_path / "club.xlsx", rows | {"Members": members})
    cards, files, _ = make_cards(path, tmp_path / "out", None, date(2026, 9, 25))
    *others, people = files
    _, *told = people.read_text("utf-8").split("<section>")
    assert len(told) == 2
    assert [one["phone"] in part for one, part in zip(reach.values(), told, strict=True)] == [True, True]
    assert "900222" not in told[0]
    assert all(line.colony in told[number] for number, (_, lines) in enumerate(cards.apiaries) for line in lines)
    assert not any(b"900111" in file.read_bytes() or b"example.org" in file.read_bytes() for file in others)


def test_same_bytes_each_time(club: Maker) -> None:
    cards = club("kg", "A4")[3]
    assert as_book(cards) == as_book(cards)
    assert as_page(cards) == as_page(cards)


def test_page_needs_nothing_from_elsewhere(club: Maker) -> None:
    page = as_page(club("kg", "A4")[3])
    assert not re.search(r"https?:|//|url\(|@import|<script|<link|<img| src=| href=", page)
    assert "default-src 'none'" in page


def test_page_is_well_formed_and_what_was_typed_stays_text(club: Maker) -> None:
    cards = replace(club("kg", "A4")[3], club="<b>Bees & Co</b>")
    page = as_page(cards)
    assert "&lt;b&gt;Bees &amp; Co&lt;/b&gt;" in page
    body = page[page.index("<body>") : page.index("</html>")].replace("<br>", "")
    ET.fromstring(re.sub(r"<(col|meta)\b[^>]*>", "", body))  # noqa: S314 our own page


def test_cautions_stand_on_every_card(club: Maker, tmp_path: Path) -> None:
    cards = club("kg", "A4")[3]
    page, path = as_page(cards).replace("&#39;", "'"), tmp_path / "cards.xlsx"
    path.write_bytes(as_book(cards))
    target, *apiaries, practice = page.split("<section")[1:]
    assert len(apiaries) == len(cards.apiaries) == 2
    for sheet, part in zip(load_workbook(path).worksheets, (target, min(apiaries), practice), strict=True):
        written = " ".join(str(cell.value) for row in sheet.iter_rows() for cell in row if cell.value)
        wanted = [text for _, text in CAUTIONS] if sheet.title == "Target card" else [LIFTING, STINGS]
        assert all(text in written and text in part for text in wanted)


def test_rules_of_thumb_for_scatter() -> None:
    """Mean ranges of normal samples (Tippett 1925): 3.078 for ten, 1.128 for two; by the integral of the range."""

    def mean_range(count: int) -> float:
        return float(quad(lambda x: 1 - norm.cdf(x) ** count - norm.sf(x) ** count, -8, 8)[0])

    assert 1 / mean_range(10) == pytest.approx(1 / 3, abs=0.01)
    assert 1 / mean_range(2) / 3 == pytest.approx(0.3, abs=0.005)


def test_command(club: Maker, tmp_path: Path) -> None:
    path = club("lb", "A4")[0]
    into = tmp_path / "to print"
    run = ["cards", str(path), "--into", str(into), "--as-at", "2026-09-25"]
    result = CliRunner().invoke(main, [*run, "--json"])
    assert result.exit_code == 0, result.output
    told = json.loads(result.output)
    assert told["paper"] == "Letter"
    assert [line["colony"] for line in told["weigh_day"]] == ["A2", "A10", "B1", "B2"]
    assert {"findings", "counts", "targets", "practice"} <= set(told)
    again = CliRunner().invoke(main, run)
    assert "cards.xlsx and cards.html" in again.output
    assert "4 colonies" in again.output
    assert sorted(one.name for one in into.iterdir()) == ["cards.html", "cards.xlsx", "keepers.html"]


def test_what_stands_there_is_left_as_it_is(club: Maker, tmp_path: Path) -> None:
    path = club("kg", "A4")[0]
    (tmp_path / "cards.html").write_text("somebody's own", encoding="utf-8")
    result = CliRunner().invoke(main, ["cards", str(path), "--into", str(tmp_path), "--as-at", "2026-09-25"])
    assert result.exit_code == 0, result.output
    assert (tmp_path / "cards.html").read_text(encoding="utf-8") == "somebody's own"
    assert sorted(one.name for one in tmp_path.iterdir()) == [
        "cards 2.html",
        "cards 2.xlsx",
        "cards.html",
        "keepers 2.html",
    ]


def test_a_folder_that_cannot_be_made_is_one_sentence(club: Maker, tmp_path: Path) -> None:
    path = club("kg", "A4")[0]
    (tmp_path / "file").write_text("", encoding="utf-8")
    result = CliRunner().invoke(main, ["cards", str(path), "--into", str(tmp_path / "file" / "cards")])
    assert result.exit_code == 2
    assert "cannot be made" in result.output


def test_a_book_without_colonies_gives_cards_to_practise_on(tmp_path: Path) -> None:
    path = club_book(tmp_path / "new.xlsx", rows_in("kg") | {"Colonies": []})
    result = CliRunner().invoke(main, ["cards", str(path), "--into", str(tmp_path / "out"), "--as-at", "2026-09-25"])
    assert result.exit_code == 0, result.output
    assert card_words.NOBODY in (tmp_path / "out" / "cards.html").read_text(encoding="utf-8")
