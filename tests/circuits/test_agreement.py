"""The whole carburetor and the lessons' single relations say the same: a state is gone through by hand, relation by relation."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from grader.circuits.air import circle
from grader.circuits.carburetor import SEA_LEVEL, States, points_of, solve
from grader.circuits.catalog import relations
from grader.circuits.cold import opening_torque
from grader.circuits.running import burning
from grader.circuits.specimens import Specimen, healthy
from grader.items.specimen_file import load_specimen

ROOT = Path(__file__).parents[2]
BOTH = ("T-1", "T-2")
FUEL = 736.3  # gasoline at 20 °C


def say(name: str, **symbols: Any) -> float:
    return float(relations()[name](**{symbol: float(value) for symbol, value in symbols.items()}))


@cache
def worked(name: str) -> tuple[Specimen, States]:
    sheet = load_specimen(ROOT, name)
    return sheet, solve(sheet, points_of(sheet.points))


@pytest.mark.parametrize("row", range(6))
@pytest.mark.parametrize("name", BOTH)
def test_the_air_goes_by_the_single_relations(name: str, row: int) -> None:
    s, state = worked(name)
    air = SEA_LEVEL.air
    barrel = state.air[row, 0] / s.barrels
    horn = float(air.pressure) - say("cleaner_drop", k=s.air_cleaner_resistance, m=state.air[row, 0], rho=air.density)
    assert horn - state.manifold_pressure[row, 0] == pytest.approx(state.horn_vacuum[row, 0], rel=1e-9)
    plate = say("plate_opening", D=s.air_horn_bore, d=s.choke_shaft, psi_0=s.choke_closed_angle, theta=s.choke_travel)
    below = say("pressure_below_choke", p_u=horn, m=barrel, C_d=s.choke_discharge, A=plate + s.choke_clearance, rho=air.density)
    assert horn - below == pytest.approx(state.choke_drop[row, 0], rel=1e-7)
    throat = say("venturi_area", D=s.venturi_bore, d_o=s.booster_outside, d_i=s.booster_bore)
    depression = state.main_depression[row, 0] - state.choke_drop[row, 0]
    back = say("isentropic_flow", C_d=s.venturi_discharge, A=throat, p_u=below, T=air.temperature, p_d=below - depression)
    assert back == pytest.approx(barrel, rel=1e-9)
    boosted = say("booster_depression", k=s.booster_multiplication, delta_p=depression)
    assert boosted + state.choke_drop[row, 0] == pytest.approx(state.nozzle_depression[row, 0], rel=1e-9)


@pytest.mark.parametrize("row", range(6))
@pytest.mark.parametrize("name", BOTH)
def test_float_and_rods_go_by_the_single_relations(name: str, row: int) -> None:
    s, state = worked(name)
    sunk = say(
        "closing_submersion", D=s.needle_seat_bore, p=s.fuel_pressure, W=s.float_weight, l_n=s.needle_arm, l_w=s.float_weight_arm,
        l_f=s.float_arm, A=s.float_area, H=s.float_height, rho=FUEL,
    )  # fmt: skip
    inflow = state.air[row, 0] / 14
    lift = say(
        "needle_lift", m=inflow, C_d=s.seat_discharge, D=s.needle_seat_bore, rho=FUEL, p=s.fuel_pressure, y_m=s.needle_lift
    )
    assert say("level_above_set", h=sunk, h_0=sunk, y=lift, l_f=s.float_arm, l_n=s.needle_arm) == pytest.approx(
        state.level[row, 0], rel=1e-9
    )
    by_vacuum = say(
        "rod_lift", F_0=s.power_spring_force, W=s.piston_weight, D=s.vacuum_piston_bore, delta_p=state.horn_vacuum[row, 0],
        k=s.power_spring_rate, y_m=s.greatest_rod_lift,
    )  # fmt: skip
    by_linkage = min(max(s.lifter_offset + s.lifter_rate * (state.throttle[row, 0] - s.lifter_start), 0), s.greatest_rod_lift)
    assert max(by_vacuum, by_linkage) == pytest.approx(state.rod_lift[row, 0], rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("row", range(6))
@pytest.mark.parametrize("name", BOTH)
def test_the_main_jet_goes_by_the_single_relations(name: str, row: int) -> None:
    s, state = worked(name)
    lifts, diameters = zip(*s.rod_steps, strict=True)
    open_area = say("open_area", D=s.main_jet, d=np.interp(state.rod_lift[row, 0], lifts, diameters))
    pickup = s.pickup_discharge / s.jet_discharge * circle(s.pickup_bore)
    both = open_area * pickup / np.hypot(open_area, pickup)  # jet and pickup in series
    depression = max(state.well_depression[row, 0], 0.0)
    flow = say("jet_flow", C_d=s.jet_discharge, A=both, rho=FUEL, delta_p=depression)
    assert s.barrels * flow == pytest.approx(state.jet_fuel[row, 0], rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("row", range(4))
@pytest.mark.parametrize("name", BOTH)
def test_the_idle_passage_goes_by_the_single_relation(name: str, row: int) -> None:
    s, state = worked(name)
    assert state.back_bleed[row, 0] == 0
    found = say(
        "well_depression_at_idle", delta_p=state.idle_depression[row, 0], rho=FUEL, h=s.idle_rise - state.level[row, 0],
        m=state.idle_fuel[row, 0] / s.barrels, C_d=s.idle_discharge, A=circle(s.idle_jet),
    )  # fmt: skip
    assert found == pytest.approx(state.well_depression[row, 0], abs=1e-6)


@pytest.mark.parametrize("degrees", [0.0, 15.0, 30.0, 60.0])
@pytest.mark.parametrize("vacuum", [0.0, 10e3, 60e3])
def test_the_choke_goes_by_the_single_relations(degrees: float, vacuum: float) -> None:
    s, _ = worked("T-1")
    choke, drop, coil = np.radians(degrees), 400.0, 278.15
    air = say("air_torque", delta_p=drop, D=s.air_horn_bore, e=s.choke_plate_offset, psi_0=s.choke_closed_angle, theta=choke)
    broken = say(
        "vacuum_break_torque", k=s.vacuum_break_spring, theta_v=s.vacuum_break_angle, theta=choke, delta_p=vacuum,
        delta_p_0=s.vacuum_break_acts,
    )  # fmt: skip
    free = say("coil_free_angle", s=s.coil_deflection, T=coil, T_0=s.coil_neutral)
    held = say("coil_torque", k=s.coil_rate, theta=choke, theta_f=free)
    found = opening_torque(healthy(s), choke, drop, vacuum, coil)
    assert float(found) == pytest.approx(say("choke_opening_torque", M_a=air, M_v=broken, M_c=held), rel=1e-9)


@pytest.mark.parametrize("mixture", [0.3, 0.6, 0.88, 1.0, 1.2, 1.6])
def test_the_engine_burns_by_the_single_relation(mixture: float) -> None:
    assert float(burning(np.array(mixture))) == pytest.approx(say("burning_share", lamda=mixture), abs=1e-12)
