"""Gas and fuel through holes, throats and plates: tables, libraries, and what must hold of any."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits import air, passages, principles


def si(text: str) -> float:
    return read_quantity(text).si


@pytest.mark.parametrize(("gamma", "ratio"), [(1.4, 0.528282), (1.35, 0.536851), (1.3, 0.545728)])
def test_the_ratio_at_which_flow_chokes(gamma: float, ratio: float) -> None:
    # fluids.compressible.P_critical_flow, printed to six figures.
    assert passages.critical_ratio(gamma) == pytest.approx(ratio, abs=5e-7)
    assert passages.critical_ratio(gamma) == pytest.approx(fluids.compressible.P_critical_flow(1.0, gamma), rel=1e-12)


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
    assert passages.isentropic_flow(1, area, upstream, kelvin, throat, constant) == pytest.approx(flow, rel=within)


def test_choked_flow_depends_no_more_on_what_lies_below() -> None:
    # m sqrt(R T0)/(A p0) = 0.684731 for gamma 1.4, from the closed form.
    choked = passages.isentropic_flow(1, 1, 1, 1, 0.2, 1.0)
    assert choked == pytest.approx(0.684731, abs=5e-7)
    assert choked == passages.isentropic_flow(1, 1, 1, 1, 0.5, 1.0)
    edge = passages.critical_ratio(1.4)
    assert passages.isentropic_flow(1, 1, 1, 1, edge * (1 + 1e-9), 1.0) == pytest.approx(choked, rel=1e-12)


def test_flow_falls_as_the_throat_pressure_rises_to_none_at_equal_pressures() -> None:
    flow = passages.isentropic_flow(1, 1e-4, 1e5, 288, np.linspace(0.53e5, 1e5, 500))
    assert (np.diff(flow) < 0).all()
    assert flow[-1] == 0


@pytest.mark.parametrize(
    ("ratio", "factor"),
    # Nozzle expansibility at a throat small beside the inlet, computed with fluids 1.3.1 and from the isentropic law.
    [(0.99, 0.994628), (0.98, 0.989228), (0.95, 0.972847), (0.90, 0.944920), (0.80, 0.886483), (0.70, 0.824064)],
)
def test_expansion_lowers_the_flow(ratio: float, factor: float) -> None:
    assert passages.expansibility(ratio, 0) == pytest.approx(factor, abs=5e-7)


def test_expansibility_agrees_with_a_public_library() -> None:
    # fluids 1.3.1, nozzle_expansibility: D 0.0739, d 0.0222, 100 to 99 kPa, kappa 1.4: 0.994570234.
    theirs = fluids.flow_meter.nozzle_expansibility(D=0.0739, Do=0.0222, P1=1e5, P2=9.9e4, k=1.4)
    assert passages.expansibility(0.99, 0.0222 / 0.0739) == pytest.approx(0.994570234, abs=1e-9)
    assert passages.expansibility(0.99, 0.0222 / 0.0739) == pytest.approx(theirs, rel=1e-12)


@given(ratio=st.floats(0.53, 0.999))
def test_expansibility_takes_bernoulli_to_the_isentropic_flow(ratio: float) -> None:
    upstream, kelvin = 101325.0, 288.15
    density = principles.air_density(upstream, kelvin)
    bernoulli = principles.jet_flow(1, 1e-4, density, upstream * (1 - ratio))
    exact = passages.isentropic_flow(1, 1e-4, upstream, kelvin, upstream * ratio)
    assert bernoulli * passages.expansibility(ratio, 0) == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize(
    ("mach", "pressure", "area"),
    # Isentropic tables, gamma 1.4, as two public tables print them.
    [
        (0.1, 0.9930, 5.8218),
        (0.2, 0.9725, 2.9635),
        (0.5, 0.8430, 1.3398),
        (0.6, 0.7840, 1.1882),
        (0.9, 0.5913, 1.0089),
        (1.0, 0.5283, 1.0),
    ],
)
def test_isentropic_flow_tables(mach: float, pressure: float, area: float) -> None:
    assert passages.pressure_ratio_at_mach(mach) == pytest.approx(pressure, abs=5e-5)
    sonic = passages.flow_at_mach(1, 1, 1e5, 300, 1)
    assert sonic / passages.flow_at_mach(1, 1, 1e5, 300, mach) == pytest.approx(area, abs=5.1e-5)


@given(mach=st.floats(0.01, 0.99))
def test_flow_at_a_mach_number_is_the_isentropic_flow_at_its_pressure(mach: float) -> None:
    throat = 1e5 * passages.pressure_ratio_at_mach(mach)
    through = passages.isentropic_flow(0.9, 1e-4, 1e5, 300, throat)
    assert passages.flow_at_mach(0.9, 1e-4, 1e5, 300, mach) == pytest.approx(through, rel=1e-9)


def test_the_most_a_throat_can_pass() -> None:
    # Throat 30 mm, Cd 1, sea level: 170.52 g/s, from the closed form.
    assert passages.flow_at_mach(1, principles.disc_area(0.03), 101325, 288.15, 1) == pytest.approx(0.17052, abs=5e-6)


@pytest.mark.parametrize(
    ("reynolds", "length", "coefficient"),
    # Lichtarowicz, Duggins and Markland 1965: the first two as a public program prints them, the rest from its equation.
    [(2e4, 2, 0.808817), (100, 2, 0.428416), (1000, 2, 0.744643), (1000, 4, 0.685988), (500, 10, 0.438031)],
)
def test_a_drilled_passage(reynolds: float, length: float, coefficient: float) -> None:
    assert passages.long_orifice_coefficient(reynolds, length) == pytest.approx(coefficient, abs=1e-6)
    with pytest.raises(RangeError):
        passages.long_orifice_coefficient(9, length)


@given(slow=st.floats(1, 1e5), faster=st.floats(1.001, 10))
def test_friction_takes_less_from_a_faster_jet(slow: float, faster: float) -> None:
    assert passages.small_jet_coefficient(0.78, slow) < passages.small_jet_coefficient(0.78, slow * faster) < 0.78
    # So four times the head gives more than twice the flow where friction counts.
    assert passages.small_jet_coefficient(0.78, 150) == pytest.approx(0.39)


def test_the_reynolds_number_of_a_textbook_pipe() -> None:
    # Cengel and Cimbala, ex. 8-2, as worked in an open companion: water 999.1 kg/m³, 1.519e-3 Pa s, 3 mm, 0.9 m/s: 1777.5 (the
    # density is the companion's, from the same example).
    assert passages.reynolds_number(0.9, 0.003, 1.519e-3 / 1000) == pytest.approx(1777.5, rel=1e-4)


@given(first=st.floats(1e-8, 1e-5), second=st.floats(1e-8, 1e-5), drop=st.floats(10, 1e4))
def test_two_restrictions_in_series_pass_one_flow(first: float, second: float, drop: float) -> None:
    flow = principles.jet_flow(1, passages.series_area(first, second), 740, drop)
    drops = [(flow / area) ** 2 / (2 * 740) for area in (first, second)]
    assert sum(drops) == pytest.approx(drop, rel=1e-9)
    # What is left between the two is what a bled signal is.
    assert passages.bled_signal(drop, first, second) == pytest.approx(drops[1], rel=1e-9)
    assert passages.series_area(first, second) < min(first, second)


@given(bleed=st.floats(0, 1e-5), more=st.floats(1e-8, 1e-5))
def test_a_larger_bleed_leaves_less_signal(bleed: float, more: float) -> None:
    assert passages.bled_signal(1000, 8e-6, bleed + more) < passages.bled_signal(1000, 8e-6, bleed) <= 1000 * (1 + 1e-12)


def test_air_bleeds_share_a_depression_as_the_squares_of_their_areas() -> None:
    # Nozzle 0.125 in and bleed 0.055 in: as 26.68 to 1 by the fourth power of the bores, 96.4 % is left. By hand.
    nozzle, bleed = principles.disc_area(si("0.125 in")), principles.disc_area(si("0.055 in"))
    share = (0.125 / 0.055) ** 4
    assert passages.bled_signal(1, nozzle, bleed) == pytest.approx(share / (share + 1), rel=1e-9)
    assert passages.bled_signal(1, nozzle, bleed) == pytest.approx(0.964, abs=5e-4)


@given(fuel=st.floats(0, 5e-3), air=st.floats(0, 2e-4))
def test_fuel_and_air_in_one_restriction(fuel: float, air: float) -> None:
    c = passages.slip_coefficient(740, 1.2)
    drop = passages.two_phase_drop(fuel, air, 0.7, 8e-6, c, 740, 1.2)
    # Turned round for the fuel.
    assert passages.fuel_flow_with_air(air, drop * (1 + 1e-12), 0.7, 8e-6, c, 740, 1.2) == pytest.approx(fuel, rel=1e-6, abs=1e-9)
    # Each alone is an ordinary jet.
    assert principles.jet_flow(0.7, 8e-6, 740, passages.two_phase_drop(fuel, 0, 0.7, 8e-6, c, 740, 1.2)) == pytest.approx(fuel)
    # Homogeneous flow is the same formula with square roots for fourth roots: the product of mass flow and volume flow.
    homogeneous = math.sqrt(740 / 1.2) + math.sqrt(1.2 / 740)
    product = (fuel + air) * (fuel / 740 + air / 1.2) / (2 * (0.7 * 8e-6) ** 2)
    together = passages.two_phase_drop(fuel, air, 0.7, 8e-6, homogeneous, 740, 1.2)
    assert together == pytest.approx(product, rel=1e-9)
    assert drop <= together


MM = 1e-3
PLATES = [
    # bore, shaft mm; open to, closed at (degrees, from square to the bore); mm². From the form in J. Heywood, Internal Combustion
    # Engine Fundamentals, ch. 7, from memory, checked by integrating the shadow of ellipse and shaft directly.
    (40, 8, 2, 0, 0.7629),
    (40, 8, 20, 0, 75.4982),
    (40, 8, 45, 0, 365.8874),
    (40, 8, 80, 0, 938.7834),
    (40, 8, 90, 0, 938.7834),
    (40, 10, 30, 7, 158.8488),
    (50, 10, 60, 10, 956.7059),
    (40, 0, 60, 0, 628.3185),
    (45, 8, 30, 10, 191.2675),
]


@pytest.mark.parametrize(("bore", "shaft", "to", "closed", "area"), PLATES)
def test_the_area_a_throttle_plate_leaves_open(bore: float, shaft: float, to: float, closed: float, area: float) -> None:
    angles = math.radians(closed), math.radians(to - closed)
    opening = passages.plate_opening(bore * MM, shaft * MM, *angles)
    assert opening * 1e6 == pytest.approx(area, rel=1e-6, abs=5e-5)
    assert air.plate_opening(bore * MM, shaft * MM, *angles) == pytest.approx(opening, rel=1e-9)


@settings(max_examples=30)
@given(share=st.just(0.0) | st.floats(1e-3, 0.5), closed=st.floats(0, 0.3), opened=st.floats(0, 1.2))
def test_the_plate_s_opening_is_what_integrating_its_shadow_gives(share: float, closed: float, opened: float) -> None:
    # Circle of radius 1 less the ellipse of the plate (its half height k where the circle's is 1) less the strip of the shaft.
    k = math.cos(closed + opened) / math.cos(closed)

    def open_height(x: float) -> float:
        circle = math.sqrt(max(1 - x * x, 0))
        return max(circle - max(k * circle, min(share, circle)), 0)

    edge = math.sqrt(max(1 - (share / k) ** 2, 0)) if k > share else 0.0  # where plate and shaft change places
    corners = sorted({edge, math.sqrt(1 - share * share)})
    area = 4 * quad(open_height, 0, 1, points=[c for c in corners if 0 < c < 1], limit=200)[0]
    assert passages.plate_opening(2.0, 2 * share, closed, opened) == pytest.approx(area, rel=1e-6, abs=1e-7)


@given(share=st.floats(0, 0.9), closed=st.floats(0, 0.3), opened=st.floats(0, 1.2), more=st.floats(0, 0.05))
def test_a_plate_opens_from_nothing_and_never_closes_again(share: float, closed: float, opened: float, more: float) -> None:
    assert passages.plate_opening(0.04, 0.04 * share, closed, 0) == 0
    wider = passages.plate_opening(0.04, 0.04 * share, closed, opened + more)
    assert wider >= passages.plate_opening(0.04, 0.04 * share, closed, opened) - 1e-15


def test_twice_the_air_costs_four_times_the_drop_through_the_cleaner() -> None:
    assert passages.cleaner_drop(60000, 0.1, 1.225) == pytest.approx(4 * passages.cleaner_drop(60000, 0.05, 1.225), rel=1e-12)
