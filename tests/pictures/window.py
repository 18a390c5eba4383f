"""Pictures of a book's sheets as LibreOffice shows them in a window of 1366 x 768 pixels, to be looked at.

    python -m tests.pictures.window BOOK FOLDER "Start here" Weighings Standing

Needs soffice, Xvfb, xdotool and ImageMagick's import.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from apiarybook.readers.raw import read_raw

SCREEN = "1366x768x24"
PATIENCE = 600.0
"""Seconds that the program may take to open a book."""
SETTLE = 2.0
"""Seconds that a sheet may take to be drawn."""
QUIET = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Common/Misc"><prop oor:name="ShowTipOfTheDay" oor:op="fuse">
<value>false</value></prop></item>
<item oor:path="/org.openoffice.Setup/Product"><prop oor:name="ooSetupLastVersion" oor:op="fuse">
<value>99.0</value></prop></item>
<item oor:path="/org.openoffice.Setup/Office"><prop oor:name="ooSetupInstCompleted" oor:op="fuse">
<value>true</value></prop></item>
</oor:items>
"""


def pictures(book: Path, folder: Path, sheets: list[str]) -> list[Path]:
    """Take a picture of each sheet.

    Args:
        book: a workbook.
        folder: where the pictures go.
        sheets: names of sheets in view.

    Raises:
        TimeoutError: the program did not show the book.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        shown = Path(shutil.copy(book, Path(scratch) / "book.xlsx"))
        settings = Path(scratch) / "profile" / "user" / "registrymodifications.xcu"
        settings.parent.mkdir(parents=True)
        settings.write_text(QUIET, "utf-8")
        reads, writes = os.pipe()
        screen = subprocess.Popen(["Xvfb", "-displayfd", str(writes), "-screen", "0", SCREEN], pass_fds=[writes])
        place = os.environ | {"DISPLAY": f":{os.read(reads, 16).decode().strip()}"}
        profile = f"-env:UserInstallation={settings.parents[1].as_uri()}"
        office = subprocess.Popen(["soffice", profile, "--norestore", "--nologo", "--calc", str(shown)], env=place)
        try:
            window = _window(place)
            for action in ("windowmove", "windowsize"):
                ends = ("0", "0") if action == "windowmove" else ("1366", "768")
                _run(place, "xdotool", action, window, *ends)
            tabs = [sheet.name for sheet in read_raw(book).sheets.values() if not sheet.hidden]
            stands = [tabs.index(sheet) for sheet in sheets]
            steps = [there - here for here, there in zip([0, *stands], stands, strict=False)]
            return [_picture(place, folder, *one) for one in zip(sheets, steps, strict=True)]
        finally:
            for started in (office, screen):
                started.terminate()
                started.wait()


def _run(place: dict[str, str], *command: str) -> str:
    return subprocess.run(command, env=place, capture_output=True, text=True, check=False).stdout


def _window(place: dict[str, str]) -> str:
    ends = time.monotonic() + PATIENCE
    while time.monotonic() < ends:
        found = _run(place, "xdotool", "search", "--onlyvisible", "--name", "book.xlsx").split()
        if found:
            time.sleep(4 * SETTLE)
            return found[-1]
        time.sleep(0.5)
    raise TimeoutError("the program did not show the book")


def _picture(place: dict[str, str], folder: Path, sheet: str, steps: int) -> Path:
    """Go so many sheets to the right, or to the left below nought, and take a picture of the whole screen."""
    for _ in range(abs(steps)):
        _run(place, "xdotool", "key", "ctrl+Next" if steps > 0 else "ctrl+Prior")
        time.sleep(SETTLE / 4)
    time.sleep(SETTLE)
    target = folder / f"{sheet.lower().replace(' ', '-')}.png"
    _run(place, "import", "-window", "root", str(target))
    return target


if __name__ == "__main__":
    for made in pictures(Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3:]):
        sys.stdout.write(f"{made}\n")
