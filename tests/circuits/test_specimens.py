"""The statement of a specimen's values, carburetors side by side, drills, and what the checks refuse."""

from __future__ import annotations

from dataclasses import fields, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.errors import RangeError, UseError
from grader.base.quantities import show, unit
from grader.circuits.drills import DRILLS, drill_bore
from grader.circuits.sound import faults_of, float_holds, require_sound
from grader.circuits.specimens import Carburetor, OperatingPoint, Specimen, entries, healthy, side_by_side
from grader.items.specimen_file import load_specimen

ROOT = Path(__file__).parents[2]
INCH = 0.0254


@cache
def sheet(name: str) -> Specimen:
    return load_specimen(ROOT, name)


def test_every_value_has_a_name_a_unit_a_meaning_and_two_ends() -> None:
    for kind in (Specimen, Carburetor):
        for name, entry in entries(kind).items():
            assert name == name.lower()
            assert entry.says
            assert len(name) >= 4  # the trade's word, not a symbol
            for part in entry.pair or (entry,):
                assert part.least < part.greatest
            if entry.default:
                assert entry.fault_of(entry.si(entry.default)) == ""


def test_every_field_of_a_specimen_stands_on_the_sheet_or_is_its_head() -> None:
    assert {f.name for f in fields(Specimen)} - set(entries()) == {"id", "title", "well", "points"}


@pytest.mark.parametrize("name", ["T-1", "T-2"])
def test_the_courses_specimens_are_sound_and_their_floats_hold(name: str) -> None:
    assert faults_of(sheet(name)) == {}
    assert faults_of(healthy(sheet(name))) == {}
    assert bool(float_holds(sheet(name)))


def test_a_sheets_numbers_arrive_in_si() -> None:
    one = sheet("T-1")
    # #54 is 0.055 in; 3.7 L; 8 degrees etc. by hand.
    assert one.main_bleed == pytest.approx(0.055 * INCH)
    assert one.displacement == pytest.approx(0.0037)
    assert one.best_filling_speed == pytest.approx(2200 / 60)
    assert one.coil_deflection == pytest.approx(np.radians(1.5))
    assert one.lifter_rate == pytest.approx(0.0028 * INCH / np.radians(1))
    assert one.coil_neutral == pytest.approx(293.15)
    assert one.charge_heating == pytest.approx(15)
    assert one.fuel_pressure == pytest.approx(4.5 * 6894.757293168)
    assert one.power_spring_rate == pytest.approx(1.6 * 4.4482216152605 / INCH)
    assert one.vacuum_break_acts == pytest.approx(5 * 3386.389, rel=1e-6)
    assert one.points[3].speed == pytest.approx(2000 / 60)
    assert [p.on_stop for p in one.points] == [True, *[False] * 5]


def test_one_column_for_each_carburetor_where_they_differ() -> None:
    made = healthy(sheet("T-1"))
    beside = side_by_side([made, replace(made, main_jet=0.1 * INCH), replace(made, rod_held_at=0.0)])
    assert np.array_equal(beside.main_jet, np.array([made.main_jet, 0.1 * INCH, made.main_jet]))
    assert np.array_equal(beside.rod_held_at, [np.nan, np.nan, 0.0], equal_nan=True)
    assert beside.idle_jet == made.idle_jet
    assert side_by_side([made]) == made


def test_what_differs_in_more_than_numbers_cannot_stand_side_by_side() -> None:
    with pytest.raises(UseError, match="carburetors that differ in well cannot stand side by side"):
        side_by_side([healthy(sheet("T-1")), healthy(sheet("T-2"))])
    with pytest.raises(UseError, match="no carburetor is given"):
        side_by_side([])


@pytest.mark.parametrize("name", sorted(n for n, e in entries().items() if not e.pair))
@pytest.mark.parametrize("end", ["below", "above", "nan"])
def test_every_value_outside_its_range_is_refused_by_name(name: str, end: str) -> None:
    entry = entries()[name]
    span = entry.greatest - entry.least
    number = {"below": entry.least - 0.01 * span, "above": entry.greatest + 0.01 * span, "nan": float("nan")}[end]
    value = number * float(entry.unit.factor) + float(entry.unit.offset)
    wrong = faults_of(replace(sheet("T-1"), **{name: value}))  # type: ignore[arg-type]
    assert list(wrong) == [name]
    assert wrong[name].startswith(f"{name} ({entry.says}) is ")
    assert wrong[name].endswith(f"; it must lie from {entry.range()}")


@pytest.mark.parametrize(
    ("change", "name", "says"),
    [
        ({"rod_steps": ()}, "rod_steps", "rod_steps is empty; give at least one step, {lift: 0 in, diameter: …}"),
        (
            {"rod_steps": ((0.001, 0.001), (0.0, 0.001))},
            "rod_steps",
            "rod_steps: the lifts do not rise; write the smallest lift first",
        ),
        (
            {"rod_steps": ((0.0, 0.5),)},
            "rod_steps.diameter",
            "diameter (diameter then in the jet) is 19.685 in; it must lie from 0 in to 0.5 in",
        ),
        ({"tube_holes": ()}, "tube_holes", "tube_holes is empty; an emulsion tube has holes, {depth: 0.1 in, bore: '#66'}"),
        ({"points": ()}, "points", "points is empty; give at least one operating point"),
        (
            {"points": (OperatingPoint(name="cruise", speed=30.0, throttle=0.2),) * 2},
            "points",
            "points: `cruise` stands twice; give each operating point a name of its own",
        ),
        (
            {"bleed_signal_share": 0.2},
            "bleed_signal_share",
            "bleed_signal_share is not 0; in this model the bleed of an emulsion tube opens where no depression reaches it",
        ),
        (
            {"choke_travel": np.radians(80)},
            "choke_travel",
            "choke_travel and choke_closed_angle come to more than 90°; a plate stands along the bore at 90°",
        ),
        (
            {"throttle_closed_angle": np.radians(20)},
            "points",
            "points: full throttle: the throttle's angle and throttle_closed_angle come to more than 90°",
        ),
        ({"pump_jets": 1.5}, "pump_jets", "pump_jets is not a whole number; write it as 2"),
        (
            {"float_weight": 0.2},
            "float_height",
            "float_height times float_area does not lift the needle shut against fuel_pressure; make the float larger",
        ),
    ],
)
def test_values_that_do_not_fit_one_another_are_refused(change: dict[str, Any], name: str, says: str) -> None:
    wrong = faults_of(replace(sheet("T-1"), **change))
    assert {key: text.replace("\u202f", " ") for key, text in wrong.items()} == {name: says}


def test_everything_wrong_is_said_at_once() -> None:
    with pytest.raises(RangeError) as caught:
        require_sound(replace(sheet("T-1"), main_jet=-1.0, idle_jet=float("nan"), displacement=0.0))
    for name in ("main_jet", "idle_jet", "displacement"):
        assert f"{name} (" in str(caught.value)


def test_the_drills_are_those_of_the_lists() -> None:
    # A public-domain table in part and three public lists identical in all 80 entries; areas by hand.
    assert len(DRILLS) == 80
    assert all(DRILLS[n] > DRILLS[n + 1] for n in range(1, 80))
    for number, inches in (
        (80, 0.0135),
        (69, 0.0292),
        (66, 0.033),
        (60, 0.040),
        (54, 0.055),
        (41, 0.096),
        (40, 0.098),
        (1, 0.228),
    ):
        assert DRILLS[number] == pytest.approx(inches * INCH)
    for number, square_millimetres in ((50, 2.48287), (47, 3.12246), (53, 1.79387), (60, 0.81073)):
        assert np.pi / 4 * (DRILLS[number] * 1000) ** 2 == pytest.approx(square_millimetres, abs=5e-6)


@given(st.text(max_size=12))
def test_what_is_no_drill_is_refused(text: str) -> None:
    number = text.removeprefix("#").strip()
    if number.isascii() and number.isdecimal() and 1 <= int(number) <= 80:
        assert drill_bore(text) == DRILLS[int(number)]
        return
    with pytest.raises(UseError, match="is not a numbered drill; write #1 to #80"):
        drill_bore(text)


def test_a_printed_value_reads_back() -> None:
    assert show(drill_bore("54"), unit("in"), 3).replace("\u202f", " ") == "0.0550 in"
