"""The whole carburetor: healthy values, balances, laws, limits, refusals."""

from __future__ import annotations

from dataclasses import fields, replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import RangeError, UseError
from grader.base.quantities import unit
from grader.circuits import pump
from grader.circuits.air import Air, Array, circle, plate_opening, standard_air
from grader.circuits.altitude import at_altitude
from grader.circuits.carburetor import (
    SEA_LEVEL,
    Conditions,
    Points,
    Reason,
    States,
    in_rows,
    points_at,
    points_of,
    positions,
    solve,
)
from grader.circuits.cold import fast_idle, free_coil, opening_torque, solve_cold
from grader.circuits.faults import fault_named
from grader.circuits.fuels import E10, GASOLINE, fuel_named
from grader.circuits.load import throttle_for_share, throttle_for_vacuum
from grader.circuits.running import idle_drag, idle_speed
from grader.circuits.specimens import Carburetor, Specimen, Well, entries, healthy, side_by_side
from grader.circuits.whole.breathing import air_path, breathe
from grader.circuits.whole.metering import FuelPath, float_level, fuel_path, rod_lift
from grader.items.specimen_file import load_specimen

ROOT = Path(__file__).parents[2]
INHG = 3386.38864
INCH = 0.0254
BOTH = ("T-1", "T-2")
IDLE, OFF_IDLE, TRANSITION, CRUISE, HEAVY, FULL = range(6)


@cache
def sheet(name: str) -> Specimen:
    return load_specimen(ROOT, name)


def mixture(c: Specimen, conditions: Conditions = SEA_LEVEL) -> Array:
    return solve(c, points_of(c.points), conditions).air_fuel[:, 0]


def faulty(name: str, fault: str) -> Array:
    return mixture(fault_named(fault).applied(sheet(name)))


# What the healthy sheets give, from the course's model: computed there by a program of its own and printed to three figures.
HEALTHY = {
    "T-1": ((13.5, 17.0), (15.0, 18.0), (15.8, 17.0), (14.7, 15.0), (12.6, 3.9), (12.6, 2.6)),
    "T-2": ((13.5, 17.0), (14.2, 18.0), (16.4, 17.0), (15.1, 15.0), (12.7, 3.9), (12.6, 2.1)),
}


@pytest.mark.parametrize("name", BOTH)
def test_a_healthy_carburetor_meters_as_the_model_prints(name: str) -> None:
    states = solve(sheet(name), points_of(sheet(name).points))
    for row, (ratio, vacuum) in enumerate(HEALTHY[name]):
        assert states.air_fuel[row, 0] == pytest.approx(ratio, abs=0.05)
        assert states.vacuum[row, 0] / INHG == pytest.approx(vacuum, abs=0.05)


@pytest.mark.parametrize("name", BOTH)
def test_a_healthy_carburetor_is_as_the_trade_wants_it(name: str) -> None:
    # Common practice, no source: rich enough at idle, near 15 at cruise, 12 to 13 under load; 16 to 18 inHg at idle.
    states = solve(sheet(name), points_of(sheet(name).points))
    ratio, vacuum = states.air_fuel[:, 0], states.vacuum[:, 0] / INHG
    assert 13 <= ratio[IDLE] <= 14.5
    assert 16 <= vacuum[IDLE] <= 18
    assert 14.5 <= ratio[CRUISE] <= 16
    assert np.all((ratio[[HEAVY, FULL]] >= 12) & (ratio[[HEAVY, FULL]] <= 13))
    assert ratio[TRANSITION] == ratio.max() < 16.6
    assert not states.starved.any()
    assert not states.flooded.any()
    assert np.all(states.pull_over == 0)
    assert states.reasons() == []


# --- the solver --------------------------------------------------------------------------------

DIMENSIONS = (
    "main_jet", "nozzle_bore", "main_bleed", "idle_jet", "economiser", "idle_bleed", "mixture_port", "venturi_bore",
    "power_spring_force", "displacement",
)  # fmt: skip


def random_machine(name: str, seed: int) -> Carburetor:
    """Ten main dimensions times random factors, log-normal, sigma 0.35."""
    made, random = healthy(sheet(name)), np.random.default_rng(seed)
    factors = np.exp(0.35 * random.standard_normal(len(DIMENSIONS)))
    return Carburetor(**{**vars(made), **{d: getattr(made, d) * f for d, f in zip(DIMENSIONS, factors, strict=True)}})


def random_points(seed: int, count: int = 20) -> Points:
    random = np.random.default_rng(seed + 1)
    return points_at(random.uniform(500, 4500, count) / 60, np.radians(random.uniform(1, 78, count)))


@settings(max_examples=60, deadline=None)
@given(name=st.sampled_from(BOTH), seed=st.integers(0, 10**6))
def test_both_solvers_give_the_same_finite_answer_for_any_machine(name: str, seed: int) -> None:
    machine, points = random_machine(name, seed), random_points(seed)
    fast = solve(machine, points, checked=False)
    slow = solve(machine, points, method="reference", checked=False)
    known = fast.reason[:, 0] == Reason.SOLVED
    assert np.array_equal(fast.reason, slow.reason)
    # What has no answer says why: a venturi so small that its air comes near the speed of sound, a jet that its rod fills
    # while the idle circuit sucks air. Both equations always have their root.
    assert set(fast.reason.ravel()) <= {Reason.SOLVED, Reason.VENTURI_NEAR_SONIC, Reason.NO_FUEL}
    assert np.all(np.isfinite(fast.air_fuel[known]))
    assert np.all(np.isnan(fast.air_fuel[~known]))
    burns = known & (slow.air_fuel[:, 0] < 1000)
    for f in ("manifold_pressure", "air_fuel", "fuel"):
        a, b = getattr(fast, f)[burns], getattr(slow, f)[burns]
        assert np.all(np.abs(a - b) <= 1e-7 * np.abs(b))


@settings(max_examples=40, deadline=None)
@given(name=st.sampled_from(BOTH), seed=st.integers(0, 10**6))
def test_what_flows_into_each_node_flows_out(name: str, seed: int) -> None:
    machine = random_machine(name, seed)
    s = solve(machine, random_points(seed), checked=False)
    known = s.reason == Reason.SOLVED
    free = known & ~s.starved
    # The main well: what the jet lets in leaves by the nozzle, the idle circuit and the bleed.
    gap = s.jet_fuel - s.nozzle_fuel - s.idle_fuel - s.bleed_fuel
    assert np.all(np.abs(gap[known]) <= 1e-9 * s.fuel[known])
    # The bowl: what is drawn is the sum of the circuits; the manifold: air in is air out; the mixture is their ratio.
    total = s.nozzle_fuel + s.idle_fuel + s.bleed_fuel + s.pull_over
    assert np.all(np.abs(total - s.fuel)[free] <= 1e-9 * s.fuel[free])
    assert np.all(np.abs(s.air - s.engine_air)[known] <= 1e-12)  # no leak on these
    assert np.all(np.abs(s.air_fuel * s.fuel - s.engine_air)[known] <= 1e-9 * s.engine_air[known])


@pytest.mark.parametrize(
    "fault", ["manifold-leak-1/8-in", "inlet-blocked-to-1/4", "bowl-vent-blocked", "air-cleaner-blocked-outside"]
)
@pytest.mark.parametrize("name", BOTH)
def test_the_engine_breathes_what_passes_throttle_and_leak(name: str, fault: str) -> None:
    c = fault_named(fault).applied(sheet(name))
    points = points_of(c.points)
    speed, throttle, choke = positions(c, points)
    path = air_path(c, SEA_LEVEL.air, speed, throttle, choke)
    b = breathe(c, path, "fast")
    assert np.all(np.abs(path(b.manifold)) <= 1e-9 * b.engine_air)
    s = solve(c, points)
    leaked = s.engine_air - s.air
    assert np.all(leaked >= 0)
    assert np.all((leaked > 0) == (c.manifold_leak > 0))
    assert np.all(s.fuel <= (s.nozzle_fuel + s.idle_fuel + s.bleed_fuel + s.pull_over) * (1 + 1e-12))


def fuel_equation(c: Carburetor, points: Points) -> FuelPath:
    speed, throttle, choke = positions(c, points)
    b = breathe(c, air_path(c, SEA_LEVEL.air, speed, throttle, choke), "fast")
    density = GASOLINE.density()
    level = float_level(c, density, b.air)
    return fuel_path(c, SEA_LEVEL.air, density, b, throttle, level, rod_lift(c, b.horn - b.manifold, throttle))


@settings(max_examples=12, deadline=None)
@given(name=st.sampled_from(BOTH), seed=st.integers(0, 10**6))
def test_both_equations_never_rise(name: str, seed: int) -> None:
    # So that each has one root, and halving cannot find another.
    c, points = random_machine(name, seed), random_points(seed, 6)
    speed, throttle, choke = positions(c, points)
    path = air_path(c, SEA_LEVEL.air, speed, throttle, choke)
    grid = np.linspace(0.22, 1.0, 200)[:, None, None] * 101325.0
    air = np.array([path(np.full((6, 1), p.item())) for p in grid])
    assert np.all(np.diff(air, axis=0) <= 1e-15)
    fuel = fuel_equation(c, points)
    ends = np.linspace(-50.0, 60e3, 800)
    values = np.array([fuel(np.full((6, 1), x)) for x in ends])
    assert np.all(np.diff(values, axis=0) <= 1e-9 * np.abs(values[:-1]) + 1e-18)


def test_a_block_at_a_time_gives_what_all_at_once_gives(monkeypatch: pytest.MonkeyPatch) -> None:
    c, points = healthy(sheet("T-2")), random_points(3, 50)
    heights = Conditions(standard_air(np.linspace(0, 3000, 50)), E10)
    whole = solve(c, points, heights)
    monkeypatch.setattr("grader.circuits.carburetor.BLOCK", 7)
    parts = solve(c, points, heights)
    for f in fields(States):
        np.testing.assert_allclose(getattr(whole, f.name), getattr(parts, f.name), rtol=1e-9, atol=1e-12, err_msg=f.name)


def test_carburetors_side_by_side_are_what_they_are_alone() -> None:
    names = (
        "main-jet-blocked-to-0.85",
        "manifold-leak-1/8-in",
        "choke-stuck-at-45-deg",
        "inlet-blocked-to-1/4",
        "pump-discharge-check-leaking",
    )
    alone = [fault_named(name).applied(sheet("T-1")) for name in names]
    points = points_of(sheet("T-1").points)
    beside = solve(side_by_side(alone), points)
    for column, c in enumerate(alone):
        single = solve(c, points)
        for f in ("air_fuel", "vacuum", "fuel", "rod_lift", "level", "pull_over"):
            np.testing.assert_allclose(getattr(beside, f)[:, column], getattr(single, f)[:, 0], rtol=1e-10, atol=1e-15)
        assert np.array_equal(beside.starved[:, column], single.starved[:, 0])


def test_what_is_near_sonic_is_no_number_and_says_so() -> None:
    small = replace(sheet("T-1"), venturi_bore=0.60 * INCH)
    states = solve(small, points_of(small.points))
    assert states.reason[FULL, 0] == Reason.VENTURI_NEAR_SONIC
    assert np.isnan(states.air_fuel[FULL, 0])
    assert np.isfinite(states.air_fuel[IDLE, 0])
    assert states.reasons() == ["the air in the venturi passes Mach 0.9, where its law is not used"]


def test_no_fuel_is_no_mixture_and_says_so() -> None:
    dry = replace(healthy(sheet("T-1")), inlet_open_share=0.0)
    states = solve(dry, points_of(dry.points))
    assert np.all(states.reason == Reason.NO_FUEL)
    assert np.all(np.isnan(states.air_fuel))


# --- laws --------------------------------------------------------------------------------


def simple(c: Specimen) -> Carburetor:
    """A simple carburetor: no bleed, an idle circuit of 1 %, the rod down, a solid-fuel well."""
    made = healthy(c)
    return replace(
        made, well="solid fuel", main_bleed=0.0, bleed_signal_share=0.0, rod_held_at=0.0,
        idle_jet=made.idle_jet / 10, economiser=made.economiser / 10, idle_bleed=made.idle_bleed / 10,
    )  # fmt: skip


@pytest.mark.parametrize("name", BOTH)
def test_a_simple_carburetor_enriches_as_air_flow_grows(name: str) -> None:
    c = simple(sheet(name))
    wide = np.pi / 2 - float(c.throttle_closed_angle)
    states = solve(c, points_at(np.linspace(800, 4500, 25) / 60, np.full(25, wide)), checked=False)
    assert np.all(np.diff(states.air[:, 0]) > 0)
    assert np.all(np.diff(states.air_fuel[:, 0]) < 0)


@pytest.mark.parametrize("name", BOTH)
def test_with_no_spill_and_little_air_a_simple_carburetor_keeps_one_mixture(name: str) -> None:
    c = replace(simple(sheet(name)), spill_height=0.0, needle_arm=1e3, idle_jet=1e-6, economiser=1e-6, idle_bleed=0.0)
    # By hand: the depression at the nozzle is (choke + booster x venturi - bowl) times the air's square, the fuel's way is jet,
    # pickup and nozzle in series; both laws are square roots, so the air flow cancels.
    density, fuel = float(standard_air().density), 736.3
    passage = c.venturi_discharge * (circle(c.venturi_bore) - circle(c.booster_outside) + circle(c.booster_bore))
    plate = plate_opening(c.air_horn_bore, c.choke_shaft, c.choke_closed_angle, c.choke_travel) + c.choke_clearance
    throat, horn = 1 / passage**2, 1 / (c.choke_discharge * plate) ** 2
    bowl = c.bowl_seal_leak**2 / (c.bowl_seal_leak**2 + c.bowl_vent_area**2) * (throat + horn)
    jet = c.jet_discharge * (circle(c.main_jet) - circle(c.rod_steps[0][1]))
    ways = (jet, c.pickup_discharge * circle(c.pickup_bore), c.nozzle_discharge * circle(c.nozzle_bore))
    limit = np.sqrt(sum(1 / way**2 for way in ways) * density / fuel / (c.booster_multiplication * throat + horn - bowl))
    states = solve(c, points_at(np.full(3, 2000 / 60), np.radians([1, 2, 4])), checked=False)
    assert np.all(states.mach < 0.03)
    # T-1: 14.32.
    np.testing.assert_allclose(states.air_fuel[:, 0], limit, rtol=3e-4)


@pytest.mark.parametrize("name", BOTH)
@pytest.mark.parametrize("well", ["solid fuel", "emulsion tube"])
def test_a_bleed_always_leans(name: str, well: Well) -> None:
    holes = sheet("T-1").tube_holes if well == "emulsion tube" else ()
    c = replace(simple(sheet(name)), well=well, tube_holes=holes)
    points = points_of(c.points)
    plain = solve(c, points, checked=False).air_fuel
    bores = (0.02 * INCH, 0.04 * INCH, 0.06 * INCH)
    bled = [solve(replace(c, main_bleed=bore), points, checked=False).air_fuel for bore in bores]
    for less, more in pairwise([plain, *bled]):
        assert np.all(more >= less * (1 - 1e-9))
    assert bled[-1][FULL, 0] > plain[FULL, 0] * 1.01


def test_a_tube_flattens_where_a_fixed_bleed_only_leans() -> None:
    base = simple(sheet("T-1"))
    points = points_at(np.full(8, 2500 / 60), np.radians(np.linspace(14, 78, 8)))
    plain = solve(base, points, checked=False).air_fuel[:, 0]
    fixed = solve(replace(base, main_bleed=0.05 * INCH), points, checked=False).air_fuel[:, 0] / plain
    tube = replace(base, well="emulsion tube", main_bleed=sheet("T-1").main_bleed, tube_holes=sheet("T-1").tube_holes)
    bled = solve(tube, points, checked=False).air_fuel[:, 0]
    # Every law is a square root: a fixed bleed leans by one factor, all over.
    assert np.ptp(fixed) / fixed.mean() < 0.015
    # A tube leans the more, the more holes the falling fuel lays bare; so the spread of the mixture is smaller.
    assert np.all(np.diff(bled / plain) >= -1e-9)
    assert np.ptp(bled) / bled.mean() < np.ptp(plain) / plain.mean()


def test_a_bleed_that_sees_the_venturi_leans_less_and_in_the_end_gives_fuel() -> None:
    c = replace(simple(sheet("T-2")), main_bleed=0.05 * INCH)
    points = points_of(c.points)
    leaning = [solve(replace(c, bleed_signal_share=share), points, checked=False) for share in (0.0, 0.35, 0.7, 1.0)]
    for less, more in pairwise(leaning):
        assert np.all(more.air_fuel <= less.air_fuel * (1 + 1e-9))
    assert leaning[0].bleed_fuel[FULL, 0] == 0
    gives = solve(replace(c, bleed_signal_share=1.0, booster_multiplication=1.0, level_error=0.2 * INCH), points, checked=False)
    assert gives.bleed_fuel[FULL, 0] > 0


@pytest.mark.parametrize("name", BOTH)
def test_the_level_counts_most_at_transition(name: str) -> None:
    healthy_mixture = mixture(sheet(name))
    low, high = (faulty(name, f"level-1/8-in-{end}") / healthy_mixture - 1 for end in ("low", "high"))
    assert np.all(low >= -1e-9)
    assert np.all(high <= 1e-9)
    for change in (abs(low), abs(high)):
        assert change.argmax() == TRANSITION
        assert 0.045 < change[TRANSITION] < 0.075
        assert change[IDLE] < 0.015
        assert change[FULL] < 0.003


@pytest.mark.parametrize("name", BOTH)
def test_bleeds_leaks_and_screw_act_where_the_trade_feels_them(name: str) -> None:
    normal = mixture(sheet(name))
    idle_bleed = faulty(name, "idle-bleed-blocked") / normal - 1
    assert idle_bleed.argmin() == IDLE
    main_bleed = faulty(name, "main-bleed-blocked") / normal - 1
    assert np.all(np.diff(main_bleed[TRANSITION:]) < 0)
    leak = fault_named("manifold-leak-1/8-in").applied(sheet(name))
    leaned = mixture(leak) / normal - 1
    assert np.all(leaned > 0)
    assert np.all(np.diff(leaned) < 0)
    points = points_of(leak.points)
    assert np.all(solve(leak, points).vacuum <= solve(sheet(name), points).vacuum + 1e-6)
    screw = abs(faulty(name, "mixture-screw-1/2-turn-in") / normal - 1)
    assert screw[IDLE] > 2 * screw[OFF_IDLE] > 20 * screw[CRUISE]


@pytest.mark.parametrize("name", BOTH)
def test_rods_and_spring_change_what_they_govern_and_nothing_else(name: str) -> None:
    normal = mixture(sheet(name))
    down, up, weak = (faulty(name, f) / normal - 1 for f in ("rod-stuck-down", "rod-stuck-up", "spring-weak"))
    assert np.all(abs(down[: CRUISE + 1]) < 1e-9)
    assert np.all(down[HEAVY:] > 0.15)
    assert np.all(up[: CRUISE + 1] < 0)
    assert np.all(abs(up[HEAVY:]) < 0.01)
    assert weak[HEAVY] > 0.15
    assert abs(weak[FULL]) < 1e-9


@pytest.mark.parametrize("name", BOTH)
def test_at_full_throttle_the_idle_circuit_gives_air_to_the_main_well(name: str) -> None:
    states = solve(sheet(name), points_of(sheet(name).points))
    assert states.idle_fuel[FULL, 0] == 0
    assert states.back_bleed[FULL, 0] > 0
    assert states.back_bleed[IDLE, 0] == 0
    assert -0.03 < faulty(name, "idle-jet-blocked-to-1/3")[FULL] / states.air_fuel[FULL, 0] - 1 < 0


@pytest.mark.parametrize("name", BOTH)
def test_thin_air_enriches_by_the_square_root_of_its_density(name: str) -> None:
    # US Standard Atmosphere 1976 at 4000 ft: sigma 0.88809, square root 0.94238. The float and the rods go their own way: 2 %,
    # and at transition, where the nozzle is just starting, a little more.
    found = at_altitude(sheet(name), 1219.2)
    assert found.density_ratio == pytest.approx(0.88809, abs=5e-6)
    assert found.square_root_law == pytest.approx(0.94238, abs=5e-6)
    assert np.all(abs(found.uncorrected / found.square_root_law - 1) < 0.026)
    assert np.all(abs(np.delete(found.uncorrected, TRANSITION) / found.square_root_law - 1) < 0.02)


@pytest.mark.parametrize("name", BOTH)
def test_a_two_position_compensator_is_right_at_one_place_only(name: str) -> None:
    found = at_altitude(sheet(name), 1219.2)
    assert found.reason == ""
    assert found.corrected[IDLE] == pytest.approx(1, abs=1e-6)
    assert found.corrected[CRUISE] == pytest.approx(1, abs=1e-6)
    assert np.all(found.corrected > found.uncorrected)
    assert np.all(found.left_open > 1.0)
    assert 0.01 * INCH < found.idle_bleed < found.main_bleed < 0.1 * INCH
    # Without one, the jet's open area must shrink by about the square root of the density ratio.
    assert found.jet_share == pytest.approx(found.square_root_law, abs=0.01)
    higher = at_altitude(sheet(name), 2000.0)
    assert higher.idle_bleed > found.idle_bleed
    assert higher.main_bleed > found.main_bleed


def test_at_sea_level_a_compensator_has_nothing_to_do() -> None:
    found = at_altitude(sheet("T-1"), 0.0)
    assert np.all(abs(found.uncorrected - 1) < 1e-12)
    assert max(found.idle_bleed, found.main_bleed) < 1e-6
    with pytest.raises(UseError, match="has no operating point `climb`; it has curb idle, off idle"):
        at_altitude(sheet("T-1"), 100.0, main_at="climb")


@pytest.mark.parametrize("name", BOTH)
def test_ethanol_hardly_moves_the_ratio_and_leans_lambda(name: str) -> None:
    points = points_of(sheet(name).points)
    straight, blend = (solve(sheet(name), points, Conditions(fuel=fuel)) for fuel in (GASOLINE, E10))
    assert np.all(abs(blend.air_fuel / straight.air_fuel - 1) < 0.015)
    assert np.all(abs(blend.lam / straight.lam - 14.7 / 14.1) < 0.015)


@pytest.mark.parametrize("name", BOTH)
def test_a_balanced_vent_bears_a_clogged_cleaner_and_an_outside_vent_does_not(name: str) -> None:
    normal = mixture(sheet(name))
    balanced = faulty(name, "air-cleaner-blocked") / normal - 1
    outside = faulty(name, "air-cleaner-blocked-outside-vent") / normal - 1
    assert np.all(abs(balanced) < 0.03)
    assert np.all(outside[HEAVY:] < -0.15)


def test_plates_opened_in_place_of_the_bypass_enrich_idle_and_weaken_the_screw() -> None:
    c = healthy(sheet("T-2"))
    idle = c.points[IDLE]
    wanted = solve(c, points_of([idle])).vacuum[0, 0]
    shut = replace(c, idle_bypass=0.0)
    opened = float(throttle_for_vacuum(shut, idle.speed, wanted)[0])
    assert opened > idle.throttle
    at = points_at([idle.speed], [opened])
    assert solve(shut, at).air_fuel[0, 0] < solve(c, points_of([idle])).air_fuel[0, 0]

    def authority(made: Carburetor, points: Points) -> float:
        turned = replace(made, mixture_screw_turns=made.mixture_screw_turns - 0.5)
        return float(solve(turned, points).air_fuel[0, 0] / solve(made, points).air_fuel[0, 0] - 1)

    assert authority(shut, at) < authority(c, points_of([idle]))


@pytest.mark.parametrize("name", BOTH)
def test_a_colder_coil_means_a_smaller_opening_and_a_richer_mixture(name: str) -> None:
    c = sheet(name)
    points = replace(points_of(c.points), on_stop=np.zeros(6, dtype=bool))
    coils = [solve_cold(c, points, 273.15 + t) for t in (-20, 0, 20, 40, 80)]
    for colder, warmer in pairwise(coils):
        assert np.all(colder.choke < warmer.choke)
        assert np.all(colder.air_fuel < warmer.air_fuel * 1.0001)
    assert np.all(coils[-1].choke == pytest.approx(float(c.choke_travel)))
    np.testing.assert_allclose(coils[-1].air_fuel, solve(c, points).air_fuel, rtol=1e-9)


@pytest.mark.parametrize("name", BOTH)
def test_the_choke_rests_where_its_torques_balance(name: str) -> None:
    c = healthy(sheet(name))
    s = solve_cold(c, points_of(c.points), 283.15)
    rest = opening_torque(c, s.choke, s.choke_drop, s.horn_vacuum, 283.15)
    free = (s.choke > 1e-6) & (s.choke < c.choke_travel - 1e-6)
    assert free.any()
    assert np.all(abs(np.asarray(rest)[free]) < 1e-6)
    frozen = solve_cold(replace(c, vacuum_break_spring=0.0, air_torque_factor=0.0), points_of(c.points), 253.15)
    assert np.all(frozen.choke < 1e-9)
    stuck = solve_cold(fault_named("choke-stuck-at-45-deg").applied(c), points_of(c.points), 253.15)
    assert np.all(stuck.choke == np.radians(45))


def test_the_cam_steps_down_as_the_choke_opens() -> None:
    c = sheet("T-1")
    angles = np.degrees(fast_idle(c, np.radians([10, 20, 40, 60]), np.radians(4.0)))
    assert angles == pytest.approx([9.5, 7.5, 6.0, 4.0])
    assert np.degrees(free_coil(c, 303.15)) == pytest.approx(15.0)


def test_twice_the_barrels_take_twice_the_air_of_one_mixture() -> None:
    c = sheet("T-1")
    twice = replace(
        c,
        barrels=2.0,
        displacement=2 * c.displacement,
        idle_bypass=2 * c.idle_bypass,
        air_cleaner_resistance=c.air_cleaner_resistance / 4,
    )
    points = points_of(c.points)
    one, two = solve(c, points), solve(twice, points)
    np.testing.assert_allclose(two.air, 2 * one.air, rtol=1e-11)
    # The one float sees the whole flow, so the level is not quite the same.
    assert np.all(abs(two.air_fuel / one.air_fuel - 1) < 0.004)


@pytest.mark.parametrize(("name", "millilitres", "seconds"), [("T-1", 2.15, 1.02), ("T-2", 2.89, 0.76)])
def test_a_pump_gives_what_the_model_prints(name: str, millilitres: float, seconds: float) -> None:
    c = sheet(name)
    shot = pump.shot_volume(c.pump_bore, c.pump_stroke, c.pump_delivery)
    assert shot * 1e6 == pytest.approx(millilitres, abs=0.005)
    jets = c.pump_jets * circle(c.pump_jet)
    time = pump.discharge_time_spring(
        circle(c.pump_bore),
        c.pump_stroke,
        c.pump_spring_force,
        c.pump_spring_rate,
        GASOLINE.density(),
        c.pump_jet_discharge,
        jets,
    )
    assert time == pytest.approx(seconds, abs=0.005)


# --- load, free idle, units --------------------------------------------------------------------------------


@settings(max_examples=12, deadline=None)
@given(name=st.sampled_from(BOTH), rpm=st.floats(800, 4000), degrees=st.floats(3, 60))
def test_a_load_gives_back_the_throttle_that_made_it(name: str, rpm: float, degrees: float) -> None:
    c = sheet(name)
    state = solve(c, points_at([rpm / 60], [np.radians(degrees)]))
    found = throttle_for_vacuum(c, rpm / 60, state.vacuum[0])
    again = solve(c, points_at([rpm / 60], found))
    assert again.vacuum[0, 0] == pytest.approx(state.vacuum[0, 0], rel=1e-6, abs=0.1)
    widest = solve(c, points_at([rpm / 60], [np.pi / 2 - float(c.throttle_closed_angle)]))
    share = state.engine_air[0, 0] / widest.engine_air[0, 0]
    half = solve(c, points_at([rpm / 60], throttle_for_share(c, rpm / 60, share)))
    assert half.engine_air[0, 0] == pytest.approx(state.engine_air[0, 0], rel=1e-9)


def test_a_load_that_is_not_reached_is_no_number() -> None:
    found = throttle_for_vacuum(sheet("T-2"), np.array([700 / 60, 700 / 60]), np.array([17.0, 29.0]) * INHG)
    assert np.isfinite(found[0])
    assert np.isnan(found[1])
    with pytest.raises(RangeError, match=r"vacuum is -3; it must lie from 0 up"):
        throttle_for_vacuum(sheet("T-2"), 10.0, -3.0)
    with pytest.raises(RangeError, match=r"share of full air is 1\.5; it must lie from 0 to 1"):
        throttle_for_share(sheet("T-2"), 10.0, 1.5)


@pytest.mark.parametrize(("name", "drag"), [("T-1", 54.5), ("T-2", 53.8)])
def test_a_healthy_engine_idles_at_the_sheets_speed(name: str, drag: float) -> None:
    assert idle_drag(sheet(name)) / 1000 == pytest.approx(drag, abs=0.05)
    assert idle_speed(healthy(sheet(name)), sheet(name))[0] * 60 == pytest.approx(700, abs=1e-6)


@pytest.mark.parametrize("name", BOTH)
def test_units_scale_out(name: str) -> None:
    """All lengths doubled: four times the flow at the same pressures, where nothing depends on a head of fuel or a spring."""
    c = healthy(sheet(name))
    two = 2.0
    changed: dict[str, Any] = {}
    for key, entry in entries(Carburetor).items():
        metres = entry.unit.dimension[0] if entry.unit.kind in {"length", "area", "volume"} else None
        if entry.pair:
            changed[key] = tuple(
                tuple(v * two if part.unit.kind == "length" else v for v, part in zip(step, entry.pair, strict=True))
                for step in getattr(c, key)
            )
        elif metres is not None:
            changed[key] = getattr(c, key) * two ** int(metres)
    # A hydraulic head and a spring do not scale so: take heads out, hold the rods, take the cleaner with the fourth power.
    still: dict[str, Any] = {"rod_held_at": 0.0, "spill_height": 0.0, "idle_rise": 0.0, "level_error": 0.0, "tube_share": 0.0}
    big = replace(
        c, **{**changed, **still, "displacement": c.displacement * 4, "air_cleaner_resistance": c.air_cleaner_resistance / 16}
    )
    small = replace(c, **still)
    points = points_of(c.points)
    one, other = (solve(made, points, checked=False) for made in (small, big))
    np.testing.assert_allclose(other.air, 4 * one.air, rtol=1e-9)
    np.testing.assert_allclose(other.manifold_pressure, one.manifold_pressure, rtol=1e-10)


# --- refusals --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"main_jet": -0.001}, "main_jet (main jet bore) is −0.039370 in; it must lie from 0.005 in to 0.5 in"),
        ({"main_jet": float("nan")}, "main_jet (main jet bore) is nan; it must lie from 0.005 in to 0.5 in"),
        ({"displacement": float("inf")}, "displacement (displacement) is inf; it must lie from 0.05 L to 20 L"),
        (
            {"main_jet": 0.0015},
            "rod_steps: a rod of 0.07000 in does not fit a main_jet of 0.05906 in; it must be thinner than the jet",
        ),
        (
            {"fuel_pressure": -1.0},
            "fuel_pressure (fuel pressure at the inlet) is −0.00014504 psi; it must lie from 0.1 psi to 20 psi",
        ),
        ({"booster_outside": 0.05}, "booster_outside is 1.969 in, venturi_bore is 1.340 in; booster_outside must be the smaller"),
        ({"barrels": 1.5}, "barrels is not a whole number; write 1, 2 or 4"),
    ],
)
def test_a_value_that_cannot_be_is_refused_with_its_range(change: dict[str, Any], says: str) -> None:
    with pytest.raises(RangeError) as caught:
        solve(replace(sheet("T-1"), **change), points_of(sheet("T-1").points))
    assert str(caught.value).replace("\u202f", " ").replace("-", "−") == says.replace("-", "−")


@pytest.mark.parametrize(
    ("speed", "throttle", "says"),
    [
        (-10.0, 0.1, "speed is -600 rev/min; it must lie from 60 rev/min to 12000 rev/min"),
        (float("nan"), 0.1, "speed is nan rev/min; it must lie from 60 rev/min to 12000 rev/min"),
        (20.0, -0.1, "throttle is -5.72958°; it must lie from 0° to 90°"),
        (20.0, 3.0, "throttle is 171.887°; it must lie from 0° to 90°"),
    ],
)
def test_an_operating_point_that_cannot_be_is_refused(speed: float, throttle: float, says: str) -> None:
    with pytest.raises(RangeError) as caught:
        points_at([speed], [throttle])
    assert str(caught.value) == says


def test_an_unknown_fuel_is_named_with_the_nearest() -> None:
    with pytest.raises(UseError, match=r"`gasolin` is not a fuel known here; did you mean `gasoline`\?"):
        fuel_named("gasolin")
    with pytest.raises(RangeError, match="fuel temperature is 400"):
        GASOLINE.density(400.0)


def test_conditions_of_points_become_columns() -> None:
    air = Air(np.array([1e5, 9e4]), 288.15, np.array([1.2, 1.1]))
    assert in_rows(Conditions(air), slice(0, 1)).air.pressure.shape == (1, 1)  # type: ignore[union-attr]
    assert unit("inHg").to_si(1) == pytest.approx(INHG)  # type: ignore[arg-type]
