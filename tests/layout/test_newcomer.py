"""What a newcomer does: a sheet and its columns declared in one place, and all rooms of the house follow."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import apiarybook

PACKAGE = Path(apiarybook.__file__).parent
TESTS = Path(__file__).parents[1]
DECLARED = """
QUEENS = of_colonies(
    name="Queens seen",
    mark="Q",
    in_copy=InCopy.IN_VIEW,
    how_to="One row for each look.",
    row_is="a look for queen cells",
    spare=10,
    columns=(
        *ROW_BEGINS,
        COLONY,
        Column(key="cells_seen", kind=Kind.COUNT, possible=(0, 100), prompt="How many queen cells."),
        REMARKS,
        *ROW_ENDS,
    ),
)
"""


def test_a_sheet_declared_in_one_place_is_written_read_checked_gathered_and_shared(tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(PACKAGE, copy / "apiarybook", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(TESTS / "gather", copy / "tests" / "gather")
    shutil.copytree(TESTS / "layout", copy / "tests" / "layout")
    later = copy / "apiarybook" / "layout" / "type_later.py"
    later.write_text(later.read_text("utf-8") + DECLARED, "utf-8")
    here = copy / "apiarybook" / "layout" / "type_here.py"
    here.write_text(
        here.read_text("utf-8")
        .replace("AFTER_WINTER, MOVES", "AFTER_WINTER, MOVES, QUEENS")
        .replace("MOVES, AFTER_WINTER)", "MOVES, AFTER_WINTER, QUEENS)"),
        "utf-8",
    )
    ran = subprocess.run(
        [sys.executable, "-m", "tests.layout.with_a_new_sheet", str(tmp_path / "club")],
        cwd=copy,
        env=os.environ | {"PYTHONPATH": str(copy)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
