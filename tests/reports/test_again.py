"""What was assessed at the bench, corrected, and decided by hand, as people read it."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from grader.register.decisions import decide_sitting
from grader.register.pile import mark_pile
from grader.register.remarking import award_mark, award_step, correct
from grader.register.retention import erase
from grader.register.store import Register
from grader.reports.feedback import feedback, feedback_page
from grader.reports.report import report_page
from grader.reports.tables import changes_csv, marks_csv, results_csv, stations_csv
from grader.reports.view import View, look_at
from grader.reports.write import write_reports
from tests.register.bench_sitting import CODES, DONE, LATER, WHEN, assess, held, letter_of, right, write


@pytest.fixture
def register(tmp_path: Path) -> Register:
    folder = tmp_path / "in"
    folder.mkdir()
    register = held(tmp_path / "register.sqlite", each_station="80 %")
    write(folder, "c-01", right("c-01"))
    write(folder, "c-02", right("c-02", q1="<b>three</b> squares", q2=letter_of("c-02", "the large one")))
    assess(folder, "c-01", remarks="<i>Calm</i> and clean.")
    assess(folder, "c-02", DONE, {"2": "0.3 in"}, assessor="B. <b>Bench</b>")
    assess(folder, "c-03", DONE | {"1": "not done"}, remarks="Fuel was in the bowl.")
    mark_pile(register, "spring", [folder], WHEN)
    decide_sitting(register, "spring", "T. Examiner", "2031-05-14")
    entries = ({"item": "pump-why", "accept": ["the large one"]}, {"item": "power-case", "withdraw": "not counted"})
    correct(register, "spring", entries, "the <bank> was wrong", LATER, "T. Examiner")
    award_mark(register, "spring", "c-02", "1", "1", "three it is", LATER, "T. Examiner")
    return register


@pytest.fixture
def view(register: Register) -> View:
    return look_at(register, "spring", "T. Examiner", LATER)


def page_of(view: View, candidate: str) -> str:
    sat = next(sat for sat in view.candidates if sat.paper.candidate == candidate)
    return feedback_page(feedback(view, sat, {}, {}))


def test_a_candidate_reads_what_was_corrected_and_what_was_decided_by_hand(view: View) -> None:
    page = page_of(view, "c-02")
    assert "Corrected after the sitting: “the large one” counts too." in page
    assert page.count("Decided by an examiner: three it is") == 1
    assert page.count("This question was withdrawn and does not count.") == 2  # both parts of the case, each once
    assert "<b>three</b>" not in page


def test_a_candidate_reads_what_was_seen_at_the_bench_and_what_is_not_settled(view: View) -> None:
    assert "passed, 6 of 6" in page_of(view, "c-01")
    assert "&lt;i&gt;Calm&lt;/i&gt; and clean." in page_of(view, "c-01")
    assert "not settled yet, 3 of 6" in page_of(view, "c-02")
    assert "<q>0.3 in</q>, wanted 7/32 to 9/32 in" in page_of(view, "c-02")
    third = page_of(view, "c-03")
    assert "not passed, 4 of 6" in third
    assert "Fuel was in the bowl." in third
    assert "c-02" not in third


def test_the_examiner_reads_what_needs_a_person_and_what_was_marked_again(view: View) -> None:
    page = report_page(view, {}, {})
    assert "step 2 is ticked done by B. &lt;b&gt;Bench&lt;/b&gt;" in page
    assert "the &lt;bank&gt; was wrong" in page
    assert "pump-why: accept the large one" in page
    assert "power-case: withdraw not counted" in page
    assert "Decisions that rest on an earlier mark" in page
    assert "<b>Bench</b>" not in page


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))))


def test_what_changed_is_a_table(view: View) -> None:
    found = [(r["candidate"], r["number"], r["mark_before"], r["mark_after"], r["cause"]) for r in rows(changes_csv(view))]
    assert found == [
        ("c-01", "3a", "1", "0", "correction"),
        ("c-01", "3b", "1", "0", "correction"),
        ("c-02", "2", "0", "1", "correction"),
        ("c-02", "3a", "1", "0", "correction"),
        ("c-02", "3b", "1", "0", "correction"),
        ("c-02", "1", "0", "1", "award"),
    ]


def test_what_was_seen_is_a_table(view: View) -> None:
    found = {(r["candidate"], r["step"]): (r["tick"], r["stands"], r["state"]) for r in rows(stations_csv(view))}
    assert found["c-01", "2"] == ("done", "inside", "done")
    assert found["c-02", "2"] == ("done", "outside", "doubtful")
    assert found["c-03", "1"] == ("not done", "", "not done")


def test_marks_and_results_say_what_counts_now(view: View) -> None:
    marks = {(r["candidate"], r["number"]): r for r in rows(marks_csv(view))}
    assert marks["c-02", "1"]["why"] == "Decided by an examiner: three it is"
    assert (marks["c-02", "3a"]["mark"], marks["c-02", "3a"]["out_of"]) == ("0", "0")
    assert {r["candidate"]: (r["mark"], r["out_of"]) for r in rows(results_csv(view))}["c-02"] == ("4", "4")


def test_a_step_settled_by_hand_is_shown_as_such(register: Register) -> None:
    award_step(register, "spring", "c-02", "rod-height/2", "done", "read from the wrong end", LATER, "T. Examiner")
    view = look_at(register, "spring", "T. Examiner", LATER)
    assert "Decided by an examiner: read from the wrong end" in page_of(view, "c-02")
    assert "passed, 6 of 6" in page_of(view, "c-02")


def test_where_data_were_taken_out_the_marks_stay_in_the_report_and_nobody_gets_a_page(
    register: Register, tmp_path: Path
) -> None:
    pseudonym = erase(register, "c-02", "asked for it", LATER, "T. Examiner").pseudonym
    view = look_at(register, "spring", "T. Examiner", LATER)
    written = write_reports(view, tmp_path / "results", objectives={}, lessons={})
    assert {path.name for path in written[3:]} == {f"{CODES['c-01']}.html", f"{CODES['c-03']}.html"}
    assert {"changes.csv", "stations.csv"} <= {path.name for path in (tmp_path / "results").iterdir()}
    everything = "".join(path.read_text() for path in (tmp_path / "results").rglob("*.*"))
    assert "Name c-02" not in everything
    assert "three" not in everything
    assert {r["candidate"]: (r["name"], r["mark"]) for r in rows(results_csv(view))}[pseudonym] == ("", "4")
