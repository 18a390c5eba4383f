"""One club and its first copies for all tests of gathering: cutting copies takes longer than gathering them."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest

from tests.gather.copies import handed_out

if TYPE_CHECKING:
    from pathlib import Path


@dataclass
class Evening:
    """A folder with a club's book, the copies by member, and a place for what comes back."""

    folder: Path
    club: Path
    copies: dict[str, Path]

    def another(self, name: str) -> Path:
        """The club's book once more as it was handed out from, in a folder of its own."""
        folder = self.folder / name
        folder.mkdir()
        return shutil.copy(self.folder / "as handed out.xlsx", folder / "club.xlsx")


@pytest.fixture(scope="session")
def _first(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Path]]:
    return handed_out(tmp_path_factory.mktemp("handed out"))


@pytest.fixture
def evening(_first: tuple[Path, dict[str, Path]], tmp_path: Path) -> Evening:
    club, copies = _first
    shutil.copy(club, tmp_path / "as handed out.xlsx")
    shutil.copy(club, tmp_path / "club.xlsx")
    return Evening(tmp_path, tmp_path / "club.xlsx", copies)
