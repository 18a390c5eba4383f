"""A hive on a scale that was fed twice: the club's book must see ripe stores where the scale still sees water.

Data: MUST-B, EFSA, CC BY 4.0, reduced. Hive 1 at Flakkebjerg, Denmark, 2019: 14.7 kg of feed on 11 August, 8.3 kg on
20 August as the keepers' diary has it, and the scale at 05:00 on every morning.

What the record does not hold, and what stands for it here:

- The strength of either feed. It is inferred: what the hive kept of the feed when all had ripened, with what it ate
  meanwhile added, is what the feed's solids made of stores. So the end of each feeding agrees by construction, and
  only the days before it are judged.
- The tare of the hive, the bees and the brood. They are taken alike on all days, or as the book expects them for the
  day; a wrong tare moves the stores of all days alike.
"""

from __future__ import annotations

import csv
import shutil
import subprocess
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pytest

from apiarybook.book.memory import raw_book
from apiarybook.book.tables import Book, read_book
from apiarybook.club.blank import new_settings, new_tables
from apiarybook.club.reckoned import reckon_book
from apiarybook.handbook import handbook
from apiarybook.readers.raw import read_raw
from apiarybook.reckon.core.winter import serial, winter
from apiarybook.writers.workbook import write_book

if TYPE_CHECKING:
    from collections.abc import Mapping

RECORD = Path(__file__).parents[2] / ".." / "shared" / "reference" / "hive_weights"
pytestmark = pytest.mark.skipif(
    not RECORD.is_dir(), reason="the record of hive weights (MUST-B, EFSA) does not lie beside the repository"
)
REGION = "scandinavia"
HIVE = "Langstroth single deep"
TARE = 8.0
"""Ten frames in a light box [kg], assumed so that hardly any stores are left before the first feed."""
EATEN_A_DAY = 0.0697
"""What this hive lost a day in September 2019 [kg], as reduced from the record."""
FED = {date(2019, 8, 11): 14.7, date(2019, 8, 20): 8.3}
"""Feed as logged [kg]; whether its container was counted is not stated."""
STEPS = {date(2019, 8, 11): (14.5, 29.2), date(2019, 8, 20): (23.1, 31.8)}
"""Hourly readings before and after the hive was fed [kg]: 17:00 and 19:00, 12:00 and 14:00."""
RIPE = {date(2019, 8, 11): date(2019, 8, 20), date(2019, 8, 20): date(2019, 9, 4)}
"""The morning on which each feed is taken as ripe: that of the next feed, and fifteen days on."""
STORES = {date(2019, 8, 11): 9.3, date(2019, 8, 20): 7.0}
"""What the hive kept of each feed, with what it ate meanwhile [kg]: worked out by hand from the readings."""
FIRST, LAST = date(2019, 8, 9), date(2019, 9, 4)


def rows_of(name: str) -> list[dict[str, str]]:
    with (RECORD / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@cache
def mornings() -> dict[date, float]:
    """Readings at 05:00; the day's median where the logger missed it [kg]."""
    found = {
        date.fromisoformat(row["date"]): float(row["reading_0500_kg"] or row["median_kg"])
        for row in rows_of("dk_flakkebjerg_hive1_daily.csv")
    }
    return {day: kilograms for day, kilograms in found.items() if FIRST <= day <= LAST}


def solids(fed_on: date) -> float:
    """Solids of a feed by what the hive kept of it, at the yield that the handbook expects."""
    model, last = handbook().model, RIPE[fed_on]
    kept = mornings()[last] - mornings()[fed_on] + EATEN_A_DAY * (last - fed_on).days
    return kept / FED[fed_on] * model["ripe_solids"].value / model["eta"].value


def name_of(fed_on: date) -> str:
    """A feed's name on the sheet Feed kinds."""
    return f"Feed {list(FED).index(fed_on) + 1}"


def fill(frame: pd.DataFrame, rows: list[dict[str, Any]], first: int = 0) -> None:
    for number, row in enumerate(rows, first):
        for key, value in row.items():
            frame.loc[frame.index[number], key] = value


def tables() -> Mapping[str, pd.DataFrame]:
    """What a secretary and a member would type."""
    typed = new_tables(REGION, "kg", "club19")
    fill(typed["Members"], [{"member": "M1", "name": "Ann"}])
    fill(typed["Apiaries"], [{"apiary": "P1", "member": "M1", "profile": REGION}])
    fill(typed["Colonies"], [{"colony": "H1", "apiary": "P1", "hive_type": HIVE, "own_tare": TARE}])
    usual: dict[str, object] = {"form": "liquid", "yields": handbook().model["eta"].value, "pack": 14.0}
    kinds = [{"name": name_of(day), "solids": solids(day), **usual} for day in FED]
    fill(typed["Feed kinds"], kinds, int(typed["Feed kinds"]["name"].notna().sum()))
    given: list[dict[str, object]] = [
        {"date": day, "colony": "H1", "feed_kind": name_of(day), "amount": kilograms, "unit": "kg"}
        for day, kilograms in FED.items()
    ]
    fill(typed["Feedings"], given)
    weighing = {"colony": "H1", "by": "Ann", "how": "platform", "feed_left": 0.0}
    weighed: list[dict[str, object]] = [
        {"date": day, "reading_1": kilograms, "occasion": "before feed" if day in FED else None, **weighing}
        for day, kilograms in mornings().items()
    ]
    fill(typed["Weighings"], weighed)
    return typed


@cache
def workbook() -> bytes:
    """The club's book as the package writes it, filled in and reckoned for the last day."""
    settings = new_settings("Test", 2019, REGION, "kg")
    book = read_book(raw_book(tables(), settings, {"book id": "record", "copy id": "club19"}))
    return write_book(reckon_book(book, LAST).content)


@cache
def book() -> Book:
    return read_book(read_raw(("record.xlsx", workbook())))


@cache
def stood(as_at: date) -> pd.Series[float]:
    """The one colony of the book on a day, with what counting fresh feed as stores would make of it."""
    reckoned = reckon_book(book(), as_at)
    assert [finding.message for finding in reckoned.checked.findings if finding.weight == "hold"] == []
    found = reckoned.season.standing.iloc[0]
    numbers = pd.to_numeric(found, errors="coerce")
    numbers["wet"] = reckoned.season.weighings["dry"].iloc[(as_at - FIRST).days]
    return numbers


def eaten(start: date, end: date) -> float:
    """What the book expects this colony to eat between two days [kg]."""
    months = winter(2019)
    profile = np.array([months.profiles.index(REGION) + 1])
    reference = months.eaten_between(np.array([serial(start)]), np.array([serial(end)]), profile)
    return float(reference[0] * stood(LAST)["size"])


def days_after(fed_on: date) -> list[date]:
    """Mornings after a feed: all of the first week, then every third."""
    count = (RIPE[fed_on] - fed_on).days
    return [fed_on + timedelta(days=day) for day in range(1, count) if day < 7 or day % 3 == 0]


def test_the_scale_saw_what_the_diary_says() -> None:
    hourly = {row["time"]: row["kg"] for row in rows_of("dk_flakkebjerg_hive1_hourly_feeding.csv")}
    assert (float(hourly["2019-08-11T17:00"]), float(hourly["2019-08-11T19:00"])) == STEPS[date(2019, 8, 11)]
    assert (float(hourly["2019-08-20T12:00"]), float(hourly["2019-08-20T14:00"])) == STEPS[date(2019, 8, 20)]
    diary = {
        date.fromisoformat(row["date"]): float(row["kg"])
        for row in rows_of("mustb_additions_and_removals.csv")
        if (row["site"], row["hive"], row["item"], row["direction"]) == ("Flakkebjerg", "1", "feed", "in")
    }
    assert diary == FED
    for day, (before, after) in STEPS.items():
        assert after - before == pytest.approx(FED[day], abs=0.5)


def test_every_row_of_the_record_comes_back_out_of_the_workbook() -> None:
    read = book().tables["Weighings"].raw.dropna(subset=["reading_1"])
    assert read["reading_1"].tolist() == list(mornings().values())
    assert len(read) == (LAST - FIRST).days + 1
    assert book().tables["Feedings"].raw["amount"].dropna().tolist() == list(FED.values())


@pytest.mark.parametrize(
    ("fed_on", "close"), [(date(2019, 8, 11), 0.6), pytest.param(date(2019, 8, 20), 1.1, marks=pytest.mark.long)]
)
def test_stores_are_the_same_on_every_day_after_a_feed(fed_on: date, close: float) -> None:
    """Measured: within 0.6 kg after the first feed.

    After the second within 1.1 kg, most of it because the bees and brood that the book expects shrink by 0.8 kg until
    the last day, which the scale shows less of.
    """
    ripe = stood(RIPE[fed_on])["stores"]
    for day in days_after(fed_on):
        misfit = stood(day)["stores_today"] - eaten(day, RIPE[fed_on]) - ripe
        assert abs(misfit) < 2 * stood(day)["stores_u"], day
        assert abs(misfit) < close, day


def test_counting_fresh_feed_as_stores_would_be_off_by_kilograms() -> None:
    """The first feed. What is inferred for the second is nearly as strong as stores, so it held little water."""
    fed_on = date(2019, 8, 11)
    ripe = stood(RIPE[fed_on])["stores"]
    days = [fed_on + timedelta(days=number) for number in (1, 2, 3, 4)]
    misfits = [stood(day)["wet"] - eaten(day, RIPE[fed_on]) - ripe for day in days]
    assert misfits == pytest.approx([4.8, 4.3, 3.2, 1.7], abs=0.1)


@pytest.mark.parametrize("fed_on", list(FED))
def test_feed_counts_on_its_own_day_before_the_scale_has_seen_it(fed_on: date) -> None:
    now = stood(fed_on)
    assert now["fed_since"] == pytest.approx(STORES[fed_on], abs=0.2)
    misfit = now["stores_today"] - eaten(fed_on, RIPE[fed_on]) - stood(RIPE[fed_on])["stores"]
    assert abs(misfit) < 2 * now["stores_u"]


@pytest.mark.engine
@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_a_copy_saved_by_libreoffice_says_the_same(tmp_path: Path) -> None:
    source = tmp_path / "record.xlsx"
    source.write_bytes(workbook())
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    command = ["soffice", profile, "--headless", "--norestore", "--convert-to", "ods", "--outdir", str(tmp_path)]
    subprocess.run([*command, str(source)], check=True, capture_output=True, timeout=180)
    copy = read_book(read_raw(tmp_path / "record.ods"))
    day = date(2019, 8, 14)
    found = reckon_book(copy, day)
    wanted = reckon_book(book(), day)
    assert [one.rule for one in found.checked.findings] == [one.rule for one in wanted.checked.findings]
    for sheet in ("weighings", "feedings", "standing", "feed_order"):
        pd.testing.assert_frame_equal(getattr(found.season, sheet), getattr(wanted.season, sheet), rtol=1e-9)
