"""A real browser where one is installed, and axe-core where node finds it."""

from __future__ import annotations

import contextlib
import importlib.util
import shutil
import subprocess
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Page

    from tests.desk.small import Client

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
BROWSER = next((found for name in BROWSERS if (found := shutil.which(name))), "")
needs_browser = pytest.mark.skipif(
    not BROWSER or importlib.util.find_spec("playwright") is None, reason="no Chromium, or no playwright to drive it"
)
PATIENCE = 90_000.0
"""Milliseconds after which a test gives up; none is waited for."""


@cache
def axe() -> str:
    """Source of axe-core, where node finds it (NODE_PATH)."""
    if not shutil.which("node"):
        return ""
    asked = ["node", "-p", "require.resolve('axe-core/axe.min.js')"]
    found = subprocess.run(asked, check=False, capture_output=True, text=True)
    return Path(found.stdout.strip()).read_text("utf-8") if found.returncode == 0 else ""


def violations(page: Page) -> list[Any]:
    """What axe-core finds wrong with the page that is open; only the debugger gets a foreign script in."""
    page.evaluate(axe())
    told = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [(one["id"], one["help"], [node["html"][:200] for node in one["nodes"]]) for one in told["violations"]]


@contextlib.contextmanager
def browse(client: Client, width: int = 1366, height: int = 768) -> Iterator[tuple[Page, list[str]]]:
    """A browser that opened the desk by its address; gives the page, and every address that it asked for."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=BROWSER, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_context(viewport={"width": width, "height": height}).new_page()
        page.set_default_timeout(PATIENCE)
        asked: list[str] = []
        wrong: list[str] = []
        page.on("request", lambda request: asked.append(request.url))
        page.on("pageerror", lambda fault: wrong.append(str(fault)))
        page.goto(client.keys.address)
        try:
            yield page, asked
        finally:
            browser.close()
        assert wrong == []
