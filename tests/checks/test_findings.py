"""Rows in, findings out: rule, cell and value as typed.

The bounds are those of the small hive in `small`: empty 16 kg, believable up to 45.16 kg.
"""

from datetime import date, datetime

import pytest

from tests.checks.small import AS_AT, CLUB, DAY, HIVE, MASSES_IN_POUNDS, Row, checked, feeding, found, weighing

Found = list[tuple[str, str, str]]
OCTOBER = date(2026, 10, 20)
IN_POUNDS = {
    key: value * MASSES_IN_POUNDS
    for key, value in HIVE.items()
    if key in {"tare", "tare_spread", "bees", "pollen", "want", "full_comb"} and isinstance(value, float)
}


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        pytest.param({}, [], id="a sound row is left alone"),
        pytest.param({"colony": "a1"}, [], id="codes are one whatever their case"),
        pytest.param({"colony": "A2"}, [("unknown-code", "C2", "A2")], id="unknown colony"),
        pytest.param({"colony": None}, [("missing-code", "C2", "")], id="no colony"),
        pytest.param({"colony": 7.0}, [("bad-code", "C2", "7")], id="a number is no code"),
        pytest.param({"typed_for": "M9"}, [("unknown-member", "V2", "M9")], id="unknown member"),
        pytest.param({"how": None}, [("missing-value", "E2", "")], id="nobody knows how"),
        pytest.param({"how": "ful lift"}, [("unknown-word", "E2", "ful lift")], id="a word amiss is not also missing"),
        pytest.param({"reading_1": None}, [("missing-value", "F2", "")], id="no reading"),
        pytest.param({"how": "two sides", "reading_1": 20.0}, [("missing-value", "G2", "")], id="one side of two"),
        pytest.param({"how": "heft"}, [("missing-value", "H2", "")], id="no heft"),
        pytest.param({"how": "heft", "heft": "heavy", "reading_1": None}, [], id="a word for a heft"),
        pytest.param({"reading_1": "38,5"}, [("decimal-comma", "F2", "38,5")], id="decimal comma"),
        pytest.param({"reading_1": "38.5 kg"}, [("unit-in-cell", "F2", "38.5 kg")], id="unit in the cell"),
        pytest.param({"reading_1": 380.0}, [("out-of-bounds", "F2", "380")], id="no scale shows that"),
        pytest.param({"reading_1": 1.7e308}, [("out-of-bounds", "F2", "1.7e+308")], id="more than a tenth holds"),
        pytest.param({"date": "05/09/2026"}, [], id="one of its two days lies in the winter"),
        pytest.param({"date": "16th Sept"}, [], id="a day as text, of this winter"),
        pytest.param({"date": 46277.0}, [], id="a day without its format"),
        pytest.param({"date": datetime(2026, 9, 12, 9)}, [], id="a time of day does no harm"),  # noqa: DTZ001
        pytest.param({"date": date(2025, 9, 12)}, [("wrong-year", "B2", "2025-09-12")], id="last year's date"),
        pytest.param(
            {"date": date(2026, 6, 12)}, [("out-of-season", "B2", "2026-06-12")], id="before the winter's July"
        ),
        pytest.param({"date": date(2026, 7, 1), "occasion": "practice"}, [], id="the winter's first day"),
        pytest.param({"date": date(2026, 10, 12)}, [("later-than-as-at", "B2", "2026-10-12")], id="not yet"),
        pytest.param({"extra_1": "Stoone"}, [("unknown-code", "N2", "Stoone")], id="unknown extra"),
        pytest.param({"hive_is": "snow"}, [("snow-on-roof", "R2", "snow")], id="snow"),
        pytest.param({"frames_bees": 12.0}, [("more-frames-than-hive", "T2", "12")], id="more frames than the hive"),
        pytest.param(
            {"how": "frames of food counted", "reading_1": 12.0},
            [("more-frames-than-hive", "F2", "12")],
            id="more frames of food than the hive",
        ),
        pytest.param({"scale": "H1"}, [], id="a checked scale"),
        pytest.param({"scale": "H9"}, [("unknown-code", "L2", "H9")], id="unknown scale"),
        pytest.param({"scale": "H1", "reading_1": 38.05}, [("off-division", "F2", "38.05")], id="between two steps"),
    ],
)
def test_cells_of_a_weighing(cells: Row, expected: Found) -> None:
    assert found(Weighings=[weighing(**cells)]) == expected


@pytest.mark.parametrize(
    ("cells", "expected", "suggestion"),
    [
        pytest.param({"reading_1": 45.1}, [], "", id="just believable"),
        pytest.param({"reading_1": 16.1}, [], "", id="just above empty"),
        pytest.param({"reading_1": 83.8}, [("above-comb", "F2", "83.8")], "38.8", id="swapped, or pounds"),
        pytest.param({"reading_1": 3.8}, [("below-tare", "F2", "3.8")], "38", id="a tenth"),
        pytest.param({"reading_1": 200.0}, [("above-comb", "F2", "200")], "20", id="ten times"),
        pytest.param({"reading_1": 130.0}, [("above-comb", "F2", "130")], "", id="too much"),
        pytest.param({"reading_1": 14.0}, [("below-tare", "F2", "14")], "41", id="too little, digits swapped"),
        pytest.param({"reading_1": 11.0}, [("below-tare", "F2", "11")], "31", id="too little, a wrong digit"),
        pytest.param({"reading_1": 47.0, "other_extra": 5.0}, [], "", id="a stone on the roof is no stores"),
        pytest.param({"reading_1": 18.0, "other_extra": 5.0}, [("below-tare", "F2", "18")], "", id="less its stone"),
        pytest.param(
            {"how": "two sides", "reading_1": 25.0, "reading_2": 12.0},
            [("sides-ratio", "F2", "25")],
            "11.34",
            id="lopsided",
        ),
        pytest.param({"how": "two sides", "reading_1": 19.0, "reading_2": 12.0}, [], "", id="stores to one side"),
        pytest.param(
            {"how": "two sides", "reading_1": 12.0, "reading_2": 22.0},
            [("sides-ratio", "F2", "12")],
            "21",
            id="lopsided, digits swapped",
        ),
        pytest.param(
            {"how": "two sides", "reading_1": 21.0, "reading_2": 2.0},
            [("sides-ratio", "G2", "2")],
            "20",
            id="a tenth on one side",
        ),
        pytest.param({"reading_1": 38.0, "reading_2": 36.0}, [("second-reading", "F2", "38")], "35", id="read twice"),
        pytest.param({"reading_1": 38.0, "reading_2": 37.0}, [], "", id="read twice, within 1 kg"),
        pytest.param(
            {"how": "heft", "reading_1": None, "heft": 85.0},
            [("above-comb", "H2", "85")],
            "38.56",
            id="hefted in pounds",
        ),
        pytest.param({"how": "heft", "reading_1": None, "heft": 47.0}, [], "", id="a hand may guess too high"),
        pytest.param({"how": "heft", "reading_1": None, "heft": 14.0}, [], "", id="a hand may guess too low"),
        pytest.param({"how": "one side", "reading_1": 23.0}, [], "", id="one side may show 50.6 kg of 45.2"),
        pytest.param(
            {"how": "one side", "reading_1": 30.0}, [("above-comb", "F2", "30")], "13.61", id="not 66 kg, but pounds"
        ),
        pytest.param({"reading_1": 3.8, "occasion": "practice"}, [], "", id="a dummy hive may weigh anything"),
    ],
)
def test_slips_of_a_reading(cells: Row, expected: Found, suggestion: str) -> None:
    findings = checked(Weighings=[weighing(**cells)]).findings
    told = [(one.rule, one.cell, one.value) for one in findings if one.rule != "unlikely"]
    assert told == expected
    assert "".join(one.suggestion for one in findings) == suggestion


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


@pytest.mark.parametrize(
    ("reading", "expected"),
    [
        pytest.param(20.4, [], id="two per cent"),
        pytest.param(44.1, [("scale-not-trusted", "L2", "H1"), ("scale-slope", "A2", "H1")], id="set to pounds"),
        pytest.param(None, [("missing-value", "D2", ""), ("scale-unchecked", "A2", "H1")], id="nothing read"),
    ],
)
def test_scale_by_its_checks(reading: float | None, expected: Found) -> None:
    check = {"date": DAY, "scale": "H1", "known": 20.0, "reading": reading}
    assert sorted(found(Weighings=[weighing(scale="H1")], Scale_checks=[check])) == sorted(expected)


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        pytest.param({}, [], id="a sound feed"),
        pytest.param({"feed_kind": "Thik"}, [("unknown-code", "D2", "Thik")], id="unknown feed"),
        pytest.param({"unit": None}, [("missing-value", "F2", "")], id="no unit"),
        pytest.param({"amount": None, "unit": None}, [("missing-value", "E2", "")], id="no amount"),
        pytest.param({"amount": None, "unit": None, "sugar": 10.0, "water": 6.3}, [], id="all of a mix"),
        pytest.param({"sugar": 10.0}, [("mix-without-masses", "J2", "")], id="no water"),
        pytest.param(
            {"feed_kind": "Home mixed syrup"},
            [("mix-without-masses", "I2", ""), ("mix-without-masses", "J2", "")],
            id="home mixed of unknown strength",
        ),
        # 67.09 % of sucrose is dissolved at 20 degC: handbook table in M. T. Flanagan's library (UCL)
        pytest.param({"sugar": 6.7, "water": 3.3}, [], id="67.0 %"),
        pytest.param({"sugar": 6.72, "water": 3.28}, [("feed-impossible", "I2", "6.72")], id="67.2 %"),
        pytest.param({"amount": 20.0, "unit": "l"}, [("more-than-feeder", "E2", "20")], id="over three feeders"),
        pytest.param({"amount": 13.0, "unit": "l"}, [], id="under three feeders"),
        pytest.param(
            {"feed_kind": "Fondant", "amount": 30.0},
            [("more-than-comb", "E2", "30")],
            id="more than all combs hold",
        ),
        pytest.param({"feed_kind": "Fondant", "amount": 3.0, "unit": "block"}, [], id="three blocks of 2.5 kg"),
        pytest.param(
            {"feed_kind": "Fondant", "amount": 3.5, "unit": "block"},
            [("many-portions-at-once", "E2", "3.5")],
            id="more than three blocks",
        ),
        pytest.param({"date": date(2026, 9, 30)}, [], id="last day for liquid"),
        pytest.param({"date": date(2026, 10, 1)}, [("too-cold-for-liquid", "B2", "2026-10-01")], id="too late"),
        pytest.param({"date": date(2026, 10, 1), "warmest": 10.0}, [], id="late but warm"),
        pytest.param({"date": date(2026, 10, 1), "feed_kind": "Fondant"}, [], id="fondant is never late"),
        pytest.param({"date": date(2026, 10, 1), "taken_back": "yes"}, [], id="taken back"),
    ],
)
def test_feeds(cells: Row, expected: Found) -> None:
    assert found(OCTOBER, Feedings=[feeding(**cells)]) == expected


@pytest.mark.parametrize(
    ("lifted", "fed", "expected"),
    [
        pytest.param({}, {"date": date(2026, 8, 21)}, [], id="22 days before"),
        pytest.param({}, {"date": date(2026, 8, 22)}, ["feeder-not-looked-at"], id="21 days before"),
        pytest.param({"feed_left": 0.0}, {"date": date(2026, 9, 5)}, [], id="empty, and looked at"),
        pytest.param({}, {"date": date(2026, 9, 13)}, [], id="fed after it"),
        pytest.param({}, {"date": date(2026, 9, 5), "feed_kind": "Fondant"}, [], id="fondant needs no feeder"),
        pytest.param({}, {"date": date(2026, 9, 5), "colony": "B1"}, ["unknown-code"], id="another colony"),
        pytest.param({"feed_left": 0.0}, {}, ["before-or-after-feed"], id="fed on the day"),
        pytest.param({"occasion": "before feed"}, {}, [], id="before feed"),
        pytest.param({"occasion": "after feed"}, {}, ["feeder-not-looked-at"], id="after feed"),
        pytest.param({"occasion": "after feed", "feed_left": 5.0}, {}, [], id="after feed, looked at"),
    ],
)
def test_weighings_and_feeds(lifted: Row, fed: Row, expected: list[str]) -> None:
    rows = {"Weighings": [weighing(**lifted)], "Feedings": [feeding(**fed)]}
    assert [rule for rule, _, _ in found(**rows)] == expected


@pytest.mark.parametrize(
    ("moves", "expected"),
    [
        pytest.param([], [], id="no super known of"),
        pytest.param([("super on", 5)], ["liquid-under-super"], id="super on"),
        pytest.param([("super on", 5), ("super off", 8)], [], id="taken off before"),
        pytest.param([("super on", 5), ("super under", 8)], [], id="put under before"),
        pytest.param([("super on", 5), ("super off", 20)], ["liquid-under-super"], id="taken off too late"),
        pytest.param([("super off", 5), ("super on", 20)], [], id="put on afterwards"),
    ],
)
def test_liquid_feed_under_a_super(moves: list[tuple[str, int]], expected: list[str]) -> None:
    rows: list[Row] = [{"date": date(2026, 9, day), "colony": "A1", "what": what} for what, day in moves]
    assert [one[0] for one in found(OCTOBER, Feedings=[feeding()], Moves=rows)] == expected


@pytest.mark.parametrize(("day", "expected"), [(date(2026, 10, 31), []), (date(2026, 11, 1), ["super-over-excluder"])])
def test_queen_below_an_excluder_in_winter(day: date, expected: list[str]) -> None:
    row = weighing(date=day, extra_1="Queen excluder", extra_2="Empty super")
    assert [one[0] for one in found(date(2026, 12, 1), Weighings=[row])] == expected


@pytest.mark.parametrize(
    ("as_at", "expected"),
    [(date(2026, 10, 3), []), (date(2026, 10, 4), ["old-evidence"]), (date(2026, 11, 1), [])],
)
def test_weight_grown_old(as_at: date, expected: list[str]) -> None:
    assert [one[0] for one in found(as_at, Weighings=[weighing()])] == expected


@pytest.mark.parametrize(
    ("what", "into", "expected"),
    [
        ("united into", "A9", "unknown-code"),
        ("united into", "A1", "into-itself"),
        ("united into", None, "missing-value"),
        ("moved to apiary", "P2", "unknown-code"),
        ("new hive type", "Twelve", "unknown-code"),
        ("super off", None, ""),
        (None, None, "missing-value"),
    ],
)
def test_moves(what: str | None, into: str | None, expected: str) -> None:
    rows: list[Row] = [{"date": DAY, "colony": "A1", "what": what, "into": into}]
    assert [one[0] for one in found(Moves=rows)] == [expected] * bool(expected)


@pytest.mark.parametrize(
    ("sheet", "rows", "expected"),
    [
        (
            "Colonies",
            [*CLUB["Colonies"], {**CLUB["Colonies"][0], "colony": "a1"}],
            [("duplicate-code", "A2", "A1"), ("duplicate-code", "A3", "a1")],
        ),
        ("Colonies", [{"colony": "A1", "apiary": "P1", "hive_type": "Elven"}], [("unknown-code", "C2", "Elven")]),
        ("Colonies", [{**CLUB["Colonies"][0], "own_tare": 24.0}], [("own-tare-apart", "G2", "24")]),
        ("Colonies", [{**CLUB["Colonies"][0], "own_tare": 18.0}], []),
        ("Hive_types", [{**HIVE, "want": 25.0}], [("want-above-comb", "I2", "25")]),
        ("Hive_types", [{**HIVE, "tare": None}], [("missing-figure", "E2", "")]),
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
    ],
)
def test_lists_and_rows_that_stand_twice(sheet: str, rows: list[Row], expected: Found) -> None:
    assert found(**{sheet: rows}) == expected


def united(colony: str, into: str, day: int) -> Row:
    return {"date": date(2026, 9, day), "colony": colony, "what": "united into", "into": into}


@pytest.mark.parametrize(
    ("moves", "expected"),
    [
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
    ],
)
def test_colonies_united_into_each_other(moves: list[Row], expected: Found) -> None:
    three: list[Row] = [*CLUB["Colonies"], *({**CLUB["Colonies"][0], "colony": code} for code in ("A2", "A3"))]
    assert found(Moves=moves, Colonies=three) == expected


@pytest.mark.parametrize(
    ("into", "type_after", "expected"),
    [(None, None, ["single-by-name-only"]), ("Eleven", None, []), (None, "Eleven", [])],
)
def test_down_to_a_single_that_stays_a_double_on_paper(
    into: str | None, type_after: str | None, expected: list[str]
) -> None:
    moves: list[Row] = [{"date": DAY, "colony": "A1", "what": "down to single", "into": into}]
    if type_after:
        moves.append({"date": DAY, "colony": "A1", "what": "new hive type", "into": type_after})
    double = {**HIVE, "name": "Twice", "boxes": 2, "frames": 22}
    colonies: list[Row] = [{**CLUB["Colonies"][0], "hive_type": "Twice"}]
    assert [one[0] for one in found(Moves=moves, Colonies=colonies, Hive_types=[HIVE, double])] == expected


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


@pytest.mark.parametrize(
    ("types", "expected"),
    [
        pytest.param((None, "Twelve", None), ["Eleven"], id="one row in the middle"),
        pytest.param((None, None, "Twelve"), ["Eleven"], id="the last row"),
        pytest.param(("Twelve", None, "Twelve"), ["Eleven"], id="the last of two, for the first has none before it"),
        pytest.param(("Twelve", None, None), [], id="the first row: it was changed since"),
        pytest.param(("Heavy", None, None), ["Eleven"], id="the first row, which fits better as the others are"),
        pytest.param(("Light", None, None), ["Eleven"], id="the first row, which fits better so, too"),
        pytest.param(("Twelve", "Twelve", None), [], id="two rows: it was changed since"),
        pytest.param((None, "Eleven", None), [], id="the type that it has"),
    ],
)
def test_a_hive_type_of_one_row(types: tuple[str | None, ...], expected: list[str]) -> None:
    """Weighings of three weeks; a hive type that differs by its name alone, one a box heavier, one a box lighter."""
    rows = [
        weighing(date=date(2026, 9, 1 + 7 * at), reading_1=38.0 - at, hive_type_then=one, feed_left=0.0)
        for at, one in enumerate(types)
    ]
    others = [
        {**HIVE, "name": "Twelve"},
        {**HIVE, "name": "Heavy", "tare": 20.0},
        {**HIVE, "name": "Light", "tare": 12.0},
    ]
    said = checked(OCTOBER, Weighings=rows, Hive_types=[HIVE, *others]).findings
    assert [one.suggestion for one in said if one.rule == "type-of-one-row"] == expected
