from __future__ import annotations

import json
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.canon import digest
from grader.base.errors import UseError
from grader.base.files import write_atomic
from grader.certificates.issuer import read_issuer
from grader.certificates.keys import NAME
from grader.certificates.verify import Verdict, verify
from grader.marking.mark import Mark
from grader.register import decisions
from grader.register.decisions import (
    Office,
    certify_sitting,
    decide_sitting,
    last_day,
    publish,
    revoke_certificate,
    to_revoke,
    undecided,
)
from grader.register.records import AnswerFile, Decision, Marking, Paper, Sitting
from grader.register.store import Register

WHEN, NOW, LATER = "2031-05-12T09:30:00Z", "2031-05-14T08:00:00Z", "2031-06-01T08:00:00Z"
PERSON = "T. Examiner"
SITTING = Sitting(
    name="spring",
    blueprint={
        "id": "module-main-pump",
        "title": "Main and pump circuits",
        "pass": {"cut": "60 %", "each_circuit": "40 %"},
        "certificate": {"name": "Main and pump", "description": "Sets both.", "criteria": "A paper.", "valid": "3 years"},
    },
    bank="b" * 64,
    secret=bytes(32),
    held="2031-05-12",
    course="Carburetor service",
    school={"name": "Weirgate Workshop School", "id": "https://weirgate.example/", "place": "Weirgate"},
)
# Marks out of 10 in main and in pump: on the cut, above it, below it, short in one circuit, no answer file.
CLASS: dict[str, tuple[str, str] | None] = {
    "c-01": ("6", "6"), "c-02": ("10", "9.5"), "c-03": ("6", "5.9"), "c-04": ("10", "3.9"), "c-05": None,
}  # fmt: skip


def _code(candidate: str) -> str:
    return f"PAPER{candidate[1:].replace('-', '')}"


def _paper(candidate: str, key: bytes = b"key") -> tuple[Paper, bytes]:
    return Paper(_code(candidate), "spring", candidate, f"Name of {candidate}", digest(key)), key


def _marking(candidate: str, marks: tuple[str, str], reason: str = "") -> tuple[AnswerFile, Marking]:
    file = AnswerFile("spring", f"{candidate}.json", f"{candidate} {marks}".encode(), WHEN)
    rows = tuple(
        Mark(str(number), f"{circuit}-item", f"{circuit}.1", circuit, "", "", mark, "10", "part")
        for number, (circuit, mark) in enumerate(zip(("main", "pump"), marks, strict=True), 1)
    )
    return file, Marking("spring", _code(candidate), candidate, file.digest, WHEN, rows, reason, PERSON)


def _mark(register: Register, candidate: str, marks: tuple[str, str], reason: str = "") -> None:
    file, marking = _marking(candidate, marks, reason)
    register.keep_answer_file(file, [marking])


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    with Register(tmp_path / "register.sqlite") as opened:
        opened.hold_sitting(SITTING, map(_paper, CLASS))
        for candidate, marks in CLASS.items():
            if marks:
                _mark(opened, candidate, marks)
        yield opened


@pytest.fixture
def office(tmp_path: Path) -> Office:
    return Office(tmp_path)


@pytest.fixture
def certified(register: Register, office: Office) -> Register:
    decide_sitting(register, "spring", PERSON, "2031-05-14")
    certify_sitting(register, "spring", office, PERSON, NOW)
    return register


def _decided(register: Register) -> dict[str, str]:
    return {candidate: decision.decision for candidate, decision in register.decisions("spring").items()}


def _check(office: Office, data: bytes, now: datetime = datetime(2031, 7, 1, tzinfo=UTC)) -> Verdict:
    issuer = read_issuer((office.public / "issuer.json").read_bytes())
    return verify(data, [issuer], (office.public / "status.json").read_bytes(), now)


def test_every_candidate_is_decided_on_by_the_rule(register: Register) -> None:
    decide_sitting(register, "spring", PERSON, "2031-05-14")
    assert _decided(register) == {"c-01": "pass", "c-02": "pass", "c-03": "fail", "c-04": "fail", "c-05": "not examined"}


def test_a_decision_keeps_rule_evidence_person_and_day(register: Register) -> None:
    decided = {decision.candidate: decision for decision in decide_sitting(register, "spring", PERSON, "2031-05-14")}
    found = decided["c-04"]
    assert (found.person, found.date) == (PERSON, "2031-05-14")
    assert found.rule == {"cut": "3/5", "each_circuit": "2/5"}
    assert found.evidence == {
        "paper": _code("c-04"),
        "mark": "13.9",
        "out_of": "20",
        "percent": "69.5",
        "circuits": {
            "main": {"mark": "10", "out_of": "10", "percent": "100.0"},
            "pump": {"mark": "3.9", "out_of": "10", "percent": "39.0"},
        },
        "short_of": ["39.0 % in pump, below 40 %"],
        "answer_file": _marking("c-04", ("10", "3.9"))[0].digest,
        "marked": WHEN,
        "marking": 4,
    }
    assert decided["c-05"].evidence == {"paper": _code("c-05"), "reason": "no answer file was marked"}


def test_deciding_again_on_the_same_marks_adds_nothing(register: Register) -> None:
    first = decide_sitting(register, "spring", PERSON, "2031-05-14")
    assert decide_sitting(register, "spring", "another", "2031-06-01") == first
    assert len(register.decision_history("spring", "c-01")) == 1


def test_after_a_new_marking_a_new_decision_counts_and_the_old_one_stays(register: Register) -> None:
    decide_sitting(register, "spring", PERSON, "2031-05-14")
    _mark(register, "c-03", ("6", "6"), "question 2: the key was corrected")
    decide_sitting(register, "spring", PERSON, "2031-06-01")
    assert [(d.decision, d.date) for d in register.decision_history("spring", "c-03")] == [
        ("fail", "2031-05-14"),
        ("pass", "2031-06-01"),
    ]
    assert len(register.decision_history("spring", "c-01")) == 1


@pytest.mark.parametrize(
    ("sitting", "person", "date", "says"),
    [
        ("autumn", PERSON, "2031-05-14", "no sitting 'autumn'"),
        ("spring", "  ", "2031-05-14", "a decision names who made it"),
        ("spring", PERSON, "2031-02-30", "`2031-02-30` is not a day"),
        ("spring", PERSON, "14 May", "`14 May` is not a day"),
    ],
)
def test_a_decision_that_nobody_could_stand_for_is_refused(
    register: Register, sitting: str, person: str, date: str, says: str
) -> None:
    with pytest.raises(UseError, match=says):
        decide_sitting(register, sitting, person, date)
    assert register.decisions("spring") == {}


def test_those_who_passed_get_a_certificate_that_verifies(certified: Register, office: Office) -> None:
    issued = certified.certificates()
    assert [certificate.candidate for certificate in issued] == ["c-01", "c-02"]
    for certificate in issued:
        file = office.certificates("spring") / f"{certificate.id}.json"
        assert file.read_bytes() == certificate.data
        assert file.with_suffix(".pdf").read_bytes().startswith(b"%PDF-")
        found = _check(office, file.read_bytes())
        assert found.is_good
        assert found.certified is not None
        assert found.certified.holder == f"Name of {certificate.candidate}"
        assert found.certified.valid_until == "2034-05-14T23:59:59Z"
    assert len({certificate.index for certificate in issued}) == 2


def test_a_certificate_says_what_was_decided(certified: Register) -> None:
    said = json.loads(certified.certificates()[1].data)
    subject = said["credentialSubject"]
    assert [(result["resultDescription"].split("#")[1], result["value"]) for result in subject["result"]] == [
        ("whole", "97.5"),
        ("circuit-main", "100.0"),
        ("circuit-pump", "95.0"),
    ]
    assert subject["achievement"]["criteria"]["narrative"] == (
        "A paper. To pass: 60 % of all marks, and 40 % of the marks in each circuit."
    )
    assert subject["narrative"] == "Decided by T. Examiner on the marks."
    assert said["awardedDate"] == "2031-05-12T00:00:00Z"


@pytest.mark.usefixtures("certified")
def test_what_is_published_holds_no_secret_and_no_name(office: Office) -> None:
    secret = json.loads((office.folder / "issuer-key" / NAME).read_bytes())["secretKeyMultibase"]
    published = {file.name: file.read_text() for file in office.public.iterdir()}
    assert sorted(published) == ["issuer.json", "profile.json", "status.json"]
    for text in published.values():
        assert secret not in text
        assert "Name of" not in text
        assert "c-01" not in text


def test_certifying_again_issues_nothing_new_and_mends_what_is_missing(certified: Register, office: Office) -> None:
    before = certified.certificates()
    files = sorted(office.certificates("spring").iterdir())
    pages = {file: file.read_bytes() for file in files}
    files[0].write_bytes(b"{}")
    files[1].unlink()
    files[3].unlink()
    done = certify_sitting(certified, "spring", office, PERSON, LATER)
    assert done.new == ()
    assert done.standing == before
    assert {file: file.read_bytes() for file in sorted(office.certificates("spring").iterdir())} == pages


def test_whoever_passes_later_gets_a_certificate_then(certified: Register, office: Office) -> None:
    _mark(certified, "c-05", ("9", "9"))
    decide_sitting(certified, "spring", PERSON, "2031-06-01")
    done = certify_sitting(certified, "spring", office, PERSON, LATER)
    assert [certificate.candidate for certificate in done.new] == ["c-05"]
    assert done.troubles == ()


def test_a_revoked_certificate_no_longer_verifies_and_the_others_do(certified: Register, office: Office) -> None:
    one, other = certified.certificates()
    revoke_certificate(certified, one.id, "answers were shared", PERSON, LATER, office)
    assert _check(office, one.data).state == "revoked"
    assert _check(office, other.data).is_good
    revoked = certified.certificate(one.id).revoked
    assert revoked is not None
    assert (revoked.reason, revoked.person, revoked.date) == ("answers were shared", PERSON, "2031-06-01")
    assert "answers were shared" not in (office.public / "status.json").read_text()


def test_whoever_lost_a_certificate_gets_a_new_one_only_when_it_is_asked_for(certified: Register, office: Office) -> None:
    old = certified.certificates()[0]
    revoke_certificate(certified, old.id, "the name was misspelt", PERSON, LATER, office)
    done = certify_sitting(certified, "spring", office, PERSON, LATER)
    assert done.new == ()
    assert done.troubles == (f"c-01: certificate {old.id} was revoked; for a new one add --again c-01",)
    again = certify_sitting(certified, "spring", office, PERSON, LATER, again=["c-01"])
    assert [certificate.candidate for certificate in again.new] == ["c-01"]
    assert again.new[0].id != old.id
    assert again.new[0].index != old.index
    assert _check(office, again.new[0].data).is_good
    assert _check(office, old.data).state == "revoked"


def test_revoking_twice_is_refused_but_publishes_the_list_all_the_same(certified: Register, office: Office) -> None:
    one = certified.certificates()[0]
    revoke_certificate(certified, one.id, "why", PERSON, LATER, office)
    (office.public / "status.json").unlink()
    with pytest.raises(UseError, match="was revoked on 2031-06-01"):
        revoke_certificate(certified, one.id, "why", PERSON, LATER, office)
    assert _check(office, one.data).state == "revoked"


def test_nobody_can_revoke_while_the_list_is_written(
    certified: Register, office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    written = []

    def watched(path: Path, data: bytes | str) -> None:
        if path.name == "status.json":
            with pytest.raises(UseError, match="another command is writing"):
                Register(certified.path, patience=0.05)
            written.append(path)
        write_atomic(path, data)

    monkeypatch.setattr(decisions, "write_atomic", watched)
    certify_sitting(certified, "spring", office, PERSON, LATER)
    assert written == [office.public / "status.json"]


def test_a_certificate_whose_holder_no_longer_passes_is_shown_to_a_person(certified: Register, office: Office) -> None:
    _mark(certified, "c-01", ("6", "2"), "question 2: the key was corrected")
    decide_sitting(certified, "spring", PERSON, "2031-06-01")
    one = certified.certificates()[0]
    assert to_revoke(certified, "spring") == (one,)
    done = certify_sitting(certified, "spring", office, PERSON, LATER)
    assert done.troubles == (f"c-01: has certificate {one.id}, but the decision that counts is no pass; revoke it",)
    assert certified.certificate(one.id).revoked is None  # a person revokes, not the program


def test_nobody_is_certified_before_somebody_decided(register: Register, office: Office) -> None:
    with pytest.raises(UseError, match=r"nobody of sitting 'spring' was decided on; run `grader decide spring` first"):
        certify_sitting(register, "spring", office, PERSON, NOW)
    assert not (office.folder / "issuer-key").exists()


def test_an_unknown_candidate_is_not_certified_again(certified: Register, office: Office) -> None:
    with pytest.raises(UseError, match="no candidate 'c-99'"):
        certify_sitting(certified, "spring", office, PERSON, LATER, again=["c-99"])


def test_a_blueprint_without_a_certificate_certifies_nobody(tmp_path: Path) -> None:
    plain = {name: value for name, value in SITTING.blueprint.items() if name != "certificate"}
    with Register(tmp_path / "register.sqlite") as register:
        register.hold_sitting(replace(SITTING, blueprint=plain), [_paper("c-01")])
        _mark(register, "c-01", ("9", "9"))
        decide_sitting(register, "spring", PERSON, "2031-05-14")
        with pytest.raises(UseError, match="names no certificate"):
            certify_sitting(register, "spring", Office(tmp_path), PERSON, NOW)
        assert register.certificates() == ()


def test_a_lost_key_is_not_replaced_by_another(certified: Register, office: Office) -> None:
    (office.folder / "issuer-key" / NAME).unlink()
    _mark(certified, "c-05", ("9", "9"))
    decide_sitting(certified, "spring", PERSON, "2031-06-01")
    with pytest.raises(UseError, match="the issuer's key is missing; restore it from a copy"):
        certify_sitting(certified, "spring", office, PERSON, LATER)
    with pytest.raises(UseError, match="the issuer's key is missing; restore it from a copy"):
        revoke_certificate(certified, certified.certificates()[0].id, "why", PERSON, LATER, office)
    assert len(certified.certificates()) == 2
    assert all(certificate.revoked is None for certificate in certified.certificates())


def test_a_new_key_is_not_made_where_something_was_published_with_another(register: Register, office: Office) -> None:
    office.public.mkdir()
    (office.public / "issuer.json").write_bytes(b"{}")
    decide_sitting(register, "spring", PERSON, "2031-05-14")
    with pytest.raises(UseError, match="the issuer's key is missing; restore it from a copy"):
        certify_sitting(register, "spring", office, PERSON, NOW)
    assert not (office.folder / "issuer-key").exists()


def test_another_schools_folder_is_not_written_over(certified: Register, office: Office) -> None:
    from grader.certificates.credential import School

    before = (office.public / "issuer.json").read_bytes()
    with pytest.raises(UseError, match=r"belongs to https://weirgate.example/, the sitting to https://elsewhere.example/"):
        publish(certified, office, office.key(), School("Elsewhere", "https://elsewhere.example/"), LATER)
    assert (office.public / "issuer.json").read_bytes() == before


def test_a_name_that_no_font_has_is_certified_without_a_page(tmp_path: Path, office: Office) -> None:
    with Register(tmp_path / "register.sqlite") as register:
        paper, key = _paper("c-01")
        register.hold_sitting(SITTING, [(replace(paper, name="李 明"), key)])
        _mark(register, "c-01", ("9", "9"))
        decide_sitting(register, "spring", PERSON, "2031-05-14")
        done = certify_sitting(register, "spring", office, PERSON, NOW)
    assert [file.suffix for file in office.certificates("spring").iterdir()] == [".json"]
    assert len(done.troubles) == 1
    assert "is issued and good, but has no page to print: the certificate's page cannot be set" in done.troubles[0]


KILLED = """
    import os, sys
    from pathlib import Path
    from grader.register import decisions
    from grader.register.store import Register
    folder = Path(sys.argv[1])
    def killed(*_, **__):
        os.kill(os.getpid(), 9)
    setattr(decisions, sys.argv[2], killed)
    with Register(folder / "register.sqlite") as register:
        decisions.certify_sitting(register, "spring", decisions.Office(folder), "T. Examiner", "2031-05-14T08:00:00Z")
"""


@pytest.mark.parametrize("at", ["publish", "certificate_pdf", "write_atomic", "_place"])
def test_killed_while_certifying_it_goes_on_where_it_was(register: Register, office: Office, at: str) -> None:
    decide_sitting(register, "spring", PERSON, "2031-05-14")
    command = [sys.executable, "-c", textwrap.dedent(KILLED), str(office.folder), at]
    assert subprocess.run(command, check=False).returncode == -9
    before = register.certificates()
    assert len(before) == (0 if at == "_place" else 2)
    done = certify_sitting(register, "spring", office, PERSON, LATER)
    assert [certificate.candidate for certificate in done.standing] == ["c-01", "c-02"]
    assert not before or done.standing == before
    assert len(list(office.certificates("spring").iterdir())) == 4
    assert all(_check(office, certificate.data).is_good for certificate in done.standing)


@pytest.mark.parametrize(
    ("first", "valid", "last"),
    [
        ("2031-05-14", "3 years", "2034-05-14"),
        ("2032-02-29", "1 year", "2033-02-28"),
        ("2032-02-29", "4 years", "2036-02-29"),
        ("2031-12-31", "2 months", "2032-02-29"),
        ("2031-11-30", "1 month", "2031-12-30"),
    ],
)
def test_it_is_valid_to_the_same_day_of_a_later_month(first: str, valid: str, last: str) -> None:
    # The calendar; where a month has no such day, its last.
    assert last_day(first, valid) == last


@settings(deadline=None)
@given(st.dates(datetime(2000, 1, 1).date(), datetime(2100, 1, 1).date()), st.integers(1, 99))  # noqa: DTZ001 - days, no instants
def test_longer_is_never_shorter(first: Any, months: int) -> None:
    assert last_day(first.isoformat(), f"{months} months") > first.isoformat()


@pytest.mark.parametrize("valid", ["0 years", "three years", "3", "-1 years", "3 weeks"])
def test_what_is_no_time_is_refused(valid: str) -> None:
    with pytest.raises(UseError, match="is not a time in years or months"):
        last_day("2031-05-14", valid)


def test_a_decision_from_before_markings_had_numbers_stands_on_the_same_evidence(register: Register) -> None:
    (first, *_) = decide_sitting(register, "spring", PERSON, "2031-05-14")
    older = {name: value for name, value in first.evidence.items() if name != "marking"}
    register.decide(Decision("spring", first.candidate, first.decision, first.rule, older, PERSON, "2031-05-15"))
    assert undecided(register, "spring") == {}
    decide_sitting(register, "spring", PERSON, "2031-06-01")
    assert register.decisions("spring")[first.candidate].date == "2031-05-15"
