"""Rows in, findings out: rule, cell and value as typed.

The bounds are those of the small hive in `small`: empty 16 kg, believable up to 45.16 kg.
"""

from datetime import date, datetime

import pytest

from tests.checks.small import (
    AS_AT,
    CLUB,
    DAY,
    HIVE,
    MASSES_IN_POUNDS,
    Row,
    Sheets,
    checked,
    feeding,
    findings_of_each,
    found,
    found_of_each,
    weighing,
)

Found = list[tuple[str, str, str]]
OCTOBER = date(2026, 10, 20)
IN_POUNDS = {
    key: value * MASSES_IN_POUNDS
    for key, value in HIVE.items()
    if key in {"tare", "tare_spread", "bees", "pollen", "want", "full_comb"} and isinstance(value, float)
}


CELLS_OF_A_WEIGHING: dict[str, tuple[Row, Found]] = {
    "a sound row is left alone": ({}, []),
    "codes are one whatever their case": ({"colony": "a1"}, []),
    "unknown colony": ({"colony": "A2"}, [("unknown-code", "C2", "A2")]),
    "no colony": ({"colony": None}, [("missing-code", "C2", "")]),
    "a number is no code": ({"colony": 7.0}, [("bad-code", "C2", "7")]),
    "unknown member": ({"typed_for": "M9"}, [("unknown-member", "V2", "M9")]),
    "nobody knows how": ({"how": None}, [("missing-value", "E2", "")]),
    "a word amiss is not also missing": ({"how": "ful lift"}, [("unknown-word", "E2", "ful lift")]),
    "no reading": ({"reading_1": None}, [("missing-value", "F2", "")]),
    "one side of two": ({"how": "two sides", "reading_1": 20.0}, [("missing-value", "G2", "")]),
    "no heft": ({"how": "heft"}, [("missing-value", "H2", "")]),
    "a word for a heft": ({"how": "heft", "heft": "heavy", "reading_1": None}, []),
    "decimal comma": ({"reading_1": "38,5"}, [("decimal-comma", "F2", "38,5")]),
    "unit in the cell": ({"reading_1": "38.5 kg"}, [("unit-in-cell", "F2", "38.5 kg")]),
    "no scale shows that": ({"reading_1": 380.0}, [("out-of-bounds", "F2", "380")]),
    "more than a tenth holds": ({"reading_1": 1.7e308}, [("out-of-bounds", "F2", "1.7e+308")]),
    "one of its two days lies in the winter": ({"date": "05/09/2026"}, []),
    "a day as text, of this winter": ({"date": "16th Sept"}, []),
    "a day without its format": ({"date": 46277.0}, []),
    "a time of day does no harm": ({"date": datetime(2026, 9, 12, 9)}, []),  # noqa: DTZ001 as typed
    "last year's date": ({"date": date(2025, 9, 12)}, [("wrong-year", "B2", "2025-09-12")]),
    "before the winter's July": ({"date": date(2026, 6, 12)}, [("out-of-season", "B2", "2026-06-12")]),
    "the winter's first day": ({"date": date(2026, 7, 1), "occasion": "practice"}, []),
    "not yet": ({"date": date(2026, 10, 12)}, [("later-than-as-at", "B2", "2026-10-12")]),
    "unknown extra": ({"extra_1": "Stoone"}, [("unknown-code", "N2", "Stoone")]),
    "snow": ({"hive_is": "snow"}, [("snow-on-roof", "R2", "snow")]),
    "more frames than the hive": ({"frames_bees": 12.0}, [("more-frames-than-hive", "T2", "12")]),
    "more frames of food than the hive": (
        {"how": "frames of food counted", "reading_1": 12.0},
        [("more-frames-than-hive", "F2", "12")],
    ),
    "a checked scale": ({"scale": "H1"}, []),
    "unknown scale": ({"scale": "H9"}, [("unknown-code", "L2", "H9")]),
    "between two steps": ({"scale": "H1", "reading_1": 38.05}, [("off-division", "F2", "38.05")]),
}


def test_cells_of_a_weighing() -> None:
    said = found_of_each({name: {"Weighings": [weighing(**cells)]} for name, (cells, _) in CELLS_OF_A_WEIGHING.items()})
    assert said == {name: one[-1] for name, one in CELLS_OF_A_WEIGHING.items()}


SLIPS_OF_A_READING: dict[str, tuple[Row, Found, str]] = {
    "just believable": ({"reading_1": 45.1}, [], ""),
    "just above empty": ({"reading_1": 16.1}, [], ""),
    "swapped, or pounds": ({"reading_1": 83.8}, [("above-comb", "F2", "83.8")], "38.8"),
    "a tenth": ({"reading_1": 3.8}, [("below-tare", "F2", "3.8")], "38"),
    "ten times": ({"reading_1": 200.0}, [("above-comb", "F2", "200")], "20"),
    "too much": ({"reading_1": 130.0}, [("above-comb", "F2", "130")], ""),
    "too little, digits swapped": ({"reading_1": 14.0}, [("below-tare", "F2", "14")], "41"),
    "too little, a wrong digit": ({"reading_1": 11.0}, [("below-tare", "F2", "11")], "31"),
    "a stone on the roof is no stores": ({"reading_1": 47.0, "other_extra": 5.0}, [], ""),
    "less its stone": ({"reading_1": 18.0, "other_extra": 5.0}, [("below-tare", "F2", "18")], ""),
    "lopsided": ({"how": "two sides", "reading_1": 25.0, "reading_2": 12.0}, [("sides-ratio", "F2", "25")], "11.34"),
    "stores to one side": ({"how": "two sides", "reading_1": 19.0, "reading_2": 12.0}, [], ""),
    "lopsided, digits swapped": (
        {"how": "two sides", "reading_1": 12.0, "reading_2": 22.0},
        [("sides-ratio", "F2", "12")],
        "21",
    ),
    "a tenth on one side": (
        {"how": "two sides", "reading_1": 21.0, "reading_2": 2.0},
        [("sides-ratio", "G2", "2")],
        "20",
    ),
    "read twice": ({"reading_1": 38.0, "reading_2": 36.0}, [("second-reading", "F2", "38")], "35"),
    "read twice, within 1 kg": ({"reading_1": 38.0, "reading_2": 37.0}, [], ""),
    "hefted in pounds": ({"how": "heft", "reading_1": None, "heft": 85.0}, [("above-comb", "H2", "85")], "38.56"),
    "a hand may guess too high": ({"how": "heft", "reading_1": None, "heft": 47.0}, [], ""),
    "a hand may guess too low": ({"how": "heft", "reading_1": None, "heft": 14.0}, [], ""),
    "one side may show 50.6 kg of 45.2": ({"how": "one side", "reading_1": 23.0}, [], ""),
    "not 66 kg, but pounds": ({"how": "one side", "reading_1": 30.0}, [("above-comb", "F2", "30")], "13.61"),
    "a dummy hive may weigh anything": ({"reading_1": 3.8, "occasion": "practice"}, [], ""),
}


def test_slips_of_a_reading() -> None:
    said = findings_of_each(
        {name: {"Weighings": [weighing(**cells)]} for name, (cells, *_) in SLIPS_OF_A_READING.items()}
    )
    for name, (_, expected, suggestion) in SLIPS_OF_A_READING.items():
        told = [(one.rule, one.cell, one.value) for one in said[name] if one.rule != "unlikely"]
        assert (told, "".join(one.suggestion for one in said[name])) == (expected, suggestion), name


def test_kilograms_in_a_book_of_pounds() -> None:
    sheets = {"Hive_types": [{**HIVE, **IN_POUNDS}], "Extras": [], "Scales": [], "Scale_checks": []}
    (finding,) = checked(unit="lb", Weighings=[weighing(reading_1=25.0)], **sheets).findings
    assert (finding.rule, finding.cell, finding.suggestion) == ("below-tare", "F2", "55.12")
    assert "less than the 35.3 lb that such a weighing can show of it empty" in finding.message


def test_scale_that_cannot_carry_it() -> None:
    scale = {"scale": "H1", "kind": "hanging", "capacity": 40.0, "division": 0.1}
    assert found(Weighings=[weighing(scale="H1", reading_1=41.0)], Scales=[scale]) == [
        ("over-capacity", "F2", "41"),
        ("scale-too-small", "C2", "40"),
    ]


SCALE_BY_ITS_CHECKS: dict[str, tuple[float | None, Found]] = {
    "two per cent": (20.4, []),
    "set to pounds": (44.1, [("scale-not-trusted", "L2", "H1"), ("scale-slope", "A2", "H1")]),
    "nothing read": (None, [("missing-value", "D2", ""), ("scale-unchecked", "A2", "H1")]),
}


def test_scale_by_its_checks() -> None:
    check = {"date": DAY, "scale": "H1", "known": 20.0}
    said = found_of_each(
        {
            name: {"Weighings": [weighing(scale="H1")], "Scale_checks": [check | {"reading": reading}]}
            for name, (reading, _) in SCALE_BY_ITS_CHECKS.items()
        }
    )
    assert {name: sorted(of) for name, of in said.items()} == {
        name: sorted(expected) for name, (_, expected) in SCALE_BY_ITS_CHECKS.items()
    }


CELLS_OF_A_FEED: dict[str, tuple[Row, Found]] = {
    "a sound feed": ({}, []),
    "unknown feed": ({"feed_kind": "Thik"}, [("unknown-code", "D2", "Thik")]),
    "no unit": ({"unit": None}, [("missing-value", "F2", "")]),
    "no amount": ({"amount": None, "unit": None}, [("missing-value", "E2", "")]),
    "all of a mix": ({"amount": None, "unit": None, "sugar": 10.0, "water": 6.3}, []),
    "no water": ({"sugar": 10.0}, [("mix-without-masses", "J2", "")]),
    "home mixed of unknown strength": (
        {"feed_kind": "Home mixed syrup"},
        [("mix-without-masses", "I2", ""), ("mix-without-masses", "J2", "")],
    ),
    "67.0 %": ({"sugar": 6.7, "water": 3.3}, []),
    "67.2 %": ({"sugar": 6.72, "water": 3.28}, [("feed-impossible", "I2", "6.72")]),
    "over three feeders": ({"amount": 20.0, "unit": "l"}, [("more-than-feeder", "E2", "20")]),
    "under three feeders": ({"amount": 13.0, "unit": "l"}, []),
    "more than all combs hold": ({"feed_kind": "Fondant", "amount": 30.0}, [("more-than-comb", "E2", "30")]),
    "three blocks of 2.5 kg": ({"feed_kind": "Fondant", "amount": 3.0, "unit": "block"}, []),
    "more than three blocks": (
        {"feed_kind": "Fondant", "amount": 3.5, "unit": "block"},
        [("many-portions-at-once", "E2", "3.5")],
    ),
    "last day for liquid": ({"date": date(2026, 9, 30)}, []),
    "too late": ({"date": date(2026, 10, 1)}, [("too-cold-for-liquid", "B2", "2026-10-01")]),
    "late but warm": ({"date": date(2026, 10, 1), "warmest": 10.0}, []),
    "fondant is never late": ({"date": date(2026, 10, 1), "feed_kind": "Fondant"}, []),
    "taken back": ({"date": date(2026, 10, 1), "taken_back": "yes"}, []),
}


def test_feeds() -> None:
    said = found_of_each(
        {name: {"Feedings": [feeding(**cells)]} for name, (cells, _) in CELLS_OF_A_FEED.items()}, OCTOBER
    )
    assert said == {name: one[-1] for name, one in CELLS_OF_A_FEED.items()}


WEIGHED_AND_FED: dict[str, tuple[Row, Row, list[str]]] = {
    "22 days before": ({}, {"date": date(2026, 8, 21)}, []),
    "21 days before": ({}, {"date": date(2026, 8, 22)}, ["feeder-not-looked-at"]),
    "empty, and looked at": ({"feed_left": 0.0}, {"date": date(2026, 9, 5)}, []),
    "fed after it": ({}, {"date": date(2026, 9, 13)}, []),
    "fondant needs no feeder": ({}, {"date": date(2026, 9, 5), "feed_kind": "Fondant"}, []),
    "another colony": ({}, {"date": date(2026, 9, 5), "colony": "B1"}, ["unknown-code"]),
    "fed on the day": ({"feed_left": 0.0}, {}, ["before-or-after-feed"]),
    "before feed": ({"occasion": "before feed"}, {}, []),
    "after feed": ({"occasion": "after feed"}, {}, ["feeder-not-looked-at"]),
    "after feed, looked at": ({"occasion": "after feed", "feed_left": 5.0}, {}, []),
}


def test_weighings_and_feeds() -> None:
    said = found_of_each(
        {
            name: {"Weighings": [weighing(reading_1=37.0 + at / 10, **lifted)], "Feedings": [feeding(**fed)]}
            for at, (name, (lifted, fed, _)) in enumerate(WEIGHED_AND_FED.items())
        }
    )
    assert {name: [rule for rule, _, _ in of] for name, of in said.items()} == {
        name: expected for name, (*_, expected) in WEIGHED_AND_FED.items()
    }


SUPERS: dict[str, tuple[list[tuple[str, int]], list[str]]] = {
    "no super known of": ([], []),
    "super on": ([("super on", 5)], ["liquid-under-super"]),
    "taken off before": ([("super on", 5), ("super off", 8)], []),
    "put under before": ([("super on", 5), ("super under", 8)], []),
    "taken off too late": ([("super on", 5), ("super off", 20)], ["liquid-under-super"]),
    "put on afterwards": ([("super off", 5), ("super on", 20)], []),
}


def test_liquid_feed_under_a_super() -> None:
    said = found_of_each(
        {
            name: {
                "Feedings": [feeding()],
                "Moves": [{"date": date(2026, 9, day), "colony": "A1", "what": what} for what, day in moves],
            }
            for name, (moves, _) in SUPERS.items()
        },
        OCTOBER,
    )
    assert {name: [one[0] for one in of] for name, of in said.items()} == {
        name: expected for name, (_, expected) in SUPERS.items()
    }


def test_queen_below_an_excluder_in_winter() -> None:
    row = weighing(extra_1="Queen excluder", extra_2="Empty super")
    days = (date(2026, 10, 31), date(2026, 11, 1))
    said = found_of_each({day.isoformat(): {"Weighings": [row | {"date": day}]} for day in days}, date(2026, 12, 1))
    assert [[one[0] for one in of] for of in said.values()] == [[], ["super-over-excluder"]]


@pytest.mark.parametrize(
    ("as_at", "expected"),
    [(date(2026, 10, 3), []), (date(2026, 10, 4), ["old-evidence"]), (date(2026, 11, 1), [])],
)
def test_weight_grown_old(as_at: date, expected: list[str]) -> None:
    assert [one[0] for one in found(as_at, Weighings=[weighing()])] == expected


MOVES: list[tuple[str | None, str | None, str]] = [
    ("united into", "A9", "unknown-code"),
    ("united into", "A1", "into-itself"),
    ("united into", None, "missing-value"),
    ("moved to apiary", "P2", "unknown-code"),
    ("new hive type", "Twelve", "unknown-code"),
    ("super off", None, ""),
    (None, None, "missing-value"),
]


def test_moves() -> None:
    said = found_of_each(
        {
            at: {"Moves": [{"date": DAY, "colony": "A1", "what": what, "into": into}]}
            for at, (what, into, _) in enumerate(MOVES)
        }
    )
    assert [[one[0] for one in of] for of in said.values()] == [[expected] * bool(expected) for *_, expected in MOVES]


LISTS_AND_ROWS: list[tuple[str, list[Row], Found]] = [
    (
        "Colonies",
        [*CLUB["Colonies"], {**CLUB["Colonies"][0], "colony": "a1"}],
        [("duplicate-code", "A2", "A1"), ("duplicate-code", "A3", "a1")],
    ),
    ("Colonies", [{"colony": "A1", "apiary": "P1", "hive_type": "Elven"}], [("unknown-code", "C2", "Elven")]),
    ("Colonies", [{**CLUB["Colonies"][0], "own_tare": 24.0}], [("own-tare-apart", "G2", "24")]),
    ("Colonies", [{**CLUB["Colonies"][0], "own_tare": 18.0}], []),
    ("Apiaries", [{"apiary": "P1", "member": "M1", "profile": "atlantis"}], [("unknown-code", "D2", "atlantis")]),
    ("After_winter", [{"date": DAY, "colony": "A1"}], [("missing-value", "D2", "")]),
    (
        "Weighings",
        [weighing(ref="K-1"), weighing(ref="K-1", reading_1=37.0), weighing(ref="K-2", reading_1=36.0)],
        [("doubled-ref", "A3", "K-1")],
    ),
    ("Weighings", [weighing(), weighing(by="Bob"), weighing()], [("duplicate", "C4", "A1")]),
    ("Feedings", [feeding(), feeding()], [("duplicate", "C3", "A1")]),
    ("Weighings", [{"ref": "K-1"}, {"ref": "K-2", "typed_for": "M1"}], []),
]


def test_lists_and_rows_that_stand_twice() -> None:
    said = found_of_each({at: {sheet: rows} for at, (sheet, rows, _) in enumerate(LISTS_AND_ROWS)})
    assert list(said.values()) == [expected for *_, expected in LISTS_AND_ROWS]


@pytest.mark.parametrize(
    ("cells", "expected"),
    [({"want": 25.0}, ("want-above-comb", "I2", "25")), ({"tare": None}, ("missing-figure", "E2", ""))],
)
def test_a_hive_type_that_cannot_be(cells: Row, expected: tuple[str, str, str]) -> None:
    assert found(Hive_types=[{**HIVE, **cells}]) == [expected]


def united(colony: str, into: str, day: int) -> Row:
    return {"date": date(2026, 9, day), "colony": colony, "what": "united into", "into": into}


UNITED: list[tuple[list[Row], Found]] = [
    ([united("A1", "A2", 1), united("A2", "A1", 3)], [("united-back", "E3", "A1")]),
    ([united("A1", "A2", 3), united("a2", "A1", 1)], [("united-back", "E2", "A2")]),
    (
        [united("A1", "A2", 1), united("A2", "A3", 2), united("A3", "A1", 3)],
        [("united-back", "E4", "A1")],
    ),
    ([united("A1", "A2", 1), united("A2", "A3", 2)], []),
    (
        [united("A1", "A3", 1), united("A2", "A1", 2), united("A1", "A2", 3), united("A3", "A1", 4)],
        [("united-back", "E4", "A2"), ("united-back", "E5", "A1")],
    ),
]


def test_colonies_united_into_each_other() -> None:
    three: list[Row] = [*CLUB["Colonies"], *({**CLUB["Colonies"][0], "colony": code} for code in ("A2", "A3"))]
    said = found_of_each({at: {"Moves": moves, "Colonies": three} for at, (moves, _) in enumerate(UNITED)})
    assert list(said.values()) == [expected for _, expected in UNITED]


DOWN_TO_A_SINGLE: list[tuple[str | None, str | None, list[str]]] = [
    (None, None, ["single-by-name-only"]),
    ("Eleven", None, []),
    (None, "Eleven", []),
]


def test_down_to_a_single_that_stays_a_double_on_paper() -> None:
    double = {**HIVE, "name": "Twice", "boxes": 2, "frames": 22}
    colonies: list[Row] = [{**CLUB["Colonies"][0], "hive_type": "Twice"}]
    moves: list[list[Row]] = [
        [
            {"date": DAY, "colony": "A1", "what": "down to single", "into": into},
            *([{"date": DAY, "colony": "A1", "what": "new hive type", "into": type_after}] if type_after else []),
        ]
        for into, type_after, _ in DOWN_TO_A_SINGLE
    ]
    said = found_of_each(
        {at: {"Moves": one, "Colonies": colonies} for at, one in enumerate(moves)}, Hive_types=[HIVE, double]
    )
    assert [[one[0] for one in of] for of in said.values()] == [expected for *_, expected in DOWN_TO_A_SINGLE]


def test_settings_that_everything_rests_on() -> None:
    (finding,) = checked(winter=None).findings
    assert (finding.rule, finding.cell) == ("missing-setting", "B3")
    assert "taken as 2026" in finding.message


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["10/11/2026", "25/10/2026"], []),
        (["10/11/2026", "10/25/2026"], []),
        (["10/11/2026", "10/25/2026", "25/10/2026"], ["ambiguous-date", "date-as-text", "date-as-text"]),
        (["15.10.", "3 Sept", "16th of September", "2026.11.01"], []),
        (["25.9.2025", "31.9.", "last week"], ["date-as-text", "impossible-date", "impossible-date"]),
    ],
)
def test_a_day_of_the_winter_is_taken_however_it_is_typed(typed: list[str], said: list[str]) -> None:
    """Where two days fit, the column's other dates decide or, where they tell of none, the region's order."""
    checked_on = date(2026, 11, 20)
    rows = [weighing(date=one, reading_1=38.0 + at / 10) for at, one in enumerate(typed)]
    rules = [one.rule for one in checked(checked_on, Weighings=rows).findings if one.column == "date"]
    assert sorted(rules) == said


def test_one_fault_never_hides_another() -> None:
    row = weighing(colony="A2", date="Septober", reading_1="38,5", hive_is="snow", scale="H9")
    assert sorted(rule for rule, _, _ in found(Weighings=[row])) == [
        "decimal-comma",
        "impossible-date",
        "snow-on-roof",
        "unknown-code",
        "unknown-code",
    ]


def test_sentence_names_place_value_bound_and_what_to_do() -> None:
    (finding,) = checked(AS_AT, Weighings=[weighing(ref="K-7", reading_1=11.0)]).findings
    assert finding.sentence == (
        "club.xlsx, sheet Weighings, cell F2 (reading 1): The hive comes to 11 kg without what else stood on it, less "
        "than the 16 kg that such a weighing can show of it empty. Perhaps a digit is wrong or missing (31 for 11); or "
        "only one side was lifted, and not the whole hive. Look at your notes for the reading; weigh again if in "
        "doubt. See how it was weighed, and choose that under how."
    )
    assert (finding.ref, finding.column) == ("K-7", "reading_1")


def test_a_move_that_is_held_changes_no_hive() -> None:
    """A colony said to be moved to an apiary that is the name of a larger hive keeps the bounds of its own hive."""
    larger = {**HIVE, "name": "Twice eleven", "tare": 30.0, "comb_side": 13.9, "full_comb": 4.6}
    moves = [{"date": date(2026, 9, 1), "colony": "A1", "what": "moved to apiary", "into": "Twice eleven"}]
    rows = {"Hive_types": [HIVE, larger], "Moves": moves, "Weighings": [weighing(reading_1=60.0)]}
    assert [rule for rule, _, _ in found(**rows) if rule != "no-visit"] == ["above-comb", "unknown-code"]


def test_a_hive_type_of_the_first_row_is_believed_where_the_hive_grew_lighter_by_it() -> None:
    rows = [
        weighing(date=date(2026, 9, 1), reading_1=42.0, hive_type_then="Heavy", feed_left=0.0),
        weighing(date=date(2026, 9, 8), reading_1=37.0, feed_left=0.0),
    ]
    said = checked(OCTOBER, Weighings=rows, Hive_types=[HIVE, {**HIVE, "name": "Heavy", "tare": 20.0}]).findings
    assert "type-of-one-row" not in {one.rule for one in said}


TYPES_OF_ONE_ROW: dict[str, tuple[tuple[str | None, ...], list[str]]] = {
    "one row in the middle": ((None, "Twelve", None), ["Eleven"]),
    "the last row": ((None, None, "Twelve"), ["Eleven"]),
    "the last of two, for the first has none before it": (("Twelve", None, "Twelve"), ["Eleven"]),
    "the first row: it was changed since": (("Twelve", None, None), []),
    "the first row, which fits better as the others are": (("Heavy", None, None), ["Eleven"]),
    "the first row, which fits better so, too": (("Light", None, None), ["Eleven"]),
    "two rows: it was changed since": (("Twelve", "Twelve", None), []),
    "the type that it has": ((None, "Eleven", None), []),
}


def test_a_hive_type_of_one_row() -> None:
    """Weighings of three weeks; a hive type that differs by its name alone, one a box heavier, one a box lighter."""
    cases: dict[str, Sheets] = {
        name: {
            "Weighings": [
                weighing(date=date(2026, 9, 1 + 7 * at), reading_1=38.0 - at, hive_type_then=one, feed_left=0.0)
                for at, one in enumerate(types)
            ]
        }
        for name, (types, _) in TYPES_OF_ONE_ROW.items()
    }
    others = [
        {**HIVE, "name": "Twelve"},
        {**HIVE, "name": "Heavy", "tare": 20.0},
        {**HIVE, "name": "Light", "tare": 12.0},
    ]
    said = findings_of_each(cases, OCTOBER, Hive_types=[HIVE, *others])
    suggested = {name: [one.suggestion for one in of if one.rule == "type-of-one-row"] for name, of in said.items()}
    assert suggested == {name: expected for name, (_, expected) in TYPES_OF_ONE_ROW.items()}
