"""A candidate's personal data are taken out, everywhere; the marks stay, and the erasure itself is kept."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from grader.base.errors import UseError
from grader.register.decisions import decide_sitting
from grader.register.inspection import marked_again, violations
from grader.register.pile import mark_pile
from grader.register.records import Certificate, Paper
from grader.register.remarking import award_mark, correct
from grader.register.retention import erase
from grader.register.store import Register
from tests.register.bench_sitting import CODES, LATER, WHEN, assess, held, right, write

NAMES = (b"Name c-01", b"c-01@weirgate.example", b"two and a half squares", b"Slow with the rule")


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    """c-01 handed in a file of their own, and stands in the class's table beside c-02 and c-03."""
    folder = tmp_path / "in"
    folder.mkdir()
    with held(tmp_path / "register.sqlite") as opened:
        write(folder, "c-01", right("c-01", q1="two and a half squares"))
        rows = [f"{CODES[c]},{c},{right(c)['1']},{right(c)['2']}" for c in ("c-02", "c-03")]
        table = "\n".join(["paper,candidate,1,2", *rows, f"{CODES['c-01']},c-01,two and a half squares,a"])
        (folder / "class.csv").write_text(table)
        assess(folder, "c-01", remarks="Slow with the rule")
        for name in ("c-01.json", "rod-height-c-01-A.json", "class.csv"):  # the table's row of c-01 is set aside: marked already
            mark_pile(opened, "spring", [folder / name], WHEN)
        award_mark(opened, "spring", "c-01", "1", "1", "Name c-01 meant 2.5", LATER, "T. Examiner")
        decide_sitting(opened, "spring", "T. Examiner", "2031-05-14")
        opened.keep_certificate(Certificate("7M2KQ8D4XT", "spring", "c-01", b'{"name":"Name c-01"}', 94567, LATER))
        yield opened


def made(tmp_path: Path) -> list[Path]:
    """Files as the other commands leave them on the disk."""
    home = tmp_path / "sittings" / "spring"
    code = CODES["c-01"]
    files = [
        f"papers/{code}.pdf", f"sheets/{code}.html", f"results/feedback/{code}.html", "results/results.csv",
        "results/report.html",
        "certificates/7M2KQ8D4XT.json", "certificates/7M2KQ8D4XT.pdf", "stations/rod-height.html", "manifest.csv",
    ]  # fmt: skip
    for name in (*files, f"papers/{CODES['c-02']}.pdf"):
        (home / name).parent.mkdir(parents=True, exist_ok=True)
        (home / name).write_text("Name c-01")
    return [home / name for name in files]


def test_nothing_personal_is_left_in_the_register_or_on_the_disk(register: Register, tmp_path: Path) -> None:
    made(tmp_path)
    found = erase(register, "c-01", "asked for it", LATER, "T. Examiner")
    register.close()
    left = [p for p in tmp_path.rglob("*") if p.is_file() and p.parent != tmp_path / "in"]
    assert tmp_path / "sittings" / "spring" / "papers" / f"{CODES['c-02']}.pdf" in left
    (
        tmp_path / "sittings" / "spring" / "papers" / f"{CODES['c-02']}.pdf"
    ).unlink()  # it says a name only because the test wrote it
    for file in left:
        if file.exists():
            data = file.read_bytes()
            assert not [name for name in NAMES if name in data], file
    manifest = (tmp_path / "sittings" / "spring" / "manifest.csv").read_text()
    assert found.pseudonym in manifest
    assert "c-01" not in manifest


def test_the_marks_stay_under_a_name_that_means_nobody(register: Register) -> None:
    before = register.marks("spring")[CODES["c-01"]]
    found = erase(register, "c-01", "asked for it", LATER, "T. Examiner")
    after = register.marks("spring")[CODES["c-01"]]
    assert after.candidate == found.pseudonym
    assert [(m.number, m.item, m.mark, m.out_of, m.verdict) for m in after.marks] == [
        (m.number, m.item, m.mark, m.out_of, m.verdict) for m in before.marks
    ]
    assert {(m.answer, m.read, m.why) for m in after.marks} == {("", "", "")}
    assert register.paper(CODES["c-01"]) == Paper(
        CODES["c-01"], "spring", found.pseudonym, "", register.papers("spring")[0].key_digest
    )
    assert register.decisions("spring")[found.pseudonym].decision
    assert register.assessments("spring")[0].steps == {"1": "done", "2": "done", "3": "done"}
    assert register.certificate("7M2KQ8D4XT").data == b""
    assert register.certificate("7M2KQ8D4XT").index == 94567


def test_the_erasure_itself_is_kept_and_the_register_is_whole_and_grows_only_again(register: Register) -> None:
    found = erase(register, "c-01", "asked for it", LATER, "T. Examiner")
    (kept,) = register.erasures()
    assert (kept.pseudonym, kept.reason, kept.person, kept.when) == (found.pseudonym, "asked for it", "T. Examiner", LATER)
    assert kept.what["papers"] == [CODES["c-01"]]
    assert (
        register.events()[-1].what
        == f"took out a candidate's personal data; the marks stay under {found.pseudonym}: asked for it"
    )
    assert [*violations(register)] == []
    assert [*marked_again(register, "T. Examiner", LATER)] == []


def test_the_others_rows_of_a_class_s_table_stay(register: Register) -> None:
    before = {name: register.marks("spring")[CODES[name]] for name in ("c-02", "c-03")}
    erase(register, "c-01", "asked for it", LATER, "T. Examiner")
    assert {name: register.marks("spring")[CODES[name]] for name in ("c-02", "c-03")} == before
    table = register.answer_bytes("spring", before["c-02"].file).decode()
    assert CODES["c-02"] in table
    assert CODES["c-01"] not in table


def test_the_rest_of_the_work_goes_on_without_them(register: Register, tmp_path: Path) -> None:
    found = erase(register, "c-01", "asked for it", LATER, "T. Examiner")
    outcome = mark_pile(register, "spring", [tmp_path / "in" / "c-01.json"], LATER)  # the file still lies there
    assert (outcome.marked, outcome.asides, outcome.passed_over) == ((), (), 1)
    correct(register, "spring", ({"item": "power-area", "withdraw": "full marks"},), "no good", LATER, "T. Examiner")
    assert found.pseudonym in {d.candidate for d in decide_sitting(register, "spring", "T. Examiner", "2031-05-30")}
    assert set(register.open_keys("spring", "T. Examiner", LATER)) == set(CODES.values()) - {CODES["c-01"]}
    with pytest.raises(UseError, match="was taken out with its candidate's data"):
        register.open_key(CODES["c-01"], "T. Examiner", LATER)


def test_one_number_for_two_people_is_not_guessed(register: Register) -> None:
    register.hold_sitting(replace(register.sitting("spring"), name="autumn"))
    paper = replace(register.papers("spring")[0], code="TRY9", sitting="autumn", name="Somebody Else")
    register.seal_papers([(paper, register.open_key(CODES["c-01"], "T. Examiner", LATER))])
    with pytest.raises(
        UseError, match="candidate 'c-01' is Somebody Else in autumn, Name c-01 in spring; say which with --sitting"
    ):
        erase(register, "c-01", "asked for it", LATER, "T. Examiner")
    assert erase(register, "c-01", "asked for it", LATER, "T. Examiner", ["autumn"]).sittings == ("autumn",)
    assert register.paper_of("spring", "c-01") is not None


@pytest.mark.parametrize(
    ("candidate", "reason", "sittings", "said"),
    [
        ("c-99", "why", (), "no candidate 'c-99' in any sitting"),
        ("c-01", " ", (), "are taken out for a reason"),
        ("c-01", "why", ("autumn",), "no sitting 'autumn'"),
    ],
)
def test_what_cannot_be_erased_is_refused(
    register: Register, candidate: str, reason: str, sittings: tuple[str, ...], said: str
) -> None:
    with pytest.raises(UseError, match=said):
        erase(register, candidate, reason, LATER, "T. Examiner", sittings)
    assert register.erasures() == ()


def test_interrupted_at_any_statement_it_is_whole_or_undone_and_run_again_it_ends(
    register: Register, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = Register.run
    for stop in range(2, 60, 7):
        steps = 0

        def counted(self: Register, statement: str, *values: object, stop: int = stop) -> None:
            nonlocal steps
            steps += 1
            if steps == stop:
                raise KeyboardInterrupt
            run(self, statement, *values)

        monkeypatch.setattr(Register, "run", counted)
        try:
            erase(register, "c-01", "asked for it", LATER, "T. Examiner")
        except KeyboardInterrupt:
            pass
        except UseError as error:  # done before the interruption came
            assert "no candidate" in str(error)  # noqa: PT017
        monkeypatch.setattr(Register, "run", run)
        assert [*violations(register)] == []
    assert len(register.erasures()) <= 1
    if not register.erasures():
        erase(register, "c-01", "asked for it", LATER, "T. Examiner")
    assert json.dumps([e.pseudonym for e in register.erasures()]).count("erased-") == 1
