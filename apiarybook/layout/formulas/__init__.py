"""The formulas of the live book, one template for each live column.

A template names cells by the layout instead of by letter and number:

- ``[gross]`` the cell of that column in the same row;
- ``[Colonies.state@]`` the cell of another sheet in the row that goes with this one;
- ``[Weighings.gross]`` the whole column; ``[Calendar.date^]`` its first cell; ``[Weighings.gross~]`` its cells in the
  rows of this row's colony, as far as the last run knew them; ``[Weighings.gross+]`` how many that are of all colonies;
- ``[Calendar.eaten*]`` the block of columns whose keys begin with that word;
- ``{reserve_floor}`` a figure of the model; ``{as_at}`` a setting; ``#`` the number of this row in its column;
- ``{row}`` the number of this row on its sheet when it was written.
"""

from apiarybook.layout.formulas import feedings, standing, weighings, winter

TEMPLATES: dict[tuple[str, str], str] = {
    (sheet, key): text
    for module in (weighings, feedings, standing, winter)
    for sheet, columns in module.FORMULAS.items()
    for key, text in columns.items()
}

__all__ = ["TEMPLATES"]
