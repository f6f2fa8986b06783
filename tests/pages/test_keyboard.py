"""
Practice by keyboard alone: from the top of the page through one question of each kind, to a verdict, to new numbers and on.

WCAG 2.2, its success criteria named beside each check: 2.1.1 keyboard, 2.4.3 focus order, 2.4.7 focus visible, 2.4.11 focus not
obscured, 2.5.8 target size (24 px; in practice 44, for gloves, is our own).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser

# Where the focus is, and whether a person sees it there.
STOP = """() => {
  const element = document.activeElement; // the theme's switch of light and dark shows itself by one of two labels
  const shown = element.closest('.md-header__option')?.querySelector('label:not([hidden])') || element;
  const style = getComputedStyle(shown), box = shown.getBoundingClientRect();
  const label = element.labels && element.labels[0], boxed = ['radio', 'checkbox'].includes(element.type);
  const target = (shown === element && boxed && label ? label : shown).getBoundingClientRect();
  const below = document.querySelector('.md-header').getBoundingClientRect().bottom;
  const there = document.elementFromPoint(box.left + box.width / 2, box.top + Math.min(box.height / 2, 20));
  const before = globalThis.testBefore; globalThis.testBefore = element;
  return {
    name: (element.getAttribute('aria-label') || (label || element).textContent).trim(),
    kind: element.localName, look: element.className,
    outlined: style.outlineStyle === 'auto' || (style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2),
    clear: (!!element.closest('.md-header, .md-skip') || box.top >= below - 1) && box.top < innerHeight
      && !!there && shown.contains(there),
    width: target.width, height: target.height, inline: style.display === 'inline',
    practice: !!element.closest('course-practice'),
    onward: !before || !before.isConnected || !!(before.compareDocumentPosition(element) & Node.DOCUMENT_POSITION_FOLLOWING),
  };
}"""


def tab(page: Any) -> dict[str, Any]:
    """One press of Tab; what gets the focus shows it (2.4.7), is not covered (2.4.11), and comes after what had it (2.4.3)."""
    page.keyboard.press("Tab")
    stop: dict[str, Any] = page.evaluate(STOP)
    assert stop["outlined"], stop
    assert stop["clear"], stop
    least = 44 if stop["practice"] and stop["kind"] != "summary" else 24
    assert stop["inline"] or min(stop["width"], stop["height"]) >= least, stop
    assert stop["onward"], stop
    return stop


def tab_to(page: Any, *names: str) -> list[str]:
    """Tab on to the first of these names; the names passed on the way."""
    passed: list[str] = []
    for _ in range(60):
        passed.append(tab(page)["name"])
        if passed[-1] in names:
            return passed
    raise AssertionError(f"the keyboard does not reach {names}, but {passed}")


def held(page: Any, look: str) -> None:
    """What the page itself gave the focus to is in sight below the header."""
    stop = page.evaluate(STOP)
    assert look in stop["look"], stop
    assert stop["clear"], stop


def typed(page: Any, text: str) -> list[str]:
    passed = tab_to(page, "Your answer")
    page.keyboard.type(text)
    page.keyboard.press("Enter")
    return passed


def number(page: Any) -> list[str]:
    return typed(page, "2.9 mm2")


def reading(page: Any) -> list[str]:
    return typed(page, "11 inHg")


def case(page: Any) -> list[str]:
    passed = typed(page, "2.9 mm2")
    for letter, given in (("b", "1,4"), ("c", "")):
        held(page, "practice-verdict")
        passed += tab_to(page, f"Go on to part {letter}")
        page.keyboard.press("Enter")
        held(page, "practice-stem")
        passed += typed(page, given) if given else choice(page)
    return passed


def choice(page: Any) -> list[str]:
    """The second option: the arrow keys go through a group of which Tab reaches one."""
    passed = [tab(page)["name"]]
    page.keyboard.press("ArrowDown")
    passed += tab_to(page, "Check")
    page.keyboard.press("Enter")
    return passed


def choices(page: Any) -> list[str]:
    passed = [tab(page)["name"]]
    page.keyboard.press("Space")
    passed += tab_to(page, "Check")
    page.keyboard.press("Enter")
    return passed


def order(page: Any) -> list[str]:
    passed = [tab(page)["name"], tab(page)["name"]]
    page.keyboard.press("Enter")  # the first entry goes down, and its button keeps the focus
    stop = page.evaluate(STOP)
    assert stop["name"] == passed[-1]
    assert stop["clear"]
    passed += tab_to(page, "Check")
    page.keyboard.press("Enter")
    return passed


def match(page: Any) -> list[str]:
    passed = []
    for _ in range(3):
        passed.append(tab(page)["name"])
        page.keyboard.press("ArrowDown")
    passed += tab_to(page, "Check")
    page.keyboard.press("Enter")
    return passed


KINDS: list[tuple[str, Callable[[Any], list[str]], int]] = [  # and how many stops there are on the way to the verdict
    ("numeric", number, 1),
    ("case", case, 8),
    ("choice", choice, 2),
    ("choices", choices, 5),
    ("order", order, 7),
    ("match", match, 4),
    ("reading", reading, 1),
]
MARKED = {"right", "followed", "slip", "part", "wrong"}
AGAIN = ("New numbers", "Another reading", "Again")


def test_every_kind_is_answered_and_asked_anew_by_keyboard_alone(browser: Any, site: Path) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844}, color_scheme="dark", reduced_motion="reduce")
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda line: said.append(line.text) if line.type in {"error", "warning"} else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto(f"{site.as_uri()}/power.html")
    page.wait_for_selector("course-practice[data-ready]")
    box = page.locator("course-practice").nth(1)
    tab_to(page, "Question 1, not tried yet")  # a first box has one question; the second has the whole circuit
    tab_to(page, f"Question {len(KINDS)}, not tried yet")
    kinds = page.evaluate("() => graderPacks.get('power').items.map((item) => item.kind)")
    assert kinds == [kind for kind, *_ in KINDS]
    for kind, answer, stops in KINDS:
        for turn in range(2):
            passed = answer(page)
            assert len(passed) == stops, (kind, passed)
            held(page, "practice-verdict")
            assert box.locator(".practice-verdict").last.get_attribute("data-verdict") in MARKED
            wanted = AGAIN if turn == 0 else ("Next question",)
            tab_to(page, *wanted)
            page.keyboard.press("Enter")
            held(page, "practice-stem")
            assert box.locator(".practice-verdict").count() == 0
    assert said == []
    context.close()
