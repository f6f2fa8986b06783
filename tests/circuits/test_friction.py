from __future__ import annotations

import CoolProp.CoolProp
import fluids
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.circuits import friction, passages, principles
from grader.circuits.principles import HEAT_RATIO


def test_the_viscosity_of_air() -> None:
    # US Standard Atmosphere 1976: 1.78938e-5 Pa s at sea level; Sutherland's law at 20 °C: 1.8134e-5.
    assert friction.air_viscosity(288.15) == pytest.approx(1.78938e-5, rel=1e-12)
    assert friction.air_viscosity(293.15) == pytest.approx(1.8134e-5, abs=5e-10)


@settings(max_examples=50, deadline=None)
@given(height=st.floats(0, 10_000))
def test_viscosity_aloft_is_that_of_a_public_library(height: float) -> None:
    there = fluids.ATMOSPHERE_1976(height)
    assert friction.air_viscosity(there.T) == pytest.approx(there.mu, rel=2e-5)


@pytest.mark.parametrize("celsius", [-20, 0, 20, 40])
def test_real_air_is_within_half_a_hundredth_of_it(celsius: float) -> None:
    # CoolProp: 1.82057e-5 at 20 °C, 0.4 % above Sutherland's law.
    theirs = CoolProp.CoolProp.PropsSI("V", "T", celsius + 273.15, "P", 101325, "Air")
    assert friction.air_viscosity(celsius + 273.15) == pytest.approx(theirs, rel=5e-3)


def test_air_s_ratio_of_specific_heats_is_the_textbooks_to_two_thousandths() -> None:
    # CoolProp, real air at 20 °C: cp 1006.1 J/(kg K), ratio 1.402; textbooks take 1.4.
    heats = [CoolProp.CoolProp.PropsSI(kind, "T", 293.15, "P", 101325, "Air") for kind in ("CPMASS", "CVMASS")]
    assert heats[0] == pytest.approx(1006.1, abs=0.1)
    assert heats[0] / heats[1] == pytest.approx(1.402, abs=5e-4)
    assert heats[0] / heats[1] == pytest.approx(HEAT_RATIO, rel=2e-3)


@pytest.mark.parametrize(("celsius", "real"), [(0, 1.2931), (20, 1.2046)])
def test_real_air_is_a_trifle_denser_than_an_ideal_gas(celsius: float, real: float) -> None:
    # CoolProp: 1.29307 at 0 °C, 1.20458 at 20 °C; the ideal law is 0.04 to 0.06 % below.
    ideal = principles.air_density(101325, celsius + 273.15)
    assert ideal == pytest.approx(real, rel=8e-4)
    assert ideal < CoolProp.CoolProp.PropsSI("D", "T", celsius + 273.15, "P", 101325, "Air")


def test_a_textbook_pipe() -> None:
    # Cengel and Cimbala, Fluid Mechanics, ex. 8-2, as worked in an open companion: water of 1.519e-3 Pa s, 3 mm, 9 m, 0.9 m/s: Re
    # 1777.5, f 0.036006, 43747 Pa, 4.459 m, 0.2783 W (it prints 43.7 kPa, 4.46 m, 0.28 W).
    reynolds = passages.reynolds_number(0.9, 0.003, 1.519e-3 / 1000)
    factor = friction.laminar_friction_factor(reynolds)
    drop = friction.pipe_drop(factor, 9, 0.003, 1000, 0.9)
    assert reynolds == pytest.approx(1777.5, rel=1e-4)
    assert factor == pytest.approx(0.036006, rel=1e-4)
    assert drop == pytest.approx(43747, rel=1e-4)
    assert principles.column_height(drop, 1000, 9.81) == pytest.approx(4.459, abs=5e-4)
    assert drop * 0.9 * principles.disc_area(0.003) == pytest.approx(0.2783, rel=2e-4)


@settings(max_examples=50, deadline=None)
@given(reynolds=st.floats(1, 2000))
def test_slow_flow_is_that_of_a_public_library(reynolds: float) -> None:
    assert friction.laminar_friction_factor(reynolds) == pytest.approx(fluids.friction_factor(reynolds, eD=0), rel=1e-12)


@settings(max_examples=50, deadline=None)
@given(reynolds=st.floats(4000, 1e5))
def test_fast_flow_in_a_smooth_pipe_is_that_of_a_public_library(reynolds: float) -> None:
    assert friction.smooth_friction_factor(reynolds) == pytest.approx(fluids.friction.Blasius(reynolds), rel=1e-3)
    # The law of the wall for a smooth pipe, which Blasius fits: within 3 %.
    assert friction.smooth_friction_factor(reynolds) == pytest.approx(fluids.friction_factor(reynolds, eD=0), rel=0.03)


@pytest.mark.parametrize("grams", [5, 20])
def test_a_fuel_line_costs_little_of_what_the_pump_gives(grams: float) -> None:
    # 5/16 in, 1.5 m, gasoline of 740 kg/m³ and 0.6 mm²/s, slow and fast; a pump gives some 30 kPa.
    bore, flow, density, viscosity = 0.3125 * 0.0254, grams * 1e-3, 740.0, 0.6e-6
    velocity = principles.flow_velocity(flow, density, principles.disc_area(bore))
    reynolds = passages.reynolds_number(velocity, bore, viscosity)
    law = friction.laminar_friction_factor if reynolds <= 2300 else friction.smooth_friction_factor
    drop = friction.pipe_drop(law(reynolds), 1.5, bore, density, velocity)
    theirs = fluids.one_phase_dP(m=flow, rho=density, mu=viscosity * density, D=bore, roughness=0, L=1.5)
    assert drop == pytest.approx(theirs, rel=0.03)
    assert drop < 1000


def test_between_slow_and_fast_nothing_is_said() -> None:
    for refused in (lambda: friction.laminar_friction_factor(3000), lambda: friction.smooth_friction_factor(3000)):
        with pytest.raises(RangeError):
            refused()
    with pytest.raises(RangeError):
        friction.pipe_drop(0.03, 1.0, 0.0, 740, 1.0)
    with pytest.raises(RangeError):
        friction.air_viscosity(50)
