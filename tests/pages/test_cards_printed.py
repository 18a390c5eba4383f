"""The cards in programs that are not ours: each fits its page, and the practice sheet works out bias and scatter."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from openpyxl import load_workbook

from apiarybook.pages.card_page import as_book, as_page
from tests.pages.small_cards import club_in

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.pages.small_cards import Club

    Maker = Callable[[str, str], Club]


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Maker:
    folder = tmp_path_factory.mktemp("cards")

    def made(unit: str, paper: str) -> Club:
        path, book, reckoned, cards = club_in(unit, folder)
        return path, book, reckoned, replace(cards, paper=paper)

    return made


def test_practice_takes_bias_and_scatter_live(club: Maker, tmp_path: Path) -> None:
    """Guesses typed into the sheet are worked out by a program that is not ours, and agree with numpy."""
    soffice = shutil.which("soffice")
    if soffice is None:
        pytest.skip("not checked, soffice is not installed: practice sheet recalculated")
    path = tmp_path / "cards.xlsx"
    path.write_bytes(as_book(club("kg", "A4")[3]))
    book = load_workbook(path)
    sheet = book["Practice sheet"]
    first = next(cell.row for cell in sheet["A"] if cell.value == 1)
    guesses = [30.0, 41.0, 22.0, 36.0, 33.0, 28.0, 44.0, 25.0, 31.5, 24.0]
    scales = [32.0, 40.0, 25.0, 39.0, 32.0, 30.0, 47.0, 25.0, 32.0, 25.0]
    for at, (guess, shown) in enumerate(zip(guesses, scales, strict=True), first):
        sheet.cell(at, 2, guess)
        sheet.cell(at, 7, shown)
    for lift_number, earlier in ((5, 1), (9, 5), (10, 3)):
        sheet.cell(first + lift_number - 1, 9, earlier)
    book.save(path)
    converted(path, "xlsx", tmp_path / "out")
    found = load_workbook(tmp_path / "out" / "cards.xlsx", data_only=True)["Practice sheet"]
    differences = np.subtract(guesses, scales)
    assert found.cell(first + 10, 8).value == pytest.approx(differences.mean())
    assert found.cell(first + 11, 8).value == pytest.approx(differences.std(ddof=1))
    gaps = np.array([3.0, 1.5, 2.0])
    assert found.cell(first + 12, 10).value == pytest.approx(gaps.mean() * np.sqrt(np.pi) / 2)


PAGES = 4
"""Target card, a weigh-day sheet for each of two apiaries, practice sheet."""


def converted(path: Path, ending: str, folder: Path) -> Path:
    profile = f"-env:UserInstallation=file://{folder}-profile"
    command = ["soffice", profile, "--headless", "--norestore", "--convert-to", ending, "--outdir", str(folder)]
    subprocess.run([*command, str(path)], check=True, capture_output=True, timeout=120)
    return folder / f"{path.stem}.{ending}"


def pages(path: Path) -> int:
    told = subprocess.run(["pdfinfo", str(path)], check=True, capture_output=True, text=True, timeout=30).stdout
    return int(re.findall(r"^Pages:\s+(\d+)", told, re.MULTILINE)[0])


def needs(*programs: str) -> pytest.MarkDecorator:
    missing = [one for one in programs if shutil.which(one) is None]
    return pytest.mark.skipif(bool(missing), reason=f"not checked, {' and '.join(missing)} missing: pages of the cards")


@needs("soffice", "pdfinfo")
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_each_sheet_of_the_workbook_fits_its_page(club: Maker, tmp_path: Path, paper: str) -> None:
    path = tmp_path / "cards.xlsx"
    path.write_bytes(as_book(club("kg", paper)[3]))
    assert pages(converted(path, "pdf", tmp_path / "out")) == PAGES


@needs("chromium", "pdfinfo")
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_each_card_of_the_page_fits_its_page(club: Maker, tmp_path: Path, paper: str) -> None:
    page, target = tmp_path / "cards.html", tmp_path / "cards.pdf"
    page.write_text(as_page(club("kg", paper)[3]), encoding="utf-8")
    command = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'profile'}"]
    command += ["--no-pdf-header-footer", f"--print-to-pdf={target}", page.as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    assert pages(target) == PAGES
