"""What a book does with a sheet that was declared a moment ago; run as a program with a copy of the package."""

import sys
from datetime import date
from pathlib import Path

from apiarybook.book.tables import read_book
from apiarybook.checks.loop import check_book
from apiarybook.club.reckoned import frames_of
from apiarybook.gather.anonymous import anonymous
from apiarybook.guide.pages import columns_page
from apiarybook.layout import BOOK
from tests.gather.copies import gathered, handed_out, returned
from tests.gather.small_club import AS_AT, DAY, Row

NEW = "Queens seen"
OLD_DAY = date(2019, 9, 1)


def rows_of(path: Path) -> list[tuple[object, object, object]]:
    """Colony, count and remark of each row of the new sheet in a file."""
    table = read_book(path).tables[NEW]
    rows = table.raw[~table.is_blank.to_numpy()]
    return list(zip(rows["colony"], rows["cells_seen"], rows["remarks"], strict=True))


def main(folder: Path) -> None:
    """Take the new sheet through a season."""
    assert NEW in BOOK.by_name
    told: list[Row] = [
        {"date": DAY, "colony": "A1", "cells_seen": 2.0, "remarks": "by the gate"},
        {"date": DAY, "colony": "B1", "cells_seen": 3.0},
        {"date": OLD_DAY, "colony": "B1", "cells_seen": 1.0},
    ]
    club, copies = handed_out(folder, {NEW: told})
    assert rows_of(club) == [(row["colony"], row["cells_seen"], row.get("remarks")) for row in told]
    checked = check_book(read_book(club), AS_AT)
    assert {one.cell for one in checked.findings if one.sheet == NEW} == {"A4"}
    assert rows_of(copies["M1"]) == [("A1", 2.0, "by the gate")]
    refs = read_book(copies["M1"]).tables[NEW].raw["ref"].dropna()
    assert refs.iloc[-1].startswith("M1a_00c0-Q"), refs.iloc[-1]
    back = returned(copies["M1"], folder / "back.xlsx", {NEW: [{"date": DAY, "colony": "A2", "cells_seen": 5.0}]})
    gathered(club, back)
    assert ("A2", 5.0, None) in rows_of(club)
    book = read_book(club)
    after = check_book(book, AS_AT)
    package = anonymous(frames_of(book, after), after.held, b"key").rows[NEW]
    assert sorted(package["cells_seen"]) == [2.0, 3.0, 5.0]
    assert "remarks" not in package
    assert NEW in columns_page()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
