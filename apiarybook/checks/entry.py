"""What the catalogue of sentences is made of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from apiarybook.checks.finding import Weight


@dataclass(frozen=True, slots=True)
class Entry:
    """One rule: its name, how much it weighs, what it says is wrong and what to do."""

    name: str
    weight: Weight
    message: str
    do: str
