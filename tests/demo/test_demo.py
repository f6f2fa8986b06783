"""The demonstration's data and folder."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from grader.base.errors import UseError
from grader.demo.folder import fresh
from grader.demo.roster import CLASS, roster_csv
from grader.demo.simulated import Person, answers, pile, skill_of
from grader.items.roster import read_roster
from grader.marking.key import FORM, Answer, Choice, Key, Numeric, Option, Reading, Slip, unit_entries
from grader.marking.mark import mark


def key_of(candidate: str, code: str) -> Key:
    area = Answer(value="2.29843", low="2.25246", high="2.34440", unit="mm^2", shown="2.298 mm²", within="2 %")
    common: dict[str, Any] = {"objective": "power.1", "circuit": "power", "points": "1", "stem": "?"}
    options = tuple(Option(letter=letter, text=letter) for letter in "abcd")
    slip = Slip(value="4.573", low="4.48", high="4.66", says="The whole jet.")
    return Key(
        form=FORM, sitting="demo", paper=code, candidate=candidate, blueprint="b", bank="0" * 64, nonce="0" * 64,
        units=unit_entries(),
        questions=tuple(
            Numeric(number=str(n), item=f"power-{n}", answer=area, slips=(slip,), **common) if n % 2
            else Choice(number=str(n), item=f"power-{n}", options=options, right="c", **common)
            for n in range(1, 15)
        ),
    )  # fmt: skip


KEYS = {candidate: key_of(candidate, f"0000000{place:03}") for place, (candidate, _) in enumerate(CLASS)}


def test_the_roster_is_one_that_the_program_reads(tmp_path: Path) -> None:
    (tmp_path / "class.csv").write_text(roster_csv(), "utf-8")
    assert [(one.candidate, one.name) for one in read_roster(tmp_path / "class.csv")] == list(CLASS)


def test_the_skilled_get_more_right() -> None:
    def share(skill: float) -> float:
        marks = [mark(key, answers(Person(name, skill), key)) for name, key in KEYS.items()]
        return sum(float(one.mark) for one in marks) / sum(float(one.out_of) for one in marks)

    assert share(3) > 0.9 > share(1) > share(-1)
    assert share(-3) < 0.3


def test_who_can_read_an_instrument_writes_all_its_figures_and_who_cannot_is_lines_off() -> None:
    # 1.238 in of a vernier: to three figures it would be 1.24, two thousandths off and wrong.
    caliper = Answer(value="1.238", low="1.237", high="1.239", unit="in", shown="1.238 in", within="0.001 in")
    question = Reading(number="1", item="bore", objective="o.1", circuit="o", points="1", stem="?", answer=caliper)
    keys = {name: replace(key, questions=(question,)) for name, key in KEYS.items()}
    marks = {skill: [mark(key, answers(Person(name, skill), key)).marks[0] for name, key in keys.items()] for skill in (9, -9)}
    assert {one.verdict for one in marks[9]} == {"right"}
    assert {"wrong"} < {one.verdict for one in marks[-9]} <= {"wrong", "unit", "unreadable", "blank"}
    misread = [float(one.answer.split()[0].replace(",", ".").removesuffix("in")) for one in marks[-9] if one.verdict == "wrong"]
    assert all(0.002 < abs(value - 1.238) < 0.01 for value in misread)


def test_the_class_answers_the_same_each_time() -> None:
    people = {name: Person(name, skill_of(place, len(KEYS))) for place, name in enumerate(KEYS)}
    assert pile(KEYS, people) == pile(KEYS, people)


def test_the_pile_holds_twenty_four_files_of_three_forms() -> None:
    people = {name: Person(name, 1) for name in KEYS}
    files = pile(KEYS, people)
    assert len(files) == 24
    assert {name.rsplit(".", 1)[1] for name in files} == {"json", "yaml", "csv"}


def test_a_folder_that_is_somebody_elses_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "work.txt").write_text("years of it")
    with pytest.raises(UseError, match="no demonstration made it"):
        fresh(tmp_path)
    assert (tmp_path / "work.txt").read_text() == "years of it"


def test_a_demonstrations_folder_is_emptied_for_the_next(tmp_path: Path) -> None:
    folder = fresh(tmp_path / "demo")
    (folder / "old").touch()
    assert [path.name for path in fresh(folder).iterdir()] == [".demonstration"]
