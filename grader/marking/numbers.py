"""
Numbers with units, read as people write them; what can be read two ways is not guessed.

The rules, which the marker in the browser follows step by step:

1.  Up to 100 characters. Thin, hard and wide spaces are spaces; full-width digits are digits; `½` is ``1/2``; raised digits are
    powers; every dash is a minus, every prime a stroke.
2.  In front may stand a name with ``=`` (``A = 3 mm``), and one of ``≈ ~ ca. c. circa about approx. around roughly``.
3.  A fraction is ``5/32``; a mixed number is ``1 1/4``, ``1-1/4`` or ``1¼``, its fraction below one.
4.  A point alone is the decimal point: the papers print it so. A comma alone is a decimal comma, except where it could be a mark
    for thousands (one to three digits, not 0, then the comma, then exactly three): ``1,234`` is unreadable, ``1,5`` and ``0,125``
    are not. The same mark twice or more, three digits apart, marks thousands: ``1,234,567``. Of two different marks the last is
    the decimal's and the first marks thousands: ``1,234.5`` and ``1.234,5`` are both 1234.5. A space every three digits marks
    thousands.
5.  A power of ten is ``e-3``, ``×10^-3``, ``x10-3`` or ``×10⁻³``; beyond 99 it is unreadable.
6.  What is left is the unit, folded (`grader.base.quantities.fold`) and looked up among the spellings the key carries. No unit
    means the unit asked for, which the paper prints beside the field. ``°`` alone where a temperature is asked means the same; a
    spelling that two units share means the one of the kind asked for; degrees are differences where a difference is asked.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from grader.base.quantities import NO_BREAK, fold
from grader.marking.key import UnitEntry
from grader.marking.outcome import exact, says

LONGEST = 100
GREATEST_POWER = 99

Units = Mapping[str, UnitEntry]

_TYPED_FOR = str.maketrans(
    {"″": '"', "”": '"', "“": '"', "‶": '"', "′": "'", "’": "'", "‘": "'", "´": "'", "º": "°", "⁄": "/", "∕": "/", "∶": ":"}
    | dict.fromkeys("‐‑‒–—−", "-")
)
_SPACES = re.compile("[\t-\r\x1c-\x20\x85\xa0\u1680\u2000-\u200b\u2028\u2029\u202f\u205f\u2060\u3000\ufeff]+")
_RAISED = re.compile("[⁰¹²³⁴-⁹⁺⁻]+")
_VULGAR = re.compile("[¼-¾⅐-⅞]")
_HIDDEN = re.compile("[\x00-\x1f\x7f-\x9f\xad\u200c-\u200f\u202a-\u202e\u2061-\u206f\ue000-\uf8ff\ufff0-\uffff]")
_NOTHING = re.compile(r"[-?._/ ]*")

_BEFORE = re.compile(
    r"(?:(?:[a-zΔδ][a-z0-9_]{0,15} ?)?= ?)?"
    r"(?:(?:≈|~|∼|≅|≃|approx(?:imately)?\b\.?|about\b|around\b|roughly\b|circa\b|ca\b\.?|c\.) ?)?",
    re.ASCII | re.IGNORECASE,
)
_SIGN = re.compile(r"([+-]?) ?")
_FRACTION = re.compile(r"(?:([0-9]+)(?: |-| - ))?([0-9]+) ?/ ?([0-9]+)")
_DIGITS = re.compile(r"[0-9]{1,3}(?: [0-9]{3})+(?![0-9])(?:[.,][0-9]+)?|[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+")
_POWER = re.compile(r"[eE]([+-]?[0-9]+)| ?[xX×*·⋅] ?10 ?(?:\^|\*\*) ?([+-]?[0-9]+)| ?[xX×] ?10 ?([+-][0-9]+)")
_TEN = re.compile(r"10 ?(?:\^|\*\*) ?([+-]?[0-9]+)")
_THOUSANDS = re.compile(r"[0-9]{1,3}([., ])[0-9]{3}(?:\1[0-9]{3})*")
_ANOTHER = re.compile(r"(?:^|[^a-z0-9^])[0-9]|±", re.ASCII | re.IGNORECASE)
_DATE = re.compile(
    r"(?:[0-9]+[-. /]+)?(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*(?:[-. /]+[0-9]+)?", re.ASCII | re.IGNORECASE
)


# Planes to which every version of Unicode adds letters that look like others: a newer browser would read an A where an older
# Python reads nothing. No answer needs them; the letters of mathematics, complete since Unicode 3.1, stay.
_LATER = re.compile("[\U00010000-\U0001d3ff\U0001d800-\U0010ffff]")


@dataclass(frozen=True, slots=True)
class ReadNumber:
    """A number as it was understood: its exact value in its unit, how it was written, and the entry of its unit."""

    number: Fraction
    written: str
    unit: str
    entry: UnitEntry

    @property
    def si(self) -> Fraction:
        """The exact value in SI."""
        return self.number * exact(self.entry.factor) + exact(self.entry.offset)

    def within(self, entry: UnitEntry) -> Fraction:
        """The exact value in another unit of the same kind."""
        if entry is self.entry:
            return self.number
        return (self.si - exact(entry.offset)) / exact(entry.factor)

    @property
    def read(self) -> str:
        """The number and its unit, as they were understood."""
        return with_sign(self.written, self.entry)


@dataclass(frozen=True, slots=True)
class Unreadable:
    """An answer that is not one number with one unit, and why."""

    reason: str


def with_sign(number: str, entry: UnitEntry) -> str:
    """A number with its unit's sign, as printed."""
    if not entry.shown:
        return number
    return f"{number}{'' if entry.shown == '°' else NO_BREAK}{entry.shown}"


@lru_cache(maxsize=2048)
def tidied(text: str) -> str:
    """
    A text with all that the eye does not tell apart made one: spaces, dashes, primes, widths, raised digits, fractions.

    >>> tidied(" 1½ ″ "), tidied("１９．４ mm²"), tidied("1.2×10⁻³")
    ('1 1/2 "', '19.4 mm^2', '1.2×10^-3')
    """
    known = _LATER.sub("\N{REPLACEMENT CHARACTER}", text).translate(_TYPED_FOR)
    plain = _RAISED.sub(lambda m: "^" + unicodedata.normalize("NFKC", m[0]), known)
    plain = _VULGAR.sub(lambda m: f" {unicodedata.normalize('NFKC', m[0])} ", plain)
    plain = unicodedata.normalize("NFKC", plain).translate(_TYPED_FOR)
    return _SPACES.sub(" ", plain).strip(" ")


def is_blank(text: str) -> bool:
    """
    Whether nothing was written: only spaces, dashes, stops, question marks.

    >>> [is_blank(t) for t in ("", "  ", "—", "?", "0")]
    [True, True, True, True, False]
    """
    return len(text) <= LONGEST and _NOTHING.fullmatch(tidied(text)) is not None


def cut(text: str) -> str:
    """A text short enough to be quoted in a sentence."""
    return text if len(text) <= 40 else text[:39] + "…"


def read_number(text: str, units: Units, bare_unit: str) -> ReadNumber | Unreadable:
    """
    A number with a unit, exactly, or why it cannot be read.

    Parameters
    ----------
    text : str
        As it was written.
    units : mapping
        The key's units, by name.
    bare_unit : str
        The unit asked for; a number without a unit is in it.

    Examples
    --------
    >>> from grader.marking.key import unit_entries
    >>> units = unit_entries()
    >>> [read_number(t, units, "in").number for t in ("5/32 in", "1 1/4\\"", "½", "1,5")]
    [Fraction(5, 32), Fraction(5, 4), Fraction(1, 2), Fraction(3, 2)]
    >>> read_number("1,234 mm", units, "mm").reason.split(";")[0]
    '“1,234 mm” can be read as 1234 and as 1.234'
    """
    example = with_sign("12.5", units[bare_unit])
    if len(text) > LONGEST:
        return Unreadable(says("unreadable-long", limit=str(LONGEST)))
    plain = tidied(text)
    if _HIDDEN.search(plain):
        return Unreadable(says("unreadable-character"))
    if _DATE.fullmatch(plain):
        return Unreadable(says("unreadable-date", text=cut(plain)))
    start = _after(_BEFORE, plain, 0)
    sign = _SIGN.match(plain, start)
    minus, start = (sign[1] == "-", sign.end()) if sign else (False, start)
    found = _fraction(plain, start) or _decimal(plain, start)
    if found is None:
        return Unreadable(says("unreadable-number", text=cut(plain), example=example))
    if isinstance(found, Unreadable):
        return found
    number, written, end = found
    entry = _unit(plain[end:], units, bare_unit)
    if entry is None:
        return _no_unit(plain, plain[end:], example)
    return ReadNumber(-number if minus else number, ("-" if minus else "") + written, *entry)


def _after(pattern: re.Pattern[str], text: str, start: int) -> int:
    found = pattern.match(text, start)
    return found.end() if found else start


Part = tuple[Fraction, str, int]  # value, as written, where it ends


def _fraction(text: str, start: int) -> Part | Unreadable | None:
    found = _FRACTION.match(text, start)
    if found is None:
        return None
    whole, over, under = int(found[1] or 0), int(found[2]), int(found[3])
    if not under:
        return Unreadable(says("unreadable-zero", text=cut(text)))
    if found[1] and over >= under:
        return Unreadable(says("unreadable-mixed", text=cut(text)))
    written = f"{over}/{under}" if not found[1] else f"{whole} {over}/{under}"
    return whole + Fraction(over, under), written, found.end()


def _decimal(text: str, start: int) -> Part | Unreadable | None:
    found, power = _TEN.match(text, start), None
    if found:
        digits, end, power = "1", found.end(), found[1]
    else:
        found = _DIGITS.match(text, start)
        if found is None:
            return None
        digits, end = found[0], found.end()
        raised = _POWER.match(text, end)
        if raised:
            power, end = raised[1] or raised[2] or raised[3], raised.end()
    plain = _one_decimal(digits, text)
    if isinstance(plain, Unreadable) or power is None:
        return plain if isinstance(plain, Unreadable) else (Fraction(plain), plain, end)
    if len(power) > 4 or abs(int(power)) > GREATEST_POWER:
        return Unreadable(says("unreadable-size", text=cut(text), limit=str(GREATEST_POWER)))
    return Fraction(plain) * Fraction(10) ** int(power), f"{plain}e{int(power)}", end


def _one_decimal(digits: str, text: str) -> str | Unreadable:
    """Digits with points, commas and spaces, as a decimal with a point (rule 4)."""
    last = max(digits.rfind("."), digits.rfind(","), digits.rfind(" "))
    if last < 0:
        return digits
    mark, before, after = digits[last], digits[:last], digits[last + 1 :]
    others = {c for c in before if not c.isdigit()}
    if mark == " " or mark in others:  # one mark, repeated: thousands
        whole = _THOUSANDS.fullmatch(digits)
        return digits.replace(mark, "") if whole and others <= {mark} else Unreadable(says("unreadable-marks", text=cut(text)))
    if others:  # two marks: the last is the decimal's
        whole = _THOUSANDS.fullmatch(before)
        return f"{before.replace(before[-4], '')}.{after}" if whole else Unreadable(says("unreadable-marks", text=cut(text)))
    if mark == "," and len(after) == 3 and 1 <= len(before) <= 3 and before.strip("0"):
        return Unreadable(says("unreadable-comma", text=cut(text), thousands=before + after, decimal=f"{before}.{after}"))
    return f"{before or '0'}.{after}"


def _unit(text: str, units: Units, bare_unit: str) -> tuple[str, UnitEntry] | None:
    """The unit a text names, with the one asked for first, then its kind, then all others by name (rule 6)."""
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


def _no_unit(text: str, rest: str, example: str) -> Unreadable:
    if _ANOTHER.search(rest):
        return Unreadable(says("unreadable-several", text=cut(text)))
    return Unreadable(says("unreadable-unit", unit=cut(rest.strip(" ")), example=example))
