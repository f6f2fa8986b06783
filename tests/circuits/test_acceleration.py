from __future__ import annotations

from dataclasses import astuple, replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits import principles, pump
from grader.circuits.acceleration import (
    AcceleratorPump,
    ThrottleStep,
    accelerate,
    pump_discharge,
    pump_of,
    shot_duration,
    step_of,
)
from grader.items.specimen_file import load_specimen

FUEL = 736.3


def si(text: str) -> float:
    return read_quantity(text).si


def pump_with(bore: str, stroke: str, force: str, rate: str, jet: str, jets: int) -> AcceleratorPump:
    return AcceleratorPump(
        principles.disc_area(si(bore)),
        si(stroke),
        si(force),
        si(rate),
        jets * principles.disc_area(si(jet)),
        share_delivered=0.85,
    )


T1 = pump_with("0.75 in", "0.35 in", "1.9 lbf", "1.5 lbf/in", "0.028 in", 1)
T2 = pump_with("0.812 in", "0.4 in", "2.4 lbf", "1.6 lbf/in", "0.026 in", 2)
STEP = ThrottleStep(air_before=0.010, air_after=0.040, fuel_before=0.7e-3, fuel_after=3.1e-3)
TIMES = np.linspace(-0.5, 3, 3501)


@pytest.mark.parametrize(
    ("device", "volume", "seconds"),
    # The two training carburetors' pumps, as their model states them: our own figures, to the digits stated.
    [(T1, 2.15e-6, 1.02), (T2, 2.89e-6, 0.76)],
)
def test_the_shots_of_the_training_carburetors(device: AcceleratorPump, volume: float, seconds: float) -> None:
    assert shot_duration(device, FUEL) == pytest.approx(seconds, abs=0.005)
    times = np.linspace(0, 1.5, 150_001)
    delivered = np.trapezoid(pump_discharge(device, FUEL, times), times) / FUEL
    assert delivered == pytest.approx(volume, abs=0.005e-6)


def test_the_discharge_is_what_the_plunger_s_motion_gives() -> None:
    # Integrated as a motion: the plunger goes as fast as the jets let its fuel out under the spring's force at that place.
    def speed(_: float, place: np.ndarray) -> np.ndarray:
        pressure = pump.discharge_pressure(np.maximum(T1.spring_force - T1.spring_rate * place, 0), T1.plunger_area)
        return np.asarray(principles.jet_flow(0.75, T1.jet_area, FUEL, pressure) / FUEL / T1.plunger_area)

    times = np.linspace(0, 1.0, 11)
    moved = solve_ivp(speed, (0, 1.0), [0.0], rtol=1e-10, atol=1e-14, t_eval=times).y[0]
    flows = speed(0, moved) * FUEL * T1.plunger_area * T1.share_delivered
    assert pump_discharge(T1, FUEL, times) == pytest.approx(flows, rel=1e-7)


def test_nothing_leaves_before_the_plunger_moves_and_after_its_stroke() -> None:
    late = replace(T1, delay=0.1)
    end = shot_duration(T1, FUEL)
    assert list(pump_discharge(late, FUEL, [-1.0, 0.0, 0.099, end + 0.101, 100.0])) == [0.0] * 5
    assert pump_discharge(late, FUEL, 0.1 + 1e-9) == pytest.approx(pump_discharge(T1, FUEL, 1e-9), rel=1e-6)


def test_a_constant_force_gives_a_constant_flow() -> None:
    level = replace(T1, spring_rate=0.0)
    flows = pump_discharge(level, FUEL, np.linspace(0, 0.99 * shot_duration(level, FUEL), 7))
    assert flows == pytest.approx(np.full(7, flows[0]), rel=1e-12)


@settings(max_examples=30)
@given(stroke=st.floats(2e-3, 9e-3), share=st.floats(0.1, 1))
def test_the_whole_shot_is_the_swept_volume_less_the_leak(stroke: float, share: float) -> None:
    device = replace(T1, stroke=stroke, share_delivered=share)
    end = shot_duration(device, FUEL)
    flows = pump_discharge(device, FUEL, np.array([0.0, end * (1 - 1e-12)]))
    assert flows.mean() * end == pytest.approx(
        FUEL * pump.shot_volume(1, stroke, share) * T1.plunger_area / (np.pi / 4), rel=1e-6
    )


def test_without_a_pump_the_engine_goes_lean_the_moment_the_throttle_opens() -> None:
    bare = accelerate(STEP, None, FUEL, TIMES)
    moment, leanest = bare.leanest()
    assert moment == pytest.approx(0, abs=1.1e-3)
    # All the air at once, the fuel of before: 40 g/s on 0.7 g/s.
    assert leanest == pytest.approx(0.040 / 0.7e-3, rel=1e-3)
    assert bare.air_fuel[0] == pytest.approx(0.010 / 0.7e-3)
    assert bare.air_fuel[-1] == pytest.approx(0.040 / 3.1e-3, rel=1e-3)


def test_the_pump_fills_the_hole() -> None:
    bare, helped = (accelerate(STEP, device, FUEL, TIMES) for device in (None, T1))
    assert helped.leanest()[1] < 0.5 * bare.leanest()[1]
    assert bare.seconds_leaner_than(17) > 0.3
    assert helped.seconds_leaner_than(17) == 0
    # Each pound of fuel is counted once: what is added is the pump's.
    assert np.allclose(helped.air / helped.air_fuel - bare.air / bare.air_fuel, helped.pump_fuel, atol=1e-12)


@pytest.mark.parametrize(
    "worse",
    # Common practice, no source: what the trade calls a flat spot, and what makes one.
    [
        replace(T1, delay=0.25),  # lost motion in the linkage
        replace(T1, share_delivered=0.3),  # cup worn, intake check leaks
        replace(T1, stroke=0.2 * T1.stroke),  # rod in a wrong hole
        replace(T1, jet_area=0.3 * T1.jet_area),  # jets partly blocked
        replace(T1, spring_force=0.25 * T1.spring_force, spring_rate=0.25 * T1.spring_rate),  # spring weak
    ],
    ids=["lost motion", "leak", "short stroke", "jets blocked", "weak spring"],
)
def test_what_makes_a_flat_spot(worse: AcceleratorPump) -> None:
    good, bad = (accelerate(STEP, device, FUEL, TIMES).seconds_leaner_than(17) for device in (T1, worse))
    assert bad > good


def test_the_same_shot_through_larger_jets_starts_richer_and_ends_sooner() -> None:
    # A good start, then a stumble: jets too large, shot too short (common practice, no source).
    large = replace(T1, jet_area=3 * T1.jet_area)
    assert shot_duration(large, FUEL) == pytest.approx(shot_duration(T1, FUEL) / 3, rel=1e-9)
    usual, quick = (accelerate(replace(STEP, fuel_lag=0.6), device, FUEL, TIMES) for device in (T1, large))
    at = np.searchsorted(TIMES, 0.05)
    assert quick.air_fuel[at] < usual.air_fuel[at]
    later = np.searchsorted(TIMES, 0.5)
    assert quick.air_fuel[later] > usual.air_fuel[later]


@settings(max_examples=30)
@given(air=st.floats(0.011, 0.2), fuel=st.floats(1e-4, 5e-3), lag=st.floats(0.05, 1))
def test_in_the_end_the_mixture_is_the_steady_one(air: float, fuel: float, lag: float) -> None:
    step = ThrottleStep(0.010, air, 0.7e-3, fuel, lag)
    assert accelerate(step, T1, FUEL, [30.0]).air_fuel[0] == pytest.approx(air / fuel, rel=1e-6)
    assert accelerate(step, T1, FUEL, [-0.1]).air_fuel[0] == pytest.approx(0.010 / 0.7e-3, rel=1e-12)


@pytest.mark.parametrize(
    ("name", "value"), [("share_delivered", 1.2), ("share_delivered", -0.1), ("delay", -0.1), ("delay", float("nan"))]
)
def test_a_pump_that_cannot_be_is_refused(name: str, value: float) -> None:
    with pytest.raises(RangeError, match=f"{name} is .*; it must lie from"):
        replace(T1, **{name: value})


def test_a_spring_that_goes_slack_and_flows_below_nothing_are_refused() -> None:
    with pytest.raises(RangeError, match="k s ≤ F₀"):
        shot_duration(replace(T1, spring_rate=2000.0), FUEL)
    with pytest.raises(RangeError, match=r"air_after is -0\.01 kg/s"):
        replace(STEP, air_after=-0.01)
    with pytest.raises(RangeError, match="fuel_lag is 0 s"):
        replace(STEP, fuel_lag=0)


ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(("name", "device"), [("T-1", T1), ("T-2", T2)])
def test_the_pump_of_a_sheet(name: str, device: AcceleratorPump) -> None:
    assert astuple(pump_of(load_specimen(ROOT, name))) == pytest.approx(astuple(device), rel=1e-9)


@pytest.mark.parametrize("name", ["T-1", "T-2"])
def test_a_training_carburetor_needs_its_pump_when_the_throttle_is_opened_from_idle(name: str) -> None:
    specimen = load_specimen(ROOT, name)
    # From a fast idle to a wide throttle at 1200 rev/min.
    step = step_of(specimen, si("1200 rev/min"), si("5 deg"), si("40 deg"))
    assert step.air_after > 2 * step.air_before
    bare, helped = (accelerate(step, device, FUEL, TIMES) for device in (None, pump_of(specimen)))
    assert bare.seconds_leaner_than(18) > 0.2
    assert helped.seconds_leaner_than(18) < bare.seconds_leaner_than(18)
    assert helped.leanest()[1] < bare.leanest()[1]
    # Before the step and long after it the pump is nothing.
    assert helped.air_fuel[0] == bare.air_fuel[0]
    assert helped.air_fuel[-1] == bare.air_fuel[-1]


def test_a_step_to_where_there_is_no_steady_state_is_refused_with_the_reason() -> None:
    specimen = replace(load_specimen(ROOT, "T-1"), venturi_bore=si("0.85 in"))
    with pytest.raises(RangeError, match="no steady state at one end of the step: the air in the venturi passes Mach"):
        step_of(specimen, si("4500 rev/min"), si("8 deg"), si("76 deg"))
