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
7.  ``No. 42 drill`` and ``drill #42`` are the drill's bore in inches (`grader.base.drills`). A number sign alone could be a jet's
    own number as well and is unreadable.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

from grader.base.drills import DRILL_INCHES
from grader.marking.key import UnitEntry
from grader.marking.outcome import says
from grader.marking.ratio import SAME, TENS, Ratio, change, ratio
from grader.marking.units import Asked, Meant, Units, table_of

LONGEST = 100
GREATEST_POWER = 99

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
_DRILL = re.compile(
    r"(?:no\.?|number|#) ?([0-9]{1,4})[ -]drill(?: bit)?\.?|drill(?: bit)? ?(?:no\.?|number|#) ?([0-9]{1,4})\.?",
    re.ASCII | re.IGNORECASE,
)
_NUMBER_SIGN = re.compile(r"(?:no\.?|number|#) ?[0-9]+\.?", re.ASCII | re.IGNORECASE)


# Planes to which every version of Unicode adds letters that look like others: a newer browser would read an A where an older
# Python reads nothing. No answer needs them; the letters of mathematics, complete since Unicode 3.1, stay.
_LATER = re.compile("[\U00010000-\U0001d3ff\U0001d800-\U0010ffff]")


# A plain number with whatever is behind it: what nearly everybody writes. A letter or a sign begins the unit, so nothing in it
# belongs to the number any more; but for a power of ten, which is not among the spellings that are remembered.
_USUAL = re.compile(
    r"([-−–+]?)(?=[.,]?[0-9])([0-9]{0,20})(?:([.,])([0-9]{1,20}))?"
    r"((?:[ \u00a0\u2009\u202f]?[A-Za-z°%\"'″′µμΩ:].{0,30})?)"
)
_SPELLINGS = 500  # remembered at most: a pile of files may hold any number of them


@dataclass(slots=True)
class ReadNumber:
    """A number as it was understood: its exact value in its unit (above over below), how it was written, and its unit."""

    above: int
    below: int
    written: str
    meant: Meant

    @property
    def number(self) -> Fraction:
        """The exact value in its unit."""
        return Fraction(self.above, self.below)

    @property
    def unit(self) -> str:
        """The name of its unit."""
        return self.meant.unit

    @property
    def entry(self) -> UnitEntry:
        """Its unit, as the key has it."""
        return self.meant.entry

    @property
    def si(self) -> Fraction:
        """The exact value in SI."""
        return Fraction(*self.meant.into_si.of((self.above, self.below)))

    @property
    def asked(self) -> Ratio:
        """The exact value in the unit asked for; only where that is of the same kind."""
        into = self.meant.into_asked
        return (self.above, self.below) if into is SAME else into.of((self.above, self.below))

    def within(self, entry: UnitEntry) -> Ratio:
        """The exact value in another unit of the same kind."""
        return change(self.entry.factor, self.entry.offset, entry.factor, entry.offset).of((self.above, self.below))

    @property
    def read(self) -> str:
        """The number and its unit, as they were understood."""
        return self.written + self.meant.sign


@dataclass(frozen=True, slots=True)
class Unreadable:
    """An answer that is not one number with one unit, and why."""

    reason: str


def tidied(text: str) -> str:
    """
    A text with all that the eye does not tell apart made one: spaces, dashes, primes, widths, raised digits, fractions.

    >>> tidied(" 1½ ″ "), tidied("１９．４ mm²"), tidied("1.2×10⁻³")
    ('1 1/2 "', '19.4 mm^2', '1.2×10^-3')
    """
    if text.isascii():
        return _SPACES.sub(" ", text).strip(" ")
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
    return number_in(text, table_of(units).asked(bare_unit))


def number_in(text: str, asked: Asked) -> ReadNumber | Unreadable:
    """The same as `read_number`, of a unit made ready."""
    return usual_number(text, asked) or any_number(text, asked)


def usual_number(text: str, asked: Asked) -> ReadNumber | None:
    """
    A plain number with a spelling of a unit that was met before: what `any_number` reads, in a tenth of the time. Else None.

    >>> from grader.marking.key import unit_entries
    >>> mm = table_of(unit_entries()).asked("mm")
    >>> usual_number("19.4 mm", mm).number, usual_number("1,234", mm), usual_number("5/32 in", mm)
    (Fraction(97, 5), None, None)
    """
    found = _USUAL.fullmatch(text)
    if found is None:
        return None
    sign, whole, mark, rest, unit = found.groups()
    meant = asked.spelt[unit] if unit in asked.spelt else _met(unit, asked)
    if meant is None:
        return None
    if mark is None:
        above, below, written = int(whole), 1, whole
    elif mark == "," and len(rest) == 3:
        return None  # it may mark thousands
    else:
        above, below, written = int(whole + rest), TENS[len(rest)], f"{whole or '0'}.{rest}"
    if sign == "" or sign == "+":
        return ReadNumber(above, below, written, meant)
    return ReadNumber(-above, below, "-" + written, meant)


def _met(unit: str, asked: Asked) -> Meant | None:
    """What a spelling means behind a plain number, remembered: read once with care behind a 1. None where it is no unit alone."""
    found = any_number("1" + unit, asked)
    meant = found.meant if isinstance(found, ReadNumber) and found.written == "1" else None
    if len(asked.spelt) < _SPELLINGS:
        asked.spelt[unit] = meant
    return meant


def any_number(text: str, asked: Asked) -> ReadNumber | Unreadable:
    """A number however it is written, by the rules above one after another."""
    if len(text) > LONGEST:
        return Unreadable(says("unreadable-long", limit=str(LONGEST)))
    plain = tidied(text)
    if _HIDDEN.search(plain):
        return Unreadable(says("unreadable-character"))
    if _DATE.fullmatch(plain):
        return Unreadable(says("unreadable-date", text=cut(plain)))
    drill = _DRILL.fullmatch(plain)
    inch = asked.meant("in") if drill else None
    if drill and inch:
        return _bore(int(drill[1] or drill[2]), inch)
    if _NUMBER_SIGN.fullmatch(plain):
        return Unreadable(says("unreadable-sign", text=cut(plain)))
    start = _after(_BEFORE, plain, 0)
    sign = _SIGN.match(plain, start)
    minus, start = (sign[1] == "-", sign.end()) if sign else (False, start)
    found = _fraction(plain, start) or _decimal(plain, start)
    if found is None:
        return Unreadable(says("unreadable-number", text=cut(plain), example=asked.example))
    if isinstance(found, Unreadable):
        return found
    (above, below), written, end = found
    meant = asked.meant(plain[end:])
    if meant is None:
        return _no_unit(plain, plain[end:], asked.example)
    return ReadNumber(-above if minus else above, below, ("-" if minus else "") + written, meant)


def _bore(drill: int, inch: Meant) -> ReadNumber | Unreadable:
    """The bore of a numbered drill, as if it had been written in inches."""
    written = DRILL_INCHES.get(drill)
    if written is None:
        return Unreadable(says("unreadable-drill", number=str(drill), last=str(max(DRILL_INCHES))))
    return ReadNumber(*ratio(written), written, inch)


def _after(pattern: re.Pattern[str], text: str, start: int) -> int:
    found = pattern.match(text, start)
    return found.end() if found else start


Part = tuple[Ratio, str, int]  # value, as written, where it ends


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
    return (whole * under + over, under), written, found.end()


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
    if isinstance(plain, Unreadable):
        return plain
    above, below = ratio(plain)
    if power is None:
        return (above, below), plain, end
    if len(power) > 4 or abs(int(power)) > GREATEST_POWER:
        return Unreadable(says("unreadable-size", text=cut(text), limit=str(GREATEST_POWER)))
    raise_by = int(power)
    number = (above * TENS[raise_by], below) if raise_by >= 0 else (above, below * TENS[-raise_by])
    return number, f"{plain}e{raise_by}", end


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


def _no_unit(text: str, rest: str, example: str) -> Unreadable:
    if _ANOTHER.search(rest):
        return Unreadable(says("unreadable-several", text=cut(text)))
    return Unreadable(says("unreadable-unit", unit=cut(rest.strip(" ")), example=example))
