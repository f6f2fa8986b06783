"""Bench stations: read whole, every fault on its line, tolerances from the sheet and from nowhere else."""
# ruff: noqa: E501 (a finding is compared as one line)

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from grader.base.findings import Finding
from grader.items.course import load_course, load_practice
from grader.items.schema import schemas
from grader.items.station_file import Station, read_station

ROOT = Path(__file__).parents[2]
SHEETS = load_practice(ROOT).specimens
GOOD = """\
id: float-level
title: Set float level
objective: float.8
specimen: T-2
minutes: 20
tools: [a rule in 64ths]
supplied: [the cover of T-2]
cautions:
  - No flame or spark near fuel; eyes covered. Local codes and licensed practice decide.
steps:
  - text: Make the bench safe.
    sees: Nothing that lights is left.
    critical: true
    reason: Fuel stands in the bowl.
    points: 2
  - text: Set the level.
    measure: {value: float_level}
    points: 3
  - text: Write down what step 2 came to.
    sees: A unit stands behind the number.
done: [The level lies within the tolerance.]
"""


def read(text: str) -> tuple[Station | None, list[str]]:
    findings: list[Finding] = []
    found = read_station("float-level.yaml", text.encode(), findings, SHEETS)
    return found, [str(finding).removeprefix("float-level.yaml:").replace("\u202f", " ") for finding in findings]


def test_a_station_is_read_whole() -> None:
    found, told = read(GOOD)
    assert told == []
    assert found is not None
    assert (found.id, found.objective, found.circuit, found.specimen, found.minutes) == (
        "float-level",
        "float.8",
        "float",
        "T-2",
        20.0,
    )
    assert found.points == Decimal(6)
    assert [step.number for step in found.steps] == [1, 2, 3]
    assert [step.number for step in found.critical] == [1]
    measure = found.steps[1].measure
    assert measure is not None
    # The sheet of T-2: float_level 1/4 in, within 1/32 in.
    assert measure.shown.replace("\u202f", " ") == "1/4 in ± 1/32 in: 7/32 to 9/32 in"


def test_a_reading_can_be_taken_in_another_unit_and_its_range_is_never_wider() -> None:
    found, told = read(GOOD.replace("{value: float_level}", "{value: float_level, unit: mm}"))
    assert told == []
    assert found is not None
    measure = found.steps[1].measure
    assert measure is not None
    # 7/32 in = 5.55625 mm, 9/32 in = 7.14375 mm: to four figures, inward.
    assert (measure.least.written, measure.greatest.written, measure.unit.name) == ("5.557", "7.143", "mm")


def test_a_change_of_the_sheet_changes_the_station() -> None:
    data = (ROOT / "questions/specimens/T-2.yaml").read_text("utf-8").replace("value: 1/4 in", "value: 3/8 in")
    from grader.items.specimen_file import read_sheet

    sheet = read_sheet("T-2.yaml", data.encode(), [])
    assert sheet is not None
    found = read_station("float-level.yaml", GOOD.encode(), [], {"T-2": sheet})
    assert found is not None
    assert found.steps[1].measure is not None
    assert found.steps[1].measure.value.written == "3/8"


@pytest.mark.parametrize(
    ("old", "new", "finding"),
    [
        ("specimen: T-2", "specimen: T-7", "4: `T-7` is not a specimen of this course, or its sheet cannot be read; there are T-1, T-2 [unknown-specimen]"),
        ("{value: float_level}", "{value: flot_level}", "17: `flot_level` is not on the sheet of T-2; did you mean `float_level`? [unknown-value]"),
        ("{value: float_level}", "{value: barometer}", "17: `barometer` is not on the sheet of T-2; name a setting of the sheet, or write it there [unknown-value]"),
        ("{value: float_level}", "{value: float_level, within: 1/16 in}", "17: the sheet of T-2 says how far `float_level` may be off, 1/32 in; take `within` out, or change the sheet [typed-tolerance]"),
        ("{value: float_level}", "{value: float_weight}", "17: the sheet of T-2 does not say how far `float_weight` may be off; write it into the sheet's settings, `float_weight: {says: …, within: …}` [no-tolerance]"),
        ("{value: float_level}", "{value: float_level, unit: psi}", "17: `float_level` is a length, and psi is not its unit; write in or another unit of its kind, or leave it out [dimension]"),
        ("{value: float_level}", "{value: float_weight, within: 1 in}", "17: `within` is a length, the value a force; write it in lbf or as a share: 10 % [dimension]"),
        ("specimen: T-2\n", "", "16: `float_level` is measured and no specimen is named; write `specimen: T-1` or the like [missing-field]"),
        ("    reason: Fuel stands in the bowl.\n", "", "13: step 1 is critical and nothing says why; write `reason`: what happens where it is left out [missing-reason]"),
        ("    critical: true\n", "", "13: step 1 has a reason and is not critical; write `critical: true`, or take the reason out [idle-reason]"),
        ("    sees: Nothing that lights is left.\n", "", "11: step 1 says neither what the assessor must see nor what is measured; write `sees` or `measure` [nothing-to-see]"),
        ("points: 3", "points: 0", "18: step 2 is worth nothing and is not critical; write 1 or more, or `critical: true` with a reason [bad-number]"),
        ("what step 2 came", "what step 4 came", "19: step 3 names step 4, and the station has 3; name one that comes before it [wrong-step]"),
        ("what step 2 came", "what step 3 came", "19: step 3 names step 3, which is itself; name one that comes before it [wrong-step]"),
        ("Set the level.", "Set what step 3 asks.", "16: step 2 names step 3, which comes after it; name one that comes before it [wrong-step]"),
        ("[The level lies", "[Step 12 was done and the level lies", "21: `done` names step 12, and the station has 3; name one that there is [wrong-step]"),
        ("    points: 2", "    point: 2", "15: `point` is not a field of a step; did you mean `points`? [unknown-field]"),
        ("minutes: 20\n", "", "1: `minutes` is missing from a station; write it: how long a candidate has [missing-field]"),
        ("minutes: 20", "minutes: 20 psi", "5: `20 psi` is not a time; write it as `60 min` [bad-time]"),
        ("critical: true", "critical: yes", "13: `yes` is not one of true, false; write one of true, false [unknown-word]"),
        ("done: [The level lies within the tolerance.]\n", "", "1: `done` is missing from a station; write it: what counts as done, over the whole station [missing-field]"),
    ],
)  # fmt: skip
def test_a_fault_stands_on_its_line_and_says_how_to_mend_it(old: str, new: str, finding: str) -> None:
    assert GOOD.count(old) == 1
    _, told = read(GOOD.replace(old, new))
    assert told == [finding]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("specimen: T-2", "specimen: T-1"),  # any specimen of the course
        ("{value: float_level}", "{value: float_weight, within: 2 %}"),  # the sheet has no tolerance of it
        ("{value: float_level}", "{value: float_level, unit: cm}"),
        ("    sees: A unit stands behind the number.\n", "    sees: A unit stands there, as in step 1.\n"),
        ("    sees: Nothing that lights is left.\n", "    sees: It stays so until step 3.\n"),  # what is seen may look ahead
        ("    points: 2", "    points: 0"),  # critical, so not idle
        ("what step 2 came", "what steps 1 and 2 came"),
        ("critical: true\n    reason: Fuel stands in the bowl.", "critical: false"),
    ],
)
def test_a_near_miss_is_accepted(old: str, new: str) -> None:
    assert GOOD.count(old) == 1
    found, told = read(GOOD.replace(old, new))
    assert told == []
    assert found is not None


def test_every_fault_is_told_at_once() -> None:
    text = (
        GOOD.replace("T-2", "T-7", 1)
        .replace("    critical: true\n", "")
        .replace("step 2 came", "step 9 came")
        .replace("title:", "titel:")
    )
    _, told = read(text)
    assert [line.rsplit(" [", 1)[1] for line in told] == ["unknown-field]", "unknown-specimen]", "idle-reason]", "wrong-step]"]


def test_a_station_with_another_name_than_its_file_is_a_finding() -> None:
    findings: list[Finding] = []
    assert read_station("questions/stations/drop.yaml", GOOD.encode(), findings, SHEETS) is None
    assert [str(finding) for finding in findings] == [
        "questions/stations/drop.yaml:1: the station calls itself `float-level`, its file `drop`; give both one name [wrong-id]"
    ]


def test_the_schema_accepts_the_courses_stations_and_refuses_what_the_loader_refuses() -> None:
    check = Draft202012Validator(schemas()["station.schema.json"])
    for path in sorted((ROOT / "questions/stations").glob("*.yaml")):
        text = path.read_text("utf-8")
        assert text.startswith("# yaml-language-server: $schema=../schema/station.schema.json\n")
        assert list(check.iter_errors(yaml.safe_load(text))) == [], path.name
    value = yaml.safe_load(GOOD)
    assert list(check.iter_errors({**value, "step": []}))
    assert list(check.iter_errors({**value, "steps": [{"sees": "x"}]}))
    assert list(check.iter_errors({key: below for key, below in value.items() if key != "done"}))


def test_the_course_has_a_station_for_every_practical_objective() -> None:
    course = load_course(ROOT)
    practical = {objective.id for objective in course.objectives.values() if objective.level == "P"}
    assert practical == {"safety.7", "measuring.5", "float.8", "idle.10", "power.8", "pump.8", "choke.10"}  # the curriculum's
    assert {station.objective for station in course.stations.values()} == practical
    assert all(station.critical for station in course.stations.values())
    for name, station in course.stations.items():
        assert course.digests[f"questions/stations/{name}.yaml"]
        if station.specimen:
            assert sum(1 for step in station.steps if step.measure) >= 2, name


@settings(max_examples=60, deadline=None)
@given(data=st.binary(max_size=60), at=st.integers(0, 800))
def test_whatever_bytes_are_read_nothing_but_findings_comes_of_it(data: bytes, at: int) -> None:
    findings: list[Finding] = []
    found = read_station("x.yaml", GOOD.encode()[:at] + data + GOOD.encode()[at:], findings, SHEETS)
    assert found is not None or findings
