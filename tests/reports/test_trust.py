"""What is said of a sitting's decisions: in words, with what to do, and nothing where nothing is known."""

from __future__ import annotations

import pytest

from grader.reports.analysis import Precision
from grader.reports.certainty import Certainty
from grader.reports.trust import trust
from grader.stats.classical import wilson
from grader.stats.consistency import Consistency, normal_model

FAIR = Precision(0.7, 8.0)


def said(asks: str, sure: Certainty, precision: Precision = FAIR) -> str:
    (one,) = [one for one in trust(sure, precision, None) if asks in one.asks]
    return f"{one.answer} {one.means}"


@pytest.fixture
def again() -> Consistency:
    return normal_model(0.7, 0.15, 0.8, 0.6)


@pytest.mark.parametrize(
    ("alpha", "does"),
    [
        (0.8, "can carry the decision"),
        (0.79, "everybody near the cut"),
        (0.6, "everybody near the cut"),
        (0.59, "a longer paper"),
    ],
)
def test_a_reliability_comes_with_what_to_do(alpha: float, does: str) -> None:
    text = said("How sure is a mark?", Certainty(None), Precision(alpha, 8.4))
    assert "±8 % of the paper" in text
    assert does in text
    assert f"alpha {alpha:.2f}" in text


def test_decisions_that_would_turn_are_the_rest_of_the_hundred(again: Consistency) -> None:
    alike = round(100 * again.alike)
    assert f"the other {100 - alike} would turn" in said("pass again", Certainty(again))


@pytest.mark.parametrize(("papers", "answer"), [((58.0, 63.0), "Yes, nearly."), ((57.9, 63.0), "Not quite.")])
def test_papers_are_equal_or_what_to_do_is_said(papers: tuple[float, float], answer: str, again: Consistency) -> None:
    text = said("equally hard", Certainty(again, 6.0, papers, 2))
    assert text.startswith(answer)
    assert ("Nothing to do." in text) is (answer == "Yes, nearly.")
    assert "Left out: 2" in text


def test_what_is_not_known_is_said_to_be_not_known() -> None:
    answers = [one.answer for one in trust(Certainty(None), Precision(None, None), None)]
    assert answers == ["It cannot be told yet.", "It cannot be told.", "It cannot be told yet."]


def test_the_share_that_passed_has_its_interval() -> None:
    # Wilson's interval of 6 of 12: 0.2538 to 0.7462 (by hand: centre 1/2, half width from z = 1.959964)
    found = trust(Certainty(None), Precision(None, None), wilson(6, 12))[-1]
    assert "50 % passed; by the luck of who is in a class it could as well be 25 to 75 %." in found.answer
