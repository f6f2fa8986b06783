"""
The pass rule: a share of all marks, a least share in every circuit, and at every bench station, where stations count.

At a station every critical step is done, and the least share of its points is reached; who fails one fails, and whose station is
not assessed, or not settled, is not decided on.

Shares are compared exactly, as fractions; a mark on the cut passes. A percentage is rounded for print only, and never up to a cut
that was not reached.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any, Literal

from grader.base.errors import UseError
from grader.base.quantities import NO_BREAK, read_quantity
from grader.marking.mark import Mark

PASS, FAIL, NOT_EXAMINED = "pass", "fail", "not examined"


@dataclass(frozen=True, slots=True)
class Rule:
    """
    Who passes: the least share of all marks, of each circuit's, and of the points of each station, 0 to 1.

    `each_station` is None where the stations do not count; 0 where their critical steps alone do. `set_by` says how the cut was
    set, in the words of the blueprint.
    """

    cut: Fraction
    each_circuit: Fraction
    each_station: Fraction | None = None
    set_by: str = ""

    def as_json(self) -> dict[str, str]:
        """The rule as a decision keeps it: exact fractions."""
        stations = {} if self.each_station is None else {"each_station": str(self.each_station)}
        how = {"set_by": self.set_by} if self.set_by else {}
        return {"cut": str(self.cut), "each_circuit": str(self.each_circuit)} | stations | how

    def in_words(self) -> str:
        """
        The rule as a certificate says it.

        >>> Rule(Fraction(3, 5), Fraction(2, 5)).in_words()
        'To pass: 60 % of all marks, and 40 % of the marks in each circuit.'
        """
        each = f", and {percent(self.each_circuit)} % of the marks in each circuit" if self.each_circuit else ""
        return f"To pass: {percent(self.cut)} % of all marks{each}.{self._stations()}"

    def _stations(self) -> str:
        if self.each_station is None:
            return ""
        share = f", and {percent(self.each_station)} % of its points" if self.each_station else ""
        return f" At each bench station: every critical step done{share}."


@dataclass(frozen=True, slots=True)
class Share:
    """Marks earned out of so many."""

    mark: Fraction
    out_of: Fraction

    @property
    def percent(self) -> Fraction | None:
        """The share in percent, exact; None where nothing was to be had."""
        return 100 * self.mark / self.out_of if self.out_of else None

    @property
    def points(self) -> str:
        """
        As printed.

        >>> Share(Fraction(49, 2), Fraction(30)).points
        '24.5 of 30'
        """
        return f"{decimal(self.mark)} of {decimal(self.out_of)}"

    def shown(self, cut: Fraction = Fraction(0)) -> str:
        """
        In percent as printed, on one line, or a dash; rounded as by `rounded`.

        >>> Share(Fraction(5), Fraction(8)).shown().replace(NO_BREAK, " "), Share(Fraction(0), Fraction(0)).shown()
        ('62.5 %', '–')
        """
        return f"{rounded(self, cut)}{NO_BREAK}%" if self.out_of else "–"

    def reaches(self, cut: Fraction) -> bool:
        """Whether the share is the cut or more; a share of nothing reaches a cut of 0 only."""
        return self.mark >= cut * self.out_of if self.out_of else cut == 0

    def as_json(self, cut: Fraction) -> dict[str, str]:
        """The share as a decision keeps it; the percentage never shows a cut that was not reached."""
        return {"mark": decimal(self.mark), "out_of": decimal(self.out_of), "percent": rounded(self, cut)}


def percent(share: Fraction) -> str:
    """
    A share in percent, without needless zeros; exact where a few decimals can say it.

    >>> percent(Fraction(3, 5)), percent(Fraction(141, 200))
    ('60', '70.5')
    """
    return decimal(share * 100)


def decimal(number: Fraction) -> str:
    """
    A number as a decimal, to at most six places.

    >>> decimal(Fraction(49, 2)), decimal(Fraction(100)), decimal(Fraction(1, 3))
    ('24.5', '100', '0.333333')
    """
    value = (Decimal(number.numerator) / Decimal(number.denominator)).quantize(Decimal("0.000001"), ROUND_HALF_EVEN)
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".")


def rounded(share: Share, cut: Fraction) -> str:
    """
    A share in percent to one place; rounded down where rounding would show a cut that was not reached.

    >>> rounded(Share(Fraction(5997), Fraction(10000)), Fraction(3, 5)), rounded(Share(Fraction(1), Fraction(3)), Fraction(0))
    ('59.9', '33.3')
    """
    if not share.out_of:
        return "0.0"
    exact = share.mark * 100 / share.out_of
    value = Decimal(exact.numerator) / Decimal(exact.denominator)
    near = value.quantize(Decimal("0.1"), ROUND_HALF_EVEN)
    if not share.reaches(cut) and Fraction(near) >= cut * 100:
        near = value.quantize(Decimal("0.1"), ROUND_FLOOR)
    return f"{near:f}"


def rule_of(blueprint: Mapping[str, Any]) -> Rule:
    """
    The pass rule of a blueprint.

    Raises `UseError` where it has none, or a share is not one.

    >>> rule_of({"pass": {"cut": "60 %"}})
    Rule(cut=Fraction(3, 5), each_circuit=Fraction(0, 1), each_station=None, set_by='')
    """
    found = blueprint.get("pass")
    if not isinstance(found, Mapping) or "cut" not in found:
        raise UseError("the sitting's blueprint has no pass rule (`pass: {cut: 60 %}`); nobody can be decided on")
    station = found.get("each_station")
    each_station = None if station is None else _share(str(station))
    each_circuit = _share(str(found.get("each_circuit", "0 %")))
    return Rule(_share(str(found["cut"])), each_circuit, each_station, str(found.get("set_by", "")))


def _share(text: str) -> Fraction:
    read = read_quantity(text)
    share = read.number / 100 if read.unit.name == "%" else read.number
    if read.unit.name not in ("%", "1") or not 0 <= share <= 1:
        raise UseError(f"`{text}` is not a share; write it as `60 %`")
    return Fraction(share)


def shares(marks: Iterable[Mark]) -> tuple[Share, dict[str, Share]]:
    """The share of all marks, and of each circuit's, in the order of the paper."""
    every = tuple(marks)
    return earned(every), by(every, "circuit")


def earned(marks: Iterable[Mark]) -> Share:
    """
    What some marks come to.

    >>> earned([Mark("1", "i", "o", "c", "b", "b", "1.5", "2", "part")]).points
    '1.5 of 2'
    """
    every = tuple(marks)
    return Share(_sum(m.mark for m in every), _sum(m.out_of for m in every))


def _sum(decimals: Iterable[str]) -> Fraction:
    """The exact sum of decimals as written: whole numbers, which most marks are, are added as such."""
    whole, parts = 0, Fraction(0)
    for text in decimals:
        number = _number(text)
        if isinstance(number, int):
            whole += number
        else:
            parts += number
    return parts + whole


@lru_cache(maxsize=4096)  # a class's marks are a few numbers written thousands of times
def _number(text: str) -> int | Fraction:
    number = Fraction(text)
    return number.numerator if number.denominator == 1 else number


def by(marks: Iterable[Mark], field: Literal["circuit", "objective"]) -> dict[str, Share]:
    """What the marks of each circuit, or of each objective, come to, in the order in which they first stand on the paper."""
    groups: dict[str, list[Mark]] = {}
    for mark in marks:
        groups.setdefault(getattr(mark, field), []).append(mark)
    return {name: earned(group) for name, group in groups.items()}


def judged(rule: Rule, marks: Iterable[Mark]) -> tuple[str, dict[str, Any]]:
    """The decision by a rule on marks, and its evidence."""
    whole, circuits = shares(marks)
    short = [] if whole.reaches(rule.cut) else [f"below the cut of {percent(rule.cut)} %"]
    for name, share in circuits.items():
        if share.out_of and not share.reaches(rule.each_circuit):  # nothing is left of it where its questions were withdrawn
            least = percent(rule.each_circuit)
            short.append(f"{rounded(share, rule.each_circuit)} % in {name}, below {least} %")
    evidence = whole.as_json(rule.cut) | {
        "circuits": {name: share.as_json(rule.each_circuit) for name, share in circuits.items()},
        "short_of": short,
    }
    return (FAIL if short else PASS), evidence


def reason(evidence: Mapping[str, Any]) -> str:
    """
    A decision's evidence in one line.

    >>> reason({"reason": "no answer file was marked"})
    'no answer file was marked'
    >>> reason({"mark": "20", "out_of": "32", "percent": "62.5", "short_of": ["30.0 % in pump, below 40 %"]})
    '20 of 32, 62.5 %: 30.0 % in pump, below 40 %'
    """
    if "reason" in evidence:
        return str(evidence["reason"]) if "mark" not in evidence else f"{_marks(evidence)}; {evidence['reason']}"
    short = "; ".join(evidence["short_of"])
    return f"{_marks(evidence)}{': ' if short else ''}{short}"


def _marks(evidence: Mapping[str, Any]) -> str:
    return f"{evidence['mark']} of {evidence['out_of']}, {evidence['percent']} %"
