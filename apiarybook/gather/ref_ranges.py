"""Refs in their natural order, and many of them written short."""

from __future__ import annotations

import re
from collections import defaultdict
from functools import lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

_PARTS = re.compile(r"(\d+)")
_ENDS_IN_NUMBER = re.compile(r"(.*?)(0|[1-9]\d{0,8})", re.ASCII | re.DOTALL)
_BETWEEN = ";"
_TO = ":"

Natural = tuple[tuple[Any, ...], str]


@lru_cache(maxsize=4096)
def natural(ref: str) -> Natural:
    """Key that sorts refs as a person would: by their words and by their numbers, ignoring case.

    >>> sorted(["M1a-W10", "M1a-W9", "m1a-F2"], key=natural)
    ['m1a-F2', 'M1a-W9', 'M1a-W10']
    """
    parts: list[Any] = _PARTS.split(ref.casefold())
    parts[1::2] = map(int, parts[1::2])  # words and numbers take turns
    return tuple(parts), ref


def runs(refs: Iterable[str]) -> str:
    """Write refs short: neighbours as the first and the last number.

    >>> runs(["M1a-W3", "M1a-W2", "M1a-W4", "M1a-F7", "own"])
    'M1a-F7;M1a-W2:4;own'
    """
    numbers: dict[str, set[int]] = defaultdict(set)
    alone: set[str] = set()
    for ref in refs:
        found = _ENDS_IN_NUMBER.fullmatch(ref)
        if found:
            numbers[found[1]].add(int(found[2]))
        else:
            alone.add(ref)
    written = [one for stem in sorted(numbers) for one in _written(stem, sorted(numbers[stem]))]
    return _BETWEEN.join([*written, *sorted(alone)])


def _written(stem: str, numbers: list[int]) -> list[str]:
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][1] + 1:
            found[-1][1] = number
        else:
            found.append([number, number])
    return [f"{stem}{low}{_TO}{high}" if high > low else f"{stem}{low}" for low, high in found]


class Runs:
    """Refs that were written short; tells whether one is among them.

    >>> ["M1a-W3" in Runs("M1a-W2:4;own"), "own" in Runs("M1a-W2:4;own"), "M1a-W5" in Runs("M1a-W2:4;own")]
    [True, True, False]
    """

    def __init__(self, written: str) -> None:
        """Read what `runs` wrote."""
        self._alone: set[str] = set()
        self._spans: dict[str, list[tuple[int, int]]] = defaultdict(list)
        for one in filter(None, written.split(_BETWEEN)):
            first, between, last = one.rpartition(_TO)
            found = _ENDS_IN_NUMBER.fullmatch(first) if between else None
            if found:
                self._spans[found[1]].append((int(found[2]), int(last)))
            else:
                self._alone.add(one)

    def __contains__(self, ref: str) -> bool:
        """Whether a ref is among them."""
        if ref in self._alone:
            return True
        found = _ENDS_IN_NUMBER.fullmatch(ref)
        spans = self._spans.get(found[1], []) if found else []
        return any(low <= int(found[2]) <= high for low, high in spans) if found else False

    def __iter__(self) -> Iterator[str]:
        """All of them."""
        yield from self._alone
        for stem, spans in self._spans.items():
            for low, high in spans:
                yield from (f"{stem}{number}" for number in range(low, high + 1))
