"""A broken handbook is refused with one sentence that says where and what to do."""

from __future__ import annotations

import re
import shutil
from importlib.resources import as_file, files
from typing import TYPE_CHECKING

import pytest

from apiarybook.errors import ApiarybookError, HandbookError
from apiarybook.handbook import Handbook, handbook, load_handbook

if TYPE_CHECKING:
    from pathlib import Path

FLOOR = 'reserve_floor = { value = 5.0, unit = "kg", low = 4.0, high = 10.0, kind = "published", source = "a log" }\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with as_file(files("apiarybook.handbook")) as shipped:
        for file in shipped.glob("*.toml"):
            shutil.copy(file, tmp_path / file.name)
    return tmp_path


def change(folder: Path, file: str, old: str, new: str) -> None:
    text = (folder / file).read_text(encoding="utf-8")
    assert old in text, f"{file} no longer holds {old!r}"
    (folder / file).write_text(text.replace(old, new, 1), encoding="utf-8")


def refusal(folder: Path) -> str:
    with pytest.raises(HandbookError) as caught:
        load_handbook(folder)
    return str(caught.value)


def model_of(folder: Path, text: str) -> Handbook:
    (folder / "model.toml").write_text(text, encoding="utf-8")
    return load_handbook(folder)


def test_a_copy_of_the_shipped_folder_is_the_shipped_handbook(folder: Path) -> None:
    assert load_handbook(folder) == handbook()


def test_the_error_is_also_the_built_in_and_the_package_error() -> None:
    assert issubclass(HandbookError, ValueError)
    assert issubclass(HandbookError, ApiarybookError)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('unit = "kg", ', "", "unit is missing"),
        ('unit = "kg"', 'unit = "stone"', "unit 'stone' is not known"),
        ('unit = "kg"', "unit = 3", "unit is 3 where text is expected"),
        (', source = "a log"', "", "source is missing"),
        ('source = "a log"', 'source = " "', "source is ' ' where text is expected"),
        ('kind = "published", ', "", "kind is missing"),
        ('kind = "published"', 'kind = "hearsay"', "kind 'hearsay' is not known"),
        ("value = 5.0, ", "", "value is missing"),
        ("value = 5.0", 'value = "5"', "value is '5' where a number is expected"),
        ("value = 5.0", "value = true", "value is True where a number is expected"),
        ("value = 5.0", "value = nan", "value is nan where a number is expected"),
        ("value = 5.0", "value = 3.9", "the value 3.9 is outside its range 4 to 10"),
        ("value = 5.0", "value = 10.1", "the value 10.1 is outside its range 4 to 10"),
        ("low = 4.0", "low = -4.0", "the low end -4 kg is below nothing"),
        ("low = 4.0", "lowest = 4.0", "the key 'lowest' is not known"),
    ],
)
def test_a_figure_must_be_whole(folder: Path, old: str, new: str, said: str) -> None:
    assert model_of(folder, FLOOR)["reserve_floor"].value == 5.0
    assert old in FLOOR
    with pytest.raises(HandbookError) as caught:
        model_of(folder, FLOOR.replace(old, new, 1))
    sentence = str(caught.value)
    assert said in sentence
    assert sentence.startswith("Handbook file model.toml, reserve_floor: ")
    assert sentence.endswith(".")
    assert "; " in sentence, "it says what to do"


def test_a_bare_number_is_no_figure(folder: Path) -> None:
    with pytest.raises(HandbookError, match="reserve_floor is 5 where a table of figures is expected"):
        model_of(folder, "reserve_floor = 5\n")


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("profiles.toml", "jan = 0.9\n", "", "british-isles consumption: jan is missing"),
        ("profiles.toml", "jan = 0.9\n", "jan = -0.9\n", "jan is -0.9"),
        ("profiles.toml", 'unit = "kg/month"\n', "", "british-isles consumption: unit is missing"),
        ("profiles.toml", 'unit = "kg/month"', 'unit = "kg"', "the unit 'kg' is not 'kg/month'"),
        ("profiles.toml", "low = 0.6", "low = 1.1", "do not enclose 1"),
        ("profiles.toml", 'months = ["may"', 'months = ["mai"', "months holds 'mai'"),
        ("profiles.toml", "flow = { month = 4, day = 20", "flow = { month = 4, day = 31", "not a day of every year"),
        ("profiles.toml", "[scandinavia]", "[lapland]", "the key 'lapland' is not known"),
        ("profiles.toml", "last_liquid_day", "last_liquid", "the key 'last_liquid' is not known"),
        ("hive_types.toml", 'frame = "Smith deep"', 'frame = "Smyth deep"', "frame 'Smyth deep' is not known"),
        (
            "hive_types.toml",
            '"British Standard deep" = 11',
            '"British Standard deep" = 10',
            "20 combs are listed for 21",
        ),
        ("hive_types.toml", '["Smith"]', '["Smith (short lugs)"]', "the name 'Smith (short lugs)' will not do"),
        ("hive_types.toml", '["Smith"]', '["14x12 hive"]', "the name '14x12 hive' will not do"),
        ("hive_types.toml", 'material = "wood"', 'material = "straw"', "material 'straw' is not known"),
        ("hive_types.toml", 'size = "full"', 'size = "huge"', "size 'huge' is not known"),
        ("hive_types.toml", 'regions = ["british-isles"]', "regions = []", "where a list is expected"),
        ("hive_types.toml", "want_by_region.scandinavia", "want_by_region.sweden", "the key 'sweden' is not known"),
        ("feeds.toml", 'form = "liquid"', 'form = "gas"', "form 'gas' is not known"),
        ("feeds.toml", "mixed = true", 'mixed = "yes"', "where yes or no is expected"),
        ("methods.toml", 'scale_kind = "hanging"', 'scale_kind = "bathroom"', "scale_kind 'bathroom' is not known"),
        ("syrup.toml", "1038.13", "998.00", "density does not rise"),
        ("syrup.toml", "0.6418, ", "", "differ in length"),
        ("syrup.toml", 'unit = "kg/m3"', 'unit = "kg"', "the unit 'kg' is not 'kg/m3'"),
        ("extras.toml", '["Strap"]', '["Strap"', "Handbook file extras.toml cannot be read"),
        ("days.toml", "month = 8", 'month = "August"', "month is 'August' where a number is expected"),
    ],
)
def test_each_file_is_looked_at(folder: Path, file: str, old: str, new: str, said: str) -> None:
    change(folder, file, old, new)
    sentence = refusal(folder)
    assert said in sentence
    assert file in sentence
    assert "\n" not in sentence


@pytest.mark.parametrize("region", ["british-isles", "north-america-south"])
def test_each_region_needs_its_winter_profile(folder: Path, region: str) -> None:
    text = (folder / "profiles.toml").read_text(encoding="utf-8")
    kept = [part for part in re.split(r"(?m)^(?=\[)", text) if not part.startswith(f"[{region}")]
    (folder / "profiles.toml").write_text("".join(kept), encoding="utf-8")
    assert f"the winter profile of {region} is missing" in refusal(folder)


def test_a_file_that_is_not_there_is_named(folder: Path) -> None:
    (folder / "feeds.toml").unlink()
    assert "Handbook file feeds.toml cannot be read" in refusal(folder)
