"""
A question as an item of QTI 3.0, with what of it does not travel.

Elements, attributes and templates as the standard's published examples use them; no schema can be had here, so none was run.
An item of an examination holds its key: it belongs with whoever examines, never on a site.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from xml.etree import ElementTree

from grader.base.quantities import unit
from grader.marking.key import (
    AnyQuestion,
    Case,
    Choice,
    ChoicePart,
    Choices,
    Figure,
    Match,
    Numeric,
    NumericPart,
    Option,
    Order,
    Reading,
)

NAMESPACE = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
SCHEMA = "https://purl.imsglobal.org/spec/qti/v3p0/schema/xsd/imsqti_asiv3p0p1_v1p0.xsd"
TEMPLATES = "https://purl.imsglobal.org/spec/qti/v3p0/rptemplates/"
INSTANCE = "http://www.w3.org/2001/XMLSchema-instance"
Element = ElementTree.Element


@dataclass(frozen=True, slots=True)
class QtiItem:
    """An item's file, the picture it shows if it shows one, and what of the question could not be carried over."""

    identifier: str
    xml: bytes
    figure: Figure | None
    lost: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Part:
    """What asks for one answer: its letter (empty where there is one only), and the question in our form."""

    letter: str
    ask: Numeric | Reading | Choice | Choices | Order | Match | NumericPart | ChoicePart

    @property
    def response(self) -> str:
        return f"RESPONSE_{self.letter.upper()}" if self.letter else "RESPONSE"


def name_of(text: str) -> str:
    """
    A text as an XML name without a colon, as identifiers are wanted.

    >>> name_of("power-open-area"), name_of("9 lives")
    ('power-open-area', 'i-9-lives')
    """
    plain = re.sub(r"[^A-Za-z0-9_.-]+", "-", text)
    return plain if re.match(r"[A-Za-z_]", plain) else f"i-{plain}"


def qti_item(question: AnyQuestion, identifier: str, language: str) -> QtiItem:
    """
    A question as a QTI 3.0 item.

    Parameters
    ----------
    question : any kind of the key's form
        With its numbers drawn.
    identifier : str
        Unique in its package; see `name_of`.
    language : str
        ``en-GB``.

    Examples
    --------
    >>> from grader.marking.key import Option
    >>> ask = Choice(item="way", objective="pump.1", circuit="pump", points="1", stem="Which way?", right="a",
    ...     options=(Option(letter="a", text="up"), Option(letter="b", text="down")))
    >>> made = qti_item(ask, "way", "en-GB")
    >>> b'response-identifier="RESPONSE"' in made.xml, made.lost
    (True, ())
    """
    parts = [_Part(part.part, part) for part in question.parts] if isinstance(question, Case) else [_Part("", question)]
    root = Element("qti-assessment-item", heading(identifier, question.item, language) | {"time-dependent": "false"})
    for part in parts:
        root.append(_declared(part))
    _outcome(root, "SCORE")
    body = _under(root, "qti-item-body")
    _paragraphs(body, question.stem)
    if question.figure is not None:
        _picture(body, question.figure, identifier)
    for part in parts:
        if part.letter:
            _paragraphs(body, f"{part.letter}) {part.ask.stem}")
        _ask(body, part)
    _processing(root, parts, question.points)
    return QtiItem(identifier, as_bytes(root), question.figure, tuple(_lost(question)))


def heading(identifier: str, title: str, language: str) -> dict[str, str]:
    """The attributes that an item and a test begin with."""
    return {
        "xmlns": NAMESPACE,
        "xmlns:xsi": INSTANCE,
        "xsi:schemaLocation": f"{NAMESPACE} {SCHEMA}",
        "identifier": identifier,
        "title": title,
        "xml:lang": language,
    }


def figure_file(identifier: str) -> str:
    """Where a package keeps an item's picture, seen from the item's file."""
    return f"figures/{identifier}.svg"


def as_bytes(root: Element) -> bytes:
    """A document as it stands in a file."""
    ElementTree.indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{ElementTree.tostring(root, encoding="unicode")}\n'.encode()


def _under(parent: Element, tag: str, text: str = "", **attributes: str) -> Element:
    made = ElementTree.SubElement(parent, tag, {name.replace("_", "-"): v for name, v in attributes.items()})
    if text:
        made.text = text
    return made


def _paragraphs(parent: Element, text: str) -> None:
    for paragraph in filter(None, (part.strip() for part in text.split("\n\n"))):
        _under(parent, "p", paragraph)


def _picture(body: Element, figure: Figure, identifier: str) -> None:
    _under(_under(body, "p"), "img", src=figure_file(identifier), alt=figure.alt)


def _outcome(root: Element, name: str) -> None:
    declared = _under(root, "qti-outcome-declaration", identifier=name, cardinality="single", base_type="float")
    _under(_under(declared, "qti-default-value"), "qti-value", "0")


# What is right.


def _declared(part: _Part) -> Element:
    cardinality, base = _TYPES[type(part.ask)]
    declared = Element(
        "qti-response-declaration",
        {"identifier": part.response, "cardinality": cardinality, "base-type": base},
    )
    right = _under(declared, "qti-correct-response")
    for value in _right(part.ask):
        _under(right, "qti-value", value)
    if isinstance(part.ask, Choices | Match):
        _mapping(declared, part.ask)
    return declared


_TYPES = {
    Numeric: ("single", "float"),
    Reading: ("single", "float"),
    NumericPart: ("single", "float"),
    Choice: ("single", "identifier"),
    ChoicePart: ("single", "identifier"),
    Choices: ("multiple", "identifier"),
    Order: ("ordered", "identifier"),
    Match: ("multiple", "directedPair"),
}


def _right(ask: object) -> Iterable[str]:
    match ask:
        case Numeric() | Reading() | NumericPart():
            return (ask.answer.value,)
        case Choice() | ChoicePart():
            return (ask.right,)
        case Choices() | Order():
            return ask.right
        case Match():
            return [f"row-{row} {letter}" for row, letter in ask.right.items()]
        case _:
            raise AssertionError(f"no right answer is known of {ask!r}")


def _mapping(declared: Element, ask: Choices | Match) -> None:
    """Part marks: of several options a wrong one takes off what a right one gives, down to nothing; of rows each its share."""
    points = Fraction(ask.points)
    if isinstance(ask, Match):
        each = points / len(ask.rows)
        values = dict.fromkeys(_right(ask), each)
    else:
        each = points / len(ask.right)
        values = {option.letter: each if option.letter in ask.right else -each for option in ask.options}
    mapping = _under(declared, "qti-mapping", default_value="0", lower_bound="0", upper_bound=_decimal(points))
    for key, value in values.items():
        _under(mapping, "qti-map-entry", map_key=key, mapped_value=_decimal(value))


def _decimal(value: Fraction) -> str:
    return f"{Decimal(value.numerator) / Decimal(value.denominator):.12g}"


# What is asked.


def _ask(body: Element, part: _Part) -> None:
    ask = part.ask
    match ask:
        case Numeric() | Reading() | NumericPart():
            if isinstance(ask, Reading) and ask.rule:
                _paragraphs(body, ask.rule)
            line = _under(body, "p", "Answer: ")
            field = _under(line, "qti-text-entry-interaction", response_identifier=part.response, expected_length="12")
            field.tail = f" {unit(ask.answer.unit).shown}".rstrip()
        case Choice() | ChoicePart():
            _options(_interaction(body, "qti-choice-interaction", part, shuffle="false", max_choices="1"), ask.options)
        case Choices():
            _options(_interaction(body, "qti-choice-interaction", part, shuffle="false", max_choices="0"), ask.options)
        case Order():
            _options(_interaction(body, "qti-order-interaction", part, shuffle="false"), ask.entries)
        case Match():
            matching = _interaction(body, "qti-match-interaction", part, shuffle="false", max_associations=str(len(ask.rows)))
            rows, options = (_under(matching, "qti-simple-match-set") for _ in range(2))
            for row in ask.rows:
                _under(rows, "qti-simple-associable-choice", row.text, identifier=f"row-{row.number}", match_max="1")
            for option in ask.options:
                most = str(len(ask.rows))
                _under(options, "qti-simple-associable-choice", option.text, identifier=option.letter, match_max=most)


def _interaction(body: Element, tag: str, part: _Part, **attributes: str) -> Element:
    return _under(body, tag, response_identifier=part.response, **attributes)


def _options(interaction: Element, options: Iterable[Option]) -> None:
    for option in options:
        _under(interaction, "qti-simple-choice", option.text, identifier=option.letter)


# How it is marked.


def _processing(root: Element, parts: list[_Part], points: str) -> None:
    """A template of the standard where one fits; else a condition a part that adds its points."""
    template = _template(parts, points)
    if template:
        _under(root, "qti-response-processing", template=f"{TEMPLATES}{template}.xml")
        return
    processing = _under(root, "qti-response-processing")
    for part in parts:
        if isinstance(part.ask, Choices | Match):
            _add(processing, _under(Element("x"), "qti-map-response", identifier=part.response))
            continue
        condition = _under(_under(processing, "qti-response-condition"), "qti-response-if")
        condition.append(_test(part))
        worth = _under(Element("x"), "qti-base-value", part.ask.points, base_type="float")
        _add(condition, worth)


def _template(parts: list[_Part], points: str) -> str:
    (first, *more) = parts
    if more:
        return ""
    if isinstance(first.ask, Choices | Match):
        return "map_response"
    return "match_correct" if isinstance(first.ask, Choice | Order) and Fraction(points) == 1 else ""


def _add(parent: Element, worth: Element) -> None:
    total = _under(_under(parent, "qti-set-outcome-value", identifier="SCORE"), "qti-sum")
    _under(total, "qti-variable", identifier="SCORE")
    total.append(worth)


def _test(part: _Part) -> Element:
    """That the answer is right. The key comes first: a tolerance is reckoned from what stands first."""
    if isinstance(part.ask, Numeric | Reading | NumericPart):
        answer = part.ask.answer
        value = Decimal(answer.value)
        off = f"{value - Decimal(answer.low)} {Decimal(answer.high) - value}"
        test = Element("qti-equal", {"tolerance-mode": "absolute", "tolerance": off})
        _under(test, "qti-correct", identifier=part.response)
        _under(test, "qti-variable", identifier=part.response)
        return test
    test = Element("qti-match")
    _under(test, "qti-variable", identifier=part.response)
    _under(test, "qti-correct", identifier=part.response)
    return test


def _lost(question: AnyQuestion) -> Iterator[str]:
    """What the standard's items cannot say, or not as we do."""
    parts = question.parts if isinstance(question, Case) else (question,)
    if any(isinstance(part, Numeric | Reading | NumericPart) for part in parts):
        yield "units and fractions in an answer: it is a bare number in the unit asked for"
    if any(isinstance(part, Numeric | Reading | NumericPart) and part.slips for part in parts):
        yield "slips and what is said to them"
    if any(isinstance(part, NumericPart) and part.follow for part in parts):
        yield "marks for going on rightly from an own earlier value"
    if isinstance(question, Order):
        yield "part marks for an order: it is all or nothing"
    if isinstance(question, Choice) and any(option.says for option in question.options):
        yield "what is said to whoever takes a wrong option"
    if question.working or question.hint:
        yield "hint and worked answer"
