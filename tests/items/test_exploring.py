"""Explorer blocks: what may be moved, where it begins, and every refusal."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from grader.circuits.catalog import relations
from grader.items.course import load_course
from grader.items.exploring import DRAWINGS, check_exploration, read_exploration, values_at
from grader.items.model import Fence
from grader.items.sheet_values import NotThere

ROOT = Path(__file__).parents[2]
JET = (
    "relation: open_area",
    "D: 0.080 in to 0.110 in step 0.001 in, 0.093 in",
    "d: 0.050 in to 0.076 in step 0.001 in",
    "unit: mm^2",
)


def block(*lines: str) -> Fence:
    return Fence("explorer", 1, lines)


def instead(place: int, line: str) -> tuple[str, ...]:
    return (*JET[:place], line, *JET[place + 1 :])


def test_what_is_moved_has_its_range_its_steps_and_its_beginning() -> None:
    asked = read_exploration(block(*JET))
    jet, rod = asked.moved["D"], asked.moved["d"]
    assert (jet.least, jet.most, jet.step, jet.start, jet.steps, jet.decimals) == (
        Fraction("0.080"), Fraction("0.110"), Fraction("0.001"), Fraction("0.093"), 30, 3
    )  # fmt: skip
    assert rod.start == Fraction("0.063")  # in the middle, where nothing is said
    assert jet.shown(jet.start).replace("\u202f", " ") == "0.093 in"


def test_units_of_one_kind_may_be_mixed_and_temperatures_keep_their_zero() -> None:
    asked = read_exploration(
        block(
            "relation: coil_free_angle", "T: 0 degC to 80 degC step 1 degC, 104 degF", "s: 1.5 deg/K", "T_0: 20 degC", "unit: deg"
        )
    )
    assert asked.moved["T"].start == 40  # 104 °F
    relation = check_exploration(asked, relations())
    assert values_at(asked, relation, {"T": Fraction(40)}) == pytest.approx(relation(0.0261799, 313.15, 293.15), rel=1e-5)


def test_a_beginning_from_a_specimen_s_sheet_goes_to_the_nearest_step() -> None:
    sheets = load_course(ROOT).specimens
    asked = read_exploration(block(*instead(1, "D: 2 mm to 3 mm step 0.1 mm, T-1 main_jet")), sheets)
    assert asked.moved["D"].start == Fraction("2.4")  # 0.093 in is 2.3622 mm


@pytest.mark.parametrize(
    ("lines", "code", "said"),
    [
        (JET[1:], "missing-field", "`relation` is missing"),
        (JET[:3], "missing-field", "`unit` is missing"),
        (instead(0, "relation: open_aera"), "unknown-relation", "there is no relation `open_aera`; did you mean `open_area`?"),
        (instead(2, "d: 1 mm"), "", ""),
        (instead(2, "rod: 1 mm to 2 mm step 1 mm"), "unknown-symbol", "open_area takes no `rod`; it takes D, d"),
        ((JET[0], JET[1], JET[3]), "missing-symbol", "open_area lacks d"),
        (("relation: open_area", "D: 2 mm", "d: 1 mm", "unit: mm^2"), "wrong-count", "0 quantities are to be moved"),
        (instead(1, "D: 2 mm to 3 kPa step 0.1 mm"), "dimension", "D goes in mm, and 3\u202fkPa is of another kind"),
        (instead(1, "D: 2 inHg to 3 inHg step 0.1 inHg"), "dimension", "D of open_area is in inHg; give it in mm"),
        (instead(1, "D: 3 mm to 2 mm step 0.1 mm"), "bad-range", "D does not come from 3\u202fmm to 2\u202fmm in such steps"),
        (instead(1, "D: 2 mm to 3 mm step 0.3 mm"), "bad-range", "let it fit evenly"),
        (instead(1, "D: 2 mm to 3 mm step 0.001 mm"), "bad-range", "D has 1000 steps; write a step that gives 400 at most"),
        (instead(1, "D: 1/64 in to 2/64 in step 1/192 in"), "bad-range", "cannot be printed to 8 decimals"),
        (instead(1, "D: 0.0000000001 mm to 0.0000000002 mm step 0.00000000001 mm"), "bad-range", "cannot be printed"),
        (instead(1, "D: 1e20 mm to 2e20 mm step 1e19 mm"), "bad-range", "cannot be printed"),
        (instead(1, "D: 2 mm to 3 mm step 0.1 mm, 4 mm"), "bad-range", "D begins at 4\u202fmm, outside its range"),
        (instead(1, "D: 2 mm to 3 mm step 0.1 mm, 4 kPa"), "dimension", "D begins at 4\u202fkPa, of another kind than mm"),
        (instead(3, "unit: kPa"), "dimension", "open_area does not come in kPa; write `unit: mm^2`"),
        ((*JET, "drawing: rod in jett"), "unknown-drawing", "did you mean `rod in jet`?"),
        ((*JET, "drawing: pump stroke"), "unknown-drawing", "the drawing `pump stroke` is drawn from s too"),
        ((*JET, "figures: 9"), "wrong-count", "9 significant figures; write 1 to 6"),
        (instead(2, "d: 0.2 in to 0.3 in step 0.1 in"), "no-value", "where the explorer begins, open_area: d is"),
    ],
)  # fmt: skip
def test_a_wrong_block_says_what_is_wrong_and_how_to_mend_it(lines: tuple[str, ...], code: str, said: str) -> None:
    if not code:
        check_exploration(read_exploration(block(*lines)), relations())
        return
    with pytest.raises(NotThere) as fault:
        check_exploration(read_exploration(block(*lines)), relations())
    assert fault.value.code == code
    assert said in str(fault.value)


def test_every_drawing_is_drawn_by_the_page_s_script() -> None:
    script = (ROOT / "grader" / "pages" / "assets" / "explorer.js").read_text(encoding="utf-8")
    for name in DRAWINGS:
        assert f"'{name}'(at, id)" in script or f"    {name}(at, id)" in script


def test_every_explorer_of_the_course_moves_through_values_that_are_there() -> None:
    course = load_course(ROOT)
    explored = 0
    for lesson in course.lessons:
        for fence in lesson.fences:
            if fence.word == "explorer":
                explored += 1
                check_exploration(read_exploration(fence, course.specimens), course.relations)
    assert explored >= 6  # one in each of the six circuits at least
