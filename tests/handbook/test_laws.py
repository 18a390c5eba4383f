"""Laws that hold over every entry of the handbook."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest

from apiarybook.handbook import REGIONS, Feed, Figure, HiveType, Method, MonthDay, Months, Profile, handbook
from apiarybook.reckon.core.winter import winter
from apiarybook.reckon.hive.kit import brood_frames_used

if TYPE_CHECKING:
    from collections.abc import Iterator

BOOK = handbook()
HIVES = list(BOOK.hive_types.values())
PROFILES = list(BOOK.profiles.values())


def walk(thing: object, place: str) -> Iterator[tuple[str, Figure | Months | MonthDay]]:
    if isinstance(thing, Figure | Months | MonthDay):
        yield place, thing
    elif isinstance(thing, dict):
        for key, value in thing.items():
            yield from walk(value, f"{place}, {key}")
    elif is_dataclass(thing):
        for field in fields(thing):
            yield from walk(getattr(thing, field.name), f"{place}, {field.name}")


def named(things: list[HiveType] | list[Profile]) -> list[str]:
    return [thing.name for thing in things]


def test_practice_without_a_source_says_so_and_memory_admits_it() -> None:
    for place, figure in walk(BOOK, "handbook"):
        sources = figure.sources if isinstance(figure, Months) else (figure.source,)
        kinds = figure.kinds if isinstance(figure, Months) else (figure.kind,)
        for source, kind in zip(sources, kinds, strict=True):
            if kind == "published":
                assert "no source" not in source, place
            if kind == "from memory":
                assert "from memory" in source, place
            assert "http" not in source, place


def test_names_are_safe_in_a_look_up_and_differ_by_more_than_case() -> None:
    for names in (BOOK.hive_types, BOOK.feeds, BOOK.extras, BOOK.methods, BOOK.scale_kinds, BOOK.frames):
        assert len({name.casefold() for name in names}) == len(names)
        for name in names:
            assert re.fullmatch(r"[A-Za-z]( ?[A-Za-z0-9]+)*", name), name
            assert len(name) <= 31


def test_every_region_has_one_profile_of_its_name_and_hives_to_list() -> None:
    assert tuple(BOOK.profiles) == REGIONS
    for region in REGIONS:
        assert len(BOOK.hive_types_of(region)) >= 4


@pytest.mark.parametrize("hive", HIVES, ids=named(HIVES))
def test_a_want_fills_nine_tenths_of_the_combs_at_most(hive: HiveType) -> None:
    """With the brood that is expected on the day winter starts; common practice, no source."""
    months = winter(2026)
    for region in hive.regions:
        profile = np.array([months.profiles.index(region) + 1])
        frames = months.on(months.brood, months.dates["winter_starts"][profile - 1], profile)
        brood = brood_frames_used(frames, hive.bees.value, hive.comb_side.value)[0]
        assert hive.want_in(region).value <= 0.9 * (hive.comb_full - hive.full_comb.value * brood), region
    assert set(hive.want_by_region) <= set(REGIONS)


@pytest.mark.parametrize("hive", HIVES, ids=named(HIVES))
def test_a_hive_is_of_one_piece(hive: HiveType) -> None:
    assert hive.frame in BOOK.frames
    assert hive.frames.value >= 4 * hive.boxes.value
    assert hive.pollen_frames.value < hive.frames.value / 4
    assert 0.05 * hive.tare.value <= hive.tare_spread.value <= 0.15 * hive.tare.value
    # bees that would not even fill the combs: both sides of every frame at the full density
    side = BOOK["bee_mass_per_side"].value
    assert hive.bees.value < 2 * hive.comb_side.value * side * hive.frames.value
    # a pollen store weighs no more than its combs would hold of food
    assert hive.pollen.value <= hive.pollen_frames.value * hive.full_comb.value
    assert hive.portion_fondant.value < hive.portion_liquid.value


@pytest.mark.parametrize("hive", HIVES, ids=named(HIVES))
def test_a_want_carries_the_colony_to_the_flow(hive: HiveType) -> None:
    size = (hive.bees.value / BOOK["reference_bees"].value) ** BOOK["size_exponent"].value
    for region in hive.regions:
        profile = BOOK.profiles[region]
        eaten = winter_use(profile, profile.dates["winter_starts"], profile.dates["flow"]) * size
        assert hive.want_in(region).value >= eaten, region


def winter_use(profile: Profile, first: MonthDay, last: MonthDay) -> float:
    start, end = date(2026, first.month, first.day), date(2027, last.month, last.day)
    days = [date.fromordinal(day) for day in range(start.toordinal(), end.toordinal())]
    lengths = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    return sum(profile.consumption.of(day.month) / lengths[day.month - 1] for day in days)


def test_wants_grow_with_the_colony_within_a_family() -> None:
    families = [
        ("Six frame nucleus wood", "Double nucleus", "National single", "National 14x12", "National double"),
        ("Zander one box", "Zander two boxes"),
        ("German standard one box", "German standard two boxes"),
        ("Langstroth single deep", "Langstroth double deep", "Langstroth three deep"),
    ]
    for family in families:
        for smaller, larger in pairwise(BOOK.hive_types[name] for name in family):
            assert smaller.bees.value < larger.bees.value
            assert smaller.tare.value < larger.tare.value
            for region in set(smaller.regions) & set(larger.regions):
                assert smaller.want_in(region).value < larger.want_in(region).value


def test_a_mixed_hive_has_the_mean_of_its_combs() -> None:
    hive, deep = BOOK.hive_types["National brood and a half"], BOOK.frames["British Standard deep"]
    shallow = BOOK.frames["British Standard shallow"]
    for name in ("comb_side", "full_comb"):
        total = 11 * getattr(deep, name).value + 10 * getattr(shallow, name).value
        assert getattr(hive, name).value == pytest.approx(total / 21)
    assert deep.full_comb.source in hive.full_comb.source


@pytest.mark.parametrize("profile", PROFILES, ids=named(PROFILES))
def test_a_winter_runs_in_order(profile: Profile) -> None:
    order = ("last_liquid_day", "winter_starts", "fondant_reaches", "feed_reaches", "flow")
    days = [profile.dates[name] for name in order]
    dates = [date(2026 if day.month >= 8 else 2027, day.month, day.day) for day in days]
    assert dates == sorted(set(dates))


@pytest.mark.parametrize("profile", PROFILES, ids=named(PROFILES))
def test_months_make_sense(profile: Profile) -> None:
    assert profile.bees.of(10) == 1.0, "the factor is on the October figure"
    assert min(profile.consumption.values) > 0
    broodiest = max(profile.brood.values)
    assert profile.brood.of(12) < 0.1 * broodiest
    assert profile.consumption.of(12) < profile.consumption.of(4), "brood costs food"
    assert profile.brood.of(1) <= profile.brood.of(2) <= profile.brood.of(3) <= profile.brood.of(4)


def test_feeds_give_stores_by_their_form() -> None:
    feed: Feed
    for feed in BOOK.feeds.values():
        gives = feed.solids.value * feed.eta.value / BOOK["ripe_solids"].value
        assert gives <= 1.0, "no feed becomes more stores than it weighs"
        assert (gives > 0) == (feed.form != "none")
        assert not feed.mixed or feed.form == "liquid"
        assert feed.eta.value in (BOOK["eta"].value, 0.0, 1.0)
    saturated = dict(zip(BOOK.saturation.temperature, BOOK.saturation.solids, strict=True))
    for feed in (feed for feed in BOOK.feeds.values() if feed.mixed):
        assert feed.solids.value < saturated[BOOK["saturation_temperature"].value]
    food = BOOK.feeds["Frame of food"]
    assert (food.form, food.solids.value, food.eta.value) == ("comb", BOOK["ripe_solids"].value, 1.0)


def test_methods_and_scales_fit_each_other() -> None:
    method: Method
    for method in BOOK.methods.values():
        assert method.scale_kind in {*BOOK.scale_kinds, "none"}
        assert method.coarse == (method.multiplier_u.value > 0), "a method with a guessed factor is coarse"
    counted = BOOK.methods["frames of food counted"]
    assert counted.multiplier_u.value == BOOK["frames_spread"].value


def test_the_handbook_is_read_once() -> None:
    assert handbook() is BOOK


@pytest.mark.parametrize("region", REGIONS)
def test_each_region_feeds_one_liquid_in_autumn(region: str) -> None:
    (feed,) = [feed for feed in BOOK.feeds.values() if region in feed.autumn_in]
    assert (feed.form, feed.name) == ("liquid", BOOK.autumn_feed_of(region))


def test_figures_in_pounds_are_round() -> None:
    """Common practice, no source: nobody sells a sack of 55.12 lb or a feeder of 5.283 quarts."""
    for thing in (*BOOK.feeds.values(), *HIVES):
        for figure in thing.in_pounds.values():
            assert figure.value == round(figure.value)
    assert all("pack" in feed.in_pounds for feed in BOOK.feeds.values())
    assert all(set(hive.in_pounds) == {"portion_liquid", "portion_fondant", "feeder_holds"} for hive in HIVES)


@pytest.mark.parametrize(
    ("region", "frames"),
    [
        ("british-isles", {"British Standard deep", "British Standard 14x12", "Langstroth deep"}),
        ("central-europe", {"Zander", "German standard", "Dadant deep"}),
        ("scandinavia", {"Swedish low", "Langstroth deep", "Dadant deep"}),
    ],
)
def test_a_region_finds_a_polystyrene_hive_of_full_size_for_its_frames(region: str, frames: set[str]) -> None:
    """Common practice, no source."""
    hives = [hive for hive in BOOK.hive_types_of(region) if hive.material == "polystyrene"]
    assert {hive.frame for hive in hives if "nucleus" not in hive.name} >= frames
