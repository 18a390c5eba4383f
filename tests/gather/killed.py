"""Gather again and again, killed each time at another touch of the club's folder or at another moment.

`python -m tests.gather.killed 200` does so with a club of its own and says what came of it.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path
from random import Random

from apiarybook.gather.collate import collate
from tests.gather.copies import handed_out, returned
from tests.gather.small_club import AS_AT, DAY

TOUCHES = ("open", "os.rename", "os.remove", "os.mkdir", "os.chmod", "shutil.copystat", "shutil.copymode")
ROW = {"date": DAY, "colony": "A1", "by": "Ann Alder", "how": "full lift", "reading_1": 33.0}
LEFT = {"club.xlsx", f"club backup {AS_AT}.xlsx", f"notes {AS_AT}"}
"""What may stand in the folder once a run was brought to its end."""


def run(club: Path, file: Path, die_at: int, die_after: float = 0.0) -> int:
    """Gather in a process of its own that dies at a touch or after some seconds; gives its touches, -1 if it died."""
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
        if die_after:
            signal.signal(signal.SIGALRM, signal.SIG_DFL)
            signal.setitimer(signal.ITIMER_REAL, die_after)  # an alarm that nobody hears ends a process at once
        collate(club, [file], as_at=AS_AT)
        os.write(writer, str(seen).encode())
        os._exit(0)
    os.close(writer)
    _, status = os.waitpid(child, 0)
    told = os.read(reader, 20)
    os.close(reader)
    return int(told) if os.WIFEXITED(status) and told else -1


def killed(first: Path, file: Path, points: int) -> dict[str, object]:
    """Kill so many runs, at each touch as far as points go and else at random moments; gives what stood there then."""
    old = first.read_bytes()
    club = _folder(first, "whole run")
    began = time.monotonic()
    touches = run(club, file, 0)
    took, new = time.monotonic() - began, club.read_bytes()
    chance, found = Random(points), {}  # noqa: S311 any moments will do
    at_touch = range(1, touches + 1, max(1, (touches - 1) // max(1, points // 2 - 1)))[: max(1, points // 2)]
    moments = [(at, 0.0) for at in at_touch]
    moments += [(0, chance.uniform(0.0, took)) for _ in range(points - len(moments))]
    for at, after in moments:
        club = _folder(first, f"killed at {at} after {after:.3f}")
        lived = run(club, file, at, after)
        state = club.read_bytes()
        run(club, file, 0)
        left = sorted({one.name for one in club.parent.iterdir()} - LEFT)
        what = "old" if state == old else "new" if state == new else "broken"
        found[club.parent.name] = [lived, what, club.read_bytes() == new and not left]
        shutil.rmtree(club.parent)
    return {"touches": touches, "killed": found, "differs": old != new}


def _folder(first: Path, name: str) -> Path:
    folder = first.parent / name
    folder.mkdir()
    return Path(shutil.copy(first, folder / "club.xlsx"))


def main(points: int) -> int:
    """Kill runs in a club of its own and say how many left a whole book and came right."""
    with tempfile.TemporaryDirectory() as folder:
        club, copies = handed_out(Path(folder))
        told = killed(club, returned(copies["M1"], Path(folder, "x.xlsx"), {"Weighings": [ROW]}), points)
    of = told["killed"].values()  # type: ignore[attr-defined]
    wrong = [one for one in of if one[1] == "broken" or not one[2]]
    ended = sum(one[0] == -1 for one in of)
    sys.stdout.write(f"{len(of)} runs, {ended} of them killed, at {told['touches']} touches: {len(wrong)} not right\n")
    return int(bool(wrong))


if __name__ == "__main__":
    if len(sys.argv) > 2:
        json.dump(killed(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])), sys.stdout)
    else:
        sys.exit(main(int(sys.argv[1])))
