"""The glossary's page: what is read of it, what is refused and where, which words are found in running text."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.items.glossary import FILE, LONGEST, Finder, Glossary, Term, forms, read_glossary, spelling


def page(body: str) -> Any:
    return SimpleNamespace(file=FILE, body=body, body_line=5)


def read(body: str) -> Glossary:
    return read_glossary(page(body))


def told(body: str) -> list[str]:
    return [str(finding).removeprefix(f"{FILE}:") for finding in read(body).findings]


def term(*names: str, others: tuple[str, ...] = ()) -> Term:
    return Term(names, "It is.", tuple(range(1, len(names) + 1)), others)


GOOD = """What the words mean.

## F {#f}

float
foam float
not: floats on
:   The body that rises with the fuel
    and shuts the needle.

| a | table |
|---|---|

jet
: A hole of known bore.
"""


def test_names_other_names_what_it_is_not_and_the_definition_are_read_with_their_lines() -> None:
    found = read(GOOD)
    assert found.findings == ()
    floats, jet = found.terms
    assert (floats.names, floats.lines, floats.others, floats.beside) == (("float", "foam float"), (9, 10), ("floats on",), (11,))
    assert floats.says == "The body that rises with the fuel and shuts the needle."
    assert (jet.name, jet.line, jet.anchor) == ("jet", 18, "term-jet")


@pytest.mark.parametrize(
    ("body", "finding"),
    [
        (
            "jet\n:   A hole.\n\nJet\n:   A bored plug.",
            "8: the term `Jet` is another spelling of `jet` on line 5; keep one of the two; plurals and capitals are found by "
            "themselves [repeated-term]",
        ),
        (
            "jet\n:   A hole.\n\njet\n:   A hole.",
            "8: the term `jet` stands already on line 5; keep one of the two [repeated-term]",
        ),
        (
            "by-pass\n:   A way round.\n\nbypass\n:   A way round.",
            "8: the term `bypass` is another spelling of `by-pass` on line 5; keep one of the two; plurals and capitals are "
            "found by themselves [repeated-term]",
        ),
        (
            "economiser\neconomizer\n:   A restriction.",
            "6: the term `economizer` is another spelling of `economiser` on line 5; keep one of the two; plurals and capitals "
            "are found by themselves [repeated-term]",
        ),
        ("jet\n:   A hole", "6: the definition of `jet` does not end in a period; end it with one [no-period]"),
        ("jet\n:   ", "6: the definition of `jet` is empty; say what it is, in one sentence or two [empty-definition]"),
        ("jet\n:", "6: the definition of `jet` is empty; say what it is, in one sentence or two [empty-definition]"),
        (
            f"jet\n:   {'x' * LONGEST}.",
            f"6: the definition of `jet` has {LONGEST + 1} letters; say it in {LONGEST}; the rest belongs in a lesson "
            "[long-definition]",
        ),
        (
            "jet\n:   A hole.\n:   A plug.",
            "7: `jet` has a second definition; keep one; a word that means two things is two terms: `seat (of a needle)` "
            "[two-definitions]",
        ),
        (
            "jet\n:   A **hole**.",
            "6: the definition of `jet` holds `*`; write plain text; it stands in tooltips too [marked-definition]",
        ),
        ("jet\n:A hole.", "6: the definition of `jet` is not set off; write a colon and three spaces [bad-definition]"),
        ("jet\n:      A hole.", "6: the definition of `jet` is not set off; write a colon and three spaces [bad-definition]"),
        ("jet", "5: `jet` stands without a definition; write `:   What it is.` on the line below it [no-definition]"),
        (
            "jet\n\n:   A hole.",
            "5: `jet` stands without a definition; write `:   What it is.` on the line below it [no-definition]",
        ),
        (
            "# Words\n\n:   A hole.",
            "7: a definition stands without its term; write the term on the line above it [lone-definition]",
        ),
        (
            "*jet*\n:   A hole.",
            "5: `*jet*` is not a term; write the bare word, at most 40 letters, nothing behind it [bad-term]",
        ),
        ("jet:\n:   A hole.", "5: `jet:` is not a term; write the bare word, at most 40 letters, nothing behind it [bad-term]"),
        (
            "not: jets\n:   A hole.",
            "5: `not: jets` is not a term; write the bare word, at most 40 letters, nothing behind it [bad-term]",
        ),
        (
            f"{'j' * 41}\n:   A hole.",
            f"5: `{'j' * 41}` is not a term; write the bare word, at most 40 letters, nothing behind it [bad-term]",
        ),
    ],
)
def test_a_fault_stands_on_its_line_and_says_how_to_mend_it(body: str, finding: str) -> None:
    assert finding in told(body)


@pytest.mark.parametrize(
    "body",
    [
        "jet\n:   A hole, 0.5 mm or so.",
        f"jet\n:   {'x' * (LONGEST - 1)}.",
        "A sentence that says something.",
        "## Jets",
        "- jet\n- seat",
        "```relation\njet\n```",
        "jet\n:   A hole.\n\nseat\n:   Where the needle rests.",
    ],
)
def test_near_misses_are_accepted(body: str) -> None:
    assert told(body) == []


def test_every_fault_of_a_page_is_told_at_once_and_its_sound_terms_are_kept() -> None:
    found = read("jet\n:   A hole\n\nseat\n:   \n\nneedle\n:   It shuts.")
    assert [finding.code for finding in found.findings] == ["no-period", "empty-definition"]
    assert [one.name for one in found.terms] == ["needle"]


def test_the_longest_term_wins_and_what_a_term_is_not_is_passed_over() -> None:
    finder = Finder([term("jet"), term("main jet"), term("vacuum", others=("vacuum cleaner",))])
    found = [
        (where, text, one.name)
        for where, text, one in finder.found("A main jet, jets; vacuum cleaners, a vacuum cleaner, vacuum.")
    ]
    assert [text for _, text, _ in found] == ["main jet", "jets", "vacuum", "vacuum"]
    assert [name for _, _, name in found] == ["main jet", "jet", "vacuum", "vacuum"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Jets meter.", ["Jets"]),
        ("the jet's edge", ["jet"]),
        ("jetted, by-jet, jet-black, jet_flow", []),
        ("JET", []),
        ("idle\nbleeds and idle\u00a0bleed", ["idle\nbleeds", "idle\u00a0bleed"]),
        ("the idle-bleed hole", ["idle-bleed"]),
        ("assemblies of bushes", ["assemblies", "bushes"]),
        ("17 inHg, not INHG", ["inHg"]),
    ],
)
def test_plurals_capitals_and_possessives_are_found_and_parts_of_words_are_not(text: str, found: list[str]) -> None:
    finder = Finder(map(term, ("jet", "idle bleed", "assembly", "bush", "inHg")))
    assert [written for _, written, _ in finder.found(text)] == found


def test_no_terms_find_nothing() -> None:
    assert list(Finder([]).found("a jet")) == []


WORDS = st.lists(
    st.sampled_from(["main", "idle", "jet", "jets", "bleed", "Main", "a", "the", "slot-like", "vacuum"]), max_size=12
)


@settings(max_examples=60)
@given(WORDS)
def test_what_is_found_stands_there_and_finds_do_not_overlap(words: list[str]) -> None:
    text = " ".join(words)
    end = 0
    for start, written, one in Finder(map(term, ("jet", "main jet", "idle bleed", "vacuum"))).found(text):
        assert start >= end
        assert text[start : start + len(written)] == written
        assert spelling(written) == spelling(one.name)
        end = start + len(written)


@settings(max_examples=60)
@given(st.text("abcdefghijklmnopqrstuvwxyz", min_size=2, max_size=10))
def test_every_form_of_a_word_is_the_same_word(word: str) -> None:
    assert {spelling(form) for form in forms(word)[::2]} == {spelling(word)}


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        # Pairs of British and American spelling, common knowledge of English.
        ("vapour", "vapor", True),
        ("litre", "liter", True),
        ("carburettor", "carburetor", True),
        ("gauge", "gage", True),
        ("fuelling", "fueling", True),
        ("atomise", "atomize", True),
        ("spring rates", "spring rate", True),
        ("bore", "bored", False),
        ("gas", "ga", False),
        ("choke", "choker", False),
    ],
)
def test_spellings_of_one_word_are_told_from_two_words(one: str, other: str, same: bool) -> None:
    assert (spelling(one) == spelling(other)) is same


@settings(max_examples=80)
@given(st.text(st.characters(codec="utf-8", exclude_characters="\r"), max_size=80))
def test_no_text_is_too_strange_to_be_read(body: str) -> None:
    found = read(body)
    for finding in found.findings:
        assert finding.mend
    assert all(body[where : where + len(text)] == text for where, text, _ in Finder(found.terms).found(body))


def test_terms_of_another_alphabet_are_told_apart_and_have_anchors_of_their_own() -> None:
    found = read("жиклер 1\n:   Отверстие.\n\nпоплавок 1\n:   Тело.\n\nΩ\n:   Ohm.\n\nλ\n:   Lambda.\n\ninH₂O\n:   Column.\n")
    assert found.findings == ()
    assert [term.anchor for term in found.terms] == ["term-жиклер-1", "term-поплавок-1", "term-ω", "term-λ", "term-inh2o"]


def test_a_term_with_a_letter_that_cannot_be_seen_is_refused() -> None:
    for name in ("\ufeffjet", "je\u200bt", "jet \u202e"):
        assert [finding.code for finding in read(f"{name}\n:   A hole.\n").findings] == ["bad-term"]
