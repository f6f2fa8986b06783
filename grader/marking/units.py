"""
A key's units made ready to be looked up: by every spelling, and from one into another.

The keys of a sitting carry the same table, so it is made ready once. What is remembered here never changes an answer's reading:
it only saves doing the same again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from grader.base.quantities import NO_BREAK, fold
from grader.marking.key import UnitEntry
from grader.marking.ratio import SAME, Change, change

Units = Mapping[str, UnitEntry]


def with_sign(number: str, entry: UnitEntry) -> str:
    """A number with its unit's sign, as printed."""
    return number + sign_of(entry)


def sign_of(entry: UnitEntry) -> str:
    """What is printed behind a number: a thin space and the unit's sign; nothing for a plain number."""
    return f"{'' if entry.shown == '°' else NO_BREAK}{entry.shown}" if entry.shown else ""


@dataclass(frozen=True, slots=True)
class Meant:
    """The unit that an answer is in; how its numbers change into the unit asked for (where it is of that kind) and into SI."""

    unit: str
    entry: UnitEntry
    sign: str
    of_kind: bool
    into_asked: Change
    into_si: Change


@dataclass(slots=True, eq=False)
class Asked:
    """A unit as it is asked for: what each spelling means where it is, and its other units."""

    unit: str
    entry: UnitEntry
    sign: str
    itself: Meant
    from_si: Change
    kin: tuple[tuple[str, Change], ...]  # the units of its kind by name: sign, and how their numbers change into this one
    named: Mapping[str, tuple[str, ...]]
    units: Units
    spelt: dict[str, Meant | None] = field(default_factory=dict)  # as typed behind a plain number; see `numbers`

    @property
    def example(self) -> str:
        """How such an answer is written."""
        return "12.5" + self.sign

    def meant(self, text: str) -> Meant | None:
        """The unit a text names, with the one asked for first, then its kind, then all others by name."""
        spelling = fold(text.strip(" .,;!").removeprefix("- ").removeprefix("-"))
        if spelling == "" or spelling in self.entry.spelt or spelling == fold(self.entry.shown):
            return self.itself
        named = self.named.get(spelling)
        if named is None:
            return None
        name = next((name for name in named if self.units[name].kind == self.entry.kind), named[0])
        if name == "deg" and self.entry.kind.startswith("temperature"):
            return self.itself
        return self._other(name, self.units[name])

    def _other(self, name: str, entry: UnitEntry) -> Meant:
        if self.entry.kind == "temperature difference" and entry.kind == "temperature":
            entry = UnitEntry(kind=self.entry.kind, factor=entry.factor, shown=entry.shown)
        into = change(entry.factor, entry.offset, self.entry.factor, self.entry.offset)
        si = change(entry.factor, entry.offset)
        return Meant(name, entry, sign_of(entry), entry.kind == self.entry.kind, into, si)


class UnitTable:
    """The units of a key by name and by spelling; what is asked for is made ready when it is first asked."""

    def __init__(self, units: Units) -> None:
        self.units = units
        named: dict[str, list[str]] = {}
        for name in sorted(units):
            for spelling in units[name].spelt:
                named.setdefault(spelling, []).append(name)
        self._named = {spelling: tuple(names) for spelling, names in named.items()}
        self._asked: dict[str, Asked] = {}

    def asked(self, name: str) -> Asked:
        """A unit as it is asked for."""
        found = self._asked.get(name)
        if found is None:
            found = self._asked[name] = self._made(name)
        return found

    def _made(self, name: str) -> Asked:
        entry = self.units[name]
        units = [self.units[other] for other in sorted(self.units) if self.units[other].kind == entry.kind]
        kin = tuple((u.shown, change(u.factor, u.offset, entry.factor, entry.offset)) for u in units)
        itself = Meant(name, entry, sign_of(entry), True, SAME, change(entry.factor, entry.offset))
        from_si = change("1", "0", entry.factor, entry.offset)
        return Asked(name, entry, itself.sign, itself, from_si, kin, self._named, self.units)


def table_of(units: Units) -> UnitTable:
    """The table of some units: the same one for the same units."""
    return _table(tuple(units.items()))


@lru_cache(maxsize=16)
def _table(units: tuple[tuple[str, UnitEntry], ...]) -> UnitTable:
    return UnitTable(dict(units))
