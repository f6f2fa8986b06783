"""
The numbers that lessons still type: results that a later line of the same calculation takes, and what no mark can ask the
computed carburetor for (a cold engine, a free idle, a pressure on the way). Each is found again here, from the sheets, by the
second carburetor and by plain geometry, and must stand in the lesson to the figures given. A sheet that changes makes this fail
where a lesson has to be mended.

In a fragment the number that is checked stands in braces.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from functools import cache
from math import acos, cos, degrees, isnan, pi, radians, sin, sqrt
from typing import Any

import pytest

from tests.items.by_hand import course, root, si
from tests.second_carburetor import (
    INCH,
    RC,
    G,
    area,
    carburetor,
    cold,
    computed,
    free_idle,
    opening_torque,
    place,
    plate,
    rt,
    ser,
    state,
)

IN2, LBF = INCH**2, 4.4482216152605
FREEZING = 273.15
SPACES = re.compile("[\N{NARROW NO-BREAK SPACE}\N{NO-BREAK SPACE}]")
T1, T2 = carburetor("T-1")[0], carburetor("T-2")[0]


@cache
def lesson(name: str) -> str:
    """A lesson's text, its spaces plain."""
    (found,) = (each for each in (*course().lessons, *course().pages) if each.file == f"lessons/{name}.md")
    return SPACES.sub(" ", found.body)


@cache
def at(name: str, point: str, fault: str = "") -> Any:
    c, healthy = carburetor(name, fault)
    return state(c, healthy, *place(c, point))


@cache
def cold_at(point: str, fault: str = "") -> Any:
    return cold("T-1", point, FREEZING, fault)


# Geometry and laws on the way, in SI.


def gap(opening: float) -> float:
    """T-1's throttle without its shaft, with the clearance, and how far its edge has risen."""
    c, psi = T1, T1.throttle_closed_angle
    return area(c.throttle_bore) * (1 - cos(psi + radians(opening)) / cos(psi)) + c.throttle_clearance


def edge(c: Any, opening: float) -> float:
    psi = c.throttle_closed_angle
    return c.throttle_bore / 2 * (sin(psi + radians(opening)) - sin(psi)) / cos(psi)


def slot_below(c: Any, opening: float) -> float:
    """Share of the slot below the plate's edge."""
    return min(max((edge(c, opening) - c.slot_foot) / c.slot_length, 0.0), 1.0)


def outlet(turns: float) -> float:
    """T-1's mixture port and slot at curb idle, as an area times its coefficient."""
    port = turns / T1.mixture_screw_travel * area(T1.mixture_port)
    return T1.idle_discharge * (port + slot_below(T1, 4) * T1.slot_length * T1.slot_width)


def above() -> float:
    return T1.idle_discharge * (1 - slot_below(T1, 4)) * T1.slot_length * T1.slot_width


def counts(bore: float) -> float:
    return T1.idle_discharge * area(bore)


def bled(share: float = 1.0) -> float:
    """T-1's idle bleed, so much of it, and beside it the slot above the edge through the economiser."""
    return share * counts(T1.idle_bleed) + ser(above(), counts(T1.economiser))


def signal(out: float, jet: float, bleed: float) -> float:
    """The idle signal of the lesson's formula, in kPa."""
    return 47.8 * out**2 / (out**2 + jet**2 + 5.15 * jet * bleed + bleed**2)


def idle_fuel(kilopascal: float, jet: float) -> float:
    """Through T-1's low-speed jet (mm², counted) at a signal in kPa, in g/s."""
    left = kilopascal * 1e3 - 736 * G * T1.idle_rise
    return jet * 1e-6 * sqrt(2 * 736 * left) * 1e3


def seat_flow() -> float:
    """What T-1's seat passes with the needle right down, in g/s."""
    ring = pi * T1.needle_seat_bore * T1.needle_lift
    return T1.seat_discharge * min(ring, area(T1.needle_seat_bore)) * sqrt(2 * 736.3 * T1.fuel_pressure) * 1e3


def jet_fuel(square_millimetre: float, pascal: float, coefficient: float) -> float:
    return coefficient * square_millimetre * 1e-6 * sqrt(2 * 740 * pascal) * 1e3


def venturi(air: float) -> float:
    """T-1's main venturi by Bernoulli, in Pa: air as printed, g/s, on 840 mm²."""
    return (air * 1e-3 / (T1.venturi_discharge * 840e-6)) ** 2 / (2 * 1.225)


def ring(step: int) -> float:
    return (area(T1.main_jet) - area(T1.rod_steps[step]["diameter"])) * 1e6


def bore(square_millimetre: float) -> float:
    return 2 * sqrt(square_millimetre * 1e-6 / pi)


def opened_again() -> Any:
    """T-2 with its bypass blocked, the plates opened until the air is back."""
    c, healthy = carburetor("T-2", "idle-bypass-blocked")
    n, _ = place(healthy, "curb idle")
    wanted = at("T-2", "curb idle").cyl
    th = root(lambda angle: state(c, healthy, n, angle).cyl - wanted, radians(2), radians(6))
    return state(c, healthy, n, th)


def screw_in(c: Any, healthy: Any, b: Any) -> float:
    """How much leaner half a turn of the screw makes it, in %."""
    turned = type(c)(**{**vars(c), "mixture_screw_turns": c.mixture_screw_turns - 0.5})
    return 100 * (state(turned, healthy, b.n, b.th).air_fuel / b.air_fuel - 1)


def cranking(flow: float) -> tuple[float, float]:
    """T-1's plate, in degrees, and the drop across it, in kPa, with so much air, the coil at 0 °C and no vacuum to speak of."""
    p, ra = 101325.0, 1.225

    def drop(al: float) -> float:
        opening = plate(T1.air_horn_bore, T1.choke_shaft, T1.choke_closed_angle, al) + T1.choke_clearance
        return p - rt(p * (p - (flow / (T1.choke_discharge * opening)) ** 2 / ra))

    al = root(lambda a: opening_torque(T1, a, drop(a), 0.0, FREEZING), radians(1), radians(60))
    return degrees(al), drop(al) / 1e3


def cold_cruise(air: float, vacuum: float) -> float:
    """T-1's plate, in degrees, with the coil at 0 °C, air in g/s and a vacuum in inHg."""
    p, ra = 101325.0, 1.225

    def torque(al: float) -> float:
        opening = plate(T1.air_horn_bore, T1.choke_shaft, T1.choke_closed_angle, al) + T1.choke_clearance
        drop = p - rt(p * (p - (air * 1e-3 / (T1.choke_discharge * opening)) ** 2 / ra))
        return opening_torque(T1, al, drop, vacuum * si(1, "inHg"), FREEZING)

    return degrees(root(torque, radians(5), radians(60)))


def break_angle(gap_inches: float) -> float:
    long_side = T1.air_horn_bore / 2 + T1.choke_plate_offset
    return degrees(acos((1 - gap_inches * INCH / long_side) * cos(T1.choke_closed_angle)) - T1.choke_closed_angle)


def coil_after(seconds: float) -> float:
    return 85.7 - 65.7 * 2.718281828459045 ** (-seconds / T1.coil_warming_time)


PER_KELVIN = degrees(T1.coil_deflection)
WIDE_OPEN = 20 + degrees(T1.choke_travel) / PER_KELVIN
MEAN_PUMP_FORCE = (T1.pump_spring_force - T1.pump_spring_rate * T1.pump_stroke / 2) / LBF


def steel_ball(inches: float) -> float:
    return pi / 6 * (inches * INCH) ** 3 * (7830 - 740) * G


def check_lifts(c: Any) -> float:
    return c.discharge_check_weight / area(c.discharge_check_seat) + 740 * G * c.pump_jet_height


def pulled_share() -> float:
    """What the plugged bleed adds to a barrel's fuel, as a change of the mixture, in %."""
    more = jet_fuel(0.343, 1100 - 519, T2.pump_jet_discharge)
    return 100 * (1 - 1 / (1 + more / (at("T-2", "full throttle").of_barrel * 1e3)))


def level_change(point: str, fault: str) -> float:
    return 100 * abs(computed("T-1", point, fault)["air_fuel"] / computed("T-1", point)["air_fuel"] - 1)


Number = Callable[[], float]
TYPED: list[tuple[str, str, Number]] = [
    # idle
    ("idle", "the nozzle sees a depression of {48} Pa", lambda: at("T-1", "curb idle").d_n),
    ("idle", "C_d: T-1 throttle_discharge\nA: {27.6} mm^2", lambda: gap(4) * 1e6),
    ("idle", "| 3° | [[choked_air_flow C_d=T-1 throttle_discharge, A={20.7} mm^2", lambda: gap(3) * 1e6),
    ("idle", "| 4° | [[choked_air_flow C_d=T-1 throttle_discharge, A={27.6} mm^2", lambda: gap(4) * 1e6),
    ("idle", "| 6° | [[choked_air_flow C_d=T-1 throttle_discharge, A={42.7} mm^2", lambda: gap(6) * 1e6),
    ("idle", "E={0.0440} in, z=T-1 slot_foot", lambda: edge(T1, 3) / INCH),
    ("idle", "E={0.0585} in, z=T-1 slot_foot", lambda: edge(T1, 4) / INCH),
    ("idle", "E={0.0873} in, z=T-1 slot_foot", lambda: edge(T1, 6) / INCH),
    ("idle", "at most the {47.8} kPa at which air chokes", lambda: (1 - RC) * 101.325),
    ("idle", "air chokes, {0.472} of the outside pressure", lambda: 1 - RC),
    ("idle", "| port and slot, times 0.75 | {0.707} mm² |", lambda: outlet(T1.mixture_screw_turns) * 1e6),
    ("idle", "| the same, times 0.75 | {1.150} mm² |", lambda: counts(T1.economiser) * 1e6),
    ("idle", "series_area A_1=0.707 mm^2, A_2={1.150} mm^2", lambda: counts(T1.economiser) * 1e6),
    ("idle", "| the same, times 0.75 | {2.025} mm² |", lambda: counts(T1.idle_bleed) * 1e6),
    ("idle", "| slot above the edge, times 0.75 | {2.054} mm² |", lambda: above() * 1e6),
    ("idle", "idle bleed and that together | {3.03} mm² |", lambda: bled() * 1e6),
    ("idle", "**jet**: the same, times 0.75 | {0.324} mm² |", lambda: counts(T1.idle_jet) * 1e6),
    ("idle", "A_d: {0.602} mm^2\n", lambda: ser(0.707, 1.150)),
    ("idle", "A_d={0.511} mm^2", lambda: ser(outlet(T1.mixture_screw_turns - 0.5), counts(T1.economiser)) * 1e6),
    ("idle", "A_j={0.108} mm^2", lambda: counts(T1.idle_jet) / 3 * 1e6),
    ("idle", "A_b={2.02} mm^2", lambda: bled(0.5) * 1e6),
    ("idle", "C: {5.15}\n", lambda: (736 / 1.225) ** 0.25 + (1.225 / 736) ** 0.25),
    ("idle", "A: {0.432} mm^2\n", lambda: area(T1.idle_jet) * 1e6),
    ("idle", "A={0.144} mm^2, rho", lambda: area(T1.idle_jet) / 3 * 1e6),
    ("idle", "delta_p: {1.178} kPa", lambda: signal(0.602, 0.324, 3.03)),
    ("idle", "delta_p={2.19} kPa", lambda: signal(0.602, 0.324, 2.02)),
    ("idle", "delta_p={1.54} kPa", lambda: signal(0.602, 0.108, 3.03)),
    ("idle", "delta_p={0.855} kPa", lambda: signal(0.511, 0.324, 3.03)),
    ("idle", "m_f={0.406} g/s", lambda: idle_fuel(1.178, 0.75 * 0.432)),
    ("idle", "m_f={0.567} g/s", lambda: idle_fuel(2.19, 0.75 * 0.432)),
    ("idle", "m_f={0.157} g/s", lambda: idle_fuel(1.54, 0.75 * 0.144)),
    ("idle", "m_f={0.339} g/s", lambda: idle_fuel(0.855, 0.75 * 0.432)),
    ("idle", "| bypass open | [[T-2 curb idle throttle to 2 figures]] | {10} %", lambda: 100 * slot_below(T2, 2.7)),
    ("idle", "air_fuel]] | {24} % leaner", lambda: screw_in(T2, T2, at("T-2", "curb idle"))),
    ("idle", "| blocked, plates opened | {3.7}°", lambda: degrees(opened_again().th)),
    ("idle", "| blocked, plates opened | 3.7° | {18} %", lambda: 100 * slot_below(T2, degrees(opened_again().th))),
    ("idle", "3.7° | 18 % | {10.8} |", lambda: opened_again().air_fuel),
    ("idle", "| 10.8 | {13} % leaner", lambda: screw_in(*carburetor("T-2", "idle-bypass-blocked"), opened_again())),
    # pump
    ("pump", "y={0.175} in as lbf", lambda: T1.pump_stroke / 2 / INCH),
    ("pump", "A_p: {285} mm^2", lambda: area(T1.pump_bore) * 1e6),
    ("pump", "F: {1.64} lbf", lambda: MEAN_PUMP_FORCE),
    ("pump", "A_j: {0.397} mm^2", lambda: area(T1.pump_jet) * 1e6),
    ("pump", "delta_p={25.6} kPa", lambda: 1.64 * LBF / 285e-6 / 1e3),
    ("pump", "s={0.2975} in", lambda: T1.pump_delivery * T1.pump_stroke / INCH),
    ("pump", "W: {0.00228} N", lambda: steel_ball(5 / 32)),
    ("pump", "A: {6.13} mm^2", lambda: area(T1.discharge_check_seat) * 1e6),
    ("pump", "A={6.13} mm^2, rho=740 kg/m^3, h=T-2", lambda: area(T2.discharge_check_seat) * 1e6),
    (
        "pump",
        "draws on each jet with about {1100} Pa",
        lambda: (lambda b: T2.pump_signal_share * b.d_main - b.d_bowl)(at("T-2", "full throttle")),
    ),
    ("pump", "A={0.343} mm^2, A_b", lambda: area(T2.pump_jet) * 1e6),
    ("pump", "A_b={0.487} mm^2", lambda: area(T2.pump_jet_bleed) * 1e6),
    ("pump", "delta_p_c={519} Pa", lambda: check_lifts(T2)),
    ("pump", "main circuit gives about {5.4} g/s there", lambda: at("T-2", "full throttle").of_barrel * 1e3),
    ("pump", "grows richer by some {4} %", pulled_share),
    # choke
    ("choke", "is only {0.83}° for each degree Fahrenheit", lambda: PER_KELVIN / 1.8),
    ("choke", "finds the plate at {26.2}°", lambda: degrees(cold_at("curb idle").choke)),
    ("choke", "a drop of {544} Pa across it", lambda: (lambda b: b.p_in - b.p1)(cold_at("curb idle"))),
    ("choke", "and {11} inHg of vacuum", lambda: (lambda b: (b.p - b.pm) / si(1, "inHg"))(cold_at("curb idle"))),
    ("choke", "with 4 g/s of air the plate stands at {6.7}°", lambda: cranking(0.004)[0]),
    ("choke", "need a drop of {2.2} kPa", lambda: cranking(0.004)[1]),
    ("choke", "delta_p: {2.23} kPa", lambda: cranking(0.004)[1]),
    ("choke", "P={23.8} W, R_h=1.5 dK/W as degC]] in the end", lambda: 13.8**2 / 8),
    ("choke", "T={35.7} degC", lambda: coil_after(30)),
    ("choke", "T={47.6} degC", lambda: coil_after(60)),
    ("choke", "T={61.5} degC", lambda: coil_after(110)),
    ("choke", "T: {68.67} degC", lambda: WIDE_OPEN),
    ("choke", "T_e: {85.7} degC", lambda: 20 + T1.coil_warming + 23.8 * 1.5),
    ("choke", "theta={2.39} deg", lambda: degrees((1 / 32) / (3 / 4))),
    ("choke", "21 g/s of air: {29}° at 15 inHg", lambda: cold_cruise(21, 15)),
    ("choke", "{22}° once the vacuum has fallen below 5 inHg", lambda: cold_cruise(21, 4.9)),
    ("choke", "at heavy load it stands at {34}°", lambda: degrees(cold_at("heavy load").choke)),
    ("choke", "the plate has to turn {4.5}° more", lambda: break_angle(0.200) - break_angle(0.150)),
    ("choke", "the rod moves by {0.059} in", lambda: radians(break_angle(0.200) - break_angle(0.150)) * 0.75),
    ("choke", "theta_f={-30} deg as N*mm]] |\n\nThey do", lambda: -20 * PER_KELVIN),
    ("choke", "the plate at [[coil_free_angle s=T-1 coil_deflection, T={50} degC", lambda: 20 + T1.coil_warming),
    ("choke", "It passes {15.6} °C", lambda: si(60, "degF") - FREEZING),
    ("choke", "T_e={52.85} degC", lambda: 5 + T1.coil_warming + 0.5 * 23.8 * 1.5),
    ("choke", "T_e={70.7} degC", lambda: 5 + T1.coil_warming + 23.8 * 1.5),
    ("choke", "T-1's cam holds the throttle at {9.5}°", lambda: degrees(T1.fast_idle_steps[2]["throttle"])),
    ("choke", "while the choke stands below {15}°", lambda: degrees(T1.fast_idle_steps[2]["choke_below"])),
    ("choke", "below 15°, at {7.5}° below 30°", lambda: degrees(T1.fast_idle_steps[1]["throttle"])),
    ("choke", "at 7.5° below {30}°", lambda: degrees(T1.fast_idle_steps[1]["choke_below"])),
    ("choke", "below 30°, at {6}° below 50°", lambda: degrees(T1.fast_idle_steps[0]["throttle"])),
    ("choke", "at 6° below {50}°", lambda: degrees(T1.fast_idle_steps[0]["choke_below"])),
    # main
    (
        "main",
        "A: {840} mm^2",
        lambda: (area(T1.venturi_bore) - area(T1.booster_outside) + area(T1.booster_bore)) * 1e6,
    ),
    ("main", "delta_p={1.257} inH2O", lambda: venturi(21.4) / si(1, "inH2O")),
    ("main", "delta_p={23.17} inH2O", lambda: venturi(91.9) / si(1, "inH2O")),
    ("main", "delta_p={313} Pa", lambda: venturi(21.4)),
    ("main", "delta_p_n: {595} Pa", lambda: T1.booster_multiplication * 313),
    ("main", "A: {1.90} mm^2", lambda: ring(0)),
    ("main", "delta_p: {539.7} Pa", lambda: 595 - 740 * G * T1.spill_height),
    ("main", "m_f: {1.325} g/s", lambda: jet_fuel(1.90, 539.7, T1.jet_discharge)),
    ("main", "A: {7.92} mm^2", lambda: area(T1.nozzle_bore) * 1e6),
    ("main", "A_b: {1.53} mm^2", lambda: area(T1.main_bleed) * 1e6),
    ("main", "A_b={6.13} mm^2", lambda: area(2 * T1.main_bleed) * 1e6),
    ("main", "to {2.00} mm²; the rod fills", lambda: 1.05 * 1.90),
    ("main", "together {4.48} mm²", lambda: 2.00 + area(T1.rod_steps[0]["diameter"]) * 1e6),
    ("main", "{16} % is missing", lambda: 100 * (1 - 14.7 / 17.5)),
    # power
    ("power", "{0.43} lbf on", lambda: (T1.power_spring_force - T1.piston_weight) / LBF),
    (
        "power",
        "less the weight, {0.1045} lbf is left over",
        lambda: (T1.power_spring_force - T1.piston_weight - si(6, "inHg") * area(T1.vacuum_piston_bore)) / LBF,
    ),
    ("power", "altitude_jet_area A_1={1.90} mm^2", lambda: ring(0)),
    ("power", "that is {4.27} mm²", lambda: ring(0) * sqrt(0.8881) + area(T1.rod_steps[0]["diameter"]) * 1e6),
    # float
    ("float", "At cruise T-1's nozzle sees {747} Pa", lambda: at("T-1", "cruise").d_n),
    ("float", "delta_p_1: {692} Pa", lambda: 747 - 740 * G * T1.spill_height),
    ("float", "delta_p_2: {862} Pa", lambda: 692 + 170.0),
    ("float", "each inch of depth pushes {1.9} in³ aside", lambda: T1.float_area / IN2),
    ("float", "V: {1.52} in^3", lambda: T1.float_area * T1.float_height / INCH**3),
    ("float", "That is {12} % more fuel for the same air", lambda: 100 * (sqrt(862 / 692) - 1)),
    ("float", "and {2.4} g are lacking each second", lambda: at("T-1", "full throttle").of_barrel * 1e3 - 0.25 * seat_flow()),
    ("float", "that is 40 over 2.4, some {17} s", lambda: 40 / 2.4),
    # measuring
    ("measuring", "0.0595 in for 0.055 in: {8} % more", lambda: 100 * (0.0595 / 0.055 - 1)),
    # principles
    ("principles", "A: {4.383} mm^2", lambda: area(T1.main_jet) * 1e6),
    # diagnosis
    ("diagnosis", "manifold_vacuum p_a=24.90 inHg, p={12.92} inHg", lambda: 29.92 - 17.0),
]


@pytest.mark.parametrize(("name", "fragment", "value"), TYPED, ids=lambda each: each if isinstance(each, str) else "")
def test_a_number_that_a_lesson_types_is_what_comes_out(name: str, fragment: str, value: Number) -> None:
    assert fragment.replace("{", "").replace("}", "") in lesson(name), "the lesson has changed: mend this line, or take it out"
    (number,) = re.findall(r"\{(.*?)\}", fragment)
    decimals = Decimal(number).as_tuple()
    last = Decimal((0, (1,), int(decimals.exponent)))
    if number.endswith("00") and "." not in number:  # 1100: two figures
        last = Decimal(100)
    assert value() == pytest.approx(float(number), abs=float(last) / 2 * (1 + 1e-6)), fragment


def test_what_a_level_does_is_as_the_lesson_says() -> None:
    assert "changes by 5 to 7 % at transition, by less than 2 % at cruise and by a tenth of a percent at full" in lesson("float")
    for fault in ("level-1/8-in-high", "level-1/8-in-low"):
        assert 5 <= level_change("transition", fault) <= 7.0
        assert level_change("cruise", fault) < 2
        assert level_change("full throttle", fault) == pytest.approx(0.1, abs=0.05)


# The fault tables of idle and choke: signs of size, and the speed that the engine finds by itself.


def size(change: float) -> int:
    """0 below 1 %, 1 to 5 %, 2 to 15 %, 3 above; leaner is positive."""
    steps = sum(abs(change) >= limit for limit in (0.01, 0.05, 0.15))
    return steps if change > 0 else -steps


def rows(name: str, head: str) -> list[list[str]]:
    """The cells of a table of a lesson below its head."""
    after = lesson(name).split(head, 1)[1].split("\n\n", 1)[0]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in after.strip().split("\n")[1:]]


def signed(cell: str) -> float:
    return float(cell.replace("−", "-"))


IDLE_ROWS = {
    "vacuum leak, 1/8 in hole": "manifold-leak-1/8-in",
    "low-speed jet a third open": "idle-jet-blocked-to-1/3",
    "economiser a sixth open": "economiser-blocked-to-1/6",
    "idle bleed half blocked": "idle-bleed-blocked-to-1/2",
    "screw half a turn in": "mixture-screw-1/2-turn-in",
    "screw half a turn out": "mixture-screw-1/2-turn-out",
    "plates 2° too far open": "plates-2-deg-too-far-open",
    "level 1/8 in low": "level-1/8-in-low",
}


def test_the_idle_s_fault_table_is_the_second_carburetor_s() -> None:
    table = rows("idle", "| fault | idle | trans. | cruise | free speed |\n")
    assert [row[0] for row in table] == list(IDLE_ROWS)
    for says, *cells, speed in table:
        fault = IDLE_ROWS[says]
        for point, cell in zip(("curb idle", "transition", "cruise"), cells, strict=True):
            change = computed("T-1", point, fault)["air_fuel"] / computed("T-1", point)["air_fuel"] - 1
            assert size(change) == signed(cell), (says, point)
        found = free_idle("T-1", fault)
        if speed == "stalls":
            assert isnan(found), says
        else:
            assert found - 700 == pytest.approx(signed(speed), abs=0.5), says


CHOKE_ROWS = {
    "plate stuck at 20°": "choke-stuck-at-20-deg",
    "plate stuck at 45°": "choke-stuck-at-45-deg",
    "vacuum break split": "vacuum-break-split",
    "index 15° rich": "choke-coil-15-deg-rich",
    "index 15° lean": "choke-coil-15-deg-lean",
}


def test_the_choke_s_fault_table_is_the_second_carburetor_s() -> None:
    table = rows("choke", "| fault | | idle | trans. | cruise | full |\n")
    assert [row[0] for row in table[::2]] == list(CHOKE_ROWS)
    for place_in_table, (says, when, *cells) in enumerate(table):
        fault = CHOKE_ROWS[says or table[place_in_table - 1][0]]
        assert when == ("cold" if place_in_table % 2 else "warm")
        for point, cell in zip(("curb idle", "transition", "cruise", "full throttle"), cells, strict=True):
            if when == "warm":
                change = computed("T-1", point, fault)["air_fuel"] / computed("T-1", point)["air_fuel"] - 1
            else:
                change = cold_at(point, fault).air_fuel / cold_at(point).air_fuel - 1
            assert size(change) == signed(cell), (fault, when, point)
