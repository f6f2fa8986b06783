"""
Every number that items and lessons take from a computed carburetor, against a second, slow one (`second_carburetor`).
"""

from __future__ import annotations

import re
from decimal import Decimal
from math import degrees
from pathlib import Path
from typing import Any

import pytest
import yaml

from grader.circuits.curves import curves
from grader.circuits.faults import FAULTS as PROGRAM_FAULTS
from grader.circuits.running import idle_speed
from grader.items.sheet_values import reference_printed
from tests.items.by_hand import course, si
from tests.second_carburetor import FAULTS, INCH, ROOT, cold, computed, free_idle

UNITS = {
    "vacuum": "inHg", "air": "g/s", "fuel": "g/s", "air_fuel": "1", "lambda": "1", "rod_lift": "in", "level": "in",
    "throttle": "deg", "speed": "rev/min",
}  # fmt: skip


def assert_printed(printed: str, unit: str, value: float) -> None:
    """A number as printed is a value to half its last figure."""
    number = Decimal(printed)
    half = Decimal((0, (5,), int(number.as_tuple().exponent) - 1))
    if abs(number) >= 100 and number == number.to_integral():  # 3 figures may end before the point
        half = max(half, Decimal((0, (5,), number.adjusted() - 3)))
    found = value / si(1.0, unit)
    assert float(number) == pytest.approx(found, abs=float(half) * (1 + 1e-4) + 1e-7 * abs(found)), unit


def taken_givens() -> list[Any]:
    """Every given of every bank that is computed at a point: its fields as written, and what is printed."""
    found = []
    for folder, items in (("practice", course().practice), ("exam", course().exam)):
        every = {item.id: item for item in items}
        for path in sorted((ROOT / "questions" / folder).glob("*.yaml")):
            for written in yaml.safe_load(path.read_text(encoding="utf-8")):
                for name, fields in written.get("given", {}).items():
                    if isinstance(fields, dict) and "point" in fields:
                        (given,) = (given for given in every[written["id"]].given if given.name == name)
                        found.append(pytest.param(fields, given.values, id=f"{written['id']} {name}"))
    return found


REFERENCE = re.compile(
    r"(?P<specimen>T-\d+) (?P<point>[a-z ]+) (?P<value>vacuum|air|fuel|air_fuel|lambda|rod_lift|level|throttle|speed)"
    r"(?: with (?P<fault>\S+))?(?: at (?P<height>[\d.]+) (?P<measure>\S+))?(?: as (?P<unit>\S+))?(?: to \d figures?)?"
)


def taken_in_lessons() -> list[Any]:
    """Every number of running text that is computed at a point."""
    asked = [(lesson, text) for lesson in course().lessons for text in dict.fromkeys(inline.text for inline in lesson.inlines)]
    matched = [(Path(lesson.file).stem, REFERENCE.fullmatch(text)) for lesson, text in asked]
    return [pytest.param(found, id=f"{stem} {found.string}") for stem, found in matched if found]


@pytest.mark.parametrize(("fields", "values"), taken_givens())
def test_a_reading_in_a_stem_is_what_a_second_carburetor_computes(fields: dict[str, Any], values: tuple[Any, ...]) -> None:
    names = fields["specimen"] if isinstance(fields["specimen"], list) else [fields["specimen"]]
    height = si(*_measured(fields["altitude"])) if "altitude" in fields else 0.0
    for name, printed in zip(names, values, strict=True):
        found = computed(name, fields["point"], fields.get("fault", ""), height)[fields["value"]]
        assert printed.unit.name == UNITS[fields["value"]]
        assert_printed(printed.written, printed.unit.name, found)


@pytest.mark.parametrize("asked", taken_in_lessons())
def test_a_reading_in_a_lesson_is_what_a_second_carburetor_computes(asked: re.Match[str]) -> None:
    height = si(float(asked["height"]), asked["measure"]) if asked["height"] else 0.0
    found = computed(asked["specimen"], asked["point"], asked["fault"] or "", height)[asked["value"]]
    printed = reference_printed(asked.string, course().specimens)
    number = printed.partition("\N{NARROW NO-BREAK SPACE}")[0].removesuffix("°")
    assert_printed(number, asked["unit"] or UNITS[asked["value"]], found)
    assert (number != printed) == (UNITS[asked["value"]] != "1")


def _measured(text: str) -> tuple[float, str]:
    number, unit = text.split()
    return float(number), unit


@pytest.mark.parametrize(
    ("name", "point", "mixture", "vacuum"),
    # What the course's model states for its two specimens, healthy, at sea level: our own figures, to the digits stated.
    [
        ("T-1", "curb idle", 13.5, 17.0),
        ("T-1", "off idle", 15.0, 18.0),
        ("T-1", "transition", 15.8, 17.0),
        ("T-1", "cruise", 14.7, 15.0),
        ("T-1", "heavy load", 12.6, 3.9),
        ("T-1", "full throttle", 12.6, 2.6),
        ("T-2", "curb idle", 13.5, 17.0),
        ("T-2", "off idle", 14.2, 18.0),
        ("T-2", "transition", 16.4, 17.0),
        ("T-2", "cruise", 15.1, 15.0),
        ("T-2", "heavy load", 12.7, 3.9),
        ("T-2", "full throttle", 12.6, 2.1),
    ],
)
def test_the_second_carburetor_is_the_model_s(name: str, point: str, mixture: float, vacuum: float) -> None:
    found = computed(name, point)
    assert found["air_fuel"] == pytest.approx(mixture, abs=0.05)
    assert found["vacuum"] / si(1, "inHg") == pytest.approx(vacuum, abs=0.05)


@pytest.mark.parametrize("name", ["T-1", "T-2"])
def test_both_carburetors_agree_with_every_fault_at_every_point(name: str) -> None:
    specimen = course().specimens[name].specimen
    warm = [fault for fault in PROGRAM_FAULTS.values() if fault.fits(specimen)]
    assert set(PROGRAM_FAULTS) == set(FAULTS) - {""}
    compared = 0
    for curve in curves(specimen, warm):
        for reading in curve.readings:
            if reading.reason:
                continue
            found = computed(name, reading.point, curve.name)
            assert reading.air_fuel == pytest.approx(found["air_fuel"], rel=1e-6), (curve.name, reading.point)
            assert reading.vacuum_inHg == pytest.approx(found["vacuum"] / si(1, "inHg"), rel=1e-6, abs=1e-9)
            assert reading.rod_lift_in == pytest.approx(found["rod_lift"] / INCH, abs=1e-9)
            assert reading.level_in == pytest.approx(found["level"] / INCH, abs=1e-9)
            compared += 1
    assert compared > 190


@pytest.mark.parametrize("name", ["T-1", "T-2"])
def test_both_carburetors_agree_cold(name: str) -> None:
    # The coil at 0 °C, the air at 15 °C, as the lesson on the choke has it.
    (curve,) = curves(course().specimens[name].specimen, coil_temperature=273.15)
    for reading in curve.readings:
        found = cold(name, reading.point, 273.15)
        assert reading.choke_deg == pytest.approx(degrees(found.choke), abs=1e-6)
        assert reading.throttle_deg == pytest.approx(degrees(found.th), abs=1e-6)
        assert reading.air_fuel == pytest.approx(found.air_fuel, rel=1e-5)


@pytest.mark.parametrize(("name", "fault"), [("T-1", "mixture-screw-1/2-turn-in"), ("T-2", "idle-bypass-blocked")])
def test_both_carburetors_find_one_speed_when_they_idle_by_themselves(name: str, fault: str) -> None:
    specimen = course().specimens[name].specimen
    theirs = 60 * float(idle_speed(PROGRAM_FAULTS[fault].applied(specimen), specimen)[0])
    assert free_idle(name, fault) == pytest.approx(theirs, abs=0.01)
