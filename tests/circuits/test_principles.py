from __future__ import annotations

import math

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits import principles

INCH = 0.0254


def si(text: str) -> float:
    return read_quantity(text).si


@pytest.mark.parametrize(
    ("bore", "area"),
    # Number drills 50, 47, 53, 60: bores as three public lists print them, areas computed from those.
    [(0.070, 2.48287), (0.0785, 3.12246), (0.0595, 1.79387), (0.040, 0.81073)],
)
def test_the_area_of_a_numbered_drill(bore: float, area: float) -> None:
    assert principles.disc_area(bore * INCH) * 1e6 == pytest.approx(area, abs=5e-6)
    assert principles.disc_bore(area * 1e-6) / INCH == pytest.approx(bore, rel=2e-6)


def test_a_vacuum_gauge_counts_down_from_ambient() -> None:
    # 18 inHg below 101.325 kPa: 40.370 kPa absolute, with the conventional inch of mercury (NIST SP 811 app. B, 3386.389 Pa).
    assert principles.absolute_pressure(101325, si("18 inHg")) == pytest.approx(40370, rel=1e-5)
    with pytest.raises(RangeError):
        principles.absolute_pressure(101325, si("30 inHg"))


@pytest.mark.parametrize(
    ("altitude", "pressure", "sigma"),
    # US Standard Atmosphere 1976, geopotential height; 0 and 5000 ft as public tables print them, the rest from its formulas.
    [
        ("0 ft", 101325, 1),
        ("2000 ft", 94212.9, 0.94277),
        ("4000 ft", 87510.5, 0.88809),
        ("5000 ft", 84307.3, 0.86167),
        ("1000 m", 89874.6, 0.90746),
        ("1500 m", 84556.0, 0.86373),
        ("3000 m", 70108.5, 0.74214),
    ],
)
def test_the_standard_atmosphere(altitude: str, pressure: float, sigma: float) -> None:
    assert principles.standard_pressure(si(altitude)) == pytest.approx(pressure, rel=5e-5)
    assert principles.standard_density_ratio(si(altitude)) == pytest.approx(sigma, rel=5e-5)


@given(height=st.floats(0, 10_000))
def test_the_standard_atmosphere_is_the_one_of_a_public_library(height: float) -> None:
    # fluids 1.3 takes geometric height: compared like with like.
    theirs = fluids.atmosphere.ATMOSPHERE_1976(6356766 * height / (6356766 - height))
    assert principles.standard_pressure(height) == pytest.approx(theirs.P, rel=1e-5)
    assert principles.standard_density_ratio(height) == pytest.approx(theirs.rho / 1.225, rel=1e-4)


@pytest.mark.parametrize(
    ("celsius", "density"),
    # Ideal gas, dry, 101325 Pa: 1.2250 at 15 °C (US 1976), 1.20411 at 20 °C (by the law; CIPM-2007 gives 1.20456 for real air).
    [(15, 1.2250), (20, 1.20411)],
)
def test_the_density_of_dry_air(celsius: float, density: float) -> None:
    assert principles.air_density(101325, celsius + 273.15) == pytest.approx(density, abs=5e-5)
    assert principles.density_ratio(101325, celsius + 273.15) == pytest.approx(density / 1.225, rel=5e-5)


def test_a_metre_of_gasoline() -> None:
    # 1 m head of 740 kg/m³ = 7256.9 Pa, by hand with g = 9.80665.
    assert principles.fuel_head(740, 1) == pytest.approx(7256.9, abs=0.05)


def test_a_jet_under_a_column_of_water() -> None:
    # H. B. Keswani, Internal Combustion Engines, ex. 9.1, as worked in an open companion (with 104 cm; the text is said to print
    # 10 cm): jet 1 mm, Cd 0.65, specific gravity 0.76: 2.0100 g/s.
    area = principles.disc_area(0.001)
    head = si("1040 mmH2O")
    assert principles.jet_flow(0.65, area, 760, head) == pytest.approx(2.0100e-3, rel=1e-4)
    assert principles.jet_area(2.0100e-3, 0.65, 760, head) == pytest.approx(area, rel=1e-4)


@given(head=st.floats(1, 1e5), factor=st.floats(0.01, 100))
def test_four_times_the_head_gives_twice_the_flow(head: float, factor: float) -> None:
    once = principles.jet_flow(0.7, 2e-6, 740, head)
    assert principles.jet_flow(0.7, 2e-6, 740, 4 * head) == pytest.approx(2 * once, rel=1e-12)
    assert principles.square_root_law(once, head, factor * head) == pytest.approx(
        principles.jet_flow(0.7, 2e-6, 740, factor * head), rel=1e-12
    )


@given(flow=st.floats(1e-6, 0.1), head=st.floats(1, 1e5), density=st.floats(600, 900))
def test_the_area_a_jet_needs_gives_the_flow_that_was_wanted(flow: float, head: float, density: float) -> None:
    assert principles.jet_flow(0.7, principles.jet_area(flow, 0.7, density, head), density, head) == pytest.approx(
        flow, rel=1e-12
    )


def test_the_ideal_velocity_carries_the_flow() -> None:
    assert principles.jet_velocity(2000, 740) * 740 * 1e-6 == pytest.approx(principles.jet_flow(1, 1e-6, 740, 2000), rel=1e-12)


def test_mixture() -> None:
    # Lambda of 13.0 with 14.6: 0.8904. E10 by volume, 745 and 789 kg/m³: mass share 0.10528, 14.010 from 14.6 and 9.0,
    # 14.100 from 14.7 and 9.0. By hand; 14.6 for CH1.87 and 14.7 (US DOE fuel table) are both right for some gasoline.
    assert principles.excess_air(13.0, 14.6) == pytest.approx(0.8904, abs=5e-5)
    share = 0.1 * 789 / (0.1 * 789 + 0.9 * 745)
    assert share == pytest.approx(0.10528, abs=5e-6)
    assert principles.blend_air_fuel_ratio(14.6, 9.0, share) == pytest.approx(14.010, abs=5e-4)
    assert principles.blend_air_fuel_ratio(14.7, 9.0, share) == pytest.approx(14.100, abs=5e-4)
    assert principles.air_fuel_ratio(0.0294, 0.002) == pytest.approx(14.7)


def test_what_an_engine_draws() -> None:
    # 350 in³, 5500 rev/min, 0.80: 445.602 ft³/min, 0.257618 kg/s at 1.225 kg/m³ (V N VE/3456).
    volume, speed = si("350 in^3"), si("5500 rev/min")
    assert principles.engine_air_volume(volume, speed, 0.80) == pytest.approx(si("445.602 ft^3/min"), rel=2e-6)
    assert principles.engine_air(volume, speed, 0.80, 1.225) == pytest.approx(0.257618, rel=2e-6)
    # Mathur and Sharma, Internal Combustion Engine, ex. 11.3, as worked in an open companion: 4 cylinders 100 x 120 mm,
    # 2000 rev/min, 0.7, 1.2 kg/m³: 0.0527788 kg/s.
    swept = 4 * math.pi / 4 * 0.1**2 * 0.12
    assert principles.engine_air(swept, si("2000 rev/min"), 0.7, 1.2) == pytest.approx(0.0527788, rel=1e-6)


@pytest.mark.parametrize(("gamma", "ratio"), [(1.4, 0.528282), (1.35, 0.536851), (1.3, 0.545728)])
def test_the_ratio_at_which_flow_chokes(gamma: float, ratio: float) -> None:
    # fluids.compressible.P_critical_flow, printed to six figures.
    assert principles.critical_ratio(gamma) == pytest.approx(ratio, abs=5e-7)
    assert principles.critical_ratio(gamma) == pytest.approx(fluids.compressible.P_critical_flow(1.0, gamma), rel=1e-12)


@pytest.mark.parametrize(
    ("area", "upstream", "kelvin", "throat", "constant", "flow", "within"),
    [
        # Munson, Young, Okiishi, Fundamentals of Fluid Mechanics, ex. 11.5, as worked in an open companion; recomputed without
        # its rounding of density and temperature (it prints 0.0201 and 0.024).
        (1e-4, 101e3, 288, 80e3, 286.9, 0.019978, 1e-4),
        (1e-4, 101e3, 288, 40e3, 286.9, 0.024059, 1e-4),
        # Cengel and Cimbala, Fluid Mechanics, ex. 12-5, likewise: tyre at 314 kPa, 298 K, hole 4 mm: 0.00924.
        (math.pi / 4 * 0.004**2, 314e3, 298, 94e3, 287, 0.0092387, 1e-4),
        # A throttle plate open 20 degrees, 75.4982 mm², sea level: computed by hand from the isentropic law.
        (75.4982e-6, 101325, 288.15, 40e3, 287.05287, 18.2131e-3, 1e-5),
        (75.4982e-6, 101325, 288.15, 70e3, 287.05287, 17.1114e-3, 1e-5),
        (75.4982e-6, 101325, 288.15, 90e3, 287.05287, 11.7990e-3, 1e-5),
        (75.4982e-6, 101325, 288.15, 101e3, 287.05287, 2.1267e-3, 3e-5),
    ],
)
def test_air_through_a_restriction_choked_or_not(
    area: float, upstream: float, kelvin: float, throat: float, constant: float, flow: float, within: float
) -> None:
    assert principles.isentropic_flow(1, area, upstream, kelvin, throat, constant) == pytest.approx(flow, rel=within)


def test_choked_flow_depends_no_more_on_what_lies_below() -> None:
    # m sqrt(R T0)/(A p0) = 0.684731 for gamma 1.4, from the closed form.
    choked = principles.isentropic_flow(1, 1, 1, 1, 0.2, 1.0)
    assert choked == pytest.approx(0.684731, abs=5e-7)
    assert choked == principles.isentropic_flow(1, 1, 1, 1, 0.5, 1.0)
    edge = principles.critical_ratio(1.4)
    assert principles.isentropic_flow(1, 1, 1, 1, edge * (1 + 1e-9), 1.0) == pytest.approx(choked, rel=1e-12)


def test_flow_falls_as_the_throat_pressure_rises_to_none_at_equal_pressures() -> None:
    flow = principles.isentropic_flow(1, 1e-4, 1e5, 288, np.linspace(0.53e5, 1e5, 500))
    assert (np.diff(flow) < 0).all()
    assert flow[-1] == 0


@pytest.mark.parametrize(
    ("ratio", "factor"),
    # Nozzle expansibility at a throat small beside the inlet, computed with fluids 1.3.1 and from the isentropic law.
    [(0.99, 0.994628), (0.98, 0.989228), (0.95, 0.972847), (0.90, 0.944920), (0.80, 0.886483), (0.70, 0.824064)],
)
def test_expansion_lowers_the_flow(ratio: float, factor: float) -> None:
    assert principles.expansibility(ratio, 0) == pytest.approx(factor, abs=5e-7)


def test_expansibility_agrees_with_a_public_library() -> None:
    # fluids 1.3.1, nozzle_expansibility: D 0.0739, d 0.0222, 100 to 99 kPa, kappa 1.4: 0.994570234.
    theirs = fluids.flow_meter.nozzle_expansibility(D=0.0739, Do=0.0222, P1=1e5, P2=9.9e4, k=1.4)
    assert principles.expansibility(0.99, 0.0222 / 0.0739) == pytest.approx(0.994570234, abs=1e-9)
    assert principles.expansibility(0.99, 0.0222 / 0.0739) == pytest.approx(theirs, rel=1e-12)


@given(ratio=st.floats(0.53, 0.999))
def test_expansibility_takes_bernoulli_to_the_isentropic_flow(ratio: float) -> None:
    upstream, kelvin = 101325.0, 288.15
    density = principles.air_density(upstream, kelvin)
    bernoulli = principles.jet_flow(1, 1e-4, density, upstream * (1 - ratio))
    exact = principles.isentropic_flow(1, 1e-4, upstream, kelvin, upstream * ratio)
    assert bernoulli * principles.expansibility(ratio, 0) == pytest.approx(exact, rel=1e-9)
