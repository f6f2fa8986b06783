from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.errors import UseError
from grader.base.quantities import dimension, unit
from grader.circuits.catalog import relations
from grader.relations.dimension import DimensionError, kind_of, si_text
from grader.relations.language import parse

LENGTH, AREA, PRESSURE, FLOW = (unit(name).dimension for name in ("mm", "mm^2", "kPa", "g/s"))
KNOWN = {
    "D": LENGTH,
    "d": LENGTH,
    "A": AREA,
    "p": PRESSURE,
    "rho": unit("kg/m^3").dimension,
    "m": FLOW,
    "C_d": dimension(),
    "angle": unit("deg").dimension,
    "T": unit("K").dimension,
}


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("pi/4 * (D**2 - d**2)", AREA),
        ("C_d * A * sqrt(2 * rho * p)", FLOW),
        ("A**(1/2)", LENGTH),
        ("A**0.5", LENGTH),
        ("D**(3/2) / D**-0.5", AREA),
        ("(D*d)**(-1/2) * D", dimension()),
        ("max(0, D - d)", LENGTH),
        ("D if p > 0 else d", LENGTH),
        ("sin(angle) * D", LENGTH),
        ("0", dimension()),
        ("-abs(D)", LENGTH),
        ("open_area(D, d)", AREA),
        ("fuel_head(rho, D)", PRESSURE),
    ],
)
def test_the_dimension_of_a_formula(text: str, wanted: object) -> None:
    assert parse(text, relations()).dimension(KNOWN) == wanted


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("D + A", "`D + A` adds an area (mm²) to a length (mm)"),
        ("D**2 - d", "`D² − d` takes a length (mm) from an area (mm²)"),
        ("D + 1", "`D + 1` adds a plain number to a length (mm)"),
        ("D < p", "`D < p` compares a length (mm) with a pressure (Pa)"),
        ("min(D, p)", "`min(D, p)` sets a length (mm) beside a pressure (Pa)"),
        ("D if p > 0 else p", "`D if p > 0; else p` is a length (mm) in one case and a pressure (Pa) in the other"),
        ("sin(D)", "sin takes a plain number or an angle; `D` is a length (mm)"),
        ("exp(D/p)", "exp takes a plain number or an angle; `D/p` is a quantity in m²·kg⁻¹·s²"),
        ("2**D", "the power `D` is a length (mm); a power is a plain number"),
        (
            "D**C_d",
            "`D` is a length (mm) and its power `C_d` is no plain fraction; divide it by a reference of the same kind first",
        ),
        ("open_area(D, A)", "open_area takes a length (mm) as d; `A` is an area (mm²)"),
        ("sqrt(D) + 1", "`√D + 1` adds a plain number to a quantity in m^(1/2)"),
        ("D > 0 and p > D", "`p > D` compares a pressure (Pa) with a length (mm)"),
    ],
)
def test_two_sides_that_do_not_agree_are_named(text: str, said: str) -> None:
    with pytest.raises(DimensionError) as refused:
        parse(text, relations()).dimension(KNOWN)
    assert str(refused.value) == said


def test_a_name_without_a_unit_is_named() -> None:
    with pytest.raises(UseError, match="`bore` has no unit here"):
        parse("bore * 2").dimension({})


@given(scale=st.floats(0.1, 10), D=st.floats(0.001, 0.01), share=st.floats(0.1, 0.9))
def test_an_area_grows_with_the_square_of_the_scale_as_its_dimension_says(scale: float, D: float, share: float) -> None:
    expression = parse("pi/4 * (D**2 - d**2)")
    power = float(expression.dimension(KNOWN)[0])
    once = expression.evaluate({"D": D, "d": D * share})
    assert expression.evaluate({"D": D * scale, "d": D * share * scale}) == pytest.approx(once * scale**power, rel=1e-9)


def test_a_dimension_is_called_by_its_kind_or_its_base_units() -> None:
    assert kind_of(dimension(0, 1, -1)) == "a mass flow (g/s)"
    assert si_text(dimension(Fraction(1, 2), -1)) == "m^(1/2)·kg⁻¹"
