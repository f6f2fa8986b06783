"""Blueprints and the course's own file."""

from __future__ import annotations

from fractions import Fraction

import pytest

from grader.base.findings import Finding
from grader.items.blueprint_file import read_blueprint, read_course

GOOD = """id: garden
title: Watering
time: 30 min
draw:
  - {objective: tank.1, items: 1}
pass: {cut: 60 %}
"""


def told(text: str) -> list[str]:
    findings: list[Finding] = []
    read_blueprint("garden.yaml", text.encode(), findings)
    return [str(finding).removeprefix("garden.yaml:") for finding in findings]


def test_a_blueprint_is_read() -> None:
    text = (
        GOOD.replace("60 %", "2/3, each_circuit: 40 %")
        + "certificate: {name: a, description: b, criteria: c, valid: 18 months}\n"
    )
    found = read_blueprint("garden.yaml", text.encode(), [])
    assert found is not None
    assert (found.minutes, found.pass_rule.cut, found.pass_rule.each_circuit) == (30.0, Fraction(2, 3), Fraction(2, 5))
    assert found.certificate is not None
    assert found.certificate.years == 1.5


@pytest.mark.parametrize(
    ("old", "new", "finding"),
    [
        ("objective: tank.1, ", "", "5: the draw names neither an objective nor a circuit; name one of the two [bad-draw]"),
        (
            "items: 1",
            "items: 1, circuit: tank",
            "5: the draw names both an objective and a circuit; name one of the two [bad-draw]",
        ),
        ("items: 1", "items: 0", "5: draws 0 items; write 1 to 200 [bad-number]"),
        (
            "items: 1",
            "items: 1, level: C",
            "5: the draw names an objective and a level; take the level out, an objective has only one [bad-draw]",
        ),
        ("60 %", "6", "6: `6` is not a share from 0 % to 100 %; write it as `60 %` [bad-share]"),
        ("30 min", "30 kg", "3: `30 kg` is not a time; write it as `60 min` [bad-time]"),
        ("pass:", "passes:", "6: `passes` is not a field of a blueprint; did you mean `pass`? [unknown-field]"),
        ("pass: {cut: 60 %}\n", "", "1: `pass` is missing from a blueprint; write it: who passes [missing-field]"),
    ],
)
def test_a_fault_stands_on_its_line(old: str, new: str, finding: str) -> None:
    assert told(GOOD.replace(old, new)) == [finding]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("title: x\n", "missing-field"),
        ("{title: x, language: English (UK), school: {name: a, id: 'https://a.example/'}}", "bad-name"),
        ("{title: x, language: en, school: {name: a, id: a school}}", "bad-uri"),
        ("[]", "wrong-shape"),
        ("", "empty-file"),
    ],
)
def test_a_course_file_that_will_not_do_is_told(text: str, code: str) -> None:
    findings: list[Finding] = []
    assert read_course("course.yaml", text.encode(), findings) is None
    assert code in {finding.code for finding in findings}


def test_a_blueprint_draws_from_the_exam_bank_unless_it_says_practice() -> None:
    exam, practice = (read_blueprint("garden.yaml", (GOOD + more).encode(), []) for more in ("", "bank: practice\n"))
    assert exam is not None
    assert practice is not None
    assert (exam.bank, practice.bank) == ("exam", "practice")
    assert [rule.bank for rule in practice.draw] == ["practice"]


def test_stations_count_only_where_the_pass_rule_says_so() -> None:
    found = read_blueprint("garden.yaml", (GOOD + "stations: [shed]\n").encode(), [])
    counted = GOOD.replace("60 %", "60 %, each_station: 70 %")
    counting = read_blueprint("garden.yaml", (counted + "stations: [shed]\n").encode(), [])
    assert found is not None
    assert counting is not None
    assert (found.pass_rule.each_station, counting.pass_rule.each_station) == (None, Fraction(7, 10))
    (finding,) = told(counted)
    assert finding.endswith("names none; name `stations`, or take `each_station` out [idle-rule]")


@pytest.mark.parametrize(
    ("more", "finding"),
    [
        ("bank: practise\n", "7: `practise` is not one of exam, practice; did you mean `practice`? [unknown-word]"),
        (
            "bank: practice\ncertificate: {name: a, description: b, criteria: c}\n",
            "8: practice items are open to everyone, and the blueprint promises a certificate; take the certificate out, or draw "
            "from `bank: exam` [open-certificate]",
        ),
        ("bank: exam\ncertificate: {name: a, description: b, criteria: c}\n", ""),
    ],
)
def test_open_items_earn_no_certificate(more: str, finding: str) -> None:
    assert told(GOOD + more) == ([finding] if finding else [])
