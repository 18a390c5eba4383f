"""The guide's pages say what the program is today."""

import pytest

from apiarybook.checks.rules import CATALOGUE
from apiarybook.cli.commands import main
from apiarybook.guide.pages import FOLDER, PAGES
from apiarybook.layout import BOOK


@pytest.mark.parametrize("name", PAGES)
def test_page_is_in_step(name: str) -> None:
    written = (FOLDER / name).read_text(encoding="utf-8")
    assert written == PAGES[name](), "renew the pages with: python -m apiarybook.guide.pages"


def test_every_rule_command_and_typed_column_is_told() -> None:
    rules, commands, columns = (PAGES[name]() for name in ("rules.md", "commands.md", "columns.md"))
    assert all(f"`{name}`" in rules for name in CATALOGUE)
    assert all(f"## {name}\n" in commands for name in main.commands)
    assert all(f"| {column.heading} |" in columns for sheet in BOOK.sheets for column in sheet.typed)
