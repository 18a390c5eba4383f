"""Files to double-click beside a book, for people who never open a terminal."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

WINDOWS = "Hive stores.bat"
OTHERS = "Hive stores.command"
BATCH = '@echo off\r\ncd /d "%~dp0"\r\nset "APIARYBOOK_FOLDER=%~dp0"\r\n"{python}" -m apiarybook\r\npause\r\n'
SHELL = '#!/bin/sh\ncd "$(dirname "$0")" || exit 2\nexec "{python}" -m apiarybook\n'
EXECUTABLE = 0o755


def write_launchers(folder: Path) -> tuple[Path, Path]:
    """Write the two launchers, for Windows and for macOS and Linux; one that stands there already is renewed.

    Args:
        folder: the folder of the book.

    Returns:
        their paths.
    """
    windows, others = folder / WINDOWS, folder / OTHERS
    windows.write_bytes(BATCH.format(python=sys.executable).encode())
    others.write_text(SHELL.format(python=sys.executable), encoding="utf-8")
    others.chmod(EXECUTABLE)
    return windows, others
