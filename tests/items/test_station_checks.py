"""What must hold of stations over a course: a station for each practical objective, and every danger near it spoken of."""
# ruff: noqa: E501 (a finding is compared as one line)

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from grader.items.checks import check_course
from grader.items.course import load_course
from grader.items.station_checks import HAZARDS, check_stations, hazards
from grader.relations.relation import Relation

ROOT = Path(__file__).parents[2]
STATION = "questions/stations/tank-measure.yaml"
LESSON = "lessons/tank.md"
PLAN = "questions/blueprints/garden.yaml"
SAFE = "cautions: [No flame or spark. Local codes decide.]\nsteps:"
CRITICAL = "    sees: The rule passes the middle.\n    critical: true\n    reason: Else it burns.\n"
Told = Callable[..., list[str]]


@pytest.fixture
def told(copy: Path, toy_relations: Mapping[str, Relation]) -> Told:
    """Change texts in files of the course, and read what the check says."""

    def spoil(*changes: tuple[str, str, str]) -> list[str]:
        for file, old, new in changes:
            path = copy / file
            text = path.read_text("utf-8")
            assert old in text
            path.write_text(text.replace(old, new, 1), "utf-8")
        found = check_course(load_course(copy, toy_relations), 20).findings
        return [str(finding) for finding in found if not finding.file.startswith(("questions/exam", "questions/practice"))]

    return spoil


def test_a_practical_objective_without_a_station_is_told(told: Told, copy: Path) -> None:
    (copy / STATION).unlink()
    assert told() == [
        f"{LESSON}:7: the objective tank.2 is shown at the bench, and no station is for it; write one into questions/stations [no-station]"
    ]


def test_a_practical_objective_with_a_station_needs_no_items_and_counts_as_practised_and_examined_at_the_bench(
    copy: Path, toy_relations: Mapping[str, Relation]
) -> None:
    counts = check_course(load_course(copy, toy_relations), 5).counts
    assert counts["objectives"] == counts["taught"] == counts["practised"] == counts["examined"] == 3
    assert (counts["bench"], counts["stations"]) == (1, 1)
    (copy / STATION).unlink()
    counts = check_course(load_course(copy, toy_relations), 5).counts
    assert (counts["taught"], counts["practised"], counts["examined"], counts["bench"], counts["stations"]) == (3, 2, 2, 0, 0)


def test_a_station_that_cannot_be_read_makes_its_objective_wait(copy: Path, toy_relations: Mapping[str, Relation]) -> None:
    (copy / STATION).write_text("id: tank-measure\ntitle: [", "utf-8")
    checked = check_course(load_course(copy, toy_relations), 5)
    assert {finding.file for finding in checked.findings if finding.level == "error"} == {STATION}
    assert checked.waiting == {STATION: 1}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ([(STATION, "objective: tank.2", "objective: tank.1")], f"{STATION}:3: tank-measure: tank.1 is of level C, and only P is shown at the bench; name an objective of level P, or write items for this one [not-practical]"),
        ([(STATION, "objective: tank.2", "objective: tank.7")], f"{STATION}:3: tank-measure: no lesson teaches tank.7; did you mean tank.2? [unknown-objective]"),
        ([(STATION, "Lay the rule", "Wipe up the fuel and lay the rule")], f"{STATION}:1: tank-measure comes near fuel and has no cautions; write `cautions`: a sentence for each, and that local codes and licensed practice decide [no-cautions]"),
        ([(STATION, "Lay the rule", "Wipe up the fuel and lay the rule")], f"{STATION}:7: tank-measure comes near fuel and no step is critical; mark the step that makes it safe `critical: true`, with the reason [no-critical-step]"),
        ([(STATION, "steps:", "cautions: [Take care. Local codes decide.]\nsteps:"), (STATION, "a rule]", "a graduate]")], f"{STATION}:7: tank-measure comes near fuel (`tools` says “graduate”), and no caution speaks of flame and spark; add a sentence to `cautions` [missing-caution]"),
        ([(STATION, "steps:", "cautions: [No flame or spark.]\nsteps:"), (STATION, "a rule]", "a graduate]")], f"{STATION}:7: tank-measure: the cautions do not say who decides; add that local codes, the sheet and licensed practice come first [no-deference]"),
        ([(STATION, "steps:", SAFE), (STATION, "a rule]", "compressed air]")], f"{STATION}:7: tank-measure comes near something that flies (`tools` says “compressed air”), and no caution speaks of eye protection; add a sentence to `cautions` [missing-caution]"),
        ([(STATION, "steps:", SAFE), (STATION, "Lay the rule", "With the engine running lay the rule")], f"{STATION}:7: tank-measure comes near a running engine (step 1 says “engine running”), and no caution speaks of exhaust and carbon monoxide; add a sentence to `cautions` [missing-caution]"),
        ([(STATION, "steps:", SAFE), (STATION, "Lay the rule", "With the engine running lay the rule")], f"{STATION}:7: tank-measure comes near moving parts (step 1 says “engine running”), and no caution speaks of fan, belts and sleeves; add a sentence to `cautions` [missing-caution]"),
        ([(STATION, "steps:", SAFE), (STATION, "a round tank", "a vehicle")], f"{STATION}:7: tank-measure comes near a vehicle that can roll (`supplied` says “vehicle”), and no caution speaks of chocks and brake; add a sentence to `cautions` [missing-caution]"),
        ([(STATION, "steps:", SAFE), (STATION, "a round tank", "a riveted cover")], f"{STATION}:7: tank-measure comes near emission law (`supplied` says “rivet”), and no caution speaks of what the law may forbid; add a sentence to `cautions` [missing-caution]"),
        ([(PLAN, "draw:", "stations: [tank-mesure]\ndraw:")], f"{PLAN}:7: there is no station `tank-mesure`; did you mean `tank-measure`? [unknown-station]"),
        ([(PLAN, "draw:", "stations: [boat]\ndraw:")], f"{PLAN}:7: there is no station `boat`; the stations are tank-measure [unknown-station]"),
        ([(PLAN, "draw:", "stations: [tank-measure, tank-measure]\ndraw:")], f"{PLAN}:7: a station stands twice in the list; keep one of the two [repeated-value]"),
        ([(PLAN, "cautions: [Wet stone is slippery.]\n", "stations: [tank-measure]\n")], f"{PLAN}:6: the blueprint names stations and has no cautions, which the paper prints; write `cautions` for whoever goes from the desk to the bench [no-cautions]"),
    ],
)  # fmt: skip
def test_what_is_missing_is_told_on_its_line(told: Told, changes: list[tuple[str, str, str]], expected: str) -> None:
    lines = told(*changes)
    assert expected in lines, "\n".join(lines)


@pytest.mark.parametrize(
    "changes",
    [
        [],  # nothing dangerous is near: neither cautions nor a critical step are asked
        [(STATION, "steps:", "cautions: [Wet stone is slippery.]\nsteps:")],
        [(STATION, "steps:", SAFE), (STATION, "    sees: The rule passes the middle.\n", CRITICAL), (STATION, "a rule]", "a graduate]")],
        [(STATION, "a rule]", "a rule of refuelled thought, a dispenser]")],  # `fuel` inside a word is none
        [(STATION, "a rule]", "a rule for engines that stand]")],
        [(PLAN, "draw:", "stations: [tank-measure]\ndraw:")],
    ],
)  # fmt: skip
def test_near_misses_are_accepted(told: Told, changes: list[tuple[str, str, str]]) -> None:
    assert told(*changes) == []


def test_the_courses_stations_come_near_what_they_come_near_and_say_so() -> None:
    course = load_course(ROOT)
    assert [str(finding) for finding in check_stations(course) if finding.file.startswith("questions/stations")] == []
    near = {name: set(hazards(station)) for name, station in course.stations.items()}
    assert {"fuel", "a vehicle that can roll", "moving parts", "emission law"} <= near["make-safe"]
    assert {"fuel", "a running engine", "moving parts", "emission law"} - near["curb-idle"] <= {"fuel"}
    assert {"fuel", "something that flies"} <= near["pump-shot"]
    assert "emission law" in near["choke-settings"]
    assert all("fuel" in found or name in {"curb-idle", "choke-settings"} for name, found in near.items())
    assert {hazard.name for hazard in HAZARDS} == set().union(*near.values())
