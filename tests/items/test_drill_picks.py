"""A given picked from numbered drills: printed by its number, computed with the bore that the list gives it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from grader.base.findings import Finding
from grader.circuits.catalog import relations
from grader.items.drawing import draw_variant
from grader.items.item_file import read_items
from grader.items.model import Item
from grader.items.template import filled

BANK = """
- id: tank-drill
  objective: tank.1
  kind: numeric
  given:
    drill: {{pick: [{picks}]}}
  stem: A bleed is drilled {{drill}}. What is its area?
  answer: {{value: disc_area(drill), unit: mm^2, within: 2 %}}
"""


def read(picks: str) -> tuple[list[Item], list[Finding]]:
    findings: list[Finding] = []
    bank = read_items("tank.yaml", "tank", BANK.format(picks=picks).encode(), relations(), findings)
    return list(bank.items), findings


def test_a_drill_is_printed_by_its_number_and_computed_by_its_bore() -> None:
    (item,), findings = read("'#54', '#60'")
    assert findings == []
    seen = {}
    for paper in range(20):
        variant = draw_variant(item, b"secret", f"paper {paper}")
        stem = filled(item.stem, variant.givens, variant.values, {}, variant.words)
        key = variant.parts[0].key
        assert key is not None
        seen[stem] = float(key.value)
    # areas of No. 54 (0.0550 in) and No. 60 (0.0400 in): pi/4 · 1.397² and pi/4 · 1.016² mm², by hand
    assert seen == {
        "A bleed is drilled #54. What is its area?": pytest.approx(1.53279, abs=1e-5),
        "A bleed is drilled #60. What is its area?": pytest.approx(0.81073, abs=1e-5),
    }


def test_drills_stand_beside_other_bores_and_are_exact() -> None:
    (item,), findings = read("'#54', 0.060 in")
    assert findings == []
    given = item.given[0]
    assert given.words == ("#54", "0.060\u202fin")
    assert given.step == Fraction(0)


@pytest.mark.parametrize(
    ("picks", "line"),
    [
        ("'#81', '#54'", "`#81` is not a numbered drill; write #1 to #80, or the bore with its unit [bad-quantity]"),
        ("'#0', '#54'", "`#0` is not a numbered drill; write #1 to #80, or the bore with its unit [bad-quantity]"),
        (
            "'#54', 1.4 mm",
            "`drill` is picked from values in `in` and values in `mm`; write all of them in one unit [mixed-units]",
        ),
        ("'#54', '#54'", "a value of `drill` stands twice in its list; keep one of the two [repeated-value]"),
        ("'#54', 0.055 in", "a value of `drill` stands twice in its list; keep one of the two [repeated-value]"),
    ],
)
def test_what_is_no_drill_is_refused(picks: str, line: str) -> None:
    items, findings = read(picks)
    assert items == []
    assert [str(finding) for finding in findings] == [f"tank.yaml:6: {line}"]
