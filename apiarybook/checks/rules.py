"""The one table of rules."""

from collections.abc import Callable, Iterator

from apiarybook.checks import (
    rules_balance,
    rules_days,
    rules_feedings,
    rules_gather,
    rules_lists,
    rules_outcomes,
    rules_settings,
    rules_slips,
    rules_weighings,
)
from apiarybook.checks.context import Seen
from apiarybook.checks.finding import Hit

Rule = Callable[[Seen], Iterator[Hit]]

RULES: tuple[Rule, ...] = (
    *rules_lists.RULES,
    *rules_settings.RULES,
    *rules_days.RULES,
    *rules_weighings.RULES,
    *rules_slips.RULES,
    *rules_balance.RULES,
    *rules_feedings.RULES,
    *rules_gather.RULES,
    *rules_outcomes.RULES,
)
"""Every rule that looks at one book, each a small function from what is seen to hits."""
