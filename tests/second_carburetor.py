"""
A second, slow carburetor, for the tests of what items and lessons take from the computed one.

The equations are written out again, in the short symbols of the course's model, one point at a time, each unknown found by
SciPy's `brentq`. Nothing of the program computes here: the sheets are read as plain YAML, their units by pint, their drills from
the list below, the faults are stated again as changes of a sheet's values.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from itertools import pairwise
from math import acos, cos, nan, pi, sin, sqrt
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import yaml
from scipy.optimize import brentq

from tests.items.by_hand import si

ROOT = Path(__file__).parents[1]
R, GAM, G = 287.05287, 1.4, 9.80665
RC = (2 / (GAM + 1)) ** (GAM / (GAM - 1))
STOICHIOMETRIC = 14.7
INCH = 0.0254
# Numbered drills, inches, as three public lists print them alike.
DRILLS = {
    "#49": 0.0730, "#51": 0.0670, "#54": 0.0550, "#55": 0.0520, "#56": 0.0465, "#57": 0.0430, "#60": 0.0400, "#66": 0.0330,
    "#69": 0.0292, "#72": 0.0250,
}  # fmt: skip


# The sheet, and what befalls it.


def read(value: Any) -> Any:
    """A value of a sheet in SI; words stay words."""
    if isinstance(value, list):
        return [{name: read(each) for name, each in entry.items()} for entry in value]
    if isinstance(value, int | float):
        return float(value)
    if value in DRILLS:
        return DRILLS[value] * INCH
    number = re.fullmatch(r"(-?[\d.]+) (\S+)", value)
    return si(float(number[1]), number[2]) if number else value


@cache
def sheet(name: str) -> Mapping[str, Any]:
    """A specimen's values by name, its parts all in one, and its operating points."""
    text = yaml.safe_load((ROOT / "questions" / "specimens" / f"{name}.yaml").read_text(encoding="utf-8"))
    parts = [part for key, part in text.items() if isinstance(part, dict) and key != "settings"]
    values = {key: read(value) for part in parts for key, value in part.items()}
    return {**values, "points": {point["name"]: point for point in text["points"]}}


HEALTHY: dict[str, Any] = {
    "level_error": 0.0, "inlet": 1.0, "ibleed": 1.0, "ijet": 1.0, "econ": 1.0, "jet": 1.0, "bleed": 1.0, "noz": 1.0,
    "gasket": 0.0, "check": 1.0, "check_leak": 0.0, "stick": None, "choke": None, "outside": 0.0, "stop_error": 0.0,
}  # fmt: skip
"""What is wrong with a carburetor beside the values of its sheet: nothing."""

FAULTS = {
    "": "",
    "level-1/8-in-high": "level_error + 0.125 in",
    "level-1/8-in-low": "level_error + -0.125 in",
    "needle-worn-level-3/8-in-high": "level_error + 0.375 in",
    "float-logged-weight-x-1.6": "float_weight x 1.6",
    "fuel-pressure-+-4-psi": "fuel_pressure + 4 psi",
    "inlet-blocked-to-1/4": "inlet = 0.25",
    "idle-bleed-blocked-to-1/2": "ibleed = 0.5",
    "idle-bleed-blocked": "ibleed = 0.02",
    "idle-jet-blocked-to-1/3": "ijet = 0.333333333333",
    "economiser-blocked-to-1/6": "econ = 0.166666666667",
    "mixture-screw-1/2-turn-in": "mixture_screw_turns + -0.5",
    "mixture-screw-1/2-turn-out": "mixture_screw_turns + 0.5",
    "plates-2-deg-too-far-open": "stop_error = 2 deg",
    "main-jet-blocked-to-0.85": "jet = 0.85",
    "main-jet-0.004-in-over": "main_jet + 0.004 in",
    "main-jet-0.003-in-under": "main_jet + -0.003 in",
    "main-bleed-blocked": "bleed = 0.02",
    "nozzle-blocked-to-0.7": "noz = 0.7",
    "cluster-gasket-leak": "gasket = 0.000459458 in^2",  # 0.65 of the area of a hole of 0.030 in
    "manifold-leak-1/8-in": "manifold_leak + 0.0122718463 in^2",  # the area of a hole of 0.125 in
    "throttle-shaft-worn": "throttle_clearance + 0.008 in^2",
    "rod-stuck-down": "stick = 0 in",
    "rod-stuck-up": "stick = greatest_rod_lift",
    "spring-weak-force-x-0.5": "power_spring_force x 0.5",
    "spring-strong-force-x-2.2": "power_spring_force x 2.2",
    "piston-bore-leaking": "vacuum_piston_bore x 0.3",
    "lifter-tab-0.110-in-high": "lifter_offset + 0.110 in",
    "pump-discharge-check-missing": "check = 0",
    "pump-discharge-check-leaking": "check_leak = 0.3",
    "pump-jet-bleed-blocked": "pump_jet_bleed = 0 in",
    "bowl-vent-blocked": "bowl_vent_area x 0.01",
    "choke-stuck-at-20-deg": "choke = 20 deg",
    "choke-stuck-at-45-deg": "choke = 45 deg",
    "air-cleaner-blocked": "air_cleaner_resistance x 15",
    "air-cleaner-blocked-outside-vent": "air_cleaner_resistance x 15, outside = 1",
    "idle-bypass-blocked": "idle_bypass = 0 in^2",
    "vacuum-break-split": "vacuum_break_spring x 0",
    "choke-coil-15-deg-rich": "coil_index + -15 deg",
    "choke-coil-15-deg-lean": "coil_index + 15 deg",
}
"""What each fault changes (part 14 of the model)."""


def spoilt(healthy: Mapping[str, Any], fault: str) -> dict[str, Any]:
    """A carburetor's values with a fault."""
    found = dict(healthy)
    for change in filter(None, FAULTS[fault].split(", ")):
        name, how, said = change.split(" ", 2)
        amount = healthy[said] if said in healthy else read(float(said) if re.fullmatch(r"-?[\d.]+", said) else said)
        found[name] = {"+": lambda old, by: old + by, "x": lambda old, by: old * by, "=": lambda _, by: by}[how](
            found[name], amount
        )
    return found


# The carburetor. The numbers in the comments are those of the model's equations.


def area(d: float) -> float:
    return pi * d * d / 4


def ser(a: float, b: float) -> float:
    return a * b / sqrt(a * a + b * b + 1e-30)


def rt(x: float) -> float:
    return sqrt(max(x, 0.0))


def clip(x: float, a: float, b: float) -> float:
    return min(max(x, a), b)


def gas(cda: float, pu: float, t: float, pd: float) -> float:  # 2.1
    r = clip(pd / pu, RC, 1) if pu > 0 else 1.0
    return cda * pu / sqrt(R * t) * r ** (1 / GAM) * sqrt(2 * GAM / (GAM - 1) * max(1 - r ** ((GAM - 1) / GAM), 0.0))


def plate(bore: float, shaft: float, psi0: float, th: float) -> float:  # 2.7
    a = shaft / bore
    k = clip(cos(psi0 + th) / cos(psi0), a, 1)
    b = min(a / k, 1.0)
    return bore**2 / 2 * (acos(a) - a * sqrt(1 - a * a) + a * sqrt(1 - b * b) - k * acos(b))


def between(x: float, places: list[tuple[float, float]]) -> float:  # 5.3
    for (x1, y1), (x2, y2) in pairwise(places):
        if x <= x2:
            return y1 + (y2 - y1) * (max(x, x1) - x1) / (x2 - x1)
    return places[-1][1]


def air_path(c: Any, p: float, t: float, ra: float, n: float, th: float) -> Any:  # 3
    nb, ve_n = c.barrels, c.best_filling_speed * 60  # a sheet's speed in SI is revolutions a second; n is rev/min
    choke = c.choke_travel if c.choke is None else c.choke
    a_v = area(c.venturi_bore) - area(c.booster_outside) + area(c.booster_bore)
    a_ch = plate(c.air_horn_bore, c.choke_shaft, c.choke_closed_angle, choke) + c.choke_clearance
    a_th = plate(c.throttle_bore, c.throttle_shaft, c.throttle_closed_angle, th) + c.throttle_clearance
    ve = c.volumetric_efficiency * (1 - c.filling_loss * ((n - ve_n) / ve_n) ** 2)
    left = c.residual_share

    def at(pm: float) -> Any:
        cyl = ve * c.displacement * n / 120 / (R * (t + c.charge_heating)) * max(pm - left * p, 0) / (1 - left)  # 3.1
        m = max(cyl - gas(c.leak_discharge * c.manifold_leak, p, t, pm), 0.0)  # 3.2
        mb = m / nb
        p_in = p - c.air_cleaner_resistance * m * m / (2 * ra)  # 3.3
        p1 = rt(p_in * (p_in - (mb / (c.choke_discharge * a_ch)) ** 2 / ra))  # 3.4
        p_up = max(p1 - c.venturi_loss * (mb / a_v) ** 2 / (2 * ra), 0.0)  # 3.5
        past = gas(nb * c.throttle_discharge * a_th + c.leak_discharge * c.idle_bypass, p_up, t, pm)
        return SimpleNamespace(pm=pm, cyl=cyl, m=m, mb=mb, p_in=p_in, p1=p1, p_up=p_up, excess=past - m)

    b = at(brentq(lambda pm: at(pm).excess, left * p, p, xtol=1e-9, rtol=1e-14))  # 3.6
    b.dv = brentq(lambda dv: gas(c.venturi_discharge * a_v, b.p1, t, b.p1 - dv) - b.mb, 0, 0.4 * b.p1, xtol=1e-10, rtol=1e-14)
    b.d_main = (b.p_in - b.p1) + b.dv  # 3.7
    b.d_n = (b.p_in - b.p1) + c.booster_multiplication * b.dv
    return b


def level(c: Any, healthy: Any, m: float, rf: float) -> float:  # 4
    def sub(of: Any, rho: float) -> float:
        lift = of.fuel_pressure * area(c.needle_seat_bore) * c.needle_arm + of.float_weight * c.float_weight_arm
        return clip(lift / c.float_arm / (rho * G), 0, c.float_area * c.float_height) / c.float_area

    u = sqrt(2 * max(c.fuel_pressure, 1) / rf)
    y = min(m / 14 / (c.seat_discharge * pi * c.needle_seat_bore * rf * u), c.needle_lift)
    return sub(c, rf) - sub(healthy, 736.3) - y * c.float_arm / c.needle_arm + c.level_error


def rod_lift(c: Any, b: Any, th: float) -> float:  # 5.1, 5.2
    if c.stick is not None:
        return float(c.stick)
    pull = max(b.p_in - b.pm, 0) * area(c.vacuum_piston_bore)
    by_spring = (c.power_spring_force - c.piston_weight - pull) / c.power_spring_rate
    return clip(max(clip(by_spring, 0, 1), c.lifter_offset + c.lifter_rate * (th - c.lifter_start)), 0, c.greatest_rod_lift)


def barrel_fuel(c: Any, b: Any, th: float, lift: float, lev: float, d_bowl: float, ra: float, rf: float) -> float:  # 6
    d_a, d_s, d_n = -d_bowl, c.bleed_signal_share * b.d_main - d_bowl, b.d_n - d_bowl
    d_m, d_u = min(b.p_in - b.pm, (1 - RC) * b.p_in) - d_bowl, b.p_in - b.p_up - d_bowl
    rod = between(lift, [(step["lift"], step["diameter"]) for step in c.rod_steps])
    g_j = ser(c.jet_discharge * c.jet * max(area(c.main_jet) - area(rod), 0), c.pickup_discharge * area(c.pickup_bore))  # 6.1
    g_n = c.nozzle_discharge * c.noz * area(c.nozzle_bore)
    cd, psi0 = c.idle_discharge, c.throttle_closed_angle
    g_i, e = cd * c.ijet * area(c.idle_jet), cd * c.econ * area(c.economiser)
    rise = c.throttle_bore / 2 * (sin(psi0 + th) - sin(psi0)) / cos(psi0)  # 6.2
    fu, slot = clip((rise - c.slot_foot) / c.slot_length, 0, 1), c.slot_width * c.slot_length
    screw = c.mixture_screw_turns / c.mixture_screw_travel
    g_low, g_up = ser(cd * (slot * fu + screw * area(c.mixture_port)), e), ser(cd * slot * (1 - fu), e)
    g_b0 = c.bleed_discharge * c.bleed * area(c.main_bleed)
    big_c = (rf / ra) ** 0.25 + (ra / rf) ** 0.25
    hi, hs = rf * G * (c.idle_rise - lev), rf * G * (c.spill_height - lev)

    def at(x: float) -> tuple[float, float]:
        s = g_low * rt(2 * (d_m - x)) + g_up * rt(2 * (d_u - x))  # 6.3
        into = g_low * rt(2 * ra * (x - d_m)) + g_up * rt(2 * ra * (x - d_u))  # 6.4
        into += (c.bleed_discharge * c.ibleed * area(c.idle_bleed) + c.gasket) * rt(2 * ra * (x - d_a))
        big_x, m_fi, m_bb = into / sqrt(ra), 0.0, 0.0
        if s >= big_x:  # 6.5
            below = big_c * big_x / 2 + sqrt((big_c * big_x / 2) ** 2 + s * s - big_x * big_x)
            m_fi = sqrt(rf) * (s * s - big_x * big_x) / below if below > 0 else 0.0
            d_w = x - hi - m_fi**2 / (2 * rf * g_i**2)  # 6.6
        else:
            m_bb = sqrt(ra) * (big_x - s)
            d_w = x + m_bb**2 / (2 * ra * g_i**2) - hi * (1 - min(m_bb / (g_i * sqrt(2 * ra * max(hi, 1))), 1))
        m_j = g_j * rt(2 * rf * d_w)  # 6.7
        if c.well == "solid fuel":  # 6.8
            d_j, g_b = d_w + hs, g_b0
        else:
            z = c.tube_share * max(d_w, 0) / (rf * G)
            bare = sum(area(hole["bore"]) * clip((z - hole["depth"]) / c.hole_span, 0, 1) for hole in c.tube_holes)
            d_j, g_b = d_w, ser(g_b0, c.hole_discharge * bare)
        m_rev = g_b * rt(2 * rf * (d_s - d_j))  # 6.9
        m_b = g_b * rt(2 * ra * (d_j - d_s)) + c.gasket * rt(2 * ra * (d_j - d_a)) + m_bb
        m_n = m_j - m_fi - m_rev  # 6.10
        out = max(m_n, 0.0)
        loss = out**2 / rf + big_c * out * m_b / sqrt(rf * ra) + m_b**2 / ra  # 2.6
        return max(2 * g_n**2 * (d_n - d_w - hs) - loss, -2e6 * g_n**2 * m_n), out + m_rev + m_fi  # 6.11

    x = brentq(lambda x: at(x)[0], min(d_a, 0) - 1, max(d_m, d_n, d_u, 0) + max(hi, 0) + 1, xtol=1e-9, rtol=1e-14)
    return at(x)[1]


def pulled_over(c: Any, b: Any, d_bowl: float, lev: float, rf: float) -> float:  # 8.3, 8.4
    g_p, g_a = (c.pump_jet_discharge * of for of in (c.pump_jets / c.barrels * area(c.pump_jet), area(c.pump_jet_bleed)))
    d_pj = (c.pump_signal_share * b.d_main - d_bowl) * g_p**2 / (g_p**2 + g_a**2)
    up = rf * G * (c.pump_jet_height - lev)
    check = c.check * c.discharge_check_weight / area(c.discharge_check_seat)
    return g_p * rt(2 * rf * (d_pj - check - up)) + c.check_leak * g_p * rt(2 * rf * (d_pj - up))


def state(c: Any, healthy: Any, n: float, th: float, altitude: float = 0.0) -> Any:
    """A carburetor at a speed (rev/min) and a throttle angle, dry, on gasoline; the air-fuel ratio and all on the way to it."""
    t = 288.15 - 0.0065 * altitude  # 1.1
    p = 101325 * (t / 288.15) ** 5.25588
    ra, rf = p / (R * t), 740 * (1 - 0.001 * 5)  # 1.3, 1.4
    b = air_path(c, p, t, ra, n, th)
    b.p, b.n, b.th = p, n, th
    b.level, b.lift = level(c, healthy, b.m, rf), rod_lift(c, b, th)
    b.d_bowl = b.d_main * c.bowl_seal_leak**2 / (c.bowl_seal_leak**2 + c.bowl_vent_area**2) - c.outside * (p - b.p_in)  # 7.1
    b.of_barrel = barrel_fuel(c, b, th, b.lift, b.level, b.d_bowl, ra, rf)
    fuel = c.barrels * (b.of_barrel + pulled_over(c, b, b.d_bowl, b.level, rf))
    u = sqrt(2 * max(c.fuel_pressure, 1) / rf)
    most = c.inlet * rf * u * c.seat_discharge * min(pi * c.needle_seat_bore * c.needle_lift, area(c.needle_seat_bore))  # 4.4
    b.fuel, b.starved = min(fuel, most), fuel > most
    b.air_fuel = b.cyl / b.fuel
    return b


def carburetor(name: str, fault: str = "") -> tuple[Any, Any]:
    """A specimen with a fault, and without."""
    values = {**sheet(name), **HEALTHY}
    return SimpleNamespace(**spoilt(values, fault)), SimpleNamespace(**values)


def place(c: Any, point: str) -> tuple[float, float]:
    """Speed (rev/min) and throttle angle of a point; the stop's error counts where the throttle rests on it."""
    of = c.points[point]
    return float(of["speed"].split()[0]), read(of["throttle"]) + (c.stop_error if of.get("on_stop") else 0.0)


@cache
def computed(name: str, point: str, fault: str = "", altitude: float = 0.0) -> Mapping[str, float]:
    """What a specimen does at a point of its sheet, warm, in SI, by the names that items and lessons use."""
    c, healthy = carburetor(name, fault)
    n, th = place(c, point)
    b = state(c, healthy, n, th, altitude)
    return {
        "vacuum": b.p - b.pm,
        "air": b.cyl,
        "fuel": b.fuel,
        "air_fuel": b.air_fuel,
        "lambda": b.air_fuel / STOICHIOMETRIC,
        "rod_lift": b.lift,
        "level": b.level,
        "throttle": th,
        "speed": n / 60,
    }


# Idling by itself, and cold.


def mean_pressure(c: Any, b: Any) -> float:  # 9.1
    lam, k = b.air_fuel / STOICHIOMETRIC, b.n / 1000
    burn = max(1 - ((lam - 0.88) / (0.55 if lam > 0.88 else 0.60)) ** 2, 0.0)
    return 0.30 * 2.95e6 * b.cyl * 120 / (b.n * c.displacement) * burn - (97e3 + 15e3 * k + 5e3 * k * k) - (b.p - b.pm)


def free_idle(name: str, fault: str = "") -> float:
    """The speed at which it idles by itself, rev/min; NaN where it stalls."""
    c, healthy = carburetor(name, fault)
    n0, th0 = place(healthy, "curb idle")
    drag = mean_pressure(healthy, state(healthy, healthy, n0, th0))  # 9.2
    _, th = place(c, "curb idle")

    def excess(n: float) -> float:
        return mean_pressure(c, state(c, healthy, n, th)) - drag

    low, high = 300.0, 2500.0  # halved as the model has it: at an end of the range it stays there
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if excess(middle) > 0 else (low, middle)
    return low if low >= 310 else nan


def opening_torque(c: Any, al: float, drop: float, vacuum: float, coil: float) -> float:  # 10.1
    air = c.air_torque_factor * drop * area(c.air_horn_bore) * c.choke_plate_offset * cos(c.choke_closed_angle + al)
    pull = c.vacuum_break_spring * max(c.vacuum_break_angle - al, 0) if vacuum > c.vacuum_break_acts else 0.0
    return air + pull - c.coil_rate * (al - (c.coil_deflection * (coil - c.coil_neutral) + c.coil_index))


def cold(name: str, point: str, coil: float, fault: str = "") -> Any:
    """A specimen at a point with its coil at a temperature, the plate where its torques balance, the throttle on its cam."""
    c, healthy = carburetor(name, fault)
    n, curb = place(c, point)
    on_stop = c.points[point].get("on_stop")

    def at(al: float) -> Any:
        th = curb
        for step in c.fast_idle_steps if on_stop else ():  # 10.4
            th = max(step["throttle"], curb) if al < step["choke_below"] else th
        c.choke = al
        found = state(c, healthy, n, th)
        found.choke = al
        return found

    def excess(al: float) -> float:
        b = at(al)
        return opening_torque(c, al, b.p_in - b.p1, b.p_in - b.pm, coil)

    if c.choke is not None:
        return at(c.choke)
    low, high = 0.0, c.choke_travel  # 10.2
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if excess(middle) > 0 else (low, middle)
    return at((low + high) / 2)
