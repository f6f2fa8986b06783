"""A small sitting in a register: invented candidates with hostile names, four questions, marked for real."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from grader.base.canon import digest
from grader.marking.key import (
    FORM,
    Answer,
    Case,
    Choice,
    Follow,
    Key,
    Match,
    Numeric,
    NumericPart,
    Option,
    Order,
    Row,
    Slip,
    Step,
    unit_entries,
)
from grader.marking.mark import mark
from grader.register.records import AnswerFile, Aside, Decision, Marking, Paper, Sitting
from grader.register.store import Register
from grader.reports.view import View, look_at

WHEN = "2031-05-12T09:30:00Z"
CODES = {"c-1": "7M2KQ8D4X0", "c-2": "7M2KQ8D4X1", "c-3": "7M2KQ8D4X2", "c-4": "7M2KQ8D4X3"}
NAMES = {"c-1": "<script>alert(1)</script> Ilse", "c-2": "=cmd|'/c calc'!A0", "c-3": "Ó Dálaigh & Søn", "c-4": "Absent"}
MATH = '<math alttext="A = π/4 (D² − d²)"><mi>A</mi></math>'


def key_of(candidate: str) -> Key:
    """Area 2.298 mm² with a slip, a choice, a case with follow-through, an order, a match."""
    area = Answer(value="2.298", low="2.25204", high="2.34396", unit="mm^2", shown="2.298 mm²", within="2 %")
    common: dict[str, Any] = {"points": "1", "item": "power-open-area", "objective": "power.1", "circuit": "power"}
    first = NumericPart(part="a", points="1", stem="Area?", answer=area)
    double = Answer(value="4.596", low="4.50408", high="4.68792", unit="mm^2", shown="4.596 mm²", within="2 %")
    follow = Follow(tree=["*", 2, ["name", "area"]], values={}, takes={"area": "a"}, within="2 %")
    return Key(
        form=FORM, sitting="spring", paper=CODES[candidate], candidate=candidate, blueprint="module",
        bank="0" * 64, nonce="0" * 64,        units=unit_entries(),
        questions=(
            Numeric(
                number="1", stem="A step of 0.067 in in a jet of 0.095 in. Area?", answer=area,
                slips=(Slip(value="4.573", low="4.48", high="4.66", says="That is the whole jet."),),
                working=(Step(says="The ring.", text="A = 2.298 mm²", mathml=MATH),), **common,
            ),
            Choice(number="2", item="pump-why", objective="pump.3", circuit="pump", points="1", stem="Which ball?",
                   options=(Option(letter="a", text="the <small> one"), Option(letter="b", text="the large one")), right="a"),
            Case(number="3", item="power-case", objective="power.2", circuit="power", points="2", stem="Two jets.",
                 parts=(first, NumericPart(part="b", points="1", stem="Both?", answer=double, follow=follow))),
            Order(number="4", item="pump-order", objective="pump.1", circuit="pump", points="1", stem="In order.",
                  entries=(Option(letter="a", text="one"), Option(letter="b", text="two")), right=("b", "a")),
            Match(number="5", item="pump-match", objective="pump.1", circuit="pump", points="1", stem="Match.",
                  rows=(Row(number="1", text="intake"), Row(number="2", text="discharge")),
                  options=(Option(letter="a", text="3/16"), Option(letter="b", text="5/32")), right={"1": "a", "2": "b"}),
        ),
    )  # fmt: skip


ANSWERS = {
    "c-1": {"1": "2.30 mm²", "2": "a", "3a": "2.30 mm2", "3b": "4.60 mm2", "4": "b a", "5": "1-a 2-b"},
    "c-2": {"1": "4.57 mm²", "2": "b", "3a": "3 mm2", "3b": "6 mm2", "4": "a b", "5": ""},
    "c-3": {"1": "<img src=x onerror=alert(1)>", "2": "", "3a": "5 kg", "3b": "", "4": "", "5": ""},
}


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    sitting = Sitting(
        "spring", {"title": "Power and pump", "pass": {"cut": "60 %", "each_circuit": "40 %"}}, "0" * 64, bytes(32), "2031-05-12",
        "The course", {"name": "Weirgate Workshop School", "id": "https://weirgate.example/", "place": "Weirgate"},
    )  # fmt: skip
    with Register(tmp_path / "register.sqlite") as store:
        keys = {candidate: key_of(candidate) for candidate in CODES}
        papers = [(Paper(CODES[c], "spring", c, NAMES[c], digest(k.encoded())), k.encoded()) for c, k in keys.items()]
        store.hold_sitting(sitting, papers)
        for candidate, given in ANSWERS.items():
            file = AnswerFile("spring", f"{candidate}.json", repr(given).encode(), WHEN)
            marks = mark(keys[candidate], given).marks
            marking = Marking("spring", CODES[candidate], candidate, file.digest, WHEN, marks)
            store.keep_answer_file(file, [marking])
        store.set_aside(Aside("spring", "<b>photo</b>.json", 1, "not-an-answer-file", "not JSON at line 1", WHEN))
        store.decide(Decision("spring", "c-1", "pass", {}, {}, "T. Examiner", "2031-05-13"))
        yield store


@pytest.fixture
def view(register: Register) -> View:
    return look_at(register, "spring", "T. Examiner", WHEN)
