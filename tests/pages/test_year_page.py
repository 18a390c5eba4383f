"""The year's report for people who read with a keyboard, a screen reader or a phone; it needs nothing else."""

from __future__ import annotations

import html
import http.server
import json
import re
import subprocess
import threading
from functools import cache
from typing import TYPE_CHECKING

import pytest

from apiarybook.club.closing import close
from apiarybook.pages.year_page import as_page
from tests.club.books import reckoned
from tests.desk.browser import BROWSER, axe

if TYPE_CHECKING:
    from pathlib import Path


@cache
def page() -> str:
    return as_page(close(reckoned()))


def browse(address: str, folder: Path, *more: str) -> str:
    usual = [
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        f"--user-data-dir={folder}",
        "--disable-background-networking",
    ]
    command = [BROWSER, *usual, *more, "--dump-dom", address]
    return subprocess.run(command, check=True, capture_output=True, text=True, timeout=120).stdout


needs_browser = pytest.mark.skipif(not BROWSER, reason="no Chromium is installed")
RUN_AXE = """
axe.run(document, {resultTypes: ["violations"]}).then(found => {
  const told = document.createElement("pre");
  told.id = "told";
  told.textContent = JSON.stringify(found.violations.map(one => [one.id, one.help, one.nodes.map(n => n.html)]));
  document.body.append(told);
});
"""


@needs_browser
@pytest.mark.parametrize("width", [390, 1100])
def test_axe_finds_no_violation(tmp_path: Path, width: int) -> None:
    source = axe()
    if not source:
        pytest.skip("axe-core is not where node looks for it (NODE_PATH)")
    plain = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", page())
    tried = tmp_path / "tried.html"
    tried.write_text(plain.replace("</body>", f"<script>{source}</script><script>{RUN_AXE}</script></body>"), "utf-8")
    dom = browse(tried.as_uri(), tmp_path / "profile", f"--window-size={width},1200", "--virtual-time-budget=20000")
    told = re.search(r'<pre id="told">(.*?)</pre>', dom, re.DOTALL)
    assert told, dom[-400:]
    assert json.loads(html.unescape(told[1])) == []


@needs_browser
def test_the_page_makes_no_request(tmp_path: Path) -> None:
    asked: list[str] = []

    class Server(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(200)
            self.send_header("Content-Type", "text/html; charset=utf-8")
            self.end_headers()
            self.wfile.write(page().encode())

        def log_message(self, *_: object) -> None:
            pass

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Server) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        browse(f"http://127.0.0.1:{server.server_address[1]}/page", tmp_path / "profile")
        server.shutdown()
    assert asked == ["/page"]
    assert "default-src 'none'" in page()


def test_every_table_has_a_caption_and_scoped_headings() -> None:
    tables = re.findall(r"<table>.*?</table>", page(), re.DOTALL)
    assert len(tables) >= 5
    for table in tables:
        assert "<caption>" in table
        assert all('scope="' in one for one in re.findall(r"<th[^e][^>]*>", table))


def test_every_chart_has_words_and_its_numbers_under_it() -> None:
    for drawing in re.findall(r"<svg.*?</section>", page(), re.DOTALL):
        assert 'role="img"' in drawing
        assert re.search(r"<desc[^>]*>[^<]+ from ", drawing)
        assert "<table>" in drawing


def test_the_same_page_each_time() -> None:
    assert as_page(close(reckoned())) == page()
