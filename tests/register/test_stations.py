"""Bench stations: what assessors put down, held against the sealed sheet, and what it does to a decision."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import UseError
from grader.register.decisions import decide_sitting, undecided
from grader.register.pile import PileOutcome, mark_again, mark_pile
from grader.register.records import Assessment
from grader.register.remarking import award_step
from grader.register.rule import FAIL, PASS
from grader.register.stations import OPEN, Bench, benches, read_sealed, seen_at, stands
from grader.register.store import Register
from tests.register.bench_sitting import DONE, LATER, STATION, WHEN, assess, held, right, write


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    with held(tmp_path / "register.sqlite", each_station="80 %") as opened:
        yield opened


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "in").mkdir()
    return tmp_path / "in"


def run(register: Register, *paths: Path) -> PileOutcome:
    return mark_pile(register, "spring", paths, WHEN, person="T. Examiner")


def bench(steps: dict[str, str], readings: dict[str, str] | None = None, *others: Assessment) -> Bench:
    own = Assessment(
        "spring", "c-01", "rod-height", "A. Bench", "f", steps, {"2": "1/4 in"} if readings is None else readings, "", WHEN
    )
    return seen_at(STATION, "c-01", [own, *others], {})


def other(steps: dict[str, str], readings: dict[str, str]) -> Assessment:
    return Assessment("spring", "c-01", "rod-height", "B. Bench", "g", steps, readings, "", WHEN)


def test_a_sealed_station_is_read_back_and_anything_else_is_refused() -> None:
    assert read_sealed(STATION.encoded()) == STATION
    with pytest.raises(UseError, match="not a sealed station"):
        read_sealed(b"{}")
    with pytest.raises(UseError, match="a station of the form 'grader-station-9'"):
        read_sealed(STATION.encoded().replace(b"grader-station-1", b"grader-station-9"))


@pytest.mark.parametrize(
    ("reading", "stood"),
    [
        ("7/32 in", "inside"),  # on either end is inside
        ("9/32", "inside"),
        ("6.35 mm", "inside"),  # 1/4 in = 6.35 mm, the inch being 25.4 mm exactly
        ("0.2187 in", "outside"),
        ("7.15 mm", "outside"),  # 9/32 in = 7.14375 mm
        ("1/4 lb", "unread"),
        ("a quarter", "unread"),
        ("", "missing"),
    ],
)
def test_a_reading_stands_to_the_range_as_on_the_assessors_sheet(reading: str, stood: str) -> None:
    assert stands(STATION.steps[1], reading, STATION.units) == stood
    assert stands(STATION.steps[0], reading, STATION.units) == ""


def test_every_step_done_is_a_pass_and_a_critical_one_not_done_fails_whatever_the_points() -> None:
    assert bench(DONE).outcome(Fraction(1)) == PASS
    failed = bench(DONE | {"1": "not done"})
    assert (failed.outcome(Fraction(0)), failed.short_of(Fraction(0))) == (FAIL, "critical step 1 at rod-height not done")
    weak = bench(DONE | {"2": "not done"}, {})
    assert (weak.outcome(Fraction(1, 2)), weak.outcome(Fraction(4, 5))) == (PASS, FAIL)
    assert weak.short_of(Fraction(4, 5)) == "50.0 % at rod-height, below 80 %"


@pytest.mark.parametrize(
    ("reading", "flag"),
    [
        ("0.3 in", "step 2 is ticked done by A. Bench, and the reading '0.3 in' lies outside 7/32 to 9/32 in"),
        ("high", "step 2 is ticked done by A. Bench, and the reading 'high' cannot be read in 7/32 to 9/32 in"),
        ("", "step 2 is ticked done by A. Bench without a reading"),
    ],
)
def test_a_reading_that_does_not_bear_out_its_tick_is_for_a_person(reading: str, flag: str) -> None:
    found = bench(DONE, {"2": reading} if reading else {})
    assert found.flags == (flag,)
    assert (found.outcome(Fraction(4, 5)), found.outcome(Fraction(1, 2))) == (OPEN, PASS)  # half is there either way


def test_a_reading_outside_that_is_ticked_not_done_is_no_contradiction() -> None:
    assert bench(DONE | {"2": "not done"}, {"2": "0.3 in"}).flags == ()


def test_two_assessors_who_agree_are_one_and_who_differ_are_for_a_person() -> None:
    assert bench(DONE, None, other(DONE, {"2": "0.26 in"})).outcome(Fraction(1)) == PASS
    differ = bench(DONE, None, other(DONE | {"1": "not done"}, {"2": "0.26 in"}))
    assert differ.flags == ("step 1 is ticked differently (A. Bench: done; B. Bench: not done)",)
    assert differ.outcome(Fraction(0)) == OPEN
    assert differ.short_of(Fraction(0)) == f"rod-height is not settled: {differ.flags[0]}"


def test_what_one_assessor_leaves_open_the_other_may_have_seen() -> None:
    assert bench({"1": "done"}, {}).flags == ("step 2 is not ticked", "step 3 is not ticked")
    assert bench({"1": "done"}, {}, other({"2": "done", "3": "done"}, {"2": "1/4"})).outcome(Fraction(1)) == PASS


TICKS = st.sampled_from(["done", "not done", ""])


@settings(max_examples=60, deadline=None)
@given(
    st.tuples(TICKS, TICKS, TICKS), st.tuples(TICKS, TICKS, TICKS), st.sampled_from(["1/4 in", "1 in", ""]), st.fractions(0, 1)
)
def test_settling_what_is_open_either_way_never_leaves_what_was_decided(
    one: tuple[str, ...], two: tuple[str, ...], reading: str, least: Fraction
) -> None:
    def put(ticks: tuple[str, ...]) -> dict[str, str]:
        return {str(n): tick for n, tick in enumerate(ticks, 1) if tick}

    found = bench(put(one), {"2": reading} if reading else {}, other(put(two), {"2": "1/4 in"}))
    settled = []
    for tick in ("done", "not done"):
        steps = {step.step.number: str(step.state) if step.settled else tick for step in found.steps}
        settled.append(bench(steps).outcome(least))
    if found.outcome(least) != OPEN:
        assert settled == [found.outcome(least)] * 2
    assert found.least.mark <= found.most.mark


def test_an_assessors_file_in_a_pile_is_taken_in_once(register: Register, folder: Path) -> None:
    write(folder, "c-01", right("c-01"))
    assess(folder, "c-01", remarks="Calm.")
    outcome = run(register, folder)
    assert (len(outcome.marked), len(outcome.assessed), outcome.asides) == (1, 1, ())
    (kept,) = register.assessments("spring")
    assert (kept.assessor, kept.steps, kept.readings, kept.remarks, kept.person) == (
        "A. Bench",
        DONE,
        {"2": "1/4 in"},
        "Calm.",
        "T. Examiner",
    )
    assert kept.file in register.seen("spring")
    again = run(register, folder)
    assert (again.passed_over, again.assessed, len(register.assessments("spring"))) == (2, (), 1)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"sitting": "autumn"}, "unknown-sitting"),
        ({"station": "curb-idle"}, "unknown-station"),
        ({"candidate": "c-99"}, "unknown-candidate"),
        ({"steps": {"4": "done"}}, "unknown-step"),
        ({"readings": {"1": "1/4 in"}}, "unknown-step"),
    ],
)
def test_a_file_of_no_station_or_candidate_of_the_sitting_is_set_aside(
    register: Register, folder: Path, change: dict[str, str], code: str
) -> None:
    import json

    file = assess(folder, "c-01")
    file.write_text(json.dumps(json.loads(file.read_text()) | change))
    outcome = run(register, folder)
    assert [aside.code for aside in outcome.asides] == [code]
    assert register.assessments("spring") == ()


def test_other_ticks_by_the_same_assessor_count_only_under_a_reason(register: Register, folder: Path) -> None:
    run(register, assess(folder, "c-01"))
    second = assess(folder, "c-01", DONE | {"3": "not done"}, assessor="a.  bench", name="second.json")
    outcome = run(register, second)
    assert [aside.code for aside in outcome.asides] == ["assessed-already"]
    assert "that counts; take this file out, or let this count: grader mark spring FILE --again c-01" in outcome.asides[0].mend
    with pytest.raises(UseError, match="for a reason"):
        mark_again(register, "spring", "c-01", [second], " ", LATER, "T. Examiner")
    mark_again(register, "spring", "c-01", [second], "the first was a slip of the pen", LATER, "T. Examiner")
    assert [one.reason for one in register.assessments("spring")] == ["", "the first was a slip of the pen"]
    (found,) = benches(register, "spring")["c-01"]
    assert [step.state for step in found.steps] == ["done", "done", "not done"]


def test_two_files_of_one_assessor_in_one_pile_wait_for_a_person(register: Register, folder: Path) -> None:
    one = assess(folder, "c-01", name="one.json")
    assess(folder, "c-01", DONE | {"3": "not done"}, name="two.json")
    outcome = run(register, folder)
    assert [aside.code for aside in outcome.asides] == ["two-answers", "two-answers"]
    assert len(run(register, one).assessed) == 1


def test_two_assessors_are_both_kept(register: Register, folder: Path) -> None:
    assess(folder, "c-01")
    assess(folder, "c-01", DONE | {"1": "not done"}, assessor="B. Bench")
    assert len(run(register, folder).assessed) == 2
    (found,) = benches(register, "spring")["c-01"]
    assert len(found.flags) == 1


def test_a_paper_marked_later_does_not_settle_an_assessors_file(register: Register, folder: Path) -> None:
    from grader.register.asides import open_asides

    assess(folder, "c-01", {"9": "done"})
    run(register, folder)
    run(register, write(folder, "c-01", right("c-01")))
    assert [aside.code for aside in open_asides(register, "spring")] == ["unknown-step"]


def decided(register: Register) -> dict[str, tuple[str, str]]:
    found = decide_sitting(register, "spring", "T. Examiner", "2031-05-14")
    return {
        one.candidate: (one.decision, one.evidence.get("reason", "; ".join(one.evidence.get("short_of", [])))) for one in found
    }


def test_stations_count_in_the_decision_where_the_rule_says_so(register: Register, folder: Path) -> None:
    for candidate in ("c-01", "c-02", "c-03", "c-04"):
        write(folder, candidate, right(candidate) if candidate != "c-04" else {"1": "0"})
    assess(folder, "c-01")
    assess(folder, "c-02", DONE | {"1": "not done"})
    assert decided(register)["c-01"][0] == "not examined"  # nothing is marked yet
    run(register, folder)
    assert decided(register) == {
        "c-01": ("pass", ""),
        "c-02": ("fail", "critical step 1 at rod-height not done"),
        "c-03": ("not examined", "rod-height not assessed"),
        "c-04": ("fail", ["below the cut of 60 %", " 0.0 % in power, below 0 %"][0]),
    }
    evidence = register.decisions("spring")["c-01"].evidence
    assert evidence["stations"] == {"rod-height": {"mark": "6", "out_of": "6", "percent": "100.0", "outcome": "pass"}}
    assert register.decisions("spring")["c-01"].rule["each_station"] == "4/5"


def test_a_step_settled_by_hand_is_decided_on_again(register: Register, folder: Path) -> None:
    write(folder, "c-01", right("c-01"))
    assess(folder, "c-01", readings={"2": "0.3 in"})
    run(register, folder)
    assert decided(register)["c-01"][0] == "not examined"
    assert undecided(register, "spring") == {}
    found = award_step(
        register, "spring", "c-01", "rod-height/2", "done", "the rule was read from the wrong end", LATER, "T. Examiner"
    )
    assert [one.candidate for one in found.resting] == ["c-01"]
    assert undecided(register, "spring") == {"c-01": "assessed again, not decided since"}
    assert decided(register)["c-01"] == ("pass", "")
    (award,) = register.awards("spring")
    assert (award.answer, award.reason) == ("A. Bench: done 0.3 in", "the rule was read from the wrong end")


@pytest.mark.parametrize(
    ("number", "award", "said"),
    [
        ("rod-height/9", "done", "no step '9' at rod-height; it has 3"),
        ("curb-idle/1", "done", "no station 'curb-idle' for candidate 'c-01'"),
        ("rod-height/1", "perhaps", "'perhaps' settles no step; write `done` or `not done`"),
        ("rod-height/1", "done", "nobody has assessed c-01 at rod-height"),
    ],
)
def test_what_is_no_step_is_not_settled(register: Register, number: str, award: str, said: str) -> None:
    with pytest.raises(UseError) as refused:
        award_step(register, "spring", "c-01", number, award, "why", LATER, "T. Examiner")
    assert said in str(refused.value)
    assert register.awards("spring") == ()


def test_where_the_rule_leaves_stations_out_they_are_kept_and_do_not_count(tmp_path: Path, folder: Path) -> None:
    with held(tmp_path / "plain.sqlite") as register:
        write(folder, "c-01", right("c-01"))
        assess(folder, "c-01", DONE | {"1": "not done"})
        run(register, folder)
        assert decided(register)["c-01"] == ("pass", "")
        assert len(register.assessments("spring")) == 1


def test_a_station_sealed_otherwise_is_found_out(register: Register, tmp_path: Path) -> None:
    import sqlite3

    register.close()
    database = sqlite3.connect(tmp_path / "register.sqlite")
    database.executescript("DROP TRIGGER stations_UPDATE; UPDATE stations SET data = x'7b7d'")
    database.close()
    with Register(tmp_path / "register.sqlite") as again, pytest.raises(UseError, match="is not the one that was sealed"):
        again.stations("spring")
