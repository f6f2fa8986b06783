from __future__ import annotations

import math
from collections.abc import Callable

import CoolProp
import CoolProp.HumidAirProp
import fluids
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


def test_gauge_vacuum_and_absolute() -> None:
    # 101.325 kPa less 40.370 kPa is 18 inHg; a fuel gauge counts up: 5.5 psi is 139.25 kPa absolute. By hand.
    assert principles.manifold_vacuum(101325, 40370) == pytest.approx(si("18 inHg"), rel=1e-5)
    assert principles.absolute_from_gauge(101325, si("5.5 psi")) == pytest.approx(139246, abs=1)
    vacuum = principles.manifold_vacuum(87510, 50000)
    assert principles.absolute_pressure(87510, vacuum) == pytest.approx(50000, rel=1e-12)


@pytest.mark.parametrize(
    ("altitude", "kelvin"),
    # US Standard Atmosphere 1976, geopotential; 5000 ft (41.17 °F) as a public table prints it, the rest from its formula.
    [
        ("0 ft", 288.150),
        ("2000 ft", 284.188),
        ("4000 ft", 280.225),
        ("5000 ft", 278.244),
        ("1500 m", 278.400),
        ("3000 m", 268.650),
    ],
)
def test_the_temperature_of_the_standard_atmosphere(altitude: str, kelvin: float) -> None:
    assert principles.standard_temperature(si(altitude)) == pytest.approx(kelvin, abs=5.1e-4)
    pressure = principles.standard_pressure(si(altitude))
    ratio = principles.density_ratio(pressure, principles.standard_temperature(si(altitude)))
    assert ratio == pytest.approx(principles.standard_density_ratio(si(altitude)), rel=1e-9)


def test_the_standard_atmosphere_of_another_public_library() -> None:
    # ambiance and fluids take geometric height: at 4000 ft 87513.0 Pa, 1.08793 kg/m³.
    height = 6356766 * 1219.2 / (6356766 + 1219.2)
    assert principles.standard_pressure(height) == pytest.approx(87513.0, rel=2e-6)
    # A public table prints 12.682 psia at (geopotential) 4000 ft; its own formula gives 12.692, as ours does.
    assert principles.standard_pressure(1219.2) / si("1 psi") == pytest.approx(12.692, abs=5e-4)


@pytest.mark.parametrize(
    ("celsius", "humidity", "ideal", "real"),
    # Two ideal gases; and real air: CIPM-2007 (Picard and others, Metrologia 45 (2008) 149), 0.04 % higher.
    [(20, 0.5, 1.19885, 1.1993), (35, 0.9, 1.12384, 1.1242), (25, 0.5, 1.17691, 1.1773)],
)
def test_moist_air_is_lighter(celsius: float, humidity: float, ideal: float, real: float) -> None:
    full = principles.saturation_pressure(celsius + 273.15)
    density = principles.moist_air_density(101325, celsius + 273.15, humidity, full)
    assert density == pytest.approx(ideal, rel=1e-4)
    assert density == pytest.approx(real, rel=5e-4)
    assert density < principles.air_density(101325, celsius + 273.15)
    # `Vha` is a kilogram of humid air; `Vda`, of the dry air in it, would be 0.7 % off at 20 °C and 50 %.
    theirs = 1 / CoolProp.HumidAirProp.HAPropsSI("Vha", "T", celsius + 273.15, "P", 101325, "R", humidity)
    assert density == pytest.approx(theirs, rel=5e-4)


@pytest.mark.parametrize("celsius", [0.02, 5, 20, 35, 50])
def test_saturation_pressure_is_that_of_a_reference_library(celsius: float) -> None:
    theirs = CoolProp.CoolProp.PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water")
    assert principles.saturation_pressure(celsius + 273.15) == pytest.approx(theirs, rel=1e-3)
    with pytest.raises(RangeError):
        principles.saturation_pressure(260 - 8)


def test_dry_air_is_moist_air_without_moisture() -> None:
    assert principles.moist_air_density(90000, 290, 0, 1900) == principles.air_density(90000, 290)


def test_air_of_a_reference_library() -> None:
    # CoolProp: real dry air at 15 °C is 1.22554, 0.04 % above the ideal law.
    theirs = CoolProp.CoolProp.PropsSI("D", "T", 288.15, "P", 101325, "Air")
    assert theirs == pytest.approx(1.22554, abs=5e-6)
    assert principles.air_density(101325, 288.15) == pytest.approx(theirs, rel=5e-4)


def test_warm_fuel_is_lighter_and_thinner() -> None:
    # US DOE Alternative Fuels Data Center: gasoline 0.5 to 0.6 mm²/s at 68 °F, specific gravity 0.72 to 0.78.
    assert principles.fuel_density(740, si("20 degC")) == pytest.approx(736.3, rel=1e-9)
    assert principles.fuel_density(740, si("40 degC")) < principles.fuel_density(740, si("20 degC"))
    assert principles.fuel_viscosity(0.6e-6, si("20 degC")) == pytest.approx(0.6e-6, rel=1e-12)
    assert principles.fuel_viscosity(0.6e-6, si("40 degC")) < 0.6e-6 < principles.fuel_viscosity(0.6e-6, si("0 degC"))


def test_a_textbook_venturi_wind_tunnel() -> None:
    # J. Anderson, Fundamentals of Aerodynamics, ex. 3.3, as worked in an open companion: throat/inlet area 0.8, drop 335.16 Pa,
    # 1.225 kg/m³: inlet 31.190 m/s. And ex. 3.4: contraction 12:1, 50 m/s, 1.23: 1526.8 Pa.
    throat = principles.continuity_velocity(31.190, 1, 0.8)
    assert principles.throat_drop(31.190, throat, 1.225) == pytest.approx(335.16, rel=1e-4)
    assert principles.throat_drop(50 / 12, 50, 1.23) == pytest.approx(1526.8, rel=1e-4)


@pytest.mark.parametrize(("flow", "drop"), [(0.005, 1156.8), (0.05, 115680)])
def test_a_textbook_venturi_meter(flow: float, drop: float) -> None:
    # Munson, Young, Okiishi, ex. 3.11, as worked in an open companion: kerosene 850 kg/m³, 0.1 to 0.06 m.
    wide, narrow = flow / principles.disc_area(0.1), flow / principles.disc_area(0.06)
    assert principles.throat_drop(wide, narrow, 850) == pytest.approx(drop, rel=1e-4)
    # The same turned round, with the factor that standards use.
    approach = principles.velocity_of_approach(0.6)
    assert approach * principles.jet_flow(1, principles.disc_area(0.06), 850, drop) / 850 == pytest.approx(flow, rel=1e-4)


def test_velocity_of_approach_agrees_with_a_public_library() -> None:
    # fluids 1.3.1, velocity_of_approach_factor, D 0.0739, d 0.0222: 1.004097007.
    assert principles.velocity_of_approach(0.0222 / 0.0739) == pytest.approx(1.004097007, abs=1e-9)
    theirs = fluids.flow_meter.velocity_of_approach_factor(D=0.0739, Do=0.0222)
    assert principles.velocity_of_approach(0.0222 / 0.0739) == pytest.approx(theirs, rel=1e-12)


def test_a_whole_meter_of_a_public_library_from_our_relations() -> None:
    # fluids 1.3.1, differential_pressure_meter_solver, water: D 0.07366, d 0.05, 200 to 183 kPa, 999.1 kg/m³: 7.702338 kg/s with
    # its coefficient and its own expansion factor; ISO 5167 gives no coefficient for a carburetor's bores, it tests the formula.
    beta = 0.05 / 0.07366
    coefficient, expansion = fluids.flow_meter.differential_pressure_meter_C_epsilon(
        D=0.07366,
        D2=0.05,
        m=7.702338,
        P1=200000,
        P2=183000,
        rho=999.1,
        mu=0.0011,
        k=1.33,
        meter_type="ISO 5167 orifice",
        taps="D",
    )
    flow = principles.velocity_of_approach(beta) * principles.jet_flow(
        coefficient * expansion, principles.disc_area(0.05), 999.1, 17000
    )
    assert flow == pytest.approx(7.702338, rel=1e-6)


@pytest.mark.parametrize(
    ("hydrogen", "oxygen", "full", "short"),
    # Molar masses of IUPAC, abridged, from memory. `full`: dry air of 28.9647 g/mol with 0.20946 oxygen, as the table in
    # J. Heywood, Internal Combustion Engine Fundamentals (from memory): iso-octane 15.13, ethanol 9.00. `short`: one oxygen
    # with 3.76 nitrogen, as many textbooks take it: 0.66 % less, so it matters which.
    [
        (18 / 8, 0, 15.13, 15.03),
        (6 / 2, 1 / 2, 9.00, 8.94),
        (8 / 7, 0, 13.50, 13.41),
        (1.87, 0, 14.60, 14.50),
        (1.85, 0, 14.57, 14.475),
    ],
)
def test_the_air_a_fuel_needs(hydrogen: float, oxygen: float, full: float, short: float) -> None:
    assert principles.hydrocarbon_air_fuel_ratio(hydrogen, oxygen) == pytest.approx(full, abs=0.0101 if full == 13.5 else 0.0051)
    of_nitrogen = principles.hydrocarbon_air_fuel_ratio(hydrogen, oxygen, (31.998 + 3.76 * 28.014) / 4.76, 1 / 4.76)
    assert of_nitrogen == pytest.approx(short, abs=0.0101 if full == 13.5 else 0.0051)


def test_the_air_a_fuel_of_known_composition_needs() -> None:
    # 84 % carbon, 16 % hydrogen, air with 23 % oxygen: 15.304. R. K. Rajput, A Textbook of Internal Combustion Engines,
    # ex. 11.10; H. N. Gupta, Fundamentals of Internal Combustion Engines, ex. 9.3; as worked in open companions.
    assert principles.analysed_air_fuel_ratio(0.84, 0.16, 0.23) == pytest.approx(15.304, abs=5e-4)
    # With masses 12, 1, 32 a hydrocarbon comes to nearly the same as from its formula.
    carbon = 12.011 / (12.011 + 1.87 * 1.008)
    assert principles.analysed_air_fuel_ratio(carbon, 1 - carbon) == pytest.approx(14.6, rel=4e-3)


def test_a_blend_is_by_mass_not_by_volume() -> None:
    share = principles.ethanol_mass_share(0.10)
    assert share == pytest.approx(0.10528, abs=5e-6)
    assert principles.blend_air_fuel_ratio(14.6, 9.0, share) == pytest.approx(14.010, abs=5e-4)
    # The slip, by volume: 14.04.
    assert principles.blend_air_fuel_ratio(14.6, 9.0, 0.10) == pytest.approx(14.04, abs=5e-3)


def test_a_textbook_engine_on_an_orifice() -> None:
    # H. N. Gupta, ex. 16.7, as worked in an open companion: 6 cylinders 100 x 110 mm, 2500 rev/min; orifice 30 mm,
    # Cd 0.6, 140 mm of mercury (13600, g 9.81), 1 bar, 300 K: 0.0760621 m³/s, 70.433 %.
    density = principles.air_density(1e5, 300, 287)
    flow = principles.jet_flow(0.6, principles.disc_area(0.03), density, 0.140 * 13600 * 9.81)
    assert flow / density == pytest.approx(0.0760621, rel=1e-5)
    swept = principles.displacement(6, 0.1, 0.11)
    assert principles.volumetric_efficiency(flow, swept, si("2500 rev/min"), density) == pytest.approx(0.70433, abs=5e-6)


@given(speed=st.floats(10, 70), efficiency=st.floats(0.2, 1.0))
def test_volumetric_efficiency_turns_the_air_demand_round(speed: float, efficiency: float) -> None:
    flow = principles.engine_air(3.7e-3, speed, efficiency, 1.2)
    assert principles.volumetric_efficiency(flow, 3.7e-3, speed, 1.2) == pytest.approx(efficiency, rel=1e-12)


@given(manifold=st.floats(25e3, 1e5), more=st.floats(10, 1e3))
def test_an_engine_draws_more_the_higher_its_manifold_pressure(manifold: float, more: float) -> None:
    of = (3.7e-3, 2000 / 60)
    at = (101325.0, 303.15, 0.84, 2200 / 60)
    less = principles.engine_air_at_manifold_pressure(*of, manifold, *at)
    assert less < principles.engine_air_at_manifold_pressure(*of, manifold + more, *at)
    # With the throttle wide open and at its best speed it is the plain demand at the charge's density.
    whole = principles.engine_air_at_manifold_pressure(3.7e-3, 2200 / 60, 101325.0, *at)
    assert whole == pytest.approx(
        principles.engine_air(3.7e-3, 2200 / 60, 0.84, principles.air_density(101325, 303.15)), rel=1e-9
    )
    # What burnt gas holds is never drawn.
    assert principles.engine_air_at_manifold_pressure(*of, 0.22 * 101325, *at) == pytest.approx(0, abs=1e-12)


def test_an_inch_of_mercury_and_an_inch_of_water_are_columns() -> None:
    # NIST SP 811 app. B, conventional units, as a public units library copies its table: 3386.389 and 249.0889 Pa.
    assert principles.column_pressure(13595.1, INCH) == pytest.approx(3386.389, abs=5e-4)
    assert principles.column_pressure(1000, INCH) == pytest.approx(249.0889, abs=5e-5)


def test_a_textbook_manometer() -> None:
    # Anderson, Fundamentals of Aerodynamics, ex. 3.4, as a published worked solution of it: 1526.8 Pa hold up 0.011456 m of
    # mercury taken at 13600 kg/m3 with g = 9.8.
    assert principles.column_height(1526.8, 13600, 9.8) == pytest.approx(0.011456, abs=5e-7)


@given(drop=st.floats(0, 1e5), density=st.floats(500, 14_000))
def test_a_column_presses_as_much_as_holds_it_up(drop: float, density: float) -> None:
    assert principles.column_pressure(density, principles.column_height(drop, density)) == pytest.approx(drop, abs=1e-9)


@pytest.mark.parametrize(("flow", "drop"), [(0.005, 1156.8), (0.05, 115_680)])
def test_velocities_from_a_flow_give_a_textbook_venturi_meter_s_drop(flow: float, drop: float) -> None:
    # Munson, Young, Okiishi, Fundamentals of Fluid Mechanics, ex. 3.11, as a published worked solution: kerosene of 850 kg/m3,
    # 0.1 m to 0.06 m, 0.005 and 0.05 m3/s: 1.1568 and 115.68 kPa.
    wide, narrow = (principles.flow_velocity(flow * 850, 850, principles.disc_area(bore)) for bore in (0.1, 0.06))
    assert principles.throat_drop(wide, narrow, 850) == pytest.approx(drop, rel=1e-4)
    assert principles.depression_at_flow(1156.8, 0.005, flow) == pytest.approx(drop, rel=1e-4)


@given(flow=st.floats(0.001, 1), factor=st.floats(0.1, 10), drop=st.floats(1, 1e5))
def test_depression_at_another_flow_turns_the_square_root_law_round(flow: float, factor: float, drop: float) -> None:
    other = principles.depression_at_flow(drop, flow, flow * factor)
    assert principles.square_root_law(flow, drop, other) == pytest.approx(flow * factor)


@pytest.mark.parametrize(
    "refused",
    [
        lambda: principles.column_pressure(1000, -1),
        lambda: principles.column_height(-1, 1000),
        lambda: principles.column_height(1, 0),
        lambda: principles.flow_velocity(-1, 1, 1),
        lambda: principles.flow_velocity(1, 1, 0),
        lambda: principles.depression_at_flow(1, 0, 1),
        lambda: principles.depression_at_flow(1, 1, -1),
    ],
)
def test_a_column_or_a_flow_that_cannot_be_is_refused(refused: Callable[[], float]) -> None:
    with pytest.raises(RangeError):
        refused()


def test_a_textbook_orifice_in_a_tank() -> None:
    # K. Subramanya, 1000 Solved Problems in Fluid Mechanics, ex. 13.1, as worked in an open companion: 40 mm, head 2 m, loss
    # 0.2 m, contraction 0.63: Cd 0.5977, 4.7047 L/s (the book rounds on the way: 4.707).
    coefficient = 0.63 * math.sqrt(1 - 0.2 / 2)
    assert coefficient == pytest.approx(0.5977, abs=5e-5)
    flow = principles.jet_flow(coefficient, principles.disc_area(0.04), 1000, principles.fuel_head(1000, 2, 9.81)) / 1000
    assert flow == pytest.approx(4.7047e-3, rel=1e-4)


def test_a_textbook_tank_of_gasoline() -> None:
    # Munson, Young, Okiishi, ex. 2.1, as worked in an open companion: specific gravity 0.68, 17 ft, water 62.4 lbf/ft³: 5.009
    # psi.
    assert principles.fuel_head(0.68 * si("62.4 lb/ft^3"), si("17 ft")) == pytest.approx(si("5.009 psi"), rel=1e-4)
