"""Variants as a form with gaps: whatever they are, they come out again, in Python and in the page's script."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.pages.factoring import GAP, factored, filled

SCRIPT = Path(__file__).parents[2] / "grader" / "pages" / "assets" / "practice.js"

text = st.text(st.characters(exclude_characters=GAP, exclude_categories=["Cs"]), max_size=12)
value = st.recursive(
    st.none() | st.booleans() | st.integers(-99, 99) | text | st.decimals(0, 99, places=2).map(lambda n: f"A jet of {n} in"),
    lambda below: st.lists(below, max_size=3) | st.dictionaries(st.sampled_from(["stem", "answer", "low"]), below, max_size=3),
    max_leaves=8,
)


@given(st.lists(value, min_size=1, max_size=5))
@settings(max_examples=150, deadline=None)
def test_every_variant_comes_out_again_as_it_was(variants: list[Any]) -> None:
    form, columns = factored(variants)
    again = [filled(form, columns, place) for place in range(len(variants))]
    # By text, so that true is not taken for 1; the order of names says nothing in JSON.
    assert json.dumps(again, sort_keys=True) == json.dumps(variants, sort_keys=True)


def test_true_within_a_list_or_a_group_is_not_taken_for_one() -> None:
    for variants in ([[1], [True]], [{"low": 0}, {"low": False}], [{"low": [1, {"stem": 1}]}, {"low": [1, {"stem": True}]}]):
        form, columns = factored(variants)
        assert json.dumps([filled(form, columns, place) for place in (0, 1)]) == json.dumps(variants)


def test_what_all_say_stands_once_and_numbers_that_go_together_are_one_gap() -> None:
    form, columns = factored([{"stem": f"{n} in, then {n} in again, of 7"} for n in ("0.089", "0.090", "0.093")])
    assert form == {"stem": f"{GAP}0{GAP} in, then {GAP}0{GAP} in again, of 7"}
    assert columns == [["0.089", "0.090", "0.093"]]


def test_a_column_of_few_entries_names_each_once() -> None:
    form, columns = factored(["rich", "lean", "lean", "rich"])
    assert (form, columns) == (f"{GAP}0{GAP}", [{"of": ["rich", "lean"], "at": [0, 1, 1, 0]}])


line = st.sampled_from(["<svg>", "</svg>", "", "M3 4 M5 6", "M3 4 M7 6 M9 9", "M1 1 M3 4 M7 6 M9 9", "a 1", "a 2", "b"])


@given(st.lists(st.lists(line, min_size=1, max_size=6).map("\n".join), min_size=1, max_size=4))
@settings(max_examples=300, deadline=None)
def test_drawings_of_more_and_fewer_lines_and_strokes_come_out_again(drawings: list[str]) -> None:
    form, columns = factored(drawings)
    assert [filled(form, columns, place) for place in range(len(drawings))] == drawings


def test_of_drawings_with_more_and_fewer_lines_what_all_have_stands_once() -> None:
    form, columns = factored(["<svg>\nM3 4 M5 6\n<text>1</text>\n</svg>", "<svg>\nM3 4 M7 7 M5 6\n</svg>"])
    assert form.startswith("<svg>\nM3 4")
    assert form.endswith("\n</svg>")
    assert "<svg>" not in json.dumps(columns)
    form, columns = factored(["M3 4 M5 6 M9 9", "M3 5 M5 6 M7 7 M9 9"])
    assert form.endswith(" M9 9")


def test_texts_that_differ_in_words_are_kept_whole() -> None:
    form, columns = factored(["rich 1", "lean 2"])
    assert (form, columns) == (f"{GAP}0{GAP}", [["rich 1", "lean 2"]])


@pytest.mark.browser
def test_the_page_s_script_fills_the_same(node: str) -> None:
    text = SCRIPT.read_text(encoding="utf-8")
    source = "".join(re.findall(r"  function (?:filled|bounded)\(.*?\n  }\n", text, re.DOTALL))
    assert "function filled" in source
    assert "function bounded" in source
    variants = [
        {
            "stem": f"A jet of {n / 1000:.3f} in at {n} kPa",
            "right": "ab"[n % 2],
            "parts": [{"tree": ["*", 2, n]}, {"says": None}],
            "ok": n > 91,
        }
        for n in range(89, 95)
    ]
    numbers = [f"{n / 1000:.6f}".rstrip("0").rstrip(".") for n in (-8, -2.5, 0, 0.001, 10, 1234567)]
    for one, number in zip(variants, numbers, strict=True):
        one |= {"first": {"value": number, "share": "0.025"}, "then": {"value": number, "reach": "0.5"}}
    form, columns = factored(variants)
    program = (
        f"const GAP = '\\u0001';{source}\nconst [form, columns, count] = JSON.parse(require('fs').readFileSync(0, 'utf8'));"
        + ("process.stdout.write(JSON.stringify([...Array(count).keys()].map((place) => filled(form, columns, place))));")
    )
    done = subprocess.run(
        [node, "-e", program], input=json.dumps([form, columns, len(variants)]), capture_output=True, text=True, check=True
    )
    found = json.loads(done.stdout)
    assert found == [filled(form, columns, place) for place in range(len(variants))]
    assert [(one["first"]["low"], one["then"]["high"]) for one in found[:2]] == [("-0.0082", "0.492"), ("-0.0025625", "0.4975")]
