from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import msgspec
import pytest

from grader.items.course import load_practice
from grader.marking.key import AnyQuestion, Numeric
from grader.marking.mark import mark_question
from grader.pages.factoring import factored, filled
from grader.pages.packs import draw_variants, for_browser, pack_entry, pack_script

COURSE = Path(__file__).with_name("course")


def drawn(count: int = 6) -> dict[str, list[AnyQuestion]]:
    course = load_practice(COURSE)
    return {item.id: draw_variants(item, count, course.figures) for item in course.practice}


def opened(script: str) -> dict[str, Any]:
    pack: dict[str, Any] = json.loads(script.removeprefix("graderPacks.add(").removesuffix(");\n"))
    for item, columns in zip(pack["items"], pack["columns"], strict=True):
        item["columns"] = columns
    return pack


def test_a_pack_comes_out_the_same_in_another_process_with_another_hash_seed() -> None:
    code = (
        "import sys, hashlib; from pathlib import Path; sys.path.insert(0, sys.argv[2])\n"
        "from grader.items.course import load_practice; from grader.pages.packs import draw_variants, pack_entry\n"
        "course = load_practice(Path(sys.argv[1]))\n"
        "text = str([pack_entry(draw_variants(item, 5, course.figures)) for item in course.practice])\n"
        "print(hashlib.sha256(text.encode()).hexdigest())"
    )
    root = str(Path(__file__).parents[2])
    digests = {
        subprocess.run(
            [sys.executable, "-c", code, str(COURSE), root],
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(digests) == 1


def test_no_two_variants_of_an_item_are_alike() -> None:
    for questions in drawn(12).values():
        plain = [msgspec.json.encode(question) for question in questions]
        assert len(plain) == len(set(plain))


def test_an_item_with_numbers_has_as_many_variants_as_were_asked_for() -> None:
    assert len(drawn(12)["power-ring"]) >= 10  # 13 bores and 2 rods: two draws may fall on the same numbers


def in_order(value: Any) -> str:
    return json.dumps(value, sort_keys=True)


def test_a_form_filled_again_is_the_question() -> None:
    script = pack_script("power", map(pack_entry, drawn().values()))
    for entry, questions in zip(opened(script)["items"], drawn().values(), strict=True):
        plain = [filled(for_browser(question), [], 0) for question in questions]
        again = [filled(entry["form"], entry["columns"], place) for place in range(entry["count"])]
        assert sorted(map(in_order, again)) == sorted(map(in_order, plain))
        assert entry["item"] == plain[0]["item"]
        assert entry["numbers"] is (len({json.dumps(one.get("answer") or one.get("parts")) for one in plain}) > 1)


def test_a_dial_stands_in_a_pack_once_and_its_numbers_for_each_variant() -> None:
    questions = drawn(40)["power-gauge"]
    plain = [for_browser(question) for question in questions]
    assert len({one["figure"]["svg"] for one in plain}) == len(plain) > 20
    assert len(json.dumps(factored(plain))) < 0.25 * len(json.dumps(plain))


def test_numbers_of_practice_have_six_figures_and_their_bounds_say_the_same_of_an_answer() -> None:
    for question in drawn()["power-ring"]:
        assert isinstance(question, Numeric)
        answer = for_browser(question)["answer"]
        assert len(answer["value"].replace(".", "").lstrip("0")) <= 6
        assert answer["share"] == "0.02"
        for name in ("value", "low", "high"):
            assert float(filled(answer, [], 0)[name]) == pytest.approx(float(getattr(question.answer, name)), rel=5e-6)
        for slip, sealed in zip(filled(for_browser(question), [], 0)["slips"], question.slips, strict=True):
            assert float(slip["high"]) == pytest.approx(float(sealed.high), rel=5e-6)


def test_no_bound_stands_in_a_pack() -> None:
    pack = pack_script("power", map(pack_entry, drawn().values()))
    assert '"low"' not in pack
    assert '"high"' not in pack


def test_a_pack_carries_units_and_no_typst() -> None:
    pack = opened(pack_script("power", map(pack_entry, drawn().values())))
    assert pack["form"] == "grader-pack-3"
    assert pack["circuit"] == "power"
    units = pack["units"]
    assert isinstance(units, dict)
    assert units["mm^2"]["factor"] == "1/1000000"
    assert "typst" not in json.dumps(pack)


def test_the_answers_of_a_pack_are_right_by_the_marker() -> None:
    from grader.marking.key import Numeric, unit_entries

    for question in drawn()["power-ring"]:
        assert isinstance(question, Numeric)
        (outcome,) = mark_question(question, {"": f"{question.answer.value} {question.answer.unit}"}, unit_entries())
        assert outcome.verdict == "right"
