"""
The whole carburetor a second time: slow, one point at a time, in the short symbols of the course's model, solved by SciPy.

Written from the model's text, not from the program; the two must agree on random machines.
"""

from __future__ import annotations

from math import acos, cos, pi, sin, sqrt
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from grader.circuits.carburetor import points_at, solve
from grader.circuits.specimens import Carburetor, healthy
from grader.items.specimen_file import load_specimen

ROOT = Path(__file__).parents[2]
R, GAM, G = 287.05287, 1.4, 9.80665


def area(d: float) -> float:
    return pi * d * d / 4


def ser(a: float, b: float) -> float:
    return a * b / sqrt(a * a + b * b + 1e-30)


def rt(x: float) -> float:
    return sqrt(max(x, 0.0))


def orifice(cda: float, pu: float, t: float, pd: float) -> float:  # 2.1
    rc = (2 / (GAM + 1)) ** (GAM / (GAM - 1))
    r = min(max(pd / pu if pu > 0 else 1.0, rc), 1.0)
    return cda * pu / sqrt(R * t) * r ** (1 / GAM) * sqrt(2 * GAM / (GAM - 1) * max(1 - r ** ((GAM - 1) / GAM), 0.0))


def plate(bore: float, shaft: float, psi0: float, th: float) -> float:  # 2.7
    a = shaft / bore
    k = min(max(cos(psi0 + th) / cos(psi0), a), 1.0)
    b = min(a / k, 1.0)
    return bore**2 / 2 * (acos(a) - a * sqrt(1 - a * a) + a * sqrt(1 - b * b) - k * acos(b))


def second(machine: Carburetor, n: float, th: float) -> SimpleNamespace:
    """Sea level, 15 °C, dry, gasoline, warm: n in rev/min, th in radians."""
    c = SimpleNamespace(**vars(machine))  # plain numbers
    p, t, rf = 101325.0, 288.15, 740 * (1 - 0.001 * 5)
    ra = p / (R * t)
    nb = float(c.barrels)
    ve_n = float(c.best_filling_speed) * 60
    a_v = area(c.venturi_bore) - area(c.booster_outside) + area(c.booster_bore)
    a_ch = plate(c.air_horn_bore, c.choke_shaft, c.choke_closed_angle, c.choke_travel) + c.choke_clearance
    a_th = plate(c.throttle_bore, c.throttle_shaft, c.throttle_closed_angle, th)
    ve = c.volumetric_efficiency * (1 - c.filling_loss * ((n - ve_n) / ve_n) ** 2)

    def breathe(pm: float) -> SimpleNamespace:
        tm = t + c.charge_heating
        cyl = ve * c.displacement * n / 120 / (R * tm) * max(pm - c.residual_share * p, 0) / (1 - c.residual_share)
        m = max(cyl - orifice(c.leak_discharge * c.manifold_leak, p, t, pm), 0.0)
        mb = m / nb
        p_in = p - c.air_cleaner_resistance * m * m / (2 * ra)
        q = (mb / (c.choke_discharge * a_ch)) ** 2 / ra
        p1 = rt(p_in * (p_in - q))
        p_up = max(p1 - c.venturi_loss * (mb / a_v) ** 2 / (2 * ra), 0.0)
        past = orifice(nb * c.throttle_discharge * (a_th + c.throttle_clearance) + c.leak_discharge * c.idle_bypass, p_up, t, pm)
        return SimpleNamespace(cyl=cyl, m=m, mb=mb, p_in=p_in, p1=p1, p_up=p_up, f=past - m)

    pm = brentq(lambda x: breathe(x).f, c.residual_share * p, p, xtol=1e-9, rtol=1e-14)
    b = breathe(pm)

    def throat(dv: float) -> float:
        return orifice(c.venturi_discharge * a_v, b.p1, t, b.p1 - dv) - b.mb

    dv = brentq(throat, 0.0, 0.40 * b.p1, xtol=1e-10, rtol=1e-14)  # 2.3 by inverting 2.1
    d_main, d_n = (b.p_in - b.p1) + dv, (b.p_in - b.p1) + c.booster_multiplication * dv

    def sub(pf: float, rho: float, w: float) -> Any:  # 4.1
        depth = (pf * area(c.needle_seat_bore) * c.needle_arm / c.float_arm + w * c.float_weight_arm / c.float_arm) / (rho * G)
        return min(max(depth, 0), c.float_area * c.float_height) / c.float_area

    u = sqrt(2 * c.fuel_pressure / rf)
    y = min(b.m / 14 / (c.seat_discharge * pi * c.needle_seat_bore * rf * u), c.needle_lift)
    lev = sub(c.fuel_pressure, rf, c.float_weight) - sub(c.set_fuel_pressure, 736.3, c.set_float_weight)
    lev += -y * c.float_arm / c.needle_arm + c.level_error

    y_v = (c.power_spring_force - c.piston_weight - max(b.p_in - pm, 0) * area(c.vacuum_piston_bore)) / c.power_spring_rate
    y_m = c.lifter_offset + c.lifter_rate * (th - c.lifter_start)
    top = c.greatest_rod_lift
    lift = min(max(max(min(max(y_v, 0), top), y_m), 0), top)
    rod = float(np.interp(lift, [s[0] for s in c.rod_steps], [s[1] for s in c.rod_steps]))
    a_jet = max(area(c.main_jet) - area(rod), 0)

    d_bowl = d_main * c.bowl_seal_leak**2 / (c.bowl_seal_leak**2 + c.bowl_vent_area**2)
    d_air, d_s, d_n = -d_bowl, c.bleed_signal_share * d_main - d_bowl, d_n - d_bowl
    d_m = min(b.p_in - pm, (1 - 0.5282817877) * b.p_in) - d_bowl
    d_u = b.p_in - b.p_up - d_bowl
    cd = c.idle_discharge
    g_j = ser(c.jet_discharge * a_jet, c.pickup_discharge * area(c.pickup_bore))
    g_n, g_i, e = c.nozzle_discharge * area(c.nozzle_bore), cd * area(c.idle_jet), cd * area(c.economiser)
    psi0 = c.throttle_closed_angle
    rise = c.throttle_bore / 2 * (sin(psi0 + th) - sin(psi0)) / cos(psi0)
    fu = min(max((rise - c.slot_foot) / c.slot_length, 0), 1)
    slot = c.slot_width * c.slot_length
    screw = c.mixture_screw_turns / c.mixture_screw_travel
    g_low, g_up = ser(cd * (slot * fu + screw * area(c.mixture_port)), e), ser(cd * slot * (1 - fu), e)
    big_c = (rf / ra) ** 0.25 + (ra / rf) ** 0.25
    hi, hs = rf * G * (c.idle_rise - lev), rf * G * (c.spill_height - lev)

    def part6(x: float) -> SimpleNamespace:
        s = g_low * rt(2 * (d_m - x)) + g_up * rt(2 * (d_u - x))
        a = g_low * rt(2 * ra * (x - d_m)) + g_up * rt(2 * ra * (x - d_u))
        a += c.bleed_discharge * area(c.idle_bleed) * rt(2 * ra * (x - d_air))
        xx = a / sqrt(ra)
        m_fi = m_bb = 0.0
        if s >= xx:
            below = big_c * xx / 2 + sqrt((big_c * xx / 2) ** 2 + s * s - xx * xx)
            m_fi = sqrt(rf) * (s * s - xx * xx) / below if below > 0 else 0.0
            d_w = x - hi - m_fi**2 / (2 * rf * g_i**2)
        else:
            m_bb = sqrt(ra) * (xx - s)
            d_w = x + m_bb**2 / (2 * ra * g_i**2) - hi * (1 - min(m_bb / (g_i * sqrt(2 * ra * max(hi, 1))), 1))
        m_j = g_j * rt(2 * rf * d_w)
        if c.well == "solid fuel":
            d_j, g_b = d_w + hs, c.bleed_discharge * area(c.main_bleed)
        else:
            z = c.tube_share * max(d_w, 0) / (rf * G)
            bare = sum(c.hole_discharge * area(bore) * min(max((z - depth) / c.hole_span, 0), 1) for depth, bore in c.tube_holes)
            d_j, g_b = d_w, ser(c.bleed_discharge * area(c.main_bleed), bare)
        m_rev = g_b * rt(2 * rf * (d_s - d_j))
        m_b = g_b * rt(2 * ra * (d_j - d_s)) + m_bb
        m_n = m_j - m_fi - m_rev
        flow = max(m_n, 0)
        loss = flow**2 / rf + big_c * flow * m_b / sqrt(rf * ra) + m_b**2 / ra
        phi = max(2 * g_n**2 * (d_n - d_w - hs) - loss, -2e6 * g_n**2 * m_n)
        return SimpleNamespace(phi=phi, fuel=flow + m_rev + m_fi)

    x = brentq(lambda v: part6(v).phi, min(d_air, 0) - 1, max(d_m, d_n, d_u, 0) + max(hi, 0) + 1, xtol=1e-9, rtol=1e-14)
    g_p = c.pump_jet_discharge * (c.pump_jets / nb) * area(c.pump_jet)
    g_a = c.pump_jet_discharge * area(c.pump_jet_bleed)
    d_pj = (c.pump_signal_share * d_main - d_bowl) * g_p**2 / (g_p**2 + g_a**2)
    p_c = c.discharge_check_weight / area(c.discharge_check_seat) + rf * G * (c.pump_jet_height - lev)
    fuel = nb * (part6(x).fuel + g_p * rt(2 * rf * (d_pj - p_c)))
    most = rf * u * c.seat_discharge * min(pi * c.needle_seat_bore * c.needle_lift, area(c.needle_seat_bore))
    return SimpleNamespace(pm=pm, air=b.cyl, fuel=min(fuel, most), starved=fuel > most, lift=lift, level=lev)


DIMENSIONS = (
    "main_jet", "nozzle_bore", "main_bleed", "idle_jet", "economiser", "idle_bleed", "mixture_port", "venturi_bore",
    "power_spring_force", "displacement",
)  # fmt: skip


@pytest.mark.parametrize("name", ["T-1", "T-2"])
def test_both_models_agree_on_random_machines(name: str) -> None:
    # Ten main dimensions times random factors (log-normal, sigma 0.35), 500 to 4500 rev/min, 1 to 78 degrees.
    random = np.random.default_rng(20261125)
    sheet = healthy(load_specimen(ROOT, name))
    compared = 0
    for _ in range(60):
        factors = np.exp(0.35 * random.standard_normal(len(DIMENSIONS)))
        changed = {d: getattr(sheet, d) * f for d, f in zip(DIMENSIONS, factors, strict=True)}
        machine = Carburetor(**{**vars(sheet), **changed})
        if machine.booster_outside >= machine.venturi_bore:
            continue
        n, th = random.uniform(500, 4500, 5), np.radians(random.uniform(1, 78, 5))
        states = solve(machine, points_at(n / 60, th), checked=False)
        for row in range(5):
            if states.reason[row, 0]:
                continue
            other = second(machine, n[row], th[row])
            assert states.manifold_pressure[row, 0] == pytest.approx(other.pm, rel=1e-7)
            assert states.air_fuel[row, 0] == pytest.approx(other.air / other.fuel, rel=1e-6)
            assert states.rod_lift[row, 0] == pytest.approx(other.lift, abs=1e-9)
            assert states.level[row, 0] == pytest.approx(other.level, abs=1e-9)
            assert states.starved[row, 0] == other.starved
            compared += 1
    assert compared > 200
