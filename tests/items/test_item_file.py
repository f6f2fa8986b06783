"""What an author is told of an item, in the words that mend it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from grader.relations.relation import Relation
from tests.items.test_refused import HERE, found_in

ITEM = (HERE / "refused" / "unit-of-another-kind.yaml").read_text("utf-8")
LITRES = "unit: L, within: 5 %, plausible: 10 L to 500 L"


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        (
            LITRES,
            "unit: m, within: 0.1 L, plausible: 10 L to 500 L",
            "8: tank-x: `cylinder_volume(bore, depth)` is a volume (mm³), `unit` is m, a length (mm); write `unit: L`, or mend "
            "the expression [dimension]",
        ),
        (
            LITRES,
            "unit: m, within: 5 %",
            "8: tank-x: `cylinder_volume(bore, depth)` is a volume (mm³), `unit` is m, a length (mm); write `unit: mm^3`, or "
            "mend the expression [dimension]",
        ),
        (
            LITRES,
            "unit: L, within: 5 mm",
            "8: tank-x: `within` is 5 mm, the answer a volume (mm³); write a share (2 %) or an amount in L [bad-tolerance]",
        ),
        (
            LITRES,
            "unit: L, within: 5 %, plausible: 1 m to 2 m",
            "8: tank-x: `plausible` is a length (mm), the answer a volume (mm³); write it in L [dimension]",
        ),
        (LITRES, "unit: litres, within: 5 %", "8: `litres` is not a unit known here; did you mean `L`? [unknown-unit]"),
        (
            "bore**2 * depth",
            "cylinder_volume(bore, depth)",
            "10: tank-x: slip 1 is the right answer in every variant; write what the mistake computes, or take the slip out "
            "[slip-is-answer]",
        ),
        (
            "[40 cm, 50",
            "[40, 50",
            "6: `depth` is picked from values without a unit and values in `cm`; write all of them in one unit [mixed-units]",
        ),
        (
            "cylinder_volume(bore",
            "cylindr_volume(bore",
            "8: `cylindr_volume(bore, depth)`: column 1: `cylindr_volume` is not a function or a relation that may be called "
            "here; did you mean `cylinder_volume`? [expression]",
        ),
        (
            "cylinder_volume(bore, depth)",
            "circle(bore)",
            "8: `circle(bore)`: column 1: `circle` is not a function or a relation that may be called here; `grader compute` "
            "lists the relations; for times write * [expression]",
        ),
        (
            '"cylinder_volume(bore, depth)"',
            "cylinder_volume(bore, depth)",
            "8: `cylinder_volume(bore`: column 16: this ( is never closed; an expression with a comma inside { } needs quotes; "
            "without a comma, close the bracket [expression]",
        ),
        (
            "  kind: numeric",
            "   kind: numeric",
            "3: not YAML: mapping values are not allowed in this context; text that holds a colon and a space needs quotes; or "
            "this line is indented further than the one above: an item begins with `- ` at the margin [not-yaml]",
        ),
        (
            "stem: A round",
            "stem: Think: a round",
            "7: not YAML: mapping values are not allowed in this context; text that holds a colon and a space needs quotes "
            "[not-yaml]",
        ),
    ],
)
def test_a_fault_is_told_in_the_words_that_mend_it(
    old: str, new: str, line: str, tmp_path: Path, toy_relations: Mapping[str, Relation]
) -> None:
    sound = ITEM.replace("unit: m, within: 0.1 L, plausible: 10 L to 500 L", LITRES).replace("  # finds: dimension", "")
    path = tmp_path / "x.yaml"
    path.write_text(sound, "utf-8")
    assert found_in(path, toy_relations) == []
    assert sound.count(old) == 1
    path.write_text(sound.replace(old, new), "utf-8")
    assert line in [str(finding).removeprefix("x.yaml:") for finding in found_in(path, toy_relations)]
