"""Tables to look up: against another library's factors, against printed values, and every refusal."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import UseError
from grader.base.quantities import UNITS, unit
from grader.items.reference_tables import LISTS, MOST_UNITS, fixed, table_asked

# Our names where pint says something else; inH2O and inHg of pint are the conventional ones too.
PINT = {"in^2": "inch**2", "in^3": "inch**3", "floz": "fluid_ounce", "gal": "gallon", "inHg": "inch_Hg", "inH2O": "inch_H2O",
        "lbf": "pound_force", "ozf": "force_ounce", "lb/h": "pound/hour", "in": "inch", "thou": "thousandth_inch",
        "lb/min": "pound/minute", "ft^3/min": "foot**3/minute", "cm^3/min": "cm**3/minute", "L/min": "liter/minute",
        "lbf*in": "pound_force*inch", "lbf*ft": "pound_force*foot", "kg/h": "kg/hour", "ft": "foot"}  # fmt: skip

COURSE = (
    "kPa, mbar, psi, inHg, inH2O",
    "mm, cm, in",
    "mm^2, cm^2, in^2",
    "cm^3, in^3, floz, L, gal",
    "g/s, kg/h, lb/h, lb/min",
    "L/s, L/min, ft^3/min",
    "N, lbf, ozf",
    "N*m, N*mm, lbf*in, lbf*ft",
)


@pytest.mark.parametrize("units", COURSE)
def test_every_factor_agrees_with_another_library_to_its_last_printed_figure(units: str) -> None:
    # pint's registry of units (its inch of water is printed to seven figures there).
    registry: Any = pint.UnitRegistry()
    names = [name.strip() for name in units.split(",")]
    for row, left in zip(table_asked({"units": units}).rows, names, strict=True):
        for cell, above in zip(row[1:], names, strict=True):
            theirs = registry.Quantity(1, PINT.get(left, left)).to(PINT.get(above, above)).magnitude
            step = 10.0 ** -len(cell.partition(".")[2])
            assert float(cell) == pytest.approx(theirs, abs=max(0.501 * step, 1e-6 * theirs)), (left, above)


def test_printed_values_of_a_standard_agree() -> None:
    # NIST SP 811 (2008), appendix B, to its printed digits; from memory, the tables not seen here.
    pressure = {row[0]: row for row in table_asked({"units": "kPa, psi, inHg, inH2O"}).rows}
    assert [pressure[f"1 {name}"][1] for name in ("psi", "inHg", "inH₂O")] == ["6.895", "3.386", "0.2491"]
    volume = {row[0]: row for row in table_asked({"units": "cm^3, in^3, floz"}).rows}
    assert [volume[f"1 {name}"][1] for name in ("in³", "fl oz")] == ["16.39", "29.57"]
    flow = table_asked({"units": "L/min, ft^3/min"}).rows
    assert flow[1][1] == "28.32"
    torque = table_asked({"units": "N*m, lbf*ft"}).rows
    assert torque[1][1] == "1.356"


def test_fixed_points_of_temperature_are_exact() -> None:
    # By definition of the Fahrenheit scale: 32 °F is 0 °C, 212 °F is 100 °C, and the two meet at −40.
    found = table_asked({"from": "-40 degF", "to": "212 degF", "step": "36 degF", "units": "degC"})
    rows = {fahrenheit: celsius for fahrenheit, celsius in found.rows}  # noqa: C416 (dict() of them has no type)
    assert (rows["−40"], rows["32"], rows["212"]) == ("−40", "0", "100")


def test_drills_give_bore_and_area() -> None:
    rows = {row[0]: row[1:] for row in table_asked({"list": "drills"}).rows}
    assert list(rows) == [str(number) for number in range(80, 0, -1)]
    # Bores as in the public lists named in circuits/drills.py; millimetres and area by hand: 25.4 d, pi d²/4.
    for number, inches in ((80, "0.0135"), (54, "0.0550"), (30, "0.1285"), (1, "0.2280")):
        bore = float(inches) * 25.4
        assert rows[str(number)][0] == inches
        assert float(rows[str(number)][1]) == pytest.approx(bore, abs=5.01e-4)
        assert float(rows[str(number)][2]) == pytest.approx(math.pi / 4 * bore**2, rel=5.1e-4)


def test_fractions_run_by_sixty_fourths_exactly_and_in_millimetres() -> None:
    rows = table_asked({"list": "fractions"}).rows
    assert len(rows) == 64
    assert [sum(Fraction(part) for part in row[0].split()) for row in rows] == [Fraction(n, 64) for n in range(1, 65)]
    assert all(Fraction(row[1]) == Fraction(row[0]) for row in rows)
    # 1/32 in is 0.794 mm, 5/16 in 7.938 mm, 1 in 25.4 mm: arithmetic with 25.4 mm to the inch, exact by definition.
    by_name = {row[0]: row[2] for row in rows}
    assert (by_name["1/32"], by_name["5/16"], by_name["1"]) == ("0.794", "7.938", "25.400")


@pytest.mark.parametrize(
    ("pairs", "wrong"),
    [
        ({}, "asks for nothing; write `list: drills` or"),
        ({"list": "drill"}, "there is no list `drill`; did you mean `drills`?"),
        ({"list": "bolts"}, "there is no list `bolts`; there are drills, fractions"),
        ({"list": "drills", "units": "mm"}, "names a list and units; make two blocks of it"),
        ({"unit": "mm, in"}, "`unit` is not a field of a table block; did you mean `units`?"),
        ({"colour": "red"}, "`colour` is not a field of a table block; its fields are list, units, from, to, step"),
        ({"units": "mm"}, "one unit alone is no table"),
        ({"units": "mm, inch"}, "`inch` is not a unit known here; did you mean `in`?"),
        ({"units": "mm, mm"}, "a unit stands twice"),
        ({"units": "mm, kPa"}, "mm and kPa are of two kinds; make a block for each"),
        ({"units": "mm, cm, m, in, ft, thou"}, f"6 units in one table; write {MOST_UNITS} at most"),
        ({"units": "degC, degF"}, "degC has a zero point of its own; write `from`, `to` and `step`"),
        ({"units": "psi", "from": "0 inHg"}, "has `from` and no `to`; write `from`, `to` and `step`"),
        ({"units": "psi", "from": "0 inHg", "to": "3 inHg"}, "has `from` and no `step`"),
        ({"units": "psi", "from": "0 inHg", "to": "3 kPa", "step": "1 inHg"}, "stand in different units"),
        ({"units": "psi", "from": "0 inHg", "to": "3 inHg", "step": "0 inHg"}, "the table has no rows"),
        ({"units": "psi", "from": "3 inHg", "to": "0 inHg", "step": "1 inHg"}, "the table has no rows"),
        ({"units": "psi", "from": "0 inHg", "to": "3 inHg", "step": "2 inHg"}, "never comes to 3; change one of them"),
        ({"units": "psi", "from": "0 inHg", "to": "120 inHg", "step": "1 inHg"}, "has 121 rows; write 120 at most"),
        ({"units": "psi, mm", "from": "0 inHg", "to": "3 inHg", "step": "1 inHg"}, "are of two kinds"),
        ({"units": "psi, inHg", "from": "0 inHg", "to": "3 inHg", "step": "1 inHg"}, "inHg is the first column already"),
        ({"units": "psi", "from": "much", "to": "3 inHg", "step": "1 inHg"}, "`much` is not a number with a unit"),
    ],
)
def test_what_asks_for_no_table_is_refused(pairs: dict[str, str], wrong: str) -> None:
    with pytest.raises(UseError) as caught:
        table_asked(pairs)
    assert wrong in str(caught.value)


PROPER = [name for name, one in UNITS.items() if not one.offset and one.kind not in {"ratio", "temperature difference"}]


@settings(max_examples=60)
@given(st.sampled_from(PROPER), st.sampled_from(PROPER))
def test_there_and_back_is_one(left: str, above: str) -> None:
    if left == above or unit(left).kind != unit(above).kind:
        return
    (_, _, forth), (_, back, _) = table_asked({"units": f"{left}, {above}"}).rows
    assert float(forth) * float(back) == pytest.approx(1, rel=1.1e-3)


@settings(max_examples=60)
@given(st.integers(-60, 60), st.integers(1, 9), st.integers(1, 20))
def test_readings_rise_in_equal_steps_and_are_right_to_their_last_figure(first: int, step: int, count: int) -> None:
    pairs = {"from": f"{first} inHg", "to": f"{first + step * count} inHg", "step": f"{step} inHg", "units": "kPa"}
    rows = table_asked(pairs).rows
    assert len(rows) == count + 1
    for given_number, kilopascals in rows:
        number = float(given_number.replace("−", "-"))
        printed = kilopascals.replace("−", "-")
        decimals = len(printed.partition(".")[2])
        # 3.38638864 kPa to the conventional inch of mercury, by 13595.1 kg/m³, 9.80665 m/s², 25.4 mm.
        assert float(printed) == pytest.approx(number * 13595.1 * 9.80665 * 0.0254 / 1000, abs=0.501 * 10.0**-decimals)


def test_a_column_has_three_figures_of_its_step_and_a_temperature_a_tenth() -> None:
    # 1 inHg is 3.386 kPa and 0.4912 psi (NIST SP 811, from memory); 70 °F is 21.1 °C.
    rows = table_asked({"from": "0 inHg", "to": "2 inHg", "step": "1 inHg", "units": "kPa, psi"}).rows
    assert rows[1] == ("1", "3.39", "0.491")
    assert table_asked({"from": "60 degF", "to": "70 degF", "step": "10 degF", "units": "degC"}).rows[1] == ("70", "21.1")


def test_rounding_is_half_to_even() -> None:
    assert [fixed(Fraction(number), 0) for number in ("0.5", "1.5", "2.5", "-0.5", "-1.5")] == ["0", "2", "2", "0", "−2"]


def test_every_list_can_be_asked_for() -> None:
    for name in LISTS:
        assert len(table_asked({"list": name}).heads) == len(table_asked({"list": name}).rows[0])


@pytest.mark.parametrize(
    ("first", "last", "step"),
    [
        ("1e400 in", "2e400 in", "1e400 in"),
        ("1e-400 in", "2e-400 in", "1e-400 in"),
        ("1" + "0" * 60 + " in", "1" + "0" * 59 + "1 in", "1 in"),
        ("12345678901234567890123456789 in", "12345678901234567890123456799 in", "1 in"),
        ("0.00001 in", "0.00005 in", "0.00001 in"),  # four decimals would print them all as 0.0000 or 0.0001
    ],
)
def test_numbers_that_cannot_be_printed_are_refused(first: str, last: str, step: str) -> None:
    with pytest.raises(UseError, match=r"too small or too large|larger than anything"):
        table_asked({"from": first, "to": last, "step": step, "units": "mm"})
