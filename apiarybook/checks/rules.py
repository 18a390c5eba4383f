"""All rules: importing this module declares every one of them."""

from apiarybook.checks import (
    rules_balance,
    rules_days,
    rules_feedings,
    rules_gather,
    rules_lists,
    rules_outcomes,
    rules_reading,
    rules_settings,
    rules_slips,
    rules_visits,
    rules_weighings,
)
from apiarybook.checks.rule import CATALOGUE, FINDERS

__all__ = ["CATALOGUE", "FINDERS", "MODULES"]

MODULES = (
    rules_reading,
    rules_lists,
    rules_settings,
    rules_days,
    rules_weighings,
    rules_slips,
    rules_visits,
    rules_balance,
    rules_feedings,
    rules_gather,
    rules_outcomes,
)
"""Where rules are declared, each a file about one subject."""
