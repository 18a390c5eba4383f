"""The whole season: lists, weighings, feeds and standing of all colonies in one pass, and what follows from them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from apiarybook.handbook import handbook
from apiarybook.reckon.balance.causes import Rows, readings
from apiarybook.reckon.balance.mass_balance import Records, balance
from apiarybook.reckon.core.arrays import figure, numbers
from apiarybook.reckon.core.arrays import words as words_of
from apiarybook.reckon.core.consumption import DAYS_OF_A_MONTH
from apiarybook.reckon.core.lookup import match, number_or, pick, pick_words
from apiarybook.reckon.core.winter import serials, sure_of, winter, year_of
from apiarybook.reckon.feeding import feedings as feeding_rows
from apiarybook.reckon.feeding.feedings import feed_order, foretell, margin_of_all
from apiarybook.reckon.hefting.worth import counted_and_weighed, pairs, with_earlier, worth_of_hands
from apiarybook.reckon.hefting.worth_weighing import left_by_scale, worth_weighing
from apiarybook.reckon.hive import lists as list_rows
from apiarybook.reckon.hive import moves, scale
from apiarybook.reckon.hive import weighings as weighing_rows
from apiarybook.reckon.hive.weighings import Lists
from apiarybook.reckon.outlook import rate, till_flow
from apiarybook.reckon.standing import standing, verdict
from apiarybook.reckon.standing import status_words as words
from apiarybook.reckon.standing.standing import Rules

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Frames = Mapping[str, pd.DataFrame]


@dataclass(frozen=True, slots=True)
class Given:
    """What a season is reckoned from."""

    frames: Frames
    lists: Lists
    rules: Rules
    region: str
    """Name of the club's winter profile."""


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of colonies, weighings, feeds and winter rounds before anybody is told what to do."""

    stood: pd.DataFrame
    weighed: pd.DataFrame
    fed: pd.DataFrame
    looked: pd.DataFrame


@dataclass(frozen=True)
class Grounds:
    """What a season rests on whatever is asked about its rows, each step reckoned when it is first asked for.

    Attributes: as the arguments of `reckon_season`.
    """

    frames: Frames = field(repr=False)
    settings: Mapping[str, object]
    as_at: float
    hands: pd.DataFrame | None = field(repr=False)

    @cached_property
    def given(self) -> Given:
        """The lists with what follows from them, and the club's rules."""
        frames, months, region = self.frames, winter(year_of(self.settings)), str(self.settings["region"])
        lists = Lists(
            colonies=_moved_colonies(frames, self.as_at),
            types=frames["Hive types"].join(list_rows.hive_types(frames["Hive types"], region, months)),
            kinds=frames["Feed kinds"].join(list_rows.feed_kinds(frames["Feed kinds"])),
            extras=frames["Extras"],
            scales=frames["Scales"][["scale"]].join(self.scales),
            ways=ways(),
            winter=months,
        )
        return Given(frames, lists, _rules(self.settings, self.as_at), region)

    @cached_property
    def scales(self) -> pd.DataFrame:
        """The line of each listed scale."""
        return scale_lines(self.frames["Scales"], self.frames["Scale checks"])

    @cached_property
    def placed(self) -> pd.DataFrame:
        """The colonies where they stand today, before any weighing, heft or feed counts."""
        return standing.begin(self.given.lists, self.frames["Apiaries"], self.given.rules)

    @cached_property
    def lifted(self) -> pd.DataFrame:
        """What of the weighings rests neither on hands nor on feeds."""
        return _lifts(self.frames, self.given.lists, self.placed)

    @cached_property
    def pairs(self) -> pd.DataFrame:
        """Hefts beside what was weighed."""
        return pairs(self.frames["Weighings"], self.lifted, self.as_at)

    @cached_property
    def hefting(self) -> pd.DataFrame:
        """What the hefts of each hand are worth, any other hand first."""
        if self.hands is not None:
            return self.hands
        return worth_of_hands(with_earlier(self.pairs, self.frames.get("Earlier lifts")))

    @cached_property
    def known(self) -> Known:
        """What is known before anybody is told what to do."""
        return _known(self.given, self.hefting, self.placed, self.lifted)


@dataclass(frozen=True)
class Season:
    """What was reckoned, a frame a sheet, each indexed like the sheet's rows; masses in kg, days as numbers.

    Everything is reckoned when it is first asked for.

    Attributes:
        frames: the typed sheets, with what is asked about their rows.
        grounds: what rests on no question.
    """

    frames: Frames = field(repr=False)
    grounds: Grounds

    @cached_property
    def given(self) -> Given:
        """What the season is reckoned from."""
        return replace(self.grounds.given, frames=self.frames)

    @property
    def known(self) -> Known:
        """What is known before anybody is told what to do."""
        return self.grounds.known

    @cached_property
    def _advised(self) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
        return _advised(self.known, self.given)

    @property
    def weighings(self) -> pd.DataFrame:
        """The sheet Weighings."""
        return self._advised[0]

    @property
    def feedings(self) -> pd.DataFrame:
        """The sheet Feedings."""
        return self._advised[1]

    @property
    def standing(self) -> pd.DataFrame:
        """Every colony, and what is to be done."""
        return self._advised[2]

    @property
    def winter_rounds(self) -> pd.DataFrame:
        """The sheet Winter rounds."""
        return self.known.looked

    @property
    def hefting(self) -> pd.DataFrame:
        """What the hefts of each hand are worth, any other hand first."""
        return self.grounds.hefting

    @property
    def pairs(self) -> pd.DataFrame:
        """Hefts beside what was weighed."""
        return self.grounds.pairs

    @property
    def scales(self) -> pd.DataFrame:
        """The line of each listed scale."""
        return self.grounds.scales

    @cached_property
    def colonies(self) -> pd.DataFrame:
        """What Moves and the runs say of each colony beside its row."""
        return self.given.lists.colonies[["moved_type", *MOVED]].join(_learnt(self.known.stood))

    @property
    def hive_types(self) -> pd.DataFrame:
        """The list of hive types with what follows from it."""
        return self.given.lists.types

    @property
    def feed_kinds(self) -> pd.DataFrame:
        """The list of feed kinds with what follows from it."""
        return self.given.lists.kinds

    @cached_property
    def feed_order(self) -> pd.DataFrame:
        """Feed to order, by apiary."""
        return feed_order(self.given.frames, self.given.lists, self.standing, self.given.rules)

    @cached_property
    def order_margin(self) -> float:
        """What to add to the whole order to be sure of it [kg]."""
        return margin_of_all(self.given.frames, self.given.lists, self.standing, self.given.rules)

    @cached_property
    def worth_weighing(self) -> pd.DataFrame:
        """The colonies for which a scale reading would most change what is done."""
        return worth_weighing(self.standing, self.given.lists, self.given.frames["Apiaries"])

    @cached_property
    def frames_beside(self) -> pd.DataFrame:
        """Frames of food counted beside what was weighed the same day."""
        given = self.given
        return counted_and_weighed(given.frames["Weighings"], self.known.weighed, given.lists, given.rules.as_at)

    @cached_property
    def records(self) -> Records:
        """What a balance draws on."""
        frames = self.frames
        return Records(
            weighed=self.known.weighed,
            weighings=frames["Weighings"],
            fed=self.known.fed,
            feedings=frames["Feedings"],
            stood=self.known.stood,
            moves=frames["Moves"],
            outcomes=frames["After winter"],
            lists=self.given.lists,
        )

    @cached_property
    def typed(self) -> Rows:
        """The weighings one at a time, as they were typed."""
        return Rows(self.records, self.given.rules.unit)

    @cached_property
    def balance(self) -> pd.DataFrame:
        """Every interval between two scale weighings of a colony, with what may lie behind what is left over."""
        found = balance(self.records)
        return found.join(readings(found, self.typed, self.records))

    @cached_property
    def till_the_flow(self) -> pd.DataFrame:
        """Stores of each colony by half-month until the flow, and the next visit to it."""
        given = self.given
        ahead = till_flow.till_the_flow(self.standing, given.frames["Apiaries"], given.lists, given.rules)
        return ahead.join(till_flow.visits(ahead, self.standing, given.lists))

    @cached_property
    def by_apiary(self) -> pd.DataFrame:
        """The same by apiary."""
        return till_flow.by_apiary(self.till_the_flow, self.standing)

    @cached_property
    def round_list(self) -> pd.DataFrame:
        """The next visit to each apiary."""
        return till_flow.round_list(self.till_the_flow, self.standing, self.given.frames["Apiaries"])


def ways() -> pd.DataFrame:
    """The ways to weigh as the book lists them: factor, uncertainties, and the line of a scale nobody checked."""
    book = handbook()
    rows = []
    for method in book.methods.values():
        kind = book.scale_kinds.get(method.scale_kind)
        line = scale.no_check(kind.division.value, kind.half_width.value) if kind else None
        unknown = method.name == "two sides"
        rows.append(
            {
                "name": method.name,
                "factor": figure("unknown_stand_factor") if unknown else method.multiplier.value,
                "factor_u": figure("unknown_stand_factor_u") if unknown else method.multiplier_u.value,
                "handling_u": method.handling_u.value,
                "coarse": float(method.coarse),
                "line_fixed": float(line.fixed) if line else 0.0,
                "line_relative": float(line.relative) if line else 0.0,
                "line_least": float(line.least) if line else 0.0,
            }
        )
    return pd.DataFrame(rows)


def scale_lines(scales: pd.DataFrame, checks: pd.DataFrame) -> pd.DataFrame:
    """Fit the line of each listed scale to its checks.

    Args:
        scales: the sheet Scales; a scale without a division counts with its kind's usual one.
        checks: the sheet Scale checks.

    Returns:
        frame indexed like the scales: line_offset and so on, checks, checked_on (number of the day).
    """
    kinds = handbook().scale_kinds
    usual = [kinds.get(kind, kinds["hanging"]) for kind in scales["kind"].fillna("hanging")]
    listed = pd.DataFrame(
        {
            "scale": [f"{row}" for row in range(1, len(scales) + 1)],
            "division": numbers(scales["division"].fillna(pd.Series([k.division.value for k in usual], scales.index))),
            "half_width": [kind.half_width.value for kind in usual],
        }
    )
    row = match(checks["scale"], scales["scale"])
    given = pd.DataFrame(
        {"scale": row.astype(str), "known": numbers(checks["known"]), "reading": numbers(checks["reading"])}
    )
    lines = scale.fit_scales(given[row > 0], listed).set_index(scales.index)
    found = lines.drop(columns="checks").add_prefix("line_")
    found["checks"] = lines["checks"].astype(np.float64)
    last = pd.Series(serials(checks["date"])).groupby(row).max().reindex(np.arange(1, len(scales) + 1))
    found["checked_on"] = last.to_numpy(dtype=np.float64)
    found.loc[scales["scale"].isna()] = np.nan
    return found


def reckon_season(
    frames: Frames, settings: Mapping[str, object], as_at: float, hands: pd.DataFrame | None = None
) -> Season:
    """Reckon a whole book.

    Args:
        frames: the typed sheets by name, masses in kg and volumes in l, index the row's number; the sheets Weighings,
            Feedings and Moves carry a column held with the reason why a row does not count; Earlier lifts (by, word,
            error) may be missing.
        settings: the club's settings: winter, region, sure_in_10, autumn_feed, solid_feed.
        as_at: number of the day for which to reckon.
        hands: what the hefts of each hand are worth, any other hand first; told from the pairs if not given.

    Returns:
        the season.
    """
    return Season(frames, Grounds(frames, settings, as_at, hands))


def reckon_as_asked(before: Season, frames: Frames, settings: Mapping[str, object], as_at: float) -> Season:
    """Reckon a book once it is known what is asked about its rows, as `reckon_season` does.

    Args:
        before: the season of the same book while nothing was asked; what does not depend on questions is taken from it
            where nothing is held and nothing else differs.
        frames: as for `reckon_season`, with the columns held, asked and beyond.
        settings: the club's settings.
        as_at: number of the day for which to reckon.
    """
    grounds = before.grounds
    is_same = _told(grounds.settings, grounds.as_at) == _told(settings, as_at) and _are_same(before.frames, frames)
    return Season(frames, grounds) if is_same else reckon_season(frames, settings, as_at)


def _told(settings: Mapping[str, object], as_at: float) -> tuple[Rules, int, str]:
    """All that a season takes from the club's settings."""
    return _rules(settings, as_at), year_of(settings), str(settings["region"])


ANSWERED = ("held", "asked", "beyond")
"""What is known of a row once it was checked: why it does not count, what is asked, how far beyond a bound it is."""


def _are_same(before: Frames, frames: Frames) -> bool:
    """Whether nothing is held, or right beyond a bound, and all that was typed is the same."""
    if before.keys() != frames.keys():
        return False
    for name, frame in frames.items():
        held = any(
            (words_of(of[key]) != "").any() for of, key in ((frame, "held"), (before[name], "held")) if key in of
        )
        beyond = "beyond" in frame and frame["beyond"].notna().any()
        typed = (of.drop(columns=list(ANSWERED), errors="ignore") for of in (before[name], frame))
        if held or beyond or not next(typed).equals(next(typed)):
            return False
    return True


def _rules(settings: Mapping[str, object], as_at: float) -> Rules:
    return Rules(
        as_at=as_at,
        sure=sure_of(settings),
        autumn_feed=str(settings["autumn_feed"]),
        solid_feed=str(settings["solid_feed"]),
        unit=str(settings.get("unit") or "kg"),
    )


def _moved_colonies(frames: Frames, as_at: float) -> pd.DataFrame:
    colonies = frames["Colonies"]
    row = np.arange(1, len(colonies) + 1)
    types = moves.type_on_days(frames["Moves"], colonies, frames["Hive types"], row, np.full(len(row), as_at))
    now = moves.standing_now(frames["Moves"], colonies, frames["Apiaries"], frames["Hive types"], as_at)
    return colonies.assign(moved_type=types, **{key: now[key] for key in now.columns})


MOVED = ("moved_apiary", "apiary_before", "moved_on", "moved_state", "united_into", "united_on", "changed_on")


def _learnt(stood: pd.DataFrame) -> pd.DataFrame:
    """What the book tells of each colony beside its row: the own rate that the last run learnt, and its last round."""
    none = (stood["rate_told"] == 0).to_numpy()
    own = {"rate": stood["own_rate"].mask(none), "rate_spread": stood["own_spread"].mask(none)}
    return stood[list(weighing_rows.ROUND)].assign(**own)


def _lifts(frames: Frames, lists: Lists, stood: pd.DataFrame) -> pd.DataFrame:
    weighings = frames["Weighings"]
    colony, day = match(weighings["colony"], lists.colonies["colony"]), np.floor(serials(weighings["date"]))
    types = moves.type_on_days(frames["Moves"], lists.colonies, lists.types, colony, day)
    found = weighing_rows.lifts(weighings.assign(moved_type=types), lists, stood)
    found["moved_type"] = types
    return found


def _known(given: Given, hands: pd.DataFrame, placed: pd.DataFrame, lifted: pd.DataFrame) -> Known:
    """What is known of all weighings, colonies, feeds and winter rounds."""
    frames, lists, rules = given.frames, given.lists, given.rules
    weighings, feedings = frames["Weighings"], frames["Feedings"]
    weighed = lifted.copy()
    weighing_rows.weighings(weighed, weighings, lists, hands, rules.as_at)
    looks, looked = _rounds(given, hands, placed)
    last = weighing_rows.latest_round(looks, looked, len(placed)).set_index(placed.index)
    stood, fed = _evidence(given, placed, weighed, last)
    weighed["unripe_then"] = feeding_rows.unripe_then(weighings, weighed, feedings, fed)
    out = weighing_rows.outside(weighings, weighed, lists)
    weighed["outside"] = out.astype(np.float64)
    if out.any():
        weighed.loc[out, ["rank_scale", "rank_heft"]] = 0.0
        stood, fed = _evidence(given, placed, weighed, last)
    _own_rates(stood, [(weighings, weighed), (looks, looked)], (frames, fed), lists, rules)
    stood = stood.copy()
    standing.stores(stood, feeding_rows.by_colony(fed, len(stood)), lists, rules)
    _wet_stores(weighed, stood)
    return Known(stood, weighed, fed, looked)


def _evidence(
    given: Given, placed: pd.DataFrame, weighed: pd.DataFrame, last: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Which weighing, heft or round each colony rests on, and what its feeds came to before and since."""
    stood = placed.copy()
    standing.evidence(stood, given.frames["Weighings"], weighed, last)
    stood = stood.join(last)  # in one piece again: so many columns, one by one, are slow
    return stood, feeding_rows.feedings(given.frames["Feedings"], given.lists, stood, given.rules.as_at)


def _advised(known: Known, given: Given) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Finish the frames of weighings, feeds and colonies: what is to be done, and the words beside each row."""
    lists, rules = given.lists, given.rules
    weighings, feedings = given.frames["Weighings"], given.frames["Feedings"]
    stood, weighed, fed = known.stood.copy(), known.weighed.copy(), known.fed.copy()
    stood["asked"] = _asked(stood, weighings)
    verdict.advise(stood, lists, rules)
    foretell(stood, feedings, fed, lists, rules)
    stood["left_by_scale"] = left_by_scale(stood, weighed, lists)
    on = pd.DataFrame({"colony": fed["colony_row"], "day": np.floor(serials(feedings["date"]))})
    weighed["status"] = words.weighing_words(weighings, weighed, on, lists, stood, rules.as_at)
    fed["status"] = words.feeding_words(feedings, fed, lists, stood, rules.as_at)
    return weighed, fed, stood


def _rounds(given: Given, hands: pd.DataFrame, placed: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The hefts of winter rounds as rows of Weighings, and what is reckoned of them."""
    frames, lists, rules = given.frames, given.lists, given.rules
    rows = weighing_rows.hefted_rounds(frames["Winter rounds"], frames["Weighings"], lists, rules.solid_feed)
    colony, day = match(rows["colony"], lists.colonies["colony"]), np.floor(serials(rows["date"]))
    rows["moved_type"] = moves.type_on_days(frames["Moves"], lists.colonies, lists.types, colony, day)
    looked = weighing_rows.lifts(rows, lists, placed)
    weighing_rows.weighings(looked, rows, lists, hands, rules.as_at)
    return rows, looked.assign(moved_type=rows["moved_type"])


def _own_rates(
    stood: pd.DataFrame,
    seen: list[tuple[pd.DataFrame, pd.DataFrame]],
    happened: tuple[Frames, pd.DataFrame],
    lists: Lists,
    rules: Rules,
) -> None:
    """Let weighings, hefts and rounds tell what each colony eats, its apiary and all of its winter."""
    frames, fed = happened
    points = []
    for rows, found in seen:
        unripe = found["unripe_then"] if "unripe_then" in found else np.zeros(len(found))
        points.append(rate.points(rows, found, number_or(unripe, 0.0), stood, lists, rules.as_at))
    given = pd.DataFrame({"colony": fed["colony_row"], "day": np.floor(serials(frames["Feedings"]["date"]))})
    changed = frames["Moves"]
    shifted = pd.DataFrame(
        {"colony": match(changed["colony"], lists.colonies["colony"]), "day": np.floor(serials(changed["date"]))}
    )
    into = match(changed["into"], lists.colonies["colony"])
    events = pd.concat([given[(fed["usable"] == 1).to_numpy()], shifted, shifted.assign(colony=into)])
    events = events[(events["colony"] > 0) & events["day"].notna()]
    learnt = rate.learn(pd.concat(points, ignore_index=True), events, len(stood))
    ahead = np.nan_to_num(numbers(stood["flow"]) - rules.as_at) / DAYS_OF_A_MONTH
    held = rate.pooled(learnt, rate.winters(stood), stood["place_row"].to_numpy(dtype=np.int64), ahead)
    stood["own_rate"], stood["own_spread"], stood["rate_told"] = held.mean, held.spread, held.told.astype(np.int64)
    stood["winter_rate"], stood["winter_spread"] = held.winter, held.winter_spread
    stood["rate_weight"] = learnt.weight


def _asked(stood: pd.DataFrame, weighings: pd.DataFrame) -> NDArray[np.object_]:
    """What is asked about the row on which each colony's stores rest: the weighing, else the later heft."""
    if "asked" not in weighings:
        return np.full(len(stood), "", dtype=object)
    by_scale, by_hand = (
        pick_words(weighings["asked"], numbers(stood[key]).astype(np.int64)) for key in ("evidence_row", "heft_row")
    )
    hand = np.where(numbers(stood["evidence_row"]) > 0, by_hand, "")
    return np.where(by_scale != "", by_scale, hand).astype(object)


def _wet_stores(weighed: pd.DataFrame, stood: pd.DataFrame) -> None:
    """Stores of every weighing, less the water that was still to be driven off on its own day."""
    colony, place = weighed["colony_row"].to_numpy(), np.arange(1, len(weighed) + 1)
    then = weighed["unripe_then"].to_numpy()
    newest = (pick(stood["evidence_row"], colony) == place) & (weighed["usable"].to_numpy() == 1)
    wet = np.where(newest, pick(stood["unripe_water"], colony), then)
    weighed["stores"] = np.where(weighed["usable"] == 1, weighed["dry"] - wet, np.nan)
