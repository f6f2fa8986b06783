"""The glossary against the rest of a course: terms that nothing uses, words that lessons spell otherwise."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from grader.items.checks import check_course
from grader.items.course import load_course
from grader.items.glossary import FILE
from grader.relations.relation import Relation

HEAD = "---\ntitle: Glossary\norder: 90\n---\n"
Told = Callable[..., list[str]]


@pytest.fixture
def told(copy: Path, toy_relations: Mapping[str, Relation]) -> Told:
    """Give the course on watering a glossary and a sentence more, and read what the check says."""

    def spoil(glossary: str, lesson: str = "") -> list[str]:
        (copy / FILE).write_text(HEAD + glossary, encoding="utf-8")
        path = copy / "lessons/tank.md"
        path.write_text(path.read_text(encoding="utf-8") + f"\n{lesson}\n", encoding="utf-8")
        return [str(finding) for finding in check_course(load_course(copy, toy_relations), 20).findings]

    return spoil


def test_a_term_that_a_lesson_uses_has_no_finding(told: Told) -> None:
    assert told("header tank\n:   A tank on a wall.\n", "Header tanks stand high.") == []


def test_a_term_that_nothing_uses_is_a_warning(told: Told) -> None:
    assert told("stopcock\n:   It shuts.\n") == [
        f"{FILE}:5: warning: no lesson, item or other definition uses the term `stopcock`; use it where it belongs, "
        "write how the lessons call it on a line below it, or take it out [unused-term]"
    ]


@pytest.mark.parametrize(
    "lesson",
    [
        "The `stopcock`.",
        "See [it](https://a.example/stopcock).",
        "```text\nstopcock\n```",
        "[it]{title=stopcock}",
        "A stop cock.",
    ],
)
def test_code_links_and_other_fences_are_no_use_of_a_term(lesson: str, told: Told) -> None:
    assert any("[unused-term]" in finding for finding in told("stopcock\n:   It shuts.\n", lesson))


@pytest.mark.parametrize("lesson", ["**Stopcocks** shut.", "A *stopcock's* lever.", "## Stopcock", "| stopcock | 1 |"])
def test_emphasis_headings_and_tables_use_a_term(lesson: str, told: Told) -> None:
    assert told("stopcock\n:   It shuts.\n", lesson) == []


def test_another_definition_uses_a_term_and_its_own_does_not(told: Told) -> None:
    found = told("stopcock\n:   A stopcock shuts.\n\nball tap\n:   A ball tap is a stopcock with a ball.\n")
    assert [finding.partition(" term ")[2][:10] for finding in found] == ["`ball tap`"]


@pytest.mark.parametrize(
    ("term", "written", "line"),
    [
        ("by-pass", "bypass", "The bypass opens."),
        ("bypass", "by-pass", "A by-pass opens."),
        ("atomiser", "atomizers", "Two atomizers."),
        ("vapour lock", "vapor lock", "A vapor lock."),
        ("air-fuel ratio", "air fuel ratio", "An air fuel ratio."),
    ],
)
def test_a_word_spelt_otherwise_than_its_term_is_a_warning(term: str, written: str, line: str, told: Told) -> None:
    found = told(f"{term}\n:   It is.\n", f"The {term}. {line} {line}")
    assert len(found) == 1
    assert f"warning: `{written}` is spelt `{term}` in the glossary; write `{term}`, or put the other spelling right" in found[0]
    assert found[0].startswith("lessons/tank.md:")


@pytest.mark.parametrize(
    ("term", "line"),
    [
        ("run-on", "Engines that run on gasoline."),
        ("vacuum break", "The vacuum-break gap."),
        ("jet", "Jets, jetted."),
        ("by-pass", "`bypass` in code."),
    ],
)
def test_near_misses_are_no_other_spelling(term: str, line: str, told: Told) -> None:
    assert told(f"{term}\n:   It is.\n", f"The {term}. {line}") == []


def test_what_is_wrong_in_the_glossary_itself_is_told_too(told: Told) -> None:
    found = told("tank\n:   It holds")
    assert found == [f"{FILE}:6: the definition of `tank` does not end in a period; end it with one [no-period]"]


def test_a_lesson_may_lead_to_a_definition_and_not_to_one_that_is_not_there(told: Told) -> None:
    assert told("tank\n:   It holds.\n", "A [tank](glossary.md#term-tank).") == []
    found = told("tank\n:   It holds.\n", "A [tank](glossary.md#term-tanks).")
    assert found[-1].endswith("the link `glossary.md#term-tanks` leads nowhere; did you mean `#term-tank`? [broken-link]")


def test_a_course_without_a_glossary_has_no_terms(copy: Path, toy_relations: Mapping[str, Relation]) -> None:
    assert load_course(copy, toy_relations).glossary.terms == ()
