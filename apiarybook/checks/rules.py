"""All rules: importing this module declares those of every file beside it whose name begins with `rules_`."""

from importlib import import_module
from pkgutil import iter_modules

from apiarybook import checks
from apiarybook.checks.rule import CATALOGUE, FINDERS

__all__ = ["CATALOGUE", "FINDERS", "MODULES"]

MODULES = tuple(
    import_module(f"{checks.__name__}.{one.name}")
    for one in iter_modules(checks.__path__)
    if one.name.startswith("rules_")
)
"""Where rules are declared, each a file about one subject; in the order of their names, which is that of telling."""
