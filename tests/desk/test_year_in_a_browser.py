"""A secretary's year in a real browser: the books come out byte for byte as the commands make them."""

from __future__ import annotations

import shutil
import zipfile
from datetime import date, datetime
from email.message import EmailMessage
from typing import TYPE_CHECKING
from xml.sax.saxutils import quoteattr

import openpyxl
import pytest
from click.testing import CliRunner

from apiarybook.book.headings import plain_heading
from apiarybook.cli.commands import main
from apiarybook.layout import BOOK
from tests.desk.browser import browse, needs_browser
from tests.desk.small import Client, desk
from tests.gather.copies import filled, saved

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Page

    from apiarybook.readers.records import RawBook

AUGUST, SEPTEMBER, MAY = date(2026, 8, 1), date(2026, 9, 25), date(2027, 5, 1)
WEIGHED, LATER, SPRING = date(2026, 9, 12), date(2026, 9, 20), date(2027, 3, 20)
NAME, NEXT = "Alder Vale 2026.xlsx", "Alder Vale 2027.xlsx"
KEEPERS = ("Ann Alder", "Bob Birch", "Cat Cedar", "Dan Dogwood", "Eve Elder", "Fay Fir")
HOSTILE = "<img src=x onerror=alert(1)>.xlsx"
LISTS = {
    "Members": [{"member": f"M{at}", "name": name} for at, name in enumerate(KEEPERS, 1)],
    "Apiaries": [{"apiary": f"P{at}", "member": f"M{at}", "profile": "british-isles"} for at in range(1, 7)],
    "Colonies": [
        {
            "colony": f"C{at}",
            "apiary": f"P{at}",
            "hive_type": "National single",
            "takes_fondant": "yes",
            "reached": "yes",
        }
        for at in range(1, 7)
    ],
    "Weighings": [
        {
            "date": WEIGHED,
            "colony": f"C{at}",
            "by": KEEPERS[at - 1],
            "how": "full lift",
            "reading_1": 34.0,
            "feed_left": 0.0,
        }
        for at in range(1, 7)
    ],
}


def type_in(path: Path, rows: dict[str, list[dict[str, object]]], first: int = 0) -> None:
    """Type rows into a book and save it, as a spreadsheet program would: into the first free lines, or from one on."""
    book = openpyxl.load_workbook(path)
    for name, new in rows.items():
        sheet, layout = book[name], BOOK[name]
        heads = next(row for row in range(1, 9) if sum(bool(one.value) for one in sheet[row]) > 2)
        at = {plain_heading(one.value): one.column for one in sheet[heads] if one.value}
        columns = {one.key: at[plain_heading(one.heading)] for one in layout.typed if plain_heading(one.heading) in at}
        row = heads + 1 + first
        for cells in new:
            while not first and any(sheet.cell(row, columns[key]).value is not None for key in cells if key in columns):
                row += 1
            for key, value in cells.items():
                sheet.cell(row, columns[key]).value = value
            row += 1
    book.save(path)


def run(*words: object) -> None:
    done = CliRunner().invoke(main, [str(one) for one in words])
    assert done.exit_code in {0, 1}, done.output


def shown(page: Page, text: str) -> None:
    page.get_by_text(text, exact=False).first.wait_for()


def gone(page: Page, text: str) -> None:
    page.locator("#live").get_by_text(text, exact=False).first.wait_for(state="detached")


def work(client: Client, page: Page, button: str, job: str) -> None:
    """Press a button and wait until its work is done and the page says so."""
    page.get_by_role("button", name=button, exact=True).first.click()
    client.done(job)
    shown(page, f"{job}: done.")


def as_ods(raw: RawBook, path: Path) -> Path:
    """A book as OpenDocument, values only."""
    tables = []
    for name, sheet in raw.sheets.items():
        rows = "".join(
            f"<table:table-row>{''.join(_ods_cell(one) for one in row)}</table:table-row>" for row in sheet.rows
        )
        tables.append(f"<table:table table:name={quoteattr(name)}>{rows}</table:table>")
    spaces = " ".join(
        f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{long}:1.0"'
        for short, long in (("office", "office"), ("table", "table"), ("text", "text"), ("meta", "meta"))
    )
    body = f"<office:body><office:spreadsheet>{''.join(tables)}</office:spreadsheet></office:body>"
    said = "".join(
        f"<meta:user-defined meta:name={quoteattr(name)}>{value}</meta:user-defined>"
        for name, value in raw.properties.items()
    )
    when = '<dc:date xmlns:dc="http://purl.org/dc/elements/1.1/">2026-09-20T18:00:00</dc:date>'
    with zipfile.ZipFile(path, "w") as package:
        package.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        package.writestr("content.xml", f"<office:document-content {spaces}>{body}</office:document-content>")
        meta = f"<office:meta>{said}{when}</office:meta>"
        package.writestr("meta.xml", f"<office:document-meta {spaces}>{meta}</office:document-meta>")
    return path


def _ods_cell(value: object) -> str:
    if value is None:
        return "<table:table-cell/>"
    if isinstance(value, (date, datetime)):
        return f'<table:table-cell office:value-type="date" office:date-value="{value.isoformat()[:10]}"/>'
    if isinstance(value, (int, float)):
        return f'<table:table-cell office:value-type="float" office:value="{value}"/>'
    text = quoteattr(str(value))[1:-1]
    return f'<table:table-cell office:value-type="string"><text:p>{text}</text:p></table:table-cell>'


def as_csv(raw: RawBook, path: Path) -> Path:
    rows = raw.sheets["Weighings"].rows
    heads = next(at for at, row in enumerate(rows) if "colony" in [plain_heading(one) for one in row])
    lines = [
        ",".join("" if one is None else str(one)[:10] if isinstance(one, date) else str(one) for one in row)
        for row in rows[heads:]
    ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def returns(copies: Path, folder: Path) -> list[Path]:
    """Eight files as members send them: books, tables, an archive, a mail, one meaning harm, two that disagree."""
    folder.mkdir()
    of = {code: copy_of(copies, code) for code in (f"M{at}" for at in range(1, 7))}

    def weighed(at: int, gross: float) -> RawBook:
        row = {
            "date": LATER,
            "colony": f"C{at}",
            "by": KEEPERS[at - 1],
            "how": "full lift",
            "reading_1": gross,
            "feed_left": 0.0,
        }
        return filled(of[f"M{at}"], {"Weighings": [row]})

    def amended(at: int, gross: float) -> RawBook:
        return filled(of[f"M{at}"], {}, {("Weighings", f"club26-W{at}", "reading_1"): gross})

    plain = saved(weighed(1, 33.5), folder / "ann.xlsx")
    ods = as_ods(weighed(2, 35.25), folder / "bob.ods")
    csv = as_csv(weighed(3, 36.5), folder / "cat.csv")
    inside = saved(weighed(4, 32.75), folder / "dan.xlsx")
    archive = folder / "dan.zip"
    with zipfile.ZipFile(archive, "w") as package:
        package.write(inside, "../../dan.xlsx")
    inside.unlink()
    attached = saved(weighed(5, 31.25), folder / "eve.xlsx")
    mail = EmailMessage()
    mail["Subject"] = "my hives"
    mail.set_content("as asked")
    mail.add_attachment(attached.read_bytes(), maintype="application", subtype="octet-stream", filename="eve.xlsx")
    message = folder / "eve.eml"
    message.write_bytes(mail.as_bytes())
    attached.unlink()
    hostile = folder / HOSTILE
    hostile.write_bytes(b"PK\x03\x04" + b"\0" * 400)
    one, other = saved(amended(6, 36.0), folder / "fay.xlsx"), saved(amended(6, 39.0), folder / "fay again.xlsx")
    return [plain, ods, csv, archive, message, hostile, one, other]


def copy_of(copies: Path, code: str) -> Path:
    from apiarybook.readers.raw import read_raw

    return next(path for path in copies.glob("*.xlsx") if read_raw(path).properties.get("member") == code)


def same(one: Path, other: Path) -> None:
    assert one.read_bytes() == other.read_bytes(), f"{one.name} is not as the command makes it"


def same_folder(one: Path, other: Path) -> None:
    names = sorted(path.name for path in one.iterdir() if not path.name.startswith("."))
    assert names == sorted(path.name for path in other.iterdir())
    assert names
    for name in names:
        same(one / name, other / name)


@needs_browser
@pytest.mark.long
def test_a_year_at_the_desk_and_by_commands(tmp_path: Path) -> None:
    page_folder, by_command = tmp_path / "desk", tmp_path / "commands"
    for folder in (page_folder, by_command):
        folder.mkdir()
    book, other = page_folder / NAME, by_command / NAME
    asked: list[str] = []
    with desk(page_folder, AUGUST) as client, browse(client) as (page, asking):
        start(client, page, book, other)
        see_and_mend(page, book, other)
        asked += asking
    with desk(page_folder, SEPTEMBER, book) as client, browse(client) as (page, asking):
        hand_out(client, page, book, other)
        gather(client, page, book, other, returns(page_folder / "copies", tmp_path / "sent"))
        answer(client, page, book, other)
        cards(client, page, book, other)
        asked += asking
    spring = {
        "After winter": [
            {"date": SPRING, "colony": f"C{at}", "outcome": "wintered", "spring_gross": 27.0 + at} for at in range(1, 7)
        ]
    }
    type_in(book, spring)
    shutil.copy(book, other)
    with desk(page_folder, MAY, book) as client, browse(client) as (page, asking):
        end_the_year(client, page, book, other)
        asked += asking
    assert {one.split("/")[2].split(":")[0] for one in asked if one.startswith("http")} == {"127.0.0.1"}


def start(client: Client, page: Page, book: Path, other: Path) -> None:
    page.get_by_label("Name of the club").fill("Alder Vale")
    page.get_by_label("Year in which the winter begins").fill("2026")
    page.get_by_role("button", name="Make the book").click()
    page.get_by_role("heading", name="Today").wait_for()
    client.until(lambda: client.desk.watch is not None and client.desk.seen is not None)
    run(
        "start",
        other,
        "--club",
        "Alder Vale",
        "--winter",
        2026,
        "--region",
        "british-isles",
        "--seed",
        7,
        "--as-at",
        AUGUST,
    )
    same(book, other)


def see_and_mend(page: Page, book: Path, other: Path) -> None:
    page.get_by_role("heading", name="Open questions").wait_for()
    type_in(book, LISTS)
    shown(page, "C1")
    slip = {"Weighings": [{"reading_1": 340.0}]}
    type_in(book, slip, first=5)
    shown(page, "340")
    type_in(book, {"Weighings": [{"reading_1": 34.0}]}, first=5)
    shown(page, "Mended:")
    gone(page, "340")
    shutil.copy(book, other)


def hand_out(client: Client, page: Page, book: Path, other: Path) -> None:
    page.get_by_role("heading", name="Open questions").wait_for()
    work(client, page, "Reckon the book", "Reckon the book")
    run("reckon", other, "--as-at", SEPTEMBER)
    same(book, other)
    page.get_by_role("link", name="Hand out and gather").click()
    work(client, page, "Hand out a copy to each member", "Hand out copies")
    run("handout", other, "--into", other.parent / "copies", "--seed", 7, "--as-at", SEPTEMBER)
    same(book, other)
    same_folder(book.parent / "copies", other.parent / "copies")


def gather(client: Client, page: Page, book: Path, other: Path, sent: list[Path]) -> None:
    page.locator("#files").set_input_files(sent)
    for path in sent:
        shown(page, path.name if path.name != HOSTILE else "onerror")
    page.get_by_text("8 files").first.wait_for()
    before = book.read_bytes()
    work(client, page, "Look first: what would change", "Look what gathering would change")
    page.get_by_role("heading", name="What would change").wait_for()
    assert page.get_by_role("table", name="What they would change").get_by_role("rowheader").count() > 0
    assert book.read_bytes() == before
    work(client, page, "Gather into the book", "Gather the returns")
    page.get_by_role("heading", name="What was gathered").wait_for()
    shutil.copytree(book.parent / "returns", other.parent / "returns")
    run("collate", other, other.parent / "returns", "--as-at", SEPTEMBER)
    same(book, other)
    notes = f"notes {SEPTEMBER.isoformat()}"
    same_folder(book.parent / notes, other.parent / notes)


def answer(client: Client, page: Page, book: Path, other: Path) -> None:
    client.until(lambda: bool(client.desk.seen and any(one.claims for one in client.desk.seen.asked)))
    page.get_by_role("link", name="Questions").click()
    page.get_by_role("button", name="this holds").first.click()
    client.done("Answer")
    shown(page, "Answer: done.")
    type_answer(other, "Questions", "A")
    run("reckon", other, "--as-at", SEPTEMBER)
    same(book, other)


def type_answer(path: Path, name: str, text: str) -> None:
    """Type what holds on the first line of the sheet that asks with claims."""
    book = openpyxl.load_workbook(path)
    sheet = book[name]
    heads = {str(one.value): one.column for one in sheet[BOOK[name].heading_row]}
    holds = next(one for one in BOOK[name].typed)
    claims = BOOK[name]["claims"]
    row = next(
        row for row in range(BOOK[name].first_row, sheet.max_row + 1) if sheet.cell(row, heads[claims.heading]).value
    )
    sheet.cell(row, heads[holds.heading]).value = text
    book.save(path)


def cards(client: Client, page: Page, book: Path, other: Path) -> None:
    page.get_by_role("link", name="Weigh-day and evening").click()
    work(client, page, "Make the cards", "Make the cards")
    run("cards", other, "--into", other.parent / "cards", "--as-at", SEPTEMBER)
    same_folder(book.parent / "cards", other.parent / "cards")


def end_the_year(client: Client, page: Page, book: Path, other: Path) -> None:
    page.get_by_role("link", name="Year end").click()
    page.get_by_role("heading", name="Still missing").wait_for()
    work(client, page, "Close the year and write its report", "Close the year")
    run("yearend", other, "--report", other.parent / "report", "--as-at", MAY)
    same(book, other)
    same_folder(book.parent / "report", other.parent / "report")
    shown(page, "year closed as at")
    work(client, page, "Make the next winter's book", "Carry over")
    run("carry", other, other.parent / NEXT, "--winter", 2027, "--seed", 7, "--as-at", MAY)
    same(book.parent / NEXT, other.parent / NEXT)
