"""
Numbers read, marked and followed a second way: with fractions, one rule after another, nothing made ready and nothing remembered.

Slow and obvious on purpose. `grader.marking` must say the same of every answer, to the letter (`test_slow.py`).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from grader.base.drills import DRILL_INCHES
from grader.base.errors import RangeError
from grader.base.quantities import NO_BREAK, fold
from grader.marking.choice import ChoiceField
from grader.marking.key import Answer, Case, ChoicePart, Follow, Numeric, NumericPart, Reading, Slip, UnitEntry
from grader.marking.outcome import Outcome, says
from grader.relations.tree import evaluate

Units = Mapping[str, UnitEntry]
Asked = Numeric | Reading | NumericPart
Part = tuple[Fraction, str, int]  # value, as written, where it ends

TYPED_FOR = str.maketrans(
    {"″": '"', "”": '"', "“": '"', "‶": '"', "′": "'", "’": "'", "‘": "'", "´": "'", "º": "°", "⁄": "/", "∕": "/", "∶": ":"}
    | dict.fromkeys("‐‑‒–—−", "-")
)
SPACES = "[\t-\r\x1c-\x20\x85\xa0\u1680\u2000-\u200b\u2028\u2029\u202f\u205f\u2060\u3000\ufeff]+"
HIDDEN = "[\x00-\x1f\x7f-\x9f\xad\u200c-\u200f\u202a-\u202e\u2061-\u206f\ue000-\uf8ff\ufff0-\uffff]"
LATER = "[\U00010000-\U0001d3ff\U0001d800-\U0010ffff]"
PLAIN = re.ASCII | re.IGNORECASE
BEFORE = re.compile(
    r"(?:(?:[a-zΔδ][a-z0-9_]{0,15} ?)?= ?)?"
    r"(?:(?:≈|~|∼|≅|≃|approx(?:imately)?\b\.?|about\b|around\b|roughly\b|circa\b|ca\b\.?|c\.) ?)?",
    PLAIN,
)
SIGN = re.compile(r"([+-]?) ?")
FRACTION = re.compile(r"(?:([0-9]+)(?: |-| - ))?([0-9]+) ?/ ?([0-9]+)")
DIGITS = re.compile(r"[0-9]{1,3}(?: [0-9]{3})+(?![0-9])(?:[.,][0-9]+)?|[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+")
POWER = re.compile(r"[eE]([+-]?[0-9]+)| ?[xX×*·⋅] ?10 ?(?:\^|\*\*) ?([+-]?[0-9]+)| ?[xX×] ?10 ?([+-][0-9]+)")
TEN = re.compile(r"10 ?(?:\^|\*\*) ?([+-]?[0-9]+)")
THOUSANDS = r"[0-9]{1,3}([., ])[0-9]{3}(?:\1[0-9]{3})*"
DATE = r"(?:[0-9]+[-. /]+)?(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*(?:[-. /]+[0-9]+)?"
SIGNED = r"(?:no\.?|number|#) ?([0-9]+)"


@dataclass(frozen=True)
class Read:
    number: Fraction
    written: str
    unit: str
    entry: UnitEntry

    @property
    def si(self) -> Fraction:
        return self.number * Fraction(self.entry.factor) + Fraction(self.entry.offset)

    def within(self, entry: UnitEntry) -> Fraction:
        return (self.si - Fraction(entry.offset)) / Fraction(entry.factor)

    @property
    def read(self) -> str:
        return with_sign(self.written, self.entry)


def with_sign(number: str, entry: UnitEntry) -> str:
    if not entry.shown:
        return number
    return f"{number}{'' if entry.shown == '°' else NO_BREAK}{entry.shown}"


def cut(text: str) -> str:
    return text if len(text) <= 40 else text[:39] + "…"


def tidied(text: str) -> str:
    known = re.sub(LATER, "\N{REPLACEMENT CHARACTER}", text).translate(TYPED_FOR)
    plain = re.sub("[⁰¹²³⁴-⁹⁺⁻]+", lambda m: "^" + unicodedata.normalize("NFKC", m[0]), known)
    plain = re.sub("[¼-¾⅐-⅞]", lambda m: f" {unicodedata.normalize('NFKC', m[0])} ", plain)
    return re.sub(SPACES, " ", unicodedata.normalize("NFKC", plain).translate(TYPED_FOR)).strip(" ")


def read(text: str, units: Units, bare_unit: str) -> Read | str:
    """A number with its unit, or why it is none."""
    example = with_sign("12.5", units[bare_unit])
    if len(text) > 100:
        return says("unreadable-long", limit="100")
    plain = tidied(text)
    if re.search(HIDDEN, plain):
        return says("unreadable-character")
    if re.fullmatch(DATE, plain, PLAIN):
        return says("unreadable-date", text=cut(plain))
    drill = re.fullmatch(rf"{SIGNED}[ -]drill(?: bit)?\.?", plain, PLAIN) or re.fullmatch(
        rf"drill(?: bit)? ?{SIGNED}\.?", plain, PLAIN
    )
    inch = unit_named("in", units, bare_unit)
    if drill and inch and len(drill[1]) <= 4:
        if int(drill[1]) not in DRILL_INCHES:
            return says("unreadable-drill", number=str(int(drill[1])), last="80")
        written = DRILL_INCHES[int(drill[1])]
        return Read(Fraction(written), written, *inch)
    if re.fullmatch(rf"{SIGNED}\.?", plain, PLAIN):
        return says("unreadable-sign", text=cut(plain))
    return read_plain(plain, units, bare_unit, example)


def read_plain(plain: str, units: Units, bare_unit: str, example: str) -> Read | str:
    before = BEFORE.match(plain)
    sign = SIGN.match(plain, before.end() if before else 0)
    assert sign is not None
    found = fraction(plain, sign.end()) or decimal_number(plain, sign.end())
    if found is None:
        return says("unreadable-number", text=cut(plain), example=example)
    if isinstance(found, str):
        return found
    number, written, end = found
    unit = unit_named(plain[end:], units, bare_unit)
    if unit is None:
        if re.search(r"(?:^|[^a-z0-9^])[0-9]|±", plain[end:], PLAIN):
            return says("unreadable-several", text=cut(plain))
        return says("unreadable-unit", unit=cut(plain[end:].strip(" ")), example=example)
    return Read(-number if sign[1] == "-" else number, ("-" if sign[1] == "-" else "") + written, *unit)


def fraction(text: str, start: int) -> Part | str | None:
    found = FRACTION.match(text, start)
    if found is None:
        return None
    whole, over, under = int(found[1] or 0), int(found[2]), int(found[3])
    if not under:
        return says("unreadable-zero", text=cut(text))
    if found[1] and over >= under:
        return says("unreadable-mixed", text=cut(text))
    return whole + Fraction(over, under), f"{over}/{under}" if not found[1] else f"{whole} {over}/{under}", found.end()


def decimal_number(text: str, start: int) -> Part | str | None:
    found, power = TEN.match(text, start), None
    if found:
        digits, end, power = "1", found.end(), found[1]
    else:
        found = DIGITS.match(text, start)
        if found is None:
            return None
        digits, end = found[0], found.end()
        raised = POWER.match(text, end)
        if raised:
            power, end = raised[1] or raised[2] or raised[3], raised.end()
    plain, fault = one_decimal(digits, text)
    if fault or power is None:
        return fault or (Fraction(plain), plain, end)
    if len(power) > 4 or abs(int(power)) > 99:
        return says("unreadable-size", text=cut(text), limit="99")
    return Fraction(plain) * Fraction(10) ** int(power), f"{plain}e{int(power)}", end


def one_decimal(digits: str, text: str) -> tuple[str, str]:
    """Digits with points, commas and spaces as a decimal with a point; or the second: why they are none."""
    last = max(digits.rfind("."), digits.rfind(","), digits.rfind(" "))
    if last < 0:
        return digits, ""
    mark, before, after = digits[last], digits[:last], digits[last + 1 :]
    others = {c for c in before if not c.isdigit()}
    bad = "", says("unreadable-marks", text=cut(text))
    if mark == " " or mark in others:
        return (digits.replace(mark, ""), "") if re.fullmatch(THOUSANDS, digits) and others <= {mark} else bad
    if others:
        return (f"{before.replace(before[-4], '')}.{after}", "") if re.fullmatch(THOUSANDS, before) else bad
    if mark == "," and len(after) == 3 and 1 <= len(before) <= 3 and before.strip("0"):
        return "", says("unreadable-comma", text=cut(text), thousands=before + after, decimal=f"{before}.{after}")
    return f"{before or '0'}.{after}", ""


def unit_named(text: str, units: Units, bare_unit: str) -> tuple[str, UnitEntry] | None:
    asked = units[bare_unit]
    spelling = fold(text.strip(" .,;!").removeprefix("- ").removeprefix("-"))
    if spelling == "" or spelling in asked.spelt or spelling == fold(asked.shown):
        return bare_unit, asked
    named = [name for name in sorted(units) if spelling in units[name].spelt]
    if not named:
        return None
    name = next((name for name in named if units[name].kind == asked.kind), named[0])
    entry = units[name]
    if name == "deg" and asked.kind.startswith("temperature"):
        return bare_unit, asked
    if asked.kind == "temperature difference" and entry.kind == "temperature":
        entry = UnitEntry(kind=asked.kind, factor=entry.factor, shown=entry.shown)
    return name, entry


# Marking


def mark(question: Asked, text: str, units: Units) -> Outcome:
    found = understood(question, text, units)
    return found if isinstance(found, Outcome) else compared(question, found, units)


def outcome(question: Asked, verdict: Any, share: int, shown: str, why: str) -> Outcome:
    full = rounded(Fraction(question.points), 2)
    part = question.part if isinstance(question, NumericPart) else ""
    return Outcome(part, verdict, full if share else "0", full, shown, why)


def understood(question: Asked, text: str, units: Units) -> Read | Outcome:
    if len(text) <= 100 and re.fullmatch(r"[-?._/ ]*", tidied(text)):
        return outcome(question, "blank", 0, "", says("blank"))
    found = read(text, units, question.answer.unit)
    if isinstance(found, str):
        return outcome(question, "unreadable", 0, "", found)
    wanted = units[question.answer.unit]
    if found.entry.kind != wanted.kind:
        name = "unit" if wanted.shown else "unit-none"
        why = says(name, read=found.read, kind=found.entry.kind, wanted=wanted.kind, unit=wanted.shown)
        return outcome(question, "unit", 0, found.read, why)
    return found


def compared(question: Asked, found: Read, units: Units) -> Outcome:
    value = found.within(units[question.answer.unit])
    if inside(value, question.answer):
        return outcome(question, "right", 1, found.read, says("right"))
    for slip in question.slips:
        if inside(value, slip):
            return outcome(question, "slip", 0, found.read, slip.says or says("slip-silent"))
    why = other_unit(question, found, units) or wrong(question, value, units[question.answer.unit])
    return outcome(question, "wrong", 0, found.read, why)


def inside(value: Fraction, bounds: Answer | Slip) -> bool:
    return Fraction(bounds.low) <= value <= Fraction(bounds.high)


def other_unit(question: Asked, found: Read, units: Units) -> str:
    answer, asked = question.answer, units[question.answer.unit]
    if inside(Fraction(0), answer):
        return ""
    kin = {name: entry for name, entry in units.items() if entry.kind == asked.kind and name != found.unit}
    values = {name: replace(found, entry=entry).within(asked) for name, entry in kin.items()}
    near = [(abs(value - Fraction(answer.value)), name) for name, value in values.items() if inside(value, answer)]
    if not near:
        return ""
    unit = units[min(near)[1]].shown
    return says("wrong-unit", unit=unit) if unit else says("wrong-unit-none", unit=asked.shown)


def wrong(question: Asked, value: Fraction, entry: UnitEntry) -> str:
    within = question.answer.within
    if question.plausible and not Fraction(question.plausible[0]) <= value <= Fraction(question.plausible[1]):
        least, most = (with_sign(bound, entry) for bound in question.plausible)
        return says("wrong-plausible", within=within, least=least, most=most)
    return says("wrong", within=within)


# Cases


def mark_case(question: Case, answers: Mapping[str, str], units: Units) -> tuple[Outcome, ...]:
    own: dict[str, Read] = {}
    keyed: dict[str, Fraction] = {}
    outcomes = []
    for part in question.parts:
        text = answers.get(part.part, "")
        if isinstance(part, ChoicePart):
            outcomes.append(ChoiceField(part).mark(text))
            continue
        entry = units[part.answer.unit]
        keyed[part.part] = Fraction(part.answer.value) * Fraction(entry.factor) + Fraction(entry.offset)
        found = understood(part, text, units)
        if isinstance(found, Outcome):
            outcomes.append(found)
            continue
        outcomes.append(followed(part, found, own, keyed, units))
        own[part.part] = found
    return tuple(outcomes)


def followed(part: NumericPart, found: Read, own: Mapping[str, Read], keyed: Mapping[str, Fraction], units: Units) -> Outcome:
    plain = compared(part, found, units)
    carried = [letter for letter in dict.fromkeys(part.follow.takes.values() if part.follow else ()) if letter in own]
    if plain.verdict == "right" or part.follow is None or not carried:
        return plain
    entry = units[part.answer.unit]
    value = found.within(entry)
    middle = carried_value(part.follow, part.follow.tree, own, keyed, entry)
    if middle is not None and near(value, middle, part.follow.within, units, part.answer.unit):
        chain = ", ".join(says("own", part=letter, read=own[letter].read) for letter in carried)
        why = says("followed", own=chain, value=with_sign(shown(middle), entry))
        return outcome(part, "followed", 1, found.read, why)
    if plain.verdict == "slip":
        return plain
    for slip in part.slips:
        if slip.tree is not None:
            middle = carried_value(part.follow, slip.tree, own, keyed, entry)
            if middle is not None and near(value, middle, part.follow.within, units, part.answer.unit):
                return outcome(part, "slip", 0, found.read, slip.says or says("slip-silent"))
    return plain


def carried_value(
    follow: Follow, tree: list[Any], own: Mapping[str, Read], keyed: Mapping[str, Fraction], entry: UnitEntry
) -> Fraction | None:
    env = dict(follow.values)
    for name, letter in follow.takes.items():
        env[name] = float(own[letter].si if letter in own else keyed[letter])
    try:
        computed = evaluate(tree, env)
    except RangeError:
        return None
    return figures((Fraction(computed) - Fraction(entry.offset)) / Fraction(entry.factor), 12) if computed else None


def near(value: Fraction, middle: Fraction, within: str, units: Units, unit: str) -> bool:
    if within.endswith("%"):
        return abs(value - middle) <= abs(middle) * Fraction(within[:-1].strip(" ")) / 100
    amount = read(within, units, unit)
    if isinstance(amount, str):
        return value == middle
    return abs(value - middle) <= amount.number * Fraction(amount.entry.factor) / Fraction(units[unit].factor)


def figures(value: Fraction, count: int) -> Fraction:
    if not value:
        return value
    power = 0
    while abs(value) >= Fraction(10) ** (power + 1):
        power += 1
    while abs(value) < Fraction(10) ** power:
        power -= 1
    step = Fraction(10) ** (power - count + 1)
    return round(value / step) * step


def rounded(value: Fraction, places: int) -> str:
    scaled = round(value * 10**places)
    digits = str(abs(scaled)).rjust(places + 1, "0")
    whole, rest = digits[: len(digits) - places], digits[len(digits) - places :].rstrip("0")
    return ("-" if scaled < 0 else "") + (f"{whole}.{rest}" if rest else whole)


def shown(value: Fraction) -> str:
    four = figures(value, 4)
    places = 0
    while (four * 10**places).denominator != 1:
        places += 1
    return rounded(four, places)
