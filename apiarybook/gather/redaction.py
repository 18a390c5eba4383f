"""What a member is not shown: other people's names and codes read `someone else`, and merge back as unchanged."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING

from apiarybook.gather.claims import BLANK_ROWS, HANDED_OUT
from apiarybook.gather.ref_ranges import Runs, runs
from apiarybook.layout import BOOK
from apiarybook.readers.canonical import canonical_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from apiarybook.book.tables import Book
    from apiarybook.gather.claims import Claim
    from apiarybook.gather.shares import Shares

SOMEONE_ELSE = "someone else"
THEIR_WORDS = "someone else's words"
"""What stands in a member copy instead of a remark that somebody else typed."""
SHOWN = "shown: "
"""What begins the key, among the raw texts of a handed-out claim, of a text that was shown instead of the value."""
SHORTEST = 3
"""Letters that a word without a digit must have to be taken for a name in a remark."""
_LISTS = ("Hive types.name", "Feed kinds.name", "Extras.name", "Scales.scale", "Winter profiles.name")

Masked = dict[tuple[str, str, str], object]


@dataclass(frozen=True)
class Masks:
    """Other people's words.

    Attributes:
        owners: by word, as `_plain` gives it, the codes of the members whose it is.
        pattern: finds any of them in a text whose case is folded, as the reader folds that of codes.
        as_written: finds names that may be words too, only as they are written.
        known: words of the club's lists, which are nobody's.
    """

    owners: Mapping[str, frozenset[str]]
    pattern: re.Pattern[str]
    as_written: re.Pattern[str]
    known: frozenset[str]

    def text(self, text: str, member: str) -> str:
        """A text as a member may read it.

        Args:
            text: what somebody typed.
            member: the member's code.
        """
        if text.casefold() in self.known:
            return text
        folded, places = _folded(text)
        found = [one for one in self.pattern.finditer(folded) if not self.is_own(one[0], member)]
        for one in reversed(found):
            text = text[: places[one.start()]] + SOMEONE_ELSE + text[places[one.end()] :]
        return self.as_written.sub(lambda name: name[0] if self.is_own(name[0], member) else SOMEONE_ELSE, text)

    def is_own(self, word: str, member: str) -> bool:
        """Whether a word that was found is the member's own, or a name only when written otherwise."""
        owners = self.owners.get(_plain(word))
        return owners is None or member in owners

    def hand(self, name: str, member: str, *, is_own_row: bool) -> str:
        """The name in a column by: the member's own, in own rows any that is not another's, else someone else.

        Args:
            name: as it was typed.
            member: the member's code.
            is_own_row: whether the member typed the row, or sent it on paper.
        """
        owners = self.owners.get(_plain(name), frozenset())
        return name if member in owners or (is_own_row and not owners) else SOMEONE_ELSE


def masks(book: Book, shares: Shares) -> Masks:
    """Gather the names and codes of all members, and what they call their apiaries and colonies.

    Args:
        book: the club's book, settled.
        shares: which rows are whose.
    """
    owners: dict[str, set[str]] = defaultdict(set)
    codes: set[str] = set()
    names: set[str] = set()

    def note(word: object, member: str, words: set[str]) -> None:
        if word:
            owners[_plain(str(word))].add(member)
            if _is_telling(str(word)):
                words.add(str(word))

    for code, name in shares.names.items():
        note(code, code, codes)
        for word in (name, *name.split()):
            note(word, code, codes if " " in word or _has_digit(word) else names)
    for listed in (shares.apiaries, shares.colonies):
        for code, member in listed.items():
            note(code, member, codes)
    apiaries = book.tables["Apiaries"].typed
    for apiary, place in zip(apiaries["apiary"], apiaries["place"], strict=True):
        keeper = shares.apiaries.get(str(apiary).casefold())
        if keeper and place and (" " in str(place) or _has_digit(str(place))):
            note(place, keeper, codes)
    known = {word: frozenset(of) for word, of in owners.items()}
    return Masks(known, _pattern({_plain(code) for code in codes}), _pattern(names), _known(book))


def _plain(word: str) -> str:
    return " ".join(word.split()).casefold()


def _folded(text: str) -> tuple[str, Sequence[int]]:
    """A text whose case is folded, and for each of its letters and for its end the place in the text before.

    >>> _folded("Maß")
    ('mass', [0, 1, 2, 2, 3])
    """
    if text.isascii():
        return text.lower(), range(len(text) + 1)
    folded = [one.casefold() for one in text]
    places = [at for at, one in enumerate(folded) for _ in one]
    return "".join(folded), [*places, len(text)]


def _has_digit(word: str) -> bool:
    return any(letter.isdigit() for letter in word)


def _is_telling(word: str) -> bool:
    return len(word) >= SHORTEST or (len(word) > 1 and _has_digit(word))


def _pattern(words: Iterable[str]) -> re.Pattern[str]:
    r"""Whole words, the longest first; words that begin alike share their beginning, for a federation has thousands.

    >>> _pattern({"ann", "ann lee", "anna"}).pattern
    '(?<!\\w)(?:ann(?:\\s+lee|a|))(?!\\w)'
    """
    each = sorted(
        [tuple(r"\s+" if letter == " " else re.escape(letter) for letter in " ".join(word.split())) for word in words]
    )
    return re.compile(rf"(?<!\w)(?:{_branches(each, 0)})(?!\w)" if each else r"(?!)")


def _branches(words: Sequence[tuple[str, ...]], at: int) -> str:
    """What may follow the first parts of sorted words that begin alike, the longest first."""
    begin = at
    while len(words[0]) > at and words[0][at] == words[-1][at]:
        at += 1
    groups = [list(of) for _, of in groupby((word for word in words if len(word) > at), itemgetter(at))]
    rest = [_branches(of, at) for of in groups] + [""] * (len(words[0]) == at)
    return "".join(words[0][begin:at]) + (f"(?:{'|'.join(rest)})" if len(rest) > 1 else "".join(rest))


def _known(book: Book) -> frozenset[str]:
    listed = [reference.partition(".") for reference in _LISTS]
    words = {
        str(one) for name, _, key in listed if name in book.tables for one in book.tables[name].typed[key].dropna()
    }
    words |= {word for sheet in BOOK.sheets for column in sheet.typed for word in column.choices}
    return frozenset(word.casefold() for word in words)


def marked(claims: Iterable[Claim], masked: Masked) -> list[Claim]:
    """Claims of what was handed out, with the true value where something else was shown.

    Args:
        claims: as read from the member copy.
        masked: by sheet, ref and column, the true value.

    Returns:
        claims whose raw texts say what was shown instead.
    """
    by_row: dict[tuple[str, str], dict[str, object]] = defaultdict(dict)
    for (sheet, ref, key), value in masked.items():
        by_row[sheet, ref][key] = value
    return [_marked(claim, by_row.get((claim.sheet, claim.ref), {})) for claim in claims]


def _marked(claim: Claim, true: dict[str, object]) -> Claim:
    if not true:
        return claim
    shown = {f"{SHOWN}{key}": canonical_text(claim.values[key]) for key in true if key in claim.values}
    ref = true.get("ref", claim.ref)
    shown |= {f"{SHOWN}ref": claim.ref} if ref != claim.ref else {}
    values = claim.values | {key: one for key, one in true.items() if key != "ref"}
    return replace(claim, ref=str(ref), values=values, raw=claim.raw | shown)


def unmasked(claims: Iterable[Claim], known: Iterable[Claim]) -> list[Claim]:
    """Claims of a return, with the true value where the member left standing what was shown instead.

    Args:
        claims: as read from the return.
        known: claims of what was handed out.

    Returns:
        claims that say nothing of what their member was not shown.
    """
    handed = {
        (claim.copy, claim.sheet, claim.raw.get(f"{SHOWN}ref", claim.ref)): claim
        for claim in known
        if claim.kind == HANDED_OUT and claim.raw
    }
    true = {shown: claim.ref for (_, _, shown), claim in handed.items()}
    return [_unmasked(_with_blanks(claim, true), handed.get((claim.copy, claim.sheet, claim.ref))) for claim in claims]


def _with_blanks(claim: Claim, true: Mapping[str, str]) -> Claim:
    """A claim of headings whose blank rows go by their true refs."""
    blank = claim.raw.get(BLANK_ROWS, "")
    if claim.ref or not any(ref in blank for ref in true):
        return claim
    return replace(claim, raw=claim.raw | {BLANK_ROWS: runs(true.get(ref, ref) for ref in Runs(blank))})


def _unmasked(claim: Claim, handed: Claim | None) -> Claim:
    if handed is None:
        return claim
    shown = {key[len(SHOWN) :]: text for key, text in handed.raw.items() if key.startswith(SHOWN)}
    left = {key: handed.values[key] for key, text in shown.items() if key != "ref" and claim.values.get(key) == text}
    return replace(claim, ref=handed.ref, values=claim.values | left)
