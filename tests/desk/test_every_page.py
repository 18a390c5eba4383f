"""Every page of the desk in a real browser: axe-core finds nothing, and nothing is cut off at a phone's width."""

from __future__ import annotations

import shutil
from datetime import date
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from apiarybook.desk.server import PAGES
from tests.desk.browser import axe, browse, needs_browser, violations
from tests.desk.small import desk

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Page

    from tests.desk.small import Client

DEMO = Path(__file__).parents[2] / "demo"
BOOK = "Alder Vale 2026.xlsx"
OCTOBER = date(2026, 10, 10)
PHONE = 390
"""Pixels: the width of a common phone, as the field's own guides for pages take it (common practice, no source)."""
ASKS_FOR_MORE = {"/why": ("?colony=Mill+1", "?cell=Weighings!E7"), "/gather/note": ("?member={member}",)}
WIDER_THAN_SEEN = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Page, list[str], str, str]]:
    folder = tmp_path_factory.mktemp("desk")
    shutil.copy(DEMO / BOOK, folder / BOOK)
    with desk(folder, OCTOBER, folder / BOOK) as client:
        member = _returned(client, folder)
        with browse(client) as (page, asked):
            yield page, asked, f"http://{client.host}", member


def _returned(client: Client, folder: Path) -> str:
    """A member whose copy came back as it was, so that there is a note to it."""
    client.post("/handout")
    client.done("Hand out copies")
    copy = min((folder / "copies").glob("*.xlsx"))
    (folder / "returns").mkdir()
    shutil.copy(copy, folder / "returns" / copy.name)
    client.post("/gather/dry")
    client.done("Look what gathering would change")
    assert client.desk.gathering is not None
    return next(one.member for one in client.desk.gathering.rebuilt.notes if one.received)


@needs_browser
@pytest.mark.long
@pytest.mark.parametrize("path", PAGES)
def test_every_page_reads_well(seen: tuple[Page, list[str], str, str], path: str) -> None:
    page, asked, here, member = seen
    for width, more in product((1366, PHONE), ASKS_FOR_MORE.get(path, ("",))):
        page.set_viewport_size({"width": width, "height": 768})
        page.goto(here + path + more.format(member=member))
        page.locator("#live").wait_for()
        assert page.get_by_role("heading", name="Not now").count() == 0
        assert page.evaluate(WIDER_THAN_SEEN) <= 0
        assert not axe() or violations(page) == []
    assert all(one.startswith((here, "data:")) for one in asked)
    if not axe():
        pytest.skip("axe-core is not where node looks for it (NODE_PATH): only widths and requests were looked at")
