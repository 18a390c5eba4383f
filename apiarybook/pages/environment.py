"""The one jinja environment of all pages: what anyone typed stands in them as text, and no name is left unfilled."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jinja2 import Environment, Template

HERE = Path(__file__).parent
FOLDERS = (HERE, HERE.parent / "desk" / "templates")
"""Where templates stand."""


@cache
def environment() -> Environment:
    """The environment; templates are read once."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(FOLDERS), autoescape=True, undefined=StrictUndefined, keep_trailing_newline=True
    )


def template(name: str) -> Template:
    """A template by the name of its file, without the ending."""
    return environment().get_template(f"{name}.html.jinja")
