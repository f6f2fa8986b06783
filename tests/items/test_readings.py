"""A reading from its bank's text to the question of a key: drawing, rule, bounds, worked answer."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import sin, tau

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.canon import canonical
from grader.base.errors import FindingsError
from grader.base.findings import Finding
from grader.base.quantities import NO_BREAK
from grader.items.checks import check_items
from grader.items.figures import check_figure
from grader.items.instruments.catalog import INSTRUMENTS
from grader.items.instruments.instrument import Instrument, Scale, file_of
from grader.items.item_file import read_items
from grader.items.model import Item
from grader.items.readings import as_read, drawing, given_away, hidden, rule, tolerance
from grader.items.sampling import sampled
from grader.items.showing import as_page, as_text, drawn
from grader.items.variants import draw_question
from grader.marking import key
from grader.marking.key import unit_entries
from grader.marking.mark import mark_question

GAUGE = """
- id: tank-x
  objective: tank.1
  kind: reading
  given:
    vacuum: {from: 5 inHg, to: 25 inHg, step: 0.5 inHg}
  instrument: {kind: vacuum gauge, scale: inHg, shows: "vacuum"}
  stem: Read the gauge.
  answer: {value: "vacuum", unit: inHg}
"""
ERROR = """
- id: tank-x
  objective: tank.1
  kind: reading
  given:
    vacuum: {from: 5 inHg, to: 20 inHg, step: 0.5 inHg}
    error: {pick: [1.0 inHg, 1.5 inHg]}
  let:
    needle: vacuum + error
  instrument: {kind: vacuum gauge, scale: inHg, shows: "needle"}
  stem: A gauge that shows {error} too much hangs on the pump. What suction is there?
  answer: {value: "needle - error", unit: inHg}
  slips:
    - {value: "needle + error", says: "It shows too much: take the error off."}
  working: What the gauge shows, less its error.
"""
RULE = """
- id: tank-x
  objective: tank.1
  kind: reading
  given:
    long: {from: 9/64 in, to: 61/64 in, step: 1/64 in}
  instrument: {kind: steel rule, scale: inch 64ths, shows: "long"}
  stem: How long is the part?
  answer: {value: "long", unit: %s}
"""


def item(text: str) -> Item:
    findings: list[Finding] = []
    bank = read_items("tank.yaml", "tank", text.encode(), {}, findings)
    assert findings == []
    return bank.items[0]


def reading(text: str, paper: str = "P") -> key.Reading:
    found = draw_question(item(text), b"secret", paper, {})
    assert isinstance(found, key.Reading)
    return found


def plain(text: str) -> str:
    return text.replace(NO_BREAK, " ")


def test_a_reading_is_drawn_told_and_bounded_by_its_scale() -> None:
    found = reading(GAUGE)
    # Half a division of 1 inHg: the scale's own tolerance, as no other is written.
    value = Fraction(found.answer.value)
    assert (Fraction(found.answer.low), Fraction(found.answer.high)) == (value - Fraction(1, 2), value + Fraction(1, 2))
    assert plain(found.rule) == "Read to half a division; an answer within 0.5 inHg is right."
    assert plain(found.answer.shown) == f"{float(value):.1f} inHg"
    assert found.figure is not None
    scale = INSTRUMENTS["vacuum gauge"].scales["inHg"]
    assert found.figure.svg == INSTRUMENTS["vacuum gauge"].draw(scale, float(value)).strip()
    assert "30 inHg" in found.figure.alt
    assert msgspec.json.decode(msgspec.json.encode(found), type=key.AnyQuestion) == found


def test_the_same_paper_gets_the_same_bytes_and_another_paper_another_reading() -> None:
    once, again = (canonical(msgspec.to_builtins(reading(GAUGE))) for _ in range(2))
    assert once == again
    assert len({reading(GAUGE, f"P{number}").answer.value for number in range(20)}) > 8
    assert len({reading(GAUGE, f"P{number}").figure for number in range(20)}) > 8


def test_neither_stem_nor_drawing_says_what_is_to_be_read() -> None:
    for number in range(20):
        found = reading(ERROR, f"P{number}")
        shown = Fraction(found.answer.value)
        needle = plain(found.working[1].says)
        assert needle.startswith("The instrument shows ")
        told = needle.split()[3]
        assert Fraction(told) > shown
        assert found.figure is not None
        for words in (found.stem, found.figure.alt, found.rule):
            assert told not in plain(words)


def test_the_marker_takes_what_lies_on_the_bound_and_nothing_beyond() -> None:
    found = reading(GAUGE)
    value = Fraction(found.answer.value)
    units = unit_entries()
    verdicts = [
        mark_question(found, {"": f"{float(value + off)} inHg"}, units)[0].verdict
        for off in map(Fraction, ("-0.51", "-0.5", "0", "0.5", "0.51"))
    ]
    assert verdicts == ["wrong", "right", "right", "right", "wrong"]
    assert mark_question(found, {"": "12 mm"}, units)[0].verdict == "unit"
    outcome = mark_question(found, {"": f"{float(value) + 3}"}, units)[0]
    assert plain(outcome.why) == "Not within 0.5 inHg of the answer."


def test_a_slip_of_a_reading_is_told_by_its_name() -> None:
    found = reading(ERROR)
    outcome = mark_question(found, {"": found.slips[0].value}, unit_entries())[0]
    assert (outcome.verdict, outcome.why) == ("slip", "It shows too much: take the error off.")


def test_the_worked_answer_begins_with_what_the_instrument_shows() -> None:
    first, second, *rest = [plain(step.says) for step in reading(ERROR).working]
    assert first == "What the gauge shows, less its error."
    assert second.startswith("The instrument shows ")
    assert rest
    only = reading(RULE % "in").working
    assert len(only) == 1
    assert only[0].says.startswith("The instrument shows ")
    assert plain(only[0].says).endswith("divisions of 1/64 in.")
    converted = reading(RULE % "mm")
    (last,) = (plain(step.says).split() for step in converted.working[1:])
    assert last[:2] == ["That", "is"]
    assert last[3] == "mm."
    assert float(last[2]) == pytest.approx(float(converted.answer.value), abs=0.005)


def test_a_rules_answer_is_a_fraction_in_inches_and_a_number_in_millimetres() -> None:
    inches, millimetres = reading(RULE % "in"), reading(RULE % "mm")
    assert plain(inches.answer.shown).split()[0] == str(Fraction(inches.answer.value))
    assert plain(inches.answer.within) == "1/128 in"
    # 1 in is 25.4 mm exactly (ISO 31-1 / NIST SP 811, from memory); half a 64th is 0.1984375 mm.
    assert Fraction(millimetres.answer.high) - Fraction(millimetres.answer.value) == Fraction("25.4") / 128
    assert Fraction(millimetres.answer.value) == Fraction(inches.answer.value) * Fraction("25.4")
    units = unit_entries()
    assert mark_question(inches, {"": f"{plain(inches.answer.shown).split()[0]}"}, units)[0].verdict == "right"
    assert mark_question(millimetres, {"": inches.answer.shown}, units)[0].verdict == "right"


def test_what_the_instrument_alone_tells_is_known() -> None:
    found = item(ERROR)
    assert hidden(found) == {"vacuum"}
    assert not given_away(found, {"error"})
    assert given_away(found, {"error", "vacuum"})
    assert given_away(found, {"needle"})
    assert given_away(item(GAUGE), {"vacuum"})


def test_numbers_are_written_as_they_are_read() -> None:
    third = Fraction(1, 3)
    assert [as_read(Fraction(n), Fraction(s)) for n, s in (("1.5", "1/2"), ("9/8", "1/8"), ("1", "1/4"), ("0.32", "1/1000"))] == [
        "1.5",
        "1 1/8",
        "1.00",
        "0.320",
    ]
    with pytest.raises(ValueError, match="no exact decimal"):
        as_read(third, Fraction(1, 2))


def test_showing_an_item_says_rule_reading_and_draws_it() -> None:
    found = item(ERROR)
    questions = drawn(found, {}, 2)
    text = plain(as_text(found, questions))
    assert "rule: Read to half a division; an answer within 0.5 inHg is right." in text
    assert "working: The instrument shows " in text
    page = as_page(found, questions)
    assert page.count("<svg") == 2
    assert page.count("rule: Read to half a division") == 2
    assert page.count('id="v1-title"') == 1


def test_an_item_whose_reading_is_never_on_the_scale_is_refused_with_its_range() -> None:
    text = GAUGE.replace("from: 5 inHg, to: 25 inHg", "from: 31 inHg, to: 41 inHg")
    with pytest.raises(FindingsError) as error:
        reading(text)
    told = str(error.value)
    assert "and its scale goes from 0 to 30 inHg" in told
    assert "[off-scale]" in told


SCALES = [(instrument, scale) for instrument in INSTRUMENTS.values() for scale in instrument.scales.values()]


@pytest.mark.parametrize(("instrument", "scale"), SCALES, ids=lambda each: getattr(each, "kind", getattr(each, "name", "")))
def test_every_instrument_can_stand_in_a_question(instrument: Instrument, scale: Scale) -> None:
    steps = int((scale.greatest - scale.least) / scale.resolution)
    values = scale.readings or [scale.least + scale.resolution * (steps * tenth // 10) for tenth in range(11)]
    within = tolerance(scale)
    assert within.number == scale.within > 0
    assert rule(scale, within).endswith(" is right.")
    text = f"""
- id: tank-x
  objective: tank.1
  kind: reading
  given:
    shown: {{pick: [{", ".join(f"{float(value):.6f} {scale.unit}" for value in values[:8])}]}}
  instrument: {{kind: {instrument.kind}, scale: {scale.name}, shows: "shown"}}
  stem: What does it show?
  answer: {{value: "shown", unit: {scale.unit}}}
"""
    found = item(text)
    kept, _ = check_items([found], 10)
    assert {finding.code for finding in kept} <= {"few-variants"}
    question = reading(text)
    assert question.figure is not None
    assert check_figure(file_of(instrument.kind), question.figure.svg) == []
    assert mark_question(question, {"": plain(question.answer.shown)}, unit_entries())[0].verdict == "right"


@settings(max_examples=30, deadline=None)
@given(turn=st.integers(0, 10**6))
def test_checking_refuses_what_drawing_refuses(turn: int) -> None:
    low = round(20 * sin(tau * turn / 97)) + 8  # from under the scale's least to over its greatest
    text = GAUGE.replace("from: 5 inHg, to: 25 inHg, step: 0.5 inHg", f"from: {low} inHg, to: {low + 8} inHg, step: 1 inHg")
    off = [value for value in range(low, low + 9) if not 0 <= value <= 30]
    assert sampled(item(text), 50).accepted == 9 - len(off)
    told = [finding for finding in check_items([item(text)], 50)[0] if finding.code == "off-scale"]
    assert bool(told) == bool(off)


def test_the_drawing_of_a_figure_has_its_words_from_the_instrument() -> None:
    use = item(GAUGE).instrument
    assert use is not None
    figure = drawing(use, Decimal("12.5"))
    assert figure.alt.startswith("Vacuum gauge, inHg. ")
