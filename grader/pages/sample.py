"""A question as plain HTML, readable without any script: what it asks, and its worked answer to open below."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache
from html import escape
from typing import Protocol
from xml.etree.ElementTree import Element, fromstring

from grader.items.figures import for_page
from grader.marking.key import (
    AnyQuestion,
    Case,
    Choice,
    ChoicePart,
    Choices,
    Match,
    Numeric,
    NumericPart,
    Option,
    Order,
    Reading,
)

_ROW = re.compile(r"<math[^>]*><mrow>(?P<row>.*)</mrow></math>", re.DOTALL)
_AND = re.compile(r"<mtext>\s*and\s*</mtext>")
_PLAIN_ROW = re.compile(r"<mrow>(?P<row>.*)</mrow>", re.DOTALL)
_INFIX = re.compile(r'<mo form="infix">(.+)</mo>')
_RELATIONS = frozenset({"=", "≠", "≤", "≥", "&lt;", "&gt;"})
_TOKEN = re.compile(r"<[^>]*>|[^<]+")

LONGEST_PIECE = 29
"""How many letters wide a part of a formula that cannot be broken may be before it is set smaller on a phone."""

Asked = AnyQuestion | NumericPart | ChoicePart


def paragraphs(text: str) -> str:
    """
    Plain text as HTML paragraphs, parted at empty lines.

    >>> paragraphs("5 < 6\\n\\nso.")
    '<p>5 &lt; 6</p><p>so.</p>'
    """
    return "".join(f"<p>{escape(block.strip())}</p>" for block in text.split("\n\n") if block.strip())


def conditions(mathml: str) -> str:
    """
    A condition of several parts as so many formulas with a plain "and" between, so that the line can break there.

    >>> conditions("<math><mrow><mi>d</mi><mo>≥</mo><mn>0</mn><mtext> and </mtext><mi>d</mi><mo>≤</mo><mi>D</mi></mrow></math>")
    '<math><mrow><mi>d</mi><mo>≥</mo><mn>0</mn></mrow></math> and <math><mrow><mi>d</mi><mo>≤</mo><mi>D</mi></mrow></math>'
    """
    inside = _ROW.fullmatch(mathml)
    parts = _AND.split(inside["row"]) if inside else []
    if len(parts) < 2 or any(part.count("<mrow>") != part.count("</mrow>") for part in parts):
        return mathml
    return " and ".join(f"<math><mrow>{part}</mrow></math>" for part in parts)


class Stepped(Protocol):
    """A step of a worked answer, from a key or fresh from a relation."""

    @property
    def says(self) -> str: ...
    @property
    def text(self) -> str: ...
    @property
    def mathml(self) -> str: ...


@lru_cache(maxsize=4096)  # a formula stands in its lesson, on the formula sheet, and in worked answers
def breakable(mathml: str) -> str:
    """
    An equation parted so that a phone can break the line: before each equals sign, and within a side that is still too wide
    before any other sign that stands outside brackets, fractions and roots.

    >>> breakable('<math><mrow><mi>A</mi><mo form="infix">=</mo><mn>2</mn></mrow></math>')
    '<math><mrow><mi>A</mi></mrow></math><wbr><math><mrow><mo form="infix">=</mo><mn>2</mn></mrow></math>'
    """
    inside = _ROW.fullmatch(mathml)
    if inside is None:
        return mathml
    sides: list[list[str]] = [[""]]
    for element in _flat(inside["row"]):
        sign = _INFIX.fullmatch(element)
        if sign and sides[-1][-1]:
            if sign[1] in _RELATIONS:
                sides.append([""])
            else:
                sides[-1].append("")
        sides[-1][-1] += element
    return "<wbr>".join(_side(pieces) for pieces in sides)


def _flat(row: str) -> Iterator[str]:
    """The elements of a row, rows in it opened where a sign stands right in them: a bracket's row is never opened."""
    for element in _elements(row):
        below = _PLAIN_ROW.fullmatch(element)
        if below and any(_INFIX.fullmatch(each) for each in _elements(below["row"])):
            yield from _flat(below["row"])
        else:
            yield element


def _elements(row: str) -> Iterator[str]:
    found, depth = "", 0
    for bit in _TOKEN.findall(row):
        depth += -1 if bit.startswith("</") else 1 if bit.startswith("<") and not bit.endswith("/>") else 0
        found += bit
        if depth == 0:
            yield found
            found = ""


def _long(piece: str) -> str:
    """The class that sets what cannot be broken smaller on a phone."""
    row = fromstring(f"<row>{piece}</row>")  # noqa: S314 - a formula that our own typesetter wrote
    return ' class="formula-long"' if _width(row) > LONGEST_PIECE else ""


def _width(element: Element) -> float:
    """About how many letters wide: of a fraction its wider half; a sign has room round it, a root a hook before it."""
    inside = [_width(below) for below in element]
    if element.tag == "mfrac":
        return max(inside)
    text = element.text or ""
    own = 2 if element.get("form") else len(text) - text.count(".") / 2
    return own + sum(inside) + (4 if element.tag == "msqrt" else 0)


def _side(pieces: list[str]) -> str:
    text = "<wbr>".join(f"<math{_long(piece)}><mrow>{piece}</mrow></math>" for piece in pieces)
    return text if len(pieces) == 1 else f'<span class="course-side">{text}</span>'


def steps_html(steps: Iterable[Stepped]) -> str:
    """
    The steps of a worked answer, each with its words and its typeset formula.

    >>> from grader.marking.key import Step
    >>> steps_html([Step(text="5 - 3 = 2")])
    '<ol class="course-steps"><li><span class="course-formula">5 - 3 = 2</span></li></ol>'
    """
    rows = []
    for step in steps:
        says = f'<span class="course-says">{escape(step.says)}</span>' if step.says else ""
        formula = breakable(step.mathml) if step.mathml else escape(step.text)
        rows.append(f"<li>{says}" + (f'<span class="course-formula">{formula}</span>' if formula else "") + "</li>")
    return f'<ol class="course-steps">{"".join(rows)}</ol>' if rows else ""


def sample_html(question: AnyQuestion, mark: str) -> str:
    """
    A question to read: stem, figure, options, hint, and its worked answer behind a summary that opens without a script.

    `mark` makes the figure's ids this question's own.
    """
    parts = [f'<p class="course-name">For example</p><div class="practice-stem">{paragraphs(question.stem)}</div>']
    if question.figure is not None:
        drawing = for_page(question.figure.svg, mark)
        look = "practice-figure practice-reading" if isinstance(question, Reading) else "practice-figure"
        parts.append(f'<div class="{look}" role="img" aria-label="{escape(question.figure.alt)}">{drawing}</div>')
    if isinstance(question, Reading):
        parts.append(paragraphs(question.rule))
    if isinstance(question, Case):
        for part in question.parts:
            title = f"<p><strong>Part {escape(part.part)}</strong></p>"
            parts.append(f'<div class="practice-part">{title}{paragraphs(part.stem)}{_below(part)}</div>')
    else:
        parts.append(_below(question))
    return "".join(parts)


def _below(asked: Asked) -> str:
    hint = f"<details><summary>Hint</summary>{paragraphs(asked.hint)}</details>" if asked.hint else ""
    answer = f"<details><summary>The worked answer</summary>{steps_html(asked.working)}{_answer(asked)}</details>"
    return _choices(asked) + hint + answer


def _list(entries: Iterable[str], tag: str = "ul") -> str:
    return f"<{tag}>{''.join(f'<li>{escape(entry)}</li>' for entry in entries)}</{tag}>"


def _choices(asked: Asked) -> str:
    if isinstance(asked, Choice | Choices | ChoicePart):
        return _list(f"{option.letter}: {option.text}" for option in asked.options)
    if isinstance(asked, Order):
        return _list(f"{entry.letter}: {entry.text}" for entry in asked.entries)
    if isinstance(asked, Match):
        return _list(f"{row.number}: {row.text}" for row in asked.rows) + _list(f"{o.letter}: {o.text}" for o in asked.options)
    return ""


def _answer(asked: Asked) -> str:
    if isinstance(asked, Numeric | Reading | NumericPart):
        return f'<p class="course-result">Answer: {escape(asked.answer.shown)}</p>'
    if isinstance(asked, Choice | ChoicePart):
        return f'<p class="course-result">Right: {escape(_named(asked.right, asked.options))}</p>' + _reasons(asked.options)
    if isinstance(asked, Choices):
        return (
            '<p class="course-result">Right</p>'
            + _list(_named(letter, asked.options) for letter in asked.right)
            + _reasons(asked.options)
        )
    if isinstance(asked, Order):
        return '<p class="course-result">In order</p>' + _list((_named(letter, asked.entries) for letter in asked.right), "ol")
    if isinstance(asked, Match):
        return '<p class="course-result">Pairs</p>' + _list(
            f"{row.text} – {_named(asked.right[row.number], asked.options)}" for row in asked.rows
        )
    return ""


def _named(letter: str, options: Iterable[Option]) -> str:
    return next((option.text for option in options if option.letter == letter), letter)


def _reasons(options: Iterable[Option]) -> str:
    said = [f"{option.text}: {option.says}" for option in options if option.says]
    return _list(said) if said else ""
