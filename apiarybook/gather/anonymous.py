"""A club's typed rows without anything that names a person, a place or a thing of one's own wording."""

from __future__ import annotations

import hashlib
import hmac
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from apiarybook.handbook import handbook
from apiarybook.layout import BOOK, Column, Kind
from apiarybook.layout.words import HEFT_WORDS, YES_NO
from apiarybook.reckon.core.lookup import match, pick_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from apiarybook.checks.loop import Held

SHEETS = tuple(sheet.name for sheet in BOOK.sheets if sheet.shared)
PSEUDONYMS = {"colony": "colony", "by": "hand", "scale": "scale"}
"""Columns whose words are replaced, and what the pseudonym begins with."""
PROFILE = Column(
    key="winter_profile", kind=Kind.CHOICE, choices=tuple(handbook().profiles), prompt="Where it winters, no nearer."
)
OTHER = "other"
SMALL = 5
"""Fewer colonies than these are no group of their own; common practice of statistical offices, no source."""
DECIMALS = 3
LETTERS = 10
"""Hexadecimal digits of a pseudonym."""


@dataclass(frozen=True, slots=True)
class Anonymous:
    """What may be shared.

    Attributes:
        columns: by sheet the columns that are left.
        rows: by sheet the rows that are left, masses in kg, in no order that tells who typed them.
        removed: sentences, what was removed and replaced.
    """

    columns: dict[str, list[Column]]
    rows: dict[str, pd.DataFrame]
    removed: list[str]


def pseudonym(key: bytes, kind: str, word: object) -> str | None:
    """A word that stands for another: the same for the same key, and not to be turned back without it.

    Args:
        key: the secretary's key.
        kind: what is named.
        word: its name; case and blanks at the ends are ignored, a blank has no pseudonym.

    Source: HMAC with SHA-256 (RFC 2104; FIPS 198-1).

    >>> pseudonym(b"key", "colony", " A1 ") == pseudonym(b"key", "colony", "a1")
    True
    """
    text = str(word).strip().casefold() if isinstance(word, str) else ""
    if not text:
        return None
    digest = hmac.new(key, f"{kind}\0{text}".encode(), hashlib.sha256).hexdigest()
    return f"{kind}-{digest[:LETTERS]}"


def anonymous(frames: Mapping[str, pd.DataFrame], held: Held, key: bytes) -> Anonymous:
    """Leave only what may be shared: numbers, days, words of the layout's own lists, and pseudonyms.

    Args:
        frames: the typed sheets in SI, index the row's number.
        held: by sheet and row why rows are held; these are left out.
        key: the secretary's key.

    Returns:
        what may be shared. Whatever a person can word freely is left out or replaced: a column is shared only if its
        kind is known to be harmless.
    """
    columns: dict[str, list[Column]] = {}
    rows: dict[str, pd.DataFrame] = {}
    removed: list[str] = []
    for name in SHEETS:
        frame = frames[name].drop(columns="held", errors="ignore")
        used = frame[~frame.index.isin(list(held.get(name, {}))) & _filled(frame)]
        kept = [column for column in BOOK[name].typed if column.key in frame and _shared(column)]
        told = {column.key: _harmless(used[column.key], column, key) for column in kept}
        if name == "Colonies":
            kept = [kept[0], PROFILE, *kept[1:]]
            told["winter_profile"] = _profiles(used, frames["Apiaries"])
        columns[name] = kept
        shared = pd.DataFrame(told, index=used.index)[[column.key for column in kept]]
        order = [one for one in ("date", "colony") if one in shared]
        rows[name] = shared.sort_values(order, kind="stable").reset_index(drop=True)
        left_out = [column.heading for column in BOOK[name].typed if column not in kept]
        removed.append(f"{name}: columns left out: {', '.join(left_out) or 'none'}.")
        if many := len(held.get(name, {})):
            removed.append(f"{name}: {many} held {'row' if many == 1 else 'rows'} left out.")
    removed += _only_known(rows)
    removed += [
        "Names of colonies, hands and scales: replaced by pseudonyms under the secretary's key.",
        "Apiaries and members: left out, only the winter profile of each colony's place is told.",
        f"Hive types, feeds and extras with names of the club's own: told as {OTHER}.",
    ]
    removed += _merge(rows)
    return Anonymous(columns, rows, removed)


def _filled(frame: pd.DataFrame) -> pd.Series[bool]:
    return frame.drop(columns="ref", errors="ignore").notna().any(axis=1)


def _shared(column: Column) -> bool:
    named = column.refers_to.partition(".")[0] in _LISTED
    own = bool(column.choices) or column.kind in {Kind.YES_NO, Kind.HEFT, Kind.DATE}
    return column.key in PSEUDONYMS or named or own or column.numeric


_LISTED = {"Hive types": "hive_types", "Feed kinds": "feeds", "Extras": "extras"}
"""Lists of which only the handbook's own names are shared."""


def _harmless(values: pd.Series, column: Column, key: bytes) -> list[object]:
    """The values of a column that may be shared; anything else is blank, a name of one's own is `other`."""
    if column.key in PSEUDONYMS:
        return [pseudonym(key, PSEUDONYMS[column.key], one) for one in values]
    if column.kind is Kind.DATE:
        return [None if pd.isna(one) else pd.Timestamp(one).date() for one in values]
    if column.numeric:
        return [None if pd.isna(one) else round(float(one), DECIMALS) for one in values]
    if column.kind is Kind.HEFT:
        return [_guess(one) for one in values]
    listed = column.refers_to.partition(".")[0]
    if listed:
        names = getattr(handbook(), _LISTED[listed])
        return [None if one is None or pd.isna(one) else _word(one, names) or OTHER for one in values]
    return [_word(one, column.choices or YES_NO) for one in values]


def _guess(value: object) -> str | None:
    if isinstance(value, float):
        return None if pd.isna(value) else f"{round(value, DECIMALS):g}"
    return _word(value, HEFT_WORDS)


def _word(value: object, allowed: Iterable[str]) -> str | None:
    """The word as the list spells it, if it is one of the list."""
    text = str(value).strip().casefold()
    return next((one for one in allowed if one.casefold() == text), None)


def _profiles(colonies: pd.DataFrame, apiaries: pd.DataFrame) -> list[object]:
    found = pick_words(apiaries["profile"], match(colonies["apiary"], apiaries["apiary"]))
    return [_word(one, PROFILE.choices) for one in found]


def _only_known(rows: dict[str, pd.DataFrame]) -> list[str]:
    """Leave each colony once, and only rows that name one of them."""
    told = []
    rows["Colonies"] = rows["Colonies"].dropna(subset="colony").drop_duplicates("colony").reset_index(drop=True)
    for name in SHEETS[1:]:
        known = rows[name]["colony"].isin(rows["Colonies"]["colony"])
        if not known.all():
            count = int((~known).sum())
            rows_of = "1 row left out whose" if count == 1 else f"{count} rows left out whose"
            told.append(f"{name}: {rows_of} colony is not on the list, or is held there.")
        rows[name] = rows[name][known].reset_index(drop=True)
    return told


def _merge(rows: dict[str, pd.DataFrame]) -> list[str]:
    """Merge hive types and winter profiles of few colonies, wherever they are named."""
    colonies, told = rows["Colonies"], []
    for key in ("hive_type", "winter_profile"):
        counts = colonies[key].value_counts()
        small = [name for name, count in counts.items() if count < SMALL and name != OTHER]
        frequent = {name for name, count in counts.items() if count >= SMALL} | {OTHER}
        for name, column in (("Colonies", key), ("Weighings", f"{key}_then")):
            if column in rows[name]:
                values = rows[name][column]
                rows[name][column] = values.where(values.isna() | values.isin(frequent), OTHER)
        if small:
            what = key.replace("_", " ")
            told.append(f"Colonies, {what}: {len(small)} with under {SMALL} colonies merged as {OTHER}.")
    return told
