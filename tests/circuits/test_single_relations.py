"""
The relations that the lessons teach, one by one, inside a solved state of the whole carburetor: both must say the same, to 1e-6.

The whole is solved on arrays, with code of its own; a slip in either shows here.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

import grader.circuits.float as float_circuit
from grader.circuits import choke, idle, main, passages, power, principles
from grader.circuits.air import standard_air
from grader.circuits.carburetor import States, points_at, points_of, solve
from grader.circuits.specimens import Specimen
from grader.items.specimen_file import load_specimen

AIR = standard_air()
FUEL, SET_FUEL = 736.3, 736.3
R = principles.AIR_CONSTANT
NAMES = ("T-1", "T-2")
SAME = 1e-6


@cache
def specimen(name: str) -> Specimen:
    return load_specimen(Path(__file__).parents[2], name)


@cache
def states(name: str) -> States:
    return solve(specimen(name), points_of(specimen(name).points), method="reference")


def each(name: str) -> list[tuple[Specimen, States, int]]:
    return [(specimen(name), states(name), row) for row in range(len(specimen(name).points))]


@pytest.mark.parametrize("name", NAMES)
def test_the_engine_draws_what_its_manifold_pressure_says(name: str) -> None:
    for c, s, row in each(name):
        air = principles.engine_air_at_manifold_pressure(
            c.displacement,
            c.points[row].speed,
            s.manifold_pressure[row, 0],
            AIR.pressure,
            AIR.temperature + c.charge_heating,
            c.volumetric_efficiency,
            c.best_filling_speed,
            c.filling_loss,
            c.residual_share,
        )
        assert air == pytest.approx(s.engine_air[row, 0], rel=SAME)


@pytest.mark.parametrize("name", NAMES)
def test_air_passes_choke_venturi_and_throttle_as_the_relations_say(name: str) -> None:
    for c, s, row in each(name):
        barrel = s.air[row, 0] / c.barrels
        horn = AIR.pressure - passages.cleaner_drop(c.air_cleaner_resistance, s.air[row, 0], AIR.density)
        opening = passages.plate_opening(c.air_horn_bore, c.choke_shaft, c.choke_closed_angle, c.choke_travel)
        below = choke.pressure_below_choke(horn, barrel, c.choke_discharge, opening + c.choke_clearance, AIR.density)
        assert horn - below == pytest.approx(s.choke_drop[row, 0], rel=1e-5)
        throat = main.venturi_area(c.venturi_bore, c.booster_outside, c.booster_bore)
        mach = s.mach[row, 0]
        through = passages.flow_at_mach(c.venturi_discharge, throat, below, AIR.temperature, mach, R)
        assert through == pytest.approx(barrel, rel=SAME)
        depression = below * (1 - passages.pressure_ratio_at_mach(mach))
        assert (horn - below) + depression == pytest.approx(s.main_depression[row, 0], rel=SAME)
        boosted = (horn - below) + main.booster_depression(c.booster_multiplication, depression)
        assert boosted == pytest.approx(s.nozzle_depression[row, 0], rel=SAME)
        above = below - main.venturi_loss(c.venturi_loss, barrel, throat, AIR.density)
        angle = c.points[row].throttle
        plate = passages.plate_opening(c.throttle_bore, c.throttle_shaft, c.throttle_closed_angle, angle)
        manifold = s.manifold_pressure[row, 0]
        past = passages.isentropic_flow(c.throttle_discharge, plate + c.throttle_clearance, above, AIR.temperature, manifold, R)
        bypass = passages.isentropic_flow(c.leak_discharge, c.idle_bypass, above, AIR.temperature, manifold, R)
        assert c.barrels * past + bypass == pytest.approx(s.air[row, 0], rel=1e-5)


@pytest.mark.parametrize("name", NAMES)
def test_the_float_holds_the_level_that_the_relations_say(name: str) -> None:
    for c, s, row in each(name):
        arms = (c.needle_arm, c.float_weight_arm, c.float_arm)
        now = float_circuit.closing_submersion(
            c.needle_seat_bore, c.fuel_pressure, c.float_weight, *arms, c.float_area, c.float_height, FUEL
        )
        lift = float_circuit.needle_lift(
            s.air[row, 0] / 14, c.seat_discharge, c.needle_seat_bore, FUEL, c.fuel_pressure, c.needle_lift
        )
        level = float_circuit.level_above_set(now, now, lift, c.float_arm, c.needle_arm)
        assert level == pytest.approx(s.level[row, 0], rel=1e-4, abs=1e-8)


@pytest.mark.parametrize("name", NAMES)
def test_the_rods_stand_where_the_relations_say_and_the_jet_passes_what_they_leave(name: str) -> None:
    for c, s, row in each(name):
        by_piston = power.rod_lift(
            c.power_spring_force,
            c.piston_weight,
            c.vacuum_piston_bore,
            s.horn_vacuum[row, 0],
            c.power_spring_rate,
            c.greatest_rod_lift,
        )
        by_linkage = power.lifter_lift(c.lifter_offset, c.lifter_rate, c.points[row].throttle, c.lifter_start)
        lift = power.hanger_lift(by_piston, by_linkage, c.greatest_rod_lift)
        assert lift == pytest.approx(s.rod_lift[row, 0], rel=SAME, abs=1e-12)
        steps = c.rod_steps
        place = max(n for n in range(len(steps) - 1) if lift >= steps[n][0])
        rod = power.rod_diameter_between(lift, *steps[place], *steps[place + 1])
        jet = c.jet_discharge * power.open_area(c.main_jet, rod)
        both = passages.series_area(jet, c.pickup_discharge * principles.disc_area(c.pickup_bore))
        fuel = principles.jet_flow(1, both, FUEL, max(s.well_depression[row, 0], 0))
        assert c.barrels * fuel == pytest.approx(s.jet_fuel[row, 0], rel=SAME)


@pytest.mark.parametrize("name", NAMES)
def test_the_nozzle_carries_fuel_and_air_as_one_restriction(name: str) -> None:
    flowing = 0
    for c, s, row in each(name):
        fuel, air = s.nozzle_fuel[row, 0] / c.barrels, s.nozzle_air[row, 0] / c.barrels
        if fuel < 1e-9:  # dry, but for rounding
            continue
        flowing += 1
        slip = passages.slip_coefficient(FUEL, AIR.density)
        area = principles.disc_area(c.nozzle_bore)
        drop = passages.two_phase_drop(fuel, air, c.nozzle_discharge, area, slip, FUEL, AIR.density)
        bowl = float_circuit.bowl_depression(s.main_depression[row, 0], c.bowl_seal_leak, c.bowl_vent_area, 0)
        spill = float_circuit.spill_height(c.spill_height, s.level[row, 0])
        head = principles.fuel_head(FUEL, spill)
        drives = s.nozzle_depression[row, 0] - bowl - s.well_depression[row, 0] - head
        assert drop == pytest.approx(drives, rel=1e-5)
        turned = passages.fuel_flow_with_air(air, drives, c.nozzle_discharge, area, slip, FUEL, AIR.density)
        assert turned == pytest.approx(fuel, rel=1e-4)
    assert flowing >= 3


@pytest.mark.parametrize("name", NAMES)
def test_the_idle_circuit_draws_the_main_well_down_as_the_relation_says(name: str) -> None:
    drawing = 0
    for c, s, row in each(name):
        if s.idle_fuel[row, 0] == 0:
            continue
        drawing += 1
        well = idle.well_depression_at_idle(
            s.idle_depression[row, 0],
            FUEL,
            c.idle_rise - s.level[row, 0],
            s.idle_fuel[row, 0] / c.barrels,
            c.idle_discharge,
            principles.disc_area(c.idle_jet),
        )
        assert well == pytest.approx(s.well_depression[row, 0], rel=1e-5, abs=1e-3)
    assert drawing >= 3


@pytest.mark.parametrize("name", NAMES)
def test_the_idle_signal_in_one_line_is_near_what_the_whole_carburetor_finds(name: str) -> None:
    # Its lift left out, so near only; the plate nearly shut and the nozzle dry.
    c = specimen(name)
    first = c.points[0]
    s = solve(c, points_at([first.speed], [first.throttle]), method="reference")
    edge = idle.plate_edge_rise(c.throttle_bore, c.throttle_closed_angle, first.throttle)
    low = idle.slot_area_below_plate(edge, c.slot_foot, c.slot_length, c.slot_width)
    port = idle.mixture_port_area(c.mixture_screw_turns, c.mixture_screw_travel, c.mixture_port)
    out = c.idle_discharge * (low + port)
    out = passages.series_area(out, c.idle_discharge * principles.disc_area(c.economiser))
    jet, bleed = (c.idle_discharge * principles.disc_area(c.idle_jet), c.bleed_discharge * principles.disc_area(c.idle_bleed))
    choked = (1 - passages.critical_ratio()) * AIR.pressure
    # The slot above the plate's edge stands in air: it bleeds too.
    high = c.idle_discharge * (c.slot_width * c.slot_length - low)
    bleed += passages.series_area(high, c.idle_discharge * principles.disc_area(c.economiser))
    signal = idle.idle_signal(min(choked, s.horn_vacuum[0, 0]), out, jet, bleed, passages.slip_coefficient(FUEL, AIR.density))
    assert signal == pytest.approx(s.idle_depression[0, 0], rel=0.04)
    assert np.isfinite(signal)
