"""
Every computed key of the measuring bank a second way: units by pint, circles added up ring by ring, verniers by where their lines
meet, lines of sight crossed by SymPy, sparks counted, currents balanced, drills from a printed list.
"""

from __future__ import annotations

import re
from fractions import Fraction
from math import pi, radians, sqrt, tan
from pathlib import Path

import pytest
import sympy
from fluids.atmosphere import ATMOSPHERE_1976
from scipy.integrate import quad

from grader.circuits.drills import DRILLS
from grader.items.model import Item
from tests.items.by_hand import By, assert_key_is, computed_items, course, root, si

ITEMS = computed_items("measuring")
ROOT = Path(__file__).parents[2]
MEAN_EARTH = 6356766.0  # m, the radius by which the standard atmosphere turns heights into geopotential ones

# Number drills in millimetres, No. 80 first. Down to No. 53 as printed (exact conversions) in a public-domain chart, "Metric,
# Inch, & Fractional Inch: Drills, Sizes, Threads, & Preferred Sizes", v.2, 2007; from No. 52 on 25.4 times the inches of another
# public list, read separately. The standard itself (ASME B94.11M) not seen.
CHART_MM = """
.34290 .36830 .40640 .45720 .50800 .53340 .57150 .60960 .63500 .66040 .71120 .74168 .78740 .81280 .83820 .88900 .91440 .93980
.96520 .99060 1.01600 1.04140 1.06680 1.09220 1.18110 1.32080 1.39700 1.51130
1.61290 1.70180 1.77800 1.85420 1.93040 1.99390 2.05740 2.08280 2.18440 2.26060 2.37490 2.43840 2.48920 2.52730 2.57810 2.64160
2.70510 2.79400 2.81940 2.87020 2.94640 3.04800 3.26390 3.45440 3.56870 3.65760 3.73380 3.79730 3.86080 3.91160 3.98780 4.03860
4.08940 4.21640 4.30530 4.39420 4.49580 4.57200 4.62280 4.69900 4.80060 4.85140 4.91490 4.97840 5.05460 5.10540 5.18160 5.21970
5.30860 5.41020 5.61340 5.79120
"""
CHART = {80 - place: si(float(size), "mm") for place, size in enumerate(CHART_MM.split())}


def circle(bore: float) -> float:
    """Area of a hole, ring by ring."""
    return float(quad(lambda radius: 2 * pi * radius, 0, bore / 2)[0])


def hole(area: float) -> float:
    return root(lambda bore: circle(bore) - area, 1e-6, 0.1)


def listed(bore: float) -> float:
    """The same drill's bore from the chart: the only one of the chart within a hundredth of a thousandth of an inch."""
    (found,) = (size for size in CHART.values() if abs(size - bore) < 2.54e-7)
    return found


def sighted(gap: float, angle: float) -> float:
    """Where a line of sight through the needle's tip, so far from square, meets the dial; the tip's foot is the origin."""
    x, y = sympy.symbols("x y")
    eye_x, eye_y = -sympy.tan(sympy.Float(angle, 30)), 1  # a metre further out, as far aside as the angle says
    met = sympy.solve([(x - 0) * (eye_y) - (y - gap) * (eye_x), y], [x, y], dict=True)[0]
    return float(met[x])


def vernier(mark: float, line: int, distance: float, divisions: int) -> float:
    """
    The reading at which this line of a vernier meets a mark.

    The vernier's lines stand 1 - 1/divisions of a mark's distance apart; slid on from the mark in small even steps, its line
    stands before a mark by a rest, which has to vanish.
    """
    place = Fraction(line) * (1 - Fraction(1, divisions))
    rest = -place % 1  # of a mark's distance
    return mark + float(rest) * distance


def engine_speed(shown: float, set_to: float, cylinders: float) -> float:
    """Sparks that the meter has counted in a second, by what it was told; each cylinder of the engine takes one in two turns."""
    sparks = shown * set_to / 2
    return sparks / (cylinders / 2)


def side_by_side(first: float, second: float) -> float:
    """What a meter shows: its voltage over the sum of both currents."""
    volt = 1.5
    return volt / (volt / first + volt / second)


def other_way(part: float, shown: float) -> float:
    return root(lambda other: side_by_side(part, other) - shown, 1e-3, 1e5)


def barometer(height: float) -> float:
    """Pressure at a geopotential height, by fluids, which takes geometric ones."""
    return float(ATMOSPHERE_1976(MEAN_EARTH * height / (MEAN_EARTH - height)).P)


def swept(bore: float, stroke: float) -> float:
    return float(quad(lambda _: circle(bore), 0, stroke)[0])


def times(first: float, second: float) -> float:
    """How many times the area of the second hole the first has."""
    return circle(first) / circle(second)


HAND: dict[str, By] = {
    # practice
    "measuring-fraction-to-mm": lambda g: [g["float_height"]],
    "measuring-nearest-shank": lambda g: [g["shank"] - g["sheet_gap"]],
    "measuring-float-travel-case": lambda g: (lambda travel: [travel, travel - g["sheet_travel"]])(
        g["height_hanging"] - g["height_shut"]
    ),
    "measuring-pump-stroke-case": lambda g: (
        lambda stroke: [stroke, sum(g["delivered"] * swept(g["pump_bore"], stroke) for _ in range(10))]
    )(g["plunger_up"] - g["plunger_down"]),
    "measuring-drill-area": lambda g: [circle(listed(g["drill"]))],
    "measuring-drill-exchanged": lambda g: [times(listed(g["wrong_drill"]), listed(g["right_drill"]))],
    "measuring-jet-stamp": lambda g: [circle(si(g["stamp"] / 100, "mm"))],
    "measuring-vernier-lines": lambda g: [vernier(g["main_mark"], round(g["line"]), si(0.025, "inch"), 25)],
    "measuring-tachometer-set": lambda g: [engine_speed(g["shown"], g["set_to"], g["engine_cylinders"])],
    "measuring-heater-leads-case": lambda g: (lambda own: [own, g["meter_shows"] / own - 1])(g["meter_shows"] - g["leads"]),
    "measuring-gauge-span": lambda g: [g["accuracy"] * g["scale_end"] / g["low_reading"]],
    "measuring-plate-angle": lambda g: [g["open_reading"] - g["shut_reading"]],
    "measuring-hand-pump-loss": lambda g: [g["lost"] / g["test_time"] * si(1, "minute")],
    "measuring-zero-case": lambda g: (lambda true: [true, g["sheet_vacuum"] - true])(g["at_idle"] - g["at_rest"]),
    "measuring-more-than-there-is": lambda g: [g["barometer"] - g["shown"]],
    "measuring-wrong-scale": lambda g: [g["inner_scale"]],
    "measuring-parallax-case": lambda g: (lambda e: [e, g["division"] * e / g["division_length"]])(
        sighted(g["needle_gap"], g["view_angle"])
    ),
    "measuring-meniscus-error": lambda g: [(g["at_bottom"] + g["rim_higher"]) / g["at_bottom"] - 1],
    "measuring-in-circuit": lambda g: [side_by_side(g["heater"], g["coil_beside"])],
    "measuring-read-rule": lambda g: [g["float_height"]],
    "measuring-read-stroke": lambda g: [g["stroke"]],
    "measuring-read-vernier": lambda g: [vernier(g["main_mark"], round(g["past_mark"] / 2.54e-5), si(0.025, "inch"), 25)],
    "measuring-read-dial": lambda g: [g["turns"] + g["past_turn"]],
    "measuring-read-shank": lambda g: [listed(g["gap"])],
    "measuring-read-graduate": lambda g: [g["figure_below"] + g["above_figure"]],
    "measuring-read-ohms": lambda g: [g["needle"] * 10],
    "measuring-read-angle": lambda g: [g["opening"]],
    "measuring-read-vacuum": lambda g: [g["figure_passed"] + g["beyond"]],
    "measuring-read-vacuum-off-zero": lambda g: [g["vacuum"]],
    "measuring-read-idle": lambda g: [g["figure_passed"] + g["beyond"]],
    # half a division stands as often in the reading as the reading has half divisions
    "measuring-how-finely": lambda g: [1 / (g["shown"] / (g["scale_end"] / (2 * g["divisions"])))],
    # examination
    "measuring-height-against-sheet-case": lambda g: [g["found_height"], g["found_height"] - g["sheet_height"]],
    "measuring-depth-stroke": lambda g: [g["depth_down"] - g["depth_up"] - g["sheet_stroke"]],
    "measuring-dial-stroke-case": lambda g: (lambda stroke: [stroke, swept(g["pump_bore"], stroke)])(
        si(g["end_turns"] * 100 + g["end_division"] - g["start_division"], "thou")
    ),
    "measuring-two-leaves": lambda g: [g["first_leaf"] + g["second_shank"]],
    "measuring-drop-at-needle": lambda g: [
        (g["height_hanging"] - g["height_shut"]) / (g["hinge_to_float"] / g["hinge_to_needle"])
    ],
    "measuring-bleed-opened-out": lambda g: [times(listed(g["found_drill"]), listed(g["sheet_drill"])) - 1],
    "measuring-two-holes-for-one": lambda g: [hole(circle(listed(g["drill"])) + circle(listed(g["drill"])))],
    "measuring-bore-between-pins-case": lambda g: [
        circle(g["goes_in"]),
        times(g["goes_in"] + g["pin_step"], g["goes_in"]) - 1,
    ],
    "measuring-metric-jet": lambda g: [times(si(g["stamp"] / 100, "mm"), g["sheet_bore"])],
    "measuring-speed-to-show": lambda g: [
        root(lambda shown: engine_speed(shown, g["set_to"], g["engine_cylinders"]) - g["wanted"], 0, 100)
    ],
    "measuring-vacuum-left": lambda g: [g["pumped_to"] - g["most_lost"] / g["sheet_time"] * g["waited"]],
    "measuring-heater-power-case": lambda g: (
        lambda cold: [cold, (lambda amps: amps * g["supply"])(g["supply"] / (cold * g["hot_over_cold"]))]
    )(g["meter_shows"] - g["leads"]),
    "measuring-gauge-share": lambda g: [g["accuracy"] * g["scale_end"] / g["sheet_pressure"]],
    "measuring-plate-through-zero": lambda g: [g["right_of_zero"] - -g["left_of_zero"]],
    "measuring-metric-vernier": lambda g: [vernier(g["main_mark"], round(g["line"]), g["mark_distance"], round(g["divisions"]))],
    "measuring-hidden-loss-case": lambda g: [g["cruise_shown"] - -g["below_zero"], g["rods_lift"] + -g["below_zero"]],
    "measuring-scale-mistaken": lambda g: [
        g["sheet_height"] - round(g["sheet_height"] / si(1 / 32, "inch")) * si(1 / 64, "inch")
    ],
    "measuring-impossible-vacuum": lambda g: [g["found"] - barometer(g["shop_height"])],
    "measuring-range-switch": lambda g: [g["needle"] * 10 - g["sheet_coil"]],
    "measuring-other-way": lambda g: [other_way(g["sheet_cold"], g["meter_shows"])],
    "measuring-looks-from-side-case": lambda g: (lambda e: [e, g["seen"] - e * g["scale_end"] / g["scale_length"]])(
        sighted(g["needle_gap"], g["view_angle"])
    ),
    "measuring-rim-read": lambda g: [(g["noted"] - g["rim_higher"]) / 10],
    "measuring-least-step": lambda g: [1 / (g["idle_speed"] / (g["scale_end"] / (2 * g["divisions"])))],
    "measuring-rule-in-32nds": lambda g: [g["hanging_height"]],
    "measuring-rod-by-vernier": lambda g: [vernier(g["main_mark"], round(g["past_mark"] / 5e-5), 1e-3, 20)],
    "measuring-stroke-by-dial": lambda g: [g["turns"] + g["past_turn"] - g["started_at"]],
    "measuring-gap-by-shanks": lambda g: [listed(g["gap"])],
    "measuring-shots-in-graduate": lambda g: [g["figure_below"] + g["above_figure"]],
    "measuring-winding-by-needle": lambda g: [g["needle"] * 100],
    "measuring-opening-by-angle": lambda g: [g["opening"]],
    "measuring-vacuum-in-kilopascals": lambda g: [g["figure_passed"] + g["beyond"]],
    "measuring-idle-on-wrong-switch": lambda g: [engine_speed(g["shown"], g["set_to"], g["engine_cylinders"])],
    "measuring-vacuum-with-error": lambda g: [g["vacuum"]],
}


def test_every_computed_item_has_its_arithmetic_here() -> None:
    assert {item.id for item in ITEMS} == set(HAND)


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.id)
def test_the_key_is_what_the_second_way_gives(item: Item) -> None:
    assert_key_is(item, HAND[item.id])


def test_the_list_of_drills_is_the_printed_one() -> None:
    assert set(CHART) == set(DRILLS)
    assert {number: round(bore * 1000, 5) for number, bore in DRILLS.items()} == {
        number: round(bore * 1000, 5) for number, bore in CHART.items()
    }


def test_the_figure_prints_the_list() -> None:
    svg = (ROOT / "lessons/figures/drill-list.svg").read_text()
    words = re.findall(r"<text[^>]*>([^<]+)</text>", svg)
    drawn = dict(zip(words[::2], words[1::2], strict=True))
    wanted = {f"#{number}": f"{CHART[number] / 0.0254:.4f}" for number in range(41, 81)}
    assert {name: size for name, size in drawn.items() if name.startswith("#")} == wanted
    said = svg[svg.index("<desc>") : svg.index("</desc>")]  # what a screen reader says
    assert dict(re.findall(r"(#\d+) (0\.\d{4})", said)) == wanted


def test_the_gaps_at_which_the_list_rises_by_three_thousandths() -> None:
    (item,) = (item for item in course().practice if item.id == "measuring-read-shank")
    (gap,) = (given for given in item.given if given.name == "gap")
    sizes = sorted(CHART.values())
    for value in gap.values:
        above = next(size for size in sizes if size > value.si * 1.0001)
        assert above - value.si == pytest.approx(si(3, "thou"), rel=1e-6)


def test_sight_and_vernier_by_themselves() -> None:
    # tan 45° = 1, tan 30° = 1/sqrt 3; US Army ordnance text OD1642: mark 1.475 in and line 11 read 1.486 in
    assert sighted(2.0, radians(45)) == pytest.approx(2.0)
    assert sighted(3.0, radians(30)) == pytest.approx(sqrt(3))
    assert sighted(1.0, radians(20)) == pytest.approx(tan(radians(20)))
    assert vernier(1.475, 11, 0.025, 25) == pytest.approx(1.486)
