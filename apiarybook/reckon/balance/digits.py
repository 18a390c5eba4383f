"""Slips of the pen: what a reading may have been before a digit was changed, swapped, left out or typed twice."""

from __future__ import annotations

from itertools import pairwise

DIGITS = "0123456789"
MOST_DECIMALS = 6


def written(value: float) -> str:
    """A reading as it is typed.

    >>> written(38.50), written(3.85)
    ('38.5', '3.85')
    """
    return f"{round(value, MOST_DECIMALS):g}"


def swapped(text: str) -> list[float]:
    """Numbers that become another when two digits side by side are swapped.

    >>> swapped("38.5")
    [83.5, 35.8]
    """
    places = [at for at, sign in enumerate(text) if sign in DIGITS]
    found = []
    for first, second in pairwise(places):
        signs = list(text)
        signs[first], signs[second] = signs[second], signs[first]
        if signs[first] != signs[second] and signs[0] != "0":
            found.append(float("".join(signs)))
    return found


def changed(text: str) -> list[float]:
    """Numbers that become another when one digit of the whole part is typed wrongly; a wrong tenth moves no kilogram.

    >>> len(changed("38.5")), changed("5.1")[:2]
    (17, [1.1, 2.1])
    """
    whole, point, rest = text.partition(".")
    others = [
        whole[:at] + digit + whole[at + 1 :]
        for at, own in enumerate(whole)
        for digit in DIGITS
        if digit != own and not (at == 0 and digit == "0")
    ]
    return [float(other + point + rest) for other in others]


def lengthened(text: str) -> list[float]:
    """Numbers that become another when one digit of the whole part is left out.

    >>> 38.5 in lengthened("8.5"), 38.5 in lengthened("3.5")
    (True, True)
    """
    whole, point, rest = text.partition(".")
    found = {
        whole[:at] + digit + whole[at:] for at in range(len(whole) + 1) for digit in DIGITS if at > 0 or digit != "0"
    }
    return sorted(float(other + point + rest) for other in found)


def shortened(text: str) -> list[float]:
    """Numbers that become another when one of their digits is typed twice.

    >>> shortened("338.5"), shortened("38.5")
    ([38.5], [])
    """
    twice = [at for at, (one, other) in enumerate(pairwise(text)) if one == other]
    return [float(text[:at] + text[at + 1 :]) for at in twice]
