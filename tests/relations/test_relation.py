from __future__ import annotations

import inspect
import math
import pydoc
from typing import Any

import numpy as np
import pytest

from grader.base.errors import RangeError, UseError
from grader.circuits.passages import isentropic_flow
from grader.circuits.power import open_area
from grader.circuits.principles import disc_area, fuel_head
from grader.relations.relation import half_last_digit, relation


def stated(**changed: Any) -> Any:
    """The ring area, with something about it changed."""
    given: dict[str, Any] = {
        "formula": "A = pi/4 * (D**2 - d**2)",
        "name": "ring_area",
        "A": ("mm^2", "area of the ring"),
        "D": ("mm", "outside"),
        "d": ("mm", "inside"),
        "valid": "0 <= d < D",
        "example": "A(D=2.41, d=1.70) = 2.292",
        "source": "plane geometry: circle less circle",
    }
    given.update(changed)
    return relation(given.pop("formula"), **{k: v for k, v in given.items() if v is not None})


def test_a_jet_round_a_rod_leaves_the_ring() -> None:
    # Jet .095 in round a .067 in rod: 2.29843 mm², checks by hand: pi/4 (2.413² - 1.7018²).
    assert stated()(0.095 * 0.0254, 0.067 * 0.0254) == pytest.approx(2.29843e-6, abs=5e-12)


def test_it_is_called_by_position_by_name_and_with_defaults() -> None:
    assert open_area(0.002, 0.001) == open_area(d=0.001, D=0.002) == open_area(0.002, d=0.001)
    assert fuel_head(740, 1) == fuel_head(740, 1, 9.80665)
    assert fuel_head(740, 1, g=1) == 740


@pytest.mark.parametrize(
    ("arguments", "named", "said"),
    [
        ((1,), {}, "missing a required argument: 'd'; it is open_area(D, d)"),
        ((1, 2, 3), {}, "too many positional arguments; it is open_area(D, d)"),
        ((1,), {"D": 2}, "multiple values for argument 'D'; it is open_area(D, d)"),
        ((1, 2), {"bore": 2}, "got an unexpected keyword argument 'bore'; it is open_area(D, d)"),
    ],
)
def test_a_wrong_call_is_told_how_it_goes(arguments: tuple, named: dict, said: str) -> None:
    with pytest.raises(UseError) as refused:
        open_area(*arguments, **named)
    assert str(refused.value) == said


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ((0.001, 0.002), "open_area: d is 2.0000 mm, D is 1.0000 mm; it must hold that 0 ≤ d < D"),
        ((0.001, -0.002), "open_area: d is −2.0000 mm, D is 1.0000 mm; it must hold that 0 ≤ d < D"),
        ((math.nan, 0.002), "open_area: D is nan; give a finite number"),
        ((0.001, math.inf), "open_area: d is inf; give a finite number"),
    ],
)
def test_outside_its_range_it_names_symbol_value_and_range(values: tuple[float, float], said: str) -> None:
    with pytest.raises(RangeError) as refused:
        open_area(*values)
    assert str(refused.value) == said


def test_every_part_of_the_range_that_fails_is_named() -> None:
    with pytest.raises(RangeError) as refused:
        isentropic_flow(1.5, 1e-4, 1e5, 288, 2e5)
    assert str(refused.value) == (
        "isentropic_flow: C_d is 1.5000; it must hold that 0 < C_d ≤ 1; p_d is 200.00 kPa, p_u is 100.00 kPa; "
        "it must hold that 0 ≤ p_d ≤ p_u"
    )


def test_where_the_formula_has_no_value_the_relation_is_named() -> None:
    made = stated(formula="A = D**2 / (1 - d/D)", valid="", example="A(D=2, d=1) = 8.0")
    with pytest.raises(RangeError, match="ring_area: no value: a division by zero"):
        made(1.0, 1.0)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"source": " "}, "relation ring_area: the source is empty; state it"),
        ({"example": ""}, "relation ring_area: the example is empty; state it"),
        ({"d": None}, "relation ring_area: `d` is not declared; add d=(unit, what it is)"),
        ({"A": None}, "relation ring_area: the result `A` is not declared; add A=(unit, what it is)"),
        ({"x": ("mm", "stray")}, "relation ring_area: `x` is declared and not used in the formula; take it out"),
        ({"valid": "x > 0"}, "relation ring_area: `x` is not declared; add x=(unit, what it is)"),
        ({"valid": "D"}, "relation ring_area: valid is a number; write a condition"),
        ({"valid": "d < D and D < A"}, "relation ring_area: the result `A` stands on the right as well"),
        ({"valid": "0 < d < D + 1"}, "relation ring_area: `D + 1` adds a plain number to a length (mm)"),
        ({"formula": "A = D < d"}, "relation ring_area: the right side is a condition; write a number"),
        ({"formula": "pi * D"}, "relation ring_area: `pi * D` is no equation; write RESULT = expression"),
        (
            {"formula": "A = D.x - d"},
            "relation ring_area: formula, column 6: a point that belongs to no number; names have no parts",
        ),
        ({"formula": "A = D - d"}, "relation ring_area: `A` is an area (mm²), the right side is a length (mm)"),
        ({"formula": "A = D**2 - d"}, "relation ring_area: `D² − d` takes a length (mm) from an area (mm²)"),
        ({"example": "A(D=2.41, d=1.70) = 2.293"}, "relation ring_area: the example says A = 2.293, the formula gives 2.2918704"),
        ({"example": "A(D=2.41, d=3) = 2.293"}, None),
        ({"example": "A(D=2.41) = 2.293"}, None),
        ({"example": "2.293"}, "relation ring_area: the example `2.293` is not RESULT(SYMBOL=number, …) = number"),
        (
            {"example": "A(D=2.41, x=1.70) = 2.292"},
            "relation ring_area: the example gives `x`, which is no argument; they are D, d",
        ),
        ({"example": "A(D=2.41, d=one) = 2.292"}, "relation ring_area: the example gives `d` as `one`, which is no number"),
        ({"D": "mm"}, "relation ring_area: `D` is declared as 'mm'; write D=(unit, what it is) or with a default as third"),
        ({"D": ("furlong", "outside")}, None),
        (
            {"D": ("mm", "outside", 2.0)},
            "relation ring_area: `d` without a default follows `D` with one; put those with defaults last",
        ),
        ({"uses": (disc_area,)}, "relation ring_area: `disc_area` stands in `uses` and is not called; take it out"),
        ({"formula": "A = disc_area(D) - disc_area(d)"}, None),
    ],
)
def test_a_relation_that_does_not_hold_together_is_refused_where_it_is_stated(changed: dict[str, Any], said: str | None) -> None:
    with pytest.raises(UseError) as refused:
        stated(**changed)
    if said is not None:
        assert str(refused.value) == said


def test_a_relation_may_call_others() -> None:
    made = stated(formula="A = disc_area(D) - disc_area(d)", uses=(disc_area,))
    assert made(0.003, 0.001) == pytest.approx(open_area(0.003, 0.001), rel=1e-14)
    assert made(np.array([0.003]), 0.001)[0] == made(0.003, 0.001)
    assert made.text() == "A = π/4 · D² − π/4 · d²"


def test_help_shows_what_it_is() -> None:
    assert str(inspect.signature(fuel_head)) == "(rho, h, g=9.80665)"
    assert fuel_head.__doc__ == (
        "Pressure of a column of fuel.\n\n    delta_p = rho * g * h\n\nSI in, SI out: floats or arrays.\n\n"
        "Parameters\n----------\n"
        "rho : [kg/m^3]\n    density of the fuel\nh : [mm]\n    height of the column\n"
        "g : [m/s^2], default 9.806650 m/s²\n    acceleration of gravity\n\n"
        "Returns\n-------\ndelta_p : [Pa]\n    pressure of a column of fuel\n\n"
        "Notes\n-----\nValid where 0 < rho and 0 < g.\nSource: hydrostatics.\n\nExamples\n--------\n"
        "In the units above: delta_p(rho=740, h=1000) = 7256.9"
    )
    assert "delta_p = rho * g * h" in pydoc.render_doc(fuel_head)


@pytest.mark.parametrize(("printed", "half"), [("2.292", 0.0005), ("100", 0.5), ("0.8881", 5e-5), ("1.20e3", 5.0)])
def test_an_example_is_held_to_half_its_last_digit(printed: str, half: float) -> None:
    assert half_last_digit(printed) == pytest.approx(half)


def test_a_temperature_may_be_stated_in_degrees() -> None:
    made = stated(
        formula="rho = p / (R * T)",
        name="density",
        A=None,
        D=None,
        d=None,
        rho=("kg/m^3", "density"),
        p=("kPa", "pressure"),
        T=("degC", "temperature"),
        R=("J/(kg*K)", "gas constant", 287.05287),
        valid="0 < T",
        example="rho(p=101.325, T=15) = 1.2250",
        source="ideal gas law",
    )
    assert made(101325, 288.15) == pytest.approx(1.225, abs=5e-5)


def twice(symbol: str, valid: str = "") -> Any:
    """A relation of one symbol, as plain as can be."""
    return relation(
        f"y = 2 * {symbol}",
        name="twice",
        y=("", "twice"),
        **{symbol: ("", "it")},  # type: ignore[arg-type]  # mypy takes the name for one of the options
        valid=valid,
        example=f"y({symbol}=3) = 6",
        source="arithmetic",
    )


def test_a_symbol_may_be_called_self() -> None:
    assert twice("self")(self=4.0) == 8.0


@pytest.mark.parametrize("valid", ["1/x > 0", "sqrt(x - 1) > 0", "x * 1e30 * 1e30 > 1"])
def test_a_condition_that_has_no_value_does_not_hold(valid: str) -> None:
    value = 1e290 if "1e30" in valid else 0.0
    with pytest.raises(RangeError, match="it must hold that"):
        twice("x", valid)(value)


def test_a_whole_number_past_every_float_is_refused() -> None:
    with pytest.raises(RangeError, match="x is a whole number past what a float holds"):
        twice("x")(10**400)
