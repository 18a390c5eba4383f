"""Whether the tests notice when the reckoning is wrong: a sample of its mutants, each tried in a process of its own.

    pip install mutmut coverage
    python -m tests.studies.mutants 250 2        # how many, and the seed by which they are drawn

The mutants are those of mutmut, which changes one small thing of a function; it is not used to run them, because it
traces every call. Each is run against the doctests of its module and the tests that reach its lines, quickest first,
and then, if it lives, against the long tests of its room. What no test noticed is printed, to be judged.
"""

from __future__ import annotations

import doctest
import importlib
import os
import pickle
import random
import signal
import sys
import tempfile
import time
import warnings
from collections import defaultdict
from dataclasses import dataclass
from importlib.machinery import SourceFileLoader
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]
ROOM = ROOT / "apiarybook" / "reckon"
NEAR = ("tests/reckon", "tests/outside", "tests/layout", "tests/checks")
QUICK = "not speed and not engine and not long"
ENGINES = "tests/engines/test_recalculation.py"
MOVES = ["tests/reckon/hive/test_moves.py"]
STANDS = ["tests/reckon/standing/test_evidence.py", "tests/reckon/standing/test_verdict_laws.py", ENGINES]
LONG = {
    "year": ["tests/reckon/year", "tests/club/test_year_end.py"],
    "balance": ["tests/reckon/balance", "tests/checks/test_unexplained.py", "tests/checks/test_visits.py"],
    "outlook": ["tests/reckon/outlook", *MOVES],
    "hive": ["tests/reckon/hive", *STANDS],
    "standing": [*MOVES, *STANDS],
    "feeding": [*MOVES, *STANDS],
    "hefting": ["tests/reckon/hefting", ENGINES],
    "core": ["tests/reckon/outlook", "tests/reckon/hive", "tests/reckon/year"],
}
"""Long tests of each part of the room; all of the room's where none is named."""
OTHERS = ("numpy", "pandas", "scipy.stats", "scipy.optimize", "openpyxl", "pandera")
"""What every mutant would else import anew."""
WHOLE = ["tests/demo/test_demo.py", "tests/club/test_closing.py", "tests/cli/test_hefting.py"]
"""Tests of all together, which come last."""
PATIENCE = 600.0
"""Seconds after which a mutant counts as noticed, because it does not come to an end."""
AT_ONCE = max(1, (os.cpu_count() or 2))


@dataclass(frozen=True, slots=True)
class Mutant:
    """One small thing changed: where, from what to what, and the module as it then reads."""

    path: Path
    lines: range
    function: str
    was: str
    now: str
    source: str

    @property
    def place(self) -> str:
        return f"{self.path.relative_to(ROOM)}:{self.lines.start} {self.function}"


def drawn(count: int, seed: int) -> list[Mutant]:
    """Mutants drawn by chance from all of the room."""
    import libcst
    from libcst.metadata import MetadataWrapper, PositionProvider
    from mutmut.mutation.file_mutation import MutationVisitor, deep_replace
    from mutmut.mutation.mutators import mutation_operators
    from mutmut.mutation.pragma_handling import get_ignored_lines

    found = []
    for path in sorted(ROOM.rglob("*.py")):
        code = path.read_text("utf-8")
        wrapper = MetadataWrapper(libcst.parse_module(code))
        visitor = MutationVisitor(mutation_operators, get_ignored_lines(str(path), code, wrapper, None), None)
        wrapper.visit(visitor)
        places = wrapper.resolve(PositionProvider)
        inside = [one for one in visitor.mutations if one.contained_by_top_level_function is not None]
        found += [(path, wrapper.module, one, places) for one in inside]
    say(f"{len(found)} mutants of {ROOM.name}")
    told = []
    for path, module, one, places in random.Random(seed).sample(found, min(count, len(found))):  # noqa: S311 no secret
        whole = one.contained_by_top_level_function
        at = places.get(one.original_node, places[whole])
        was, now = (libcst.Module([]).code_for_node(node).strip() for node in (one.original_node, one.mutated_node))
        source = deep_replace(module, one.original_node, one.mutated_node).code
        told.append(Mutant(path, range(at.start.line, at.end.line + 1), whole.name.value, was, now, source))
    return told


class Reach:
    """Which tests reach which lines, and how long each takes; told by coverage in one run."""

    def __init__(self) -> None:
        from coverage import Coverage

        self.took: dict[str, float] = defaultdict(float)
        self.cover = Coverage(source=[str(ROOM)], config_file=False, data_file=None)
        self.cover.start()
        pytest.main(["-n0", "-q", "-p", "no:cacheprovider", "-m", QUICK, *NEAR], plugins=[self])
        self.cover.stop()
        data = self.cover.get_data()
        self.lines = {name: data.contexts_by_lineno(name) for name in data.measured_files()}

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.cover.switch_context(item.nodeid)
        begun = time.monotonic()
        yield
        self.took[item.nodeid] = time.monotonic() - begun
        self.cover.switch_context("between")

    def tests(self, mutant: Mutant) -> list[str]:
        """Tests that reach a mutant, the quickest first."""
        of = self.lines.get(str(mutant.path), {})
        found = {test for line in mutant.lines for test in of.get(line, ())} - {"", "between"}
        return sorted(found, key=lambda test: (self.took[test], test))


def is_noticed(mutant: Mutant, tests: list[str], marked: str) -> bool:
    """Whether the module's doctests or these tests fail; in a process of its own, which does not come back."""

    def get_code(self: SourceFileLoader, name: str) -> Any:
        changed = self.path == str(mutant.path)
        return compile(mutant.source, self.path, "exec") if changed else usual(self, name)

    usual, SourceFileLoader.get_code = SourceFileLoader.get_code, get_code  # type: ignore[assignment, method-assign]
    warnings.simplefilter("error")
    module = ".".join(mutant.path.relative_to(ROOT).with_suffix("").parts)
    if doctest.testmod(importlib.import_module(module)).failed:
        return True
    if not tests:
        return False
    quietly = ["-q", "-x", "-n0", "-p", "no:cacheprovider", "-W", "ignore::pytest.PytestAssertRewriteWarning"]
    told = [*quietly, "--hypothesis-profile=unshrunk", "-m", marked, "-k", "not libreoffice and not gnumeric"]
    return pytest.main([*told, *tests]) != 0


def alive(mutants: list[tuple[Mutant, list[str]]], marked: str) -> list[Mutant]:
    """Those that no test notices, several tried at once."""
    waiting, running, living = list(reversed(mutants)), {}, []
    while waiting or running:
        while waiting and len(running) < AT_ONCE:
            mutant, tests = waiting.pop()
            pid = os.fork()
            if pid == 0:
                _end(mutant, tests, marked)
            running[pid] = mutant, time.monotonic()
        time.sleep(0.05)
        for pid, (mutant, begun) in list(running.items()):
            done, status = os.waitpid(pid, os.WNOHANG)
            if done:
                living += [mutant] if os.waitstatus_to_exitcode(status) == 0 else []
                del running[pid]
            elif time.monotonic() - begun > PATIENCE:
                os.kill(pid, signal.SIGKILL)
    return living


def _end(mutant: Mutant, tests: list[str], marked: str) -> None:
    """Try one mutant and end this process: with 0 if it lives."""
    silent = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silent, 1)
    os.dup2(silent, 2)
    noticed = True
    try:
        noticed = is_noticed(mutant, tests, marked)
    finally:
        os._exit(int(noticed))


def long_tests(mutant: Mutant) -> list[str]:
    parts = mutant.path.relative_to(ROOM).parts
    return [*LONG.get(parts[0], ["tests/reckon"]), *WHOLE]


def say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def main(count: int, seed: int) -> None:
    os.chdir(ROOT)
    with tempfile.TemporaryDirectory() as folder:
        kept, pid = Path(folder) / "drawn", os.fork()
        if pid == 0:  # what the run that measures imports must not be there already when a mutant is loaded
            mutants, reach = drawn(count, seed), Reach()
            kept.write_bytes(pickle.dumps([(one, reach.tests(one)) for one in mutants]))
            os._exit(0)
        if os.waitpid(pid, 0)[1]:
            raise SystemExit(1)
        for name in OTHERS:
            importlib.import_module(name)
        near = pickle.loads(kept.read_bytes())  # noqa: S301 written a moment ago
    living = alive([(one, long_tests(one)) for one in alive(near, QUICK)], "not speed")
    say(f"{len(near) - len(living)} of {len(near)} noticed: {1 - len(living) / len(near):.1%}")
    for one in sorted(living, key=lambda one: one.place):
        say(f"{one.place}\n  - {one.was}\n  + {one.now}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
