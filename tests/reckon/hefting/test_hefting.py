"""Hands: the sheet Hefting for small clubs, and what must hold for any pairs at all."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.inter_rater import cohens_kappa

from apiarybook.handbook import handbook
from apiarybook.layout import BOOK
from apiarybook.reckon.hefting.calibration import (
    ANY_HAND,
    Calibration,
    Sums,
    belief,
    calibrate,
    default_hand,
    half_width,
    hefting,
    log_error,
    priors,
    sound_pairs,
    sums,
)
from apiarybook.reckon.hefting.trust import hands_report, lifts_needed, words_report
from apiarybook.reckon.hefting.worth import as_if_by_chance, worth_of_hands

Pair = tuple[str, object, str]

WORDS = st.sampled_from(["", "light", "about right", "heavy"])
NAMES = st.sampled_from(["Ann", "ann", "Ben", "Cid", "Dora", "", ANY_HAND])
ERRORS = st.one_of(st.none(), st.floats(-4, 4), st.sampled_from([np.nan, np.inf, -np.inf, 0.0]))
PAIRS = st.lists(st.tuples(NAMES, ERRORS, WORDS), max_size=25)


def frame(pairs: list[Pair]) -> pd.DataFrame:
    told = pd.DataFrame(pairs, columns=["by", "error", "word"])
    return told.assign(day=np.arange(len(told), dtype=np.float64))


def sheet(pairs: list[Pair]) -> pd.DataFrame:
    return hefting(frame(pairs)).set_index("by")


def of_hands(pairs: list[Pair]) -> Calibration:
    """What is known of any other hand and of each that has lifted, in the order of names."""
    sound = sound_pairs(frame(pairs))
    return calibrate(sound, np.unique(sound["hand"].to_numpy(dtype=object)))


def guesses(by: str, *errors: float) -> list[Pair]:
    return [(by, error, "") for error in errors]


def test_no_pairs_leave_the_handbook() -> None:
    pd.testing.assert_frame_equal(hefting(frame([])), default_hand())
    pd.testing.assert_frame_equal(hefting(frame([("Ann", None, ""), ("", 0.1, "")])), default_hand())


@pytest.mark.parametrize("word", ["", "light", "about right", "heavy"])
def test_a_word_nobody_said_stands_as_in_the_handbook(word: str) -> None:
    begin = {"": "", "light": "light_", "about right": "right_", "heavy": "heavy_"}[word]
    other = "light" if word != "light" else ""
    found, usual = sheet([("Ann", 0.2, other), ("Ben", -0.1, other)]), default_hand().iloc[0]
    assert found[f"{begin}factor"].tolist() == pytest.approx([usual[f"{begin}factor"]] * 3)
    assert found[f"{begin}spread"].tolist() == pytest.approx([usual[f"{begin}spread"]] * 3)


def test_the_columns_of_the_sheet() -> None:
    keys = [
        column.key for one in BOOK.sheets if one.name == "Hefting" for column in one.columns if not column.club_only
    ]
    assert hefting(frame(guesses("Ann", 0.1))).columns.tolist() == default_hand().columns.tolist()
    assert set(worth_of_hands(frame(guesses("Ann", 0.1))).columns) == set(keys)


def test_names_are_matched_as_spreadsheets_match_them() -> None:
    found = sheet([*guesses("Ann ", 0.1), *guesses("ANN", 0.2), *guesses("Ben", 0.0)])
    assert found.index.tolist() == [ANY_HAND, "Ann", "Ben"]
    assert found["pairs"].tolist() == [0.0, 2.0, 1.0]


def test_a_prior_by_the_model_step_by_step() -> None:
    """Three hands, the first judged by the two others: no spread between hands can be told from two."""
    errors = {"Ann": [0.30, 0.34], "Ben": [0.02, 0.10, 0.06], "Cid": [-0.20]}
    within = (4 * 0.15**2 + 0.0032) / (4 + 2)
    between = 0.12**2
    weights = [1 / (between + within / 3), 1 / (between + within / 1)]
    mean = (weights[0] * 0.06 + weights[1] * -0.20) / (sum(weights) + 1 / 0.12**2)
    k0 = within / between
    k = k0 + 2
    rate = 2 * within + 0.0008 / 2 + k0 * 2 / k * (0.32 - mean) ** 2 / 2
    found = sheet([pair for by, told in errors.items() for pair in guesses(by, *told)]).loc["Ann"]
    assert found["factor"] == pytest.approx(np.exp((k0 * mean + 2 * 0.32) / k))
    assert found["spread"] == pytest.approx(np.sqrt(rate / 3 * (k + 1) / k))
    assert handbook().model["hand_spread"].value == 0.15
    assert handbook().model["hand_bias_spread"].value == 0.12


def test_the_spread_between_three_hands_worked_by_hand() -> None:
    """Means 0.3, 0.1, -0.1 of two pairs each, 0.05 about them: within 0.015 / 3 freedoms = 0.005, with the handbook's
    (4 x 0.0225 + 0.015) / 7 = 0.015; between (0.16 - 2 x 0.005) / 4 = 0.0375, with the handbook's
    (4 x 0.0144 + 2 x 0.0375) / 6 = 0.0221."""
    error = [0.35, 0.25, 0.15, 0.05, -0.05, -0.15]
    found = priors(sums(error, np.repeat(np.arange(3), 2), 3), belief())
    assert found.weight[0] == pytest.approx(0.015 / 0.0221)
    assert found.rate[0] == pytest.approx(2 * 0.015)


def test_priors_leave_the_hand_out() -> None:
    rng = np.random.default_rng(5)
    counts = np.array([3, 0, 7, 1, 4])
    hand = np.repeat(np.arange(5), counts)
    own = sums(rng.normal(0.1, 0.2, 15), hand, 5)
    all_left_out = priors(own, belief())
    for one in range(5):
        rest = np.arange(5) != one
        alone = priors(Sums(own.pairs[rest], own.mean[rest], own.squares[rest]), belief())
        for part in ("mean", "weight", "rate"):
            assert getattr(all_left_out, part)[one + 1] == pytest.approx(getattr(alone, part)[0])


@given(st.lists(st.integers(0, 3), min_size=1, max_size=12), st.integers(0, 9))
def test_errors_of_one_day_weigh_as_generalised_least_squares(days: list[int], seed: int) -> None:
    """Mean and its weight against numpy's inverse of the covariance written out: 1 on the diagonal, 0.2 in a day."""
    error = np.random.default_rng(seed).normal(0.1, 0.2, len(days))
    same = np.equal.outer(days, days)
    inverse = np.linalg.inv(np.where(same, 0.2, 0.0) + 0.8 * np.eye(len(days)))
    found = sums(error, np.zeros(len(days), dtype=np.int64), 1, days)
    assert found.weight[0] == pytest.approx(inverse.sum())
    assert found.mean[0] == pytest.approx((inverse @ error).sum() / inverse.sum())
    assert found.squares[0] == pytest.approx((error - found.mean) @ inverse @ (error - found.mean))


def test_lifts_of_one_day_say_less_of_a_hand_than_those_of_many() -> None:
    told = frame(guesses("Ann", *[0.3, 0.2, 0.25] * 4))
    spread_out, at_once = (hefting(told.assign(day=day)).set_index("by").loc["Ann"] for day in (told["day"], 46300.0))
    assert at_once["factor"] < spread_out["factor"]
    assert at_once["spread"] > spread_out["spread"]


@pytest.mark.parametrize("absurd", [0.69, -0.69, 2.3])
def test_a_gross_outlier_does_not_move_a_hand(absurd: float) -> None:
    usual = [0.05, 0.15, 0.1, 0.0, 0.2, 0.12, 0.08, 0.1, 0.14, 0.06]
    without, beside = (sheet(guesses("Ann", *errors)).loc["Ann"] for errors in (usual, [*usual, absurd]))
    assert np.log(beside["factor"] / without["factor"]) == pytest.approx(0.0, abs=0.045)
    assert beside["spread"] < 0.2


def chosen_by(order: str, seed: int) -> float:
    """The mean error of a hand that hefts 200 hives and weighs 60, as the pairs have it; its true bias is 0.1."""
    rng = np.random.default_rng(seed)
    gross = rng.normal(0.0, 0.15, 200)
    error = rng.normal(0.1, 0.15, 200)
    every = pd.DataFrame({"by": "Ann", "hand": "ann", "light": gross - error, "error": error})
    weighed = every.sort_values("light", ascending=order != "heavy")[:60] if order else every[:60]
    return float(as_if_by_chance(weighed.reset_index(drop=True), every).mean())


@pytest.mark.parametrize("order", ["light", "heavy", ""])
def test_a_hand_is_the_same_whichever_lifts_were_weighed(order: str) -> None:
    """Of the lightest guesses alone the plain mean would be 0.23, of the heaviest -0.03."""
    assert np.mean([chosen_by(order, seed) for seed in range(20)]) == pytest.approx(0.1, abs=0.025)


def test_a_hand_whose_every_heft_was_weighed_is_taken_as_it_is() -> None:
    every = pd.DataFrame({"by": "Ann", "hand": "ann", "light": [-0.1, 0.2], "error": [0.3, -0.1]})
    assert as_if_by_chance(every, every).tolist() == [0.3, -0.1]


def test_many_hands_go_by_blocks(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(5)
    own = sums(rng.normal(0, 0.2, 90), np.repeat(np.arange(30), 3), 30)
    at_once = priors(own, belief())
    monkeypatch.setattr("apiarybook.reckon.hefting.calibration.BLOCK", 70)
    assert priors(own, belief()).mean.tolist() == at_once.mean.tolist()


def test_many_pairs_outweigh_the_club() -> None:
    found = sheet([*guesses("Ann", *[0.3, 0.2] * 100), *guesses("Ben", *[-0.1] * 5)]).loc["Ann"]
    assert found["factor"] == pytest.approx(np.exp(0.25), rel=0.01)
    assert found["spread"] == pytest.approx(0.05, rel=0.15)


@settings(max_examples=30, deadline=None)
@given(PAIRS)
def test_any_pairs_give_figures(pairs: list[Pair]) -> None:
    found = hefting(frame(pairs))
    assert found["by"].iloc[0] == ANY_HAND
    assert found["by"].str.lower().is_unique
    numbers = found.drop(columns="by").to_numpy(dtype=np.float64)
    assert np.isfinite(numbers).all()
    assert (found.filter(regex="factor|spread") > 0).all().all()
    sound = [
        1 for by, error, _ in pairs if by not in {"", ANY_HAND} and error is not None and np.isfinite(float(str(error)))
    ]
    assert found["pairs"].sum() == len(sound)


@settings(max_examples=30, deadline=None)
@given(PAIRS, st.randoms(use_true_random=False))
def test_the_order_of_pairs_does_not_matter(pairs: list[Pair], order: object) -> None:
    turned = pairs.copy()
    order.shuffle(turned)  # type: ignore[attr-defined]
    first, second = (hefting(frame(one)) for one in (pairs, turned))
    names = ["factor", "spread", "light_factor", "heavy_spread"]
    assert first[names].to_numpy() == pytest.approx(second[names].to_numpy(), rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 30), st.floats(-1.0, 1.0))
def test_equal_errors_give_no_false_precision(count: int, error: float) -> None:
    """However alike, pairs shrink the spread no faster than their number allows: b_n >= b0."""
    found = sheet(guesses("Ann", *[error] * count)).loc["Ann"]
    assert found["spread"] >= np.sqrt(2 * 0.15**2 / (2 + count / 2))


@settings(max_examples=30, deadline=None)
@given(st.floats(0.6, 4.0), st.sampled_from([-1, 1]), st.integers(0, 5))
def test_an_absurd_guess_widens_its_hand_and_hardly_moves_another(size: float, sign: int, count: int) -> None:
    usual = guesses("Ben", *[0.05] * count)
    before, after = sheet(usual), sheet([*usual, *guesses("Ann", sign * size)])
    other = "Ben" if count else ANY_HAND
    assert after.loc["Ann", "spread"] > before.loc[ANY_HAND, "spread"]
    assert abs(np.log(after.loc[other, "factor"] / before.loc[other, "factor"])) < before.loc[other, "spread"]


@given(st.floats(allow_nan=True, allow_infinity=True), st.floats(allow_nan=True, allow_infinity=True))
def test_no_mass_no_error(gross: float, guess: float) -> None:
    found = float(log_error(gross, guess))
    sound = np.isfinite(gross) and np.isfinite(guess) and gross > 0 and guess > 0
    assert np.isfinite(found) == sound


@settings(max_examples=30, deadline=None)
@given(PAIRS, st.sampled_from([np.nan, 0.0, 30.0]), st.sampled_from([np.nan, 0.0, 2.0, 8.0]))
def test_the_report_of_any_pairs(pairs: list[Pair], gross: float, wish: float) -> None:
    found = hands_report(frame(pairs))
    assert (found["pairs"] >= 1).all()
    assert found["held"].between(0, 1).all()
    alone = found["pairs"] == 1
    assert found.loc[alone, ["lower", "upper", "bias_low", "drift"]].isna().all().all()
    assert found.loc[~alone, "bias"].between(found.loc[~alone, "lower"], found.loc[~alone, "upper"]).all()
    needed = lifts_needed(of_hands(pairs), gross, wish)
    assert np.isnan(needed).all() == (not (gross > 0 and wish > 0))


def test_the_report_of_a_steady_and_a_drifting_hand() -> None:
    """Guesses a tenth too heavy; and guesses that grow lighter by 1 % a day."""
    noise = [0.02, -0.02] * 10
    steady = guesses("Ann", *[-np.log(1.1) + one for one in noise])
    drifting = guesses("Ben", *[0.01 * day + one for day, one in enumerate(noise)])
    told = pd.concat([frame(steady), frame(drifting)], ignore_index=True)
    found = hands_report(told).set_index("by")
    assert found.loc["Ann", "bias"] == pytest.approx(10.0)
    assert lifts_needed(of_hands(steady), 30.0, 4.0)[-1] == 0
    assert found.loc["Ann", "held"] == 1.0
    assert found.loc["Ann", "drift_chance"] > 0.5
    assert found.loc["Ben", "drift"] == pytest.approx(-365.25, rel=0.05)
    assert found.loc["Ben", "drift_chance"] < 1e-6


def test_lifts_needed_come_true() -> None:
    """A hand that goes on as it is expected to reaches the wish by the lifts foretold, give or take one."""
    pairs = guesses("Ann", 0.1, -0.1, 0.08, -0.09)
    wish = 6.5
    need = int(lifts_needed(of_hands(pairs), 30.0, wish)[-1])
    assert need > 0
    spread = 0.10 * np.sqrt(1 + 1 / 40)
    more = guesses("Ann", *[spread * (-1) ** n for n in range(need + 12)])
    assert 30.0 * np.sinh(half_width(of_hands([*pairs, *more])))[-1] <= wish


def test_words_against_the_scale_put_into_words() -> None:
    """Weighted kappa by statsmodels; the table is what was said against what the scale says."""
    lifts = {"by": "Bo", "error": [-0.2, 0.0, 0.2, 0.0], "word": ["light", "about right", "heavy", "heavy"]}
    told = words_report(pd.DataFrame(lifts)).iloc[0]
    other = cohens_kappa([[1, 0, 0], [0, 1, 0], [0, 1, 1]], wt="linear")
    assert told[["kappa", "kappa_error"]].tolist() == pytest.approx([other.kappa, other.std_kappa])
    assert words_report(frame(guesses("Ann", 0.1))).empty


def test_a_hand_that_guesses_heavy_hives_light() -> None:
    """Half of what a hive is heavier than 30 kg is missed: for twice the hive the bias falls by about a quarter."""
    gross = np.linspace(20, 60, 21)
    judged = 30.0 * (gross / 30.0) ** 0.5 * np.exp(0.01 * (-1.0) ** np.arange(21))
    pairs = pd.DataFrame({"by": "Ann", "error": np.log(gross / judged), "word": "", "day": 1.0, "gross": gross})
    told = hands_report(pairs).iloc[0]
    assert told["by_size"] < -20
    assert told["by_size_chance"] < 1e-6
