"""Names of specimens, and numbers with their units, stay on one line."""

from __future__ import annotations

from grader.pages.names import HARD_HYPHEN, NO_BREAK, unbroken, unbroken_text

NAMES = ("T-1", "T-2")


def test_a_name_is_held_together_in_running_text_only() -> None:
    html = (
        '<h2 id="T-1">The T-1</h2><svg><text>T-2</text></svg><p>T-2, XT-1, T-10, <a href="T-1.html">T-1</a> <code>T-1</code></p>'
    )
    held = unbroken(html, NAMES)
    assert held.count('<span class="course-whole">') == 3
    for kept in ('id="T-1"', "<text>T-2</text>", "XT-1, T-10", 'href="T-1.html"', "<code>T-1</code>"):
        assert kept in held
    assert unbroken(html, ()) == html


def test_a_packs_text_gets_a_hard_hyphen() -> None:
    assert unbroken_text("T-1: see T-2.", NAMES) == f"T{HARD_HYPHEN}1: see T{HARD_HYPHEN}2."
    assert unbroken_text("t-1, T-11", NAMES) == "t-1, T-11"


def test_a_number_keeps_its_unit() -> None:
    held = unbroken("<td>1.9 in², 0.80 in</td><p>5 psi, 2 inches, 3 things in 4 parts</p><code>5 psi</code>", ())
    assert (
        held
        == f"<td>1.9{NO_BREAK}in², 0.80{NO_BREAK}in</td><p>5{NO_BREAK}psi, 2 inches, 3 things in 4 parts</p><code>5 psi</code>"
    )
