"""The words that stand beside a row: the same while a person types as after a run, in the book as in the checks."""

OUTSIDE = "outside what this hive can weigh"
"""Beside a row whose reading cannot be its hive's, whatever slip explains it."""
FEEDER = "left in the feeder? 0 if empty"
COLD = "look again: date: too cold for liquid"
MORE_THAN_FEEDER = "look again: amount: more than feeder"
MANY_AT_ONCE = "look again: amount: many portions at once"
ORDER = "before or after the feed of that day?"


def not_used(heading: str, rule: str) -> str:
    """Why a row is not used: what stands in `held` after a run, and in `status` as soon as the row says it itself.

    Args:
        heading: of the column at fault.
        rule: name of the rule, or the words that stand for it.

    >>> not_used("reading 1", "decimal-comma")
    'reading 1: decimal comma'
    """
    return f"{heading}: {rule.replace('-', ' ')}"
