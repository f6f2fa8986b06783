"""
Items on figures whose parts carry letters: the figure has the letters that the item names, and a letter of the figure can't be
taken for the letter of an option.

Options are printed after a, b, c … and a paper is answered by that letter. Where option b reads "Part E", somebody writes down E.
So an option that is a letter of the figure stands at that letter's own place, in an order that no paper shuffles, and no row of a
match is answered by one. Nor does an examination item show the drawing that names the parts. Common practice, no source.
"""

from __future__ import annotations

import re

import pytest

from grader.items.model import Item
from tests.items.by_hand import course
from tests.items.test_figures import LETTERS

BANKS = {"practice": course().practice, "exam": course().exam}
LETTERED = [item for bank in BANKS.values() for item in bank if item.figure and item.figure.name in LETTERS]
CIRCUITS = ("float", "idle", "main", "power", "pump", "choke", "diagnosis")
NAMED = re.compile(r"(?<!°)\b([B-H]|A(?! [a-z]))\b")  # "A" before a small letter may be an article; °F is a unit
OPTION = re.compile(r"(?:Part |Circuit |At )?([A-H])(?:,.*)?")


def letters_of(figure: str) -> str:
    """The letters that a figure carries: A and as many more as it has parts."""
    return "ABCDEFGH"[: len(LETTERS[figure].split(","))]


def misplaced(texts: list[str], keep_order: bool) -> list[str]:
    """Options that name a letter of the figure and stand, or may come to stand, behind another letter."""
    named = [(place, found[1]) for place, text in enumerate(texts) if (found := OPTION.fullmatch(text))]
    return [letter for place, letter in named if not keep_order or letter != "abcdefgh"[place].upper()]


def test_every_lettered_figure_has_an_item() -> None:
    assert {item.figure.name for item in LETTERED if item.figure} == set(LETTERS)


@pytest.mark.parametrize("circuit", CIRCUITS)
def test_each_circuit_practises_a_lettered_figure_and_examines_two(circuit: str) -> None:
    practised, examined = (sum(item in LETTERED for item in bank if item.circuit == circuit) for bank in BANKS.values())
    assert practised >= 1
    assert examined >= 2


@pytest.mark.parametrize("item", LETTERED, ids=lambda item: item.id)
def test_every_letter_named_is_in_the_figure_and_in_its_words(item: Item) -> None:
    assert item.figure
    texts = [item.stem, *(part.stem for part in item.parts)]
    texts += [option.text for part in item.parts for option in part.options]
    texts += [row.text for part in item.parts for row in part.rows]
    named = set(NAMED.findall(" ".join(texts)))
    assert named <= set(letters_of(item.figure.name))
    assert named <= set(re.findall(r"\b[A-H]\b", item.figure.alt)), "a listener has to know what the letter points at"


@pytest.mark.parametrize("item", LETTERED, ids=lambda item: item.id)
def test_no_letter_of_the_figure_stands_behind_another_letter_of_an_option(item: Item) -> None:
    for part in item.parts:
        assert misplaced([option.text for option in part.options], part.keep_order) == []
        answers = [*(row.match for row in part.rows), *part.extra]
        assert not [text for text in answers if OPTION.fullmatch(text)]


@pytest.mark.parametrize("item", LETTERED, ids=lambda item: item.id)
def test_the_words_for_the_figure_hold_no_name_that_a_match_asks_for(item: Item) -> None:
    assert item.figure
    for part in item.parts:
        for row in part.rows:
            assert row.match.casefold() not in item.figure.alt.casefold()


def test_no_paper_shows_a_drawing_with_the_names_that_another_question_asks_for() -> None:
    named_twins = {figure.removesuffix("-letters") for figure in LETTERS}
    shown = {item.id: item.figure.name for item in BANKS["exam"] if item.figure}
    assert {item: figure for item, figure in shown.items() if figure in named_twins} == {}


def test_a_letter_at_another_place_would_be_named() -> None:
    assert misplaced(["Part A", "Part D"], keep_order=True) == ["D"]
    assert misplaced(["Part A", "Part B"], keep_order=False) == ["A", "B"]
    assert misplaced(["At A, open to the air", "At B, in fuel"], keep_order=True) == []
    assert misplaced(["As before", "Further shut"], keep_order=False) == []
