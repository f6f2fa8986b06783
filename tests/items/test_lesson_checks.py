"""What a lesson computes and refers to."""

from __future__ import annotations

import pytest

from grader.base.findings import Finding
from grader.items.course import Course
from grader.items.lesson_checks import check_lesson, computed
from grader.items.lesson_file import read_inline, read_lesson

HEAD = b"---\ntitle: The tank\ncircuit: tank\norder: 1\nobjectives:\n  tank.1: {level: C, says: Volume}\n---\n"


def told(body: str, course: Course) -> list[str]:
    findings: list[Finding] = []
    lesson = read_lesson("lessons/tank.md", HEAD + body.encode(), findings)
    assert lesson is not None
    return [str(finding).removeprefix("lessons/tank.md:") for finding in (*findings, *check_lesson(lesson, course))]


def test_a_number_is_computed_as_the_relation_says(toy: Course) -> None:
    # Plane geometry: pi/4 * 0.5^2 * 1 m^3.
    assert computed(read_inline("cylinder_volume D=0.5 m, h=1 m as L"), toy.relations) == pytest.approx(0.19634954084936207)


@pytest.mark.parametrize(
    ("body", "finding"),
    [
        (
            "```formulas\ncircuit: pwoer\n```",
            "8: there is no circuit with formulas `pwoer`; did you mean `power`? [unknown-circuit]",
        ),
        (
            "```formulas\nobjective: power.1\n```",
            "8: `objective` is neither a formula nor a field of a formulas block; write `circuit: …`, `specimen: …`, or a line",
        ),
        (
            "[[cylinder_volum D=1 m, h=1 m as L]]",
            "8: there is no relation `cylinder_volum`; did you mean `cylinder_volume`? [unknown-relation]",
        ),
        ("[[cylinder_volume D=1 m as L]]", "8: cylinder_volume needs h; give a quantity for each [missing-symbol]"),
        (
            "[[cylinder_volume D=1 m, h=1 m, x=1 as L]]",
            "8: cylinder_volume has no symbol `x`; its symbols are D, h [unknown-symbol]",
        ),
        ("[[cylinder_volume D=1 kg, h=1 m as L]]", "8: `D` of cylinder_volume is 1 kg; give it in m or the like [dimension]"),
        (
            "[[cylinder_volume D=1 m, h=1 m as kg]]",
            "8: cylinder_volume does not come in kg; print it in L or the like [dimension]",
        ),
        ("\n[[cylinder_volume D=1 m as]]", "9: `cylinder_volume D=1 m as` is not a number to compute"),
        ("[[cylinder_volume D=-1 m, h=1 m as L]]", "8: cylinder_volume: D is −1.0000 m; it must hold that 0 ≤ D"),
        ("```relation\ncylinder_volum\n```", "8: there is no relation `cylinder_volum`; did you mean"),
        ("```relation\n```", "8: the block names no relation; write its name on a line of its own [bad-block]"),
        (
            "```worked\nrelation: fill_time\nV: 1 L\nunit: min\n```",
            "8: fill_time needs Q; give a quantity for each [missing-symbol]",
        ),
        ("```figure\nname: tanks\n```", "8: there is no figure `tanks`; did you mean `tank`? [unknown-figure]"),
        (
            "```figure\nname: tank\nwidth: 3\n```",
            "8: `width` is not a field of a figure block; write `name: …` and `caption: …` [unknown-field]",
        ),
        ("```practice\nobjective: tank.7\n```", "8: there is no objective `tank.7`; did you mean `tank.2`? [unknown-objective]"),
        (
            "```practice\nobjective: tank.2\n```",
            "8: no practice item belongs to tank.2; write one, or take the block out [nothing-to-practise]",
        ),
        ("```practice\nitem: tank-depth\n```", "8: there is no item `tank-depth`"),
        (
            "```practice\nall: yes\n```",
            "8: a practice block has one line; write `circuit: …`, `objective: …` or `item: …` [bad-block]",
        ),
    ],
)
def test_what_cannot_be_is_told_on_its_line(toy: Course, body: str, finding: str) -> None:
    lines = told(body, toy)
    assert len(lines) == 1
    assert lines[0].startswith(finding)


def test_what_can_be_is_not_told(toy: Course) -> None:
    body = "[[fill_time V=1 L, Q=2 L/min as s]]\n```practice\nitem: tank-volume\n```\n```figure\nname: tank\n```\n"
    assert told(body, toy) == []


def test_a_block_of_formulas_needs_no_more_than_its_word(toy: Course) -> None:
    assert told("```formulas\n```\n\n```formulas\ncircuit: power\n```", toy) == []


@pytest.mark.parametrize(
    ("body", "finding"),
    [
        ("[see](hoses.md)", "8: the link `hoses.md` leads nowhere; name a page or a file that stands in lessons [broken-link]"),
        ("see [the words\nabove](hoses.md)", "9: the link `hoses.md` leads nowhere"),
        ("[see](#nowhere)", "8: the link `#nowhere` leads nowhere; name an anchor that lessons/tank.md has [broken-link]"),
        ("[see](hose.md#hose.9)", "8: the link `hose.md#hose.9` leads nowhere; did you mean `#hose.1`? [broken-link]"),
        ("![a tank](tank.png)", "8: the picture `tank.png` leads nowhere"),
        ("![a tank](figures/tank.svg)", "8: `figures/tank.svg` is a figure of the course; write a block `figure`"),
        ("[see](/etc/passwd)", "8: the link `/etc/passwd` leads nowhere"),
        ("[see](../questions/course.yaml)", "8: the link `../questions/course.yaml` leads nowhere"),
        ("```work\nx: 1\n```", "8: `work` is no block of a lesson; did you mean `worked`? [unknown-block]"),
        (
            "[[cylinder_volume D=1 m, h=1 m as L",
            "8: `[[` is never closed on this line; write `]]` behind the number, all on one line [open-inline]",
        ),
        ("[[cylinder_volume D=1 m h=1 m as L]]", "8: a comma is missing before `h=`; part the quantities by commas [bad-block]"),
    ],
)
def test_what_leads_nowhere_or_would_be_printed_raw_is_found(body: str, finding: str, toy: Course) -> None:
    (line,) = told(body, toy)
    assert line.startswith(finding)


@pytest.mark.parametrize(
    "body",
    [
        "[see](hose.md), [here](#tank.1), [there](hose.md#hose.1), [it](#the-next)\n\n## The next!\n\n## A {#tank.1}",
        "[far](https://example.org/x#y), [mail](mailto:a@b.example), [[cylinder_volume D=1 m, h=1 m as L]]",
        "`[see](hoses.md)` and `[[` and a [mixed practice](practice.md)",
        "```python\nx[[1]\n```\n\n~~~\n[see](hoses.md)\n~~~",
        '<a id="own"></a>[see](#own)',
    ],
)
def test_links_that_lead_somewhere_and_code_are_left_alone(body: str, toy: Course) -> None:
    assert told(body, toy) == []


@pytest.mark.parametrize(
    ("body", "finding"),
    [
        ("A jet of [[T-1 main_jet]].", "8: `T-1` is not a specimen of this course, or its sheet cannot be read; there are none"),
        ("\n```curves\nspecimen: T-1\n```", "9: `T-1` is not a specimen of this course"),
        ("```worked\nrelation: cylinder_volume\nD: T-1 main_jet\nh: 1 m\nunit: L\n```", "8: `T-1` is not a specimen"),
    ],
)
def test_what_a_lesson_takes_from_a_specimen_must_be_there(body: str, finding: str, toy: Course) -> None:
    (line,) = told(body, toy)
    assert line.startswith(finding)


def test_a_link_to_a_page_with_a_space_in_its_name_leads_there(toy: Course) -> None:
    known = sorted(path.name for path in (toy.folder / "lessons").glob("*.md"))[0]
    assert told(f"[see]({known.replace('.', '%2E')})", toy) == told(f"[see]({known})", toy) == []
