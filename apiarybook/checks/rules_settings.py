"""Rules on the club's settings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from apiarybook.checks.context import label
from apiarybook.checks.finding import Hit
from apiarybook.checks.rule import ASK, finds, rule
from apiarybook.checks.rules_lists import known_words, nearest
from apiarybook.layout import SETTINGS, Setting
from apiarybook.reckon.core.arrays import words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from apiarybook.checks.context import Seen

NEEDED = ("winter", "region")
"""Settings without a default that everything rests on."""


def _row(seen: Seen, setting: Setting) -> int | None:
    """Label of the row on which a setting stands; None where the file does not show it or it could not be read."""
    rows = seen["Settings"]
    names = [name.casefold().replace("_", " ") for name in words(rows["setting"]).tolist()]
    if setting.heading not in names:
        return None
    row = label(rows, names.index(setting.heading))
    return None if ("Settings", row, "value") in seen.unread else row


@rule(
    "missing-setting",
    ASK,
    "The setting {setting} is blank; it is taken as {taken}.",
    "Fill it in, so that dates and wants are those of your club.",
)
def missing_settings(seen: Seen) -> Iterator[Hit]:
    """Settings left blank that everything rests on."""
    taken = {"winter": seen.winter.year, "region": seen.winter.profiles[0]}
    for setting in SETTINGS:
        row = _row(seen, setting) if setting.key in NEEDED and seen.settings.get(setting.key) is None else None
        if row is not None:
            told: dict[str, object] = {"setting": setting.heading, "taken": taken[setting.key]}
            yield Hit("missing-setting", "Settings", row, "value", told)


@finds("unknown-code")
def unknown_settings(seen: Seen) -> Iterator[Hit]:
    """Settings that name a feed or a region that stands on no list."""
    for setting in SETTINGS:
        value = seen.settings.get(setting.key)
        known = known_words(seen, setting.refers_to) if setting.refers_to and value is not None else None
        if known is None or str(value).casefold() in {word.casefold() for word in known}:
            continue
        row = _row(seen, setting)
        if row is not None:
            told: dict[str, object] = {"list": setting.refers_to.partition(".")[0]}
            yield Hit("unknown-code", "Settings", row, "value", told, nearest(str(value), known))
