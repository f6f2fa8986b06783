"""What an instrument's marks add up to, and what a known error does to a reading, against printed worked readings."""

from __future__ import annotations

from math import pi, radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.circuits import measuring

INCH = 0.0254
INHG = 3386.389


# (main scale, line of the vernier, printed reading). US Army ordnance training text OD1642, vernier caliper: 1.486 in; and
# E. Stefanelli, commented solutions of exercises with a vernier of 0.001 in: 3.584, 5.253, 0.438, 4.848 in.
PRINTED = [(1.475, 11, 1.486), (3.575, 9, 3.584), (5.250, 3, 5.253), (0.425, 13, 0.438), (4.825, 23, 4.848)]


@pytest.mark.parametrize(("mark", "line", "printed"), PRINTED)
def test_a_vernier_reads_as_the_worked_readings_print(mark: float, line: int, printed: float) -> None:
    assert measuring.vernier_reading(mark * INCH, line, 0.001 * INCH) / INCH == pytest.approx(printed, abs=1e-9)


def test_a_vernier_line_is_worth_what_the_instruments_say() -> None:
    # OD1642: 25 divisions on marks of 0.025 in are 0.001 in.
    # 20 and 50 divisions on millimetres: 0.05 and 0.02 mm, as engraved on calipers.
    assert measuring.vernier_step(0.025 * INCH, 25) / INCH == pytest.approx(0.001)
    assert measuring.vernier_step(1e-3, 20) * 1e3 == pytest.approx(0.05)
    assert measuring.vernier_step(1e-3, 50) * 1e3 == pytest.approx(0.02)


@settings(max_examples=60)
@given(mark=st.integers(0, 239), line=st.integers(0, 24), divisions=st.sampled_from([10, 20, 25, 50]))
def test_the_line_of_the_vernier_that_is_read_meets_a_mark(mark: int, line: int, divisions: int) -> None:
    # the geometry itself: line j stands at the reading plus j divisions of (1 - 1/n) mark; that must be a whole number of marks
    line %= divisions
    step = 0.025
    reading = measuring.vernier_reading(mark * step, line, measuring.vernier_step(step, divisions))
    place = (reading + line * step * (1 - 1 / divisions)) / step
    assert place == pytest.approx(round(place), abs=1e-9)


# (turns, division, printed). E. Stefanelli, solution of dial indicator exercises, dial of 0.01 mm: 2.29, 9.03, 1.52, 0.42 mm.
DIAL = [(2, 29, 2.29), (9, 3, 9.03), (1, 52, 1.52), (0, 42, 0.42)]


@pytest.mark.parametrize(("turns", "division", "printed"), DIAL)
def test_a_dial_gauge_reads_as_the_worked_readings_print(turns: int, division: int, printed: float) -> None:
    assert measuring.dial_reading(turns, 1e-3, division, 1e-5) * 1e3 == pytest.approx(printed)


def test_a_gauge_that_does_not_stand_at_zero_adds_as_much_to_every_reading() -> None:
    assert measuring.true_vacuum(18.5 * INHG, 1.5 * INHG) / INHG == pytest.approx(17)
    assert measuring.true_vacuum(18.5 * INHG, -1.0 * INHG) / INHG == pytest.approx(19.5)


def test_the_error_of_a_gauge_is_a_share_of_its_span() -> None:
    # US Army training text SM0486: a gauge of 0 to 500 psi that shows 260 for a true 250 is off by 2 % of full scale
    assert measuring.span_error(0.02, 0.0, 500.0) == pytest.approx(260 - 250)
    # a public list of gauge grades: 2 % of a 100 psi gauge is 2 psi, whether it reads 1 psi or 100
    assert measuring.reading_error(0.02, 0.0, 100.0, 100.0) == pytest.approx(0.02)
    assert measuring.reading_error(0.02, 0.0, 100.0, 1.0) == pytest.approx(2.0)


def test_a_bore_of_twice_the_size_has_four_times_the_area() -> None:
    assert measuring.area_change(2.0, 1.0) == pytest.approx(3.0)
    # number drills as three public lists print them: area of No. 50 2.48287 mm², of No. 53 1.79387 mm²
    assert measuring.area_change(0.070, 0.0595) == pytest.approx(2.48287 / 1.79387 - 1, rel=1e-5)


def test_what_shut_jaws_show_is_in_every_reading() -> None:
    assert measuring.true_length(12.5e-3, 0.2e-3) == pytest.approx(12.3e-3)


def test_parallax_is_the_tangent() -> None:
    # tan 45° = 1 and tan 30° = 1/sqrt 3, exact
    assert measuring.parallax_error(2.0, radians(45)) == pytest.approx(2.0)
    assert measuring.parallax_error(3.0, pi / 6) == pytest.approx(3**0.5)
    with pytest.raises(RangeError):
        measuring.parallax_error(2.0, radians(90))


def test_a_tachometer_set_for_four_cylinders_doubles_the_speed_of_an_eight() -> None:
    # a service man's rule, as stated in a public thread on a doubling tachometer: "set for 4 on an 8 will read double"
    assert measuring.tachometer_speed(1400.0, 4, 8) == pytest.approx(700.0)


def test_parallel_ways_are_less_than_either() -> None:
    # OpenStax College Physics, resistors of 1, 6 and 13 ohm in parallel: 0.804 ohm (from memory; 1/(1 + 1/6 + 1/13))
    assert measuring.parallel_resistance(measuring.parallel_resistance(1.0, 6.0), 13.0) == pytest.approx(0.804, abs=5e-4)


@settings(max_examples=60)
@given(part=st.floats(0.1, 1e4), other=st.floats(0.1, 1e4))
def test_a_second_way_always_lowers_the_reading(part: float, other: float) -> None:
    shown = measuring.parallel_resistance(part, other)
    assert shown < min(part, other)
    assert 1 / shown == pytest.approx(1 / part + 1 / other)
