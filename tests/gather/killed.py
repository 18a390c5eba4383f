"""Run by a test: gather again and again, killed each time at another touch of the club's folder."""

from __future__ import annotations

import json
import os
import shutil
import signal
import sys
from pathlib import Path

from apiarybook.gather.collate import collate
from tests.gather.small_club import AS_AT

TOUCHES = ("open", "os.rename", "os.remove", "os.mkdir", "os.chmod", "shutil.copystat", "shutil.copymode")


def run(club: Path, file: Path, die_at: int) -> int:
    """Gather in a process of its own that dies at a touch; gives how many touches there were if it lived, else -1."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        seen = 0

        def hook(event: str, given: tuple[object, ...]) -> None:
            nonlocal seen
            if event in TOUCHES and str(club.parent) in str(given[0]):
                seen += 1
                if seen == die_at:
                    os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(hook)
        collate(club, [file], as_at=AS_AT)
        os.write(writer, str(seen).encode())
        os._exit(0)
    os.close(writer)
    _, status = os.waitpid(child, 0)
    told = os.read(reader, 20)
    os.close(reader)
    return int(told) if os.WIFEXITED(status) and told else -1


def main(first: str, file: str, points: str) -> None:
    """Print how many touches there are, and for each point killed at whether the book was whole and came right."""
    old = Path(first).read_bytes()
    folder = Path(first).parent / "whole run"
    folder.mkdir()
    club = Path(shutil.copy(first, folder / "club.xlsx"))
    touches = run(club, Path(file), 0)
    new = club.read_bytes()
    found = {}
    for number in range(int(points)):
        at = 1 + number * (touches - 1) // (int(points) - 1)
        folder = Path(first).parent / f"killed at {at}"
        folder.mkdir(exist_ok=True)
        club = Path(shutil.copy(first, folder / "club.xlsx"))
        lived = run(club, Path(file), at)
        state = club.read_bytes()
        run(club, Path(file), 0)
        found[at] = [lived, "old" if state == old else "new" if state == new else "broken", club.read_bytes() == new]
    json.dump({"touches": touches, "killed": found, "differs": old != new}, sys.stdout)


if __name__ == "__main__":
    main(*sys.argv[1:])
