"""Each hostile kind of file is read or refused in one sentence that names it, within 20 seconds and a gigabyte."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.readers.hostile_kinds import BYTES, KINDS, SECONDS

ROOT = Path(__file__).parents[2]


@pytest.mark.skipif(sys.platform != "linux", reason="the most memory that a process took is read as Linux tells it")
@pytest.mark.parametrize("kind", KINDS)
def test_it_is_read_or_refused_in_one_sentence(kind: str) -> None:
    words = [sys.executable, "-m", "tests.readers.hostile_kinds", kind]
    done = subprocess.run(words, check=True, capture_output=True, cwd=ROOT)
    told = json.loads(done.stdout)
    assert told["said"].startswith(("read: ", told["file"])), told
    assert "\n" not in told["said"]
    assert told["said"].startswith("read: ") or told["said"].endswith(".")
    assert told["peak"] < BYTES, told
    assert told["seconds"] <= SECONDS
