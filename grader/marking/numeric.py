"""
A number with a unit: blank, unreadable, of another kind, right, a known slip, or wrong. In that order.

Compared exactly: the answer is changed into the key's unit, and the bounds are decimals; on the bound is inside. A slip earns
nothing; it is told what went wrong. An instrument's reading (kind `reading`) is marked the same way.
"""

from __future__ import annotations

from grader.marking.key import Answer, Numeric, NumericPart, Reading, Slip
from grader.marking.numbers import ReadNumber, Unreadable, any_number, is_blank, usual_number
from grader.marking.outcome import ALL, Outcome, Verdict, earned, says
from grader.marking.ratio import Ratio, between, ratio
from grader.marking.units import UnitTable, with_sign


def inside(value: Ratio, bounds: Answer | Slip) -> bool:
    """Whether a value in the key's unit lies within the bounds; on the bound is inside."""
    return between(value, ratio(bounds.low), ratio(bounds.high))


class NumberField:
    """A number that is asked for, made ready to be marked."""

    __slots__ = ("_answer", "_full", "_high", "_low", "_plausible", "asked", "part", "slips")

    def __init__(self, question: Numeric | Reading | NumericPart, table: UnitTable) -> None:
        answer = question.answer
        self.part = question.part if isinstance(question, NumericPart) else ""
        self.asked = table.asked(answer.unit)
        self.slips, self._answer, self._plausible = question.slips, answer, question.plausible
        self._low, self._high = ratio(answer.low), ratio(answer.high)
        self._full = earned(ALL, question.points)

    @property
    def key(self) -> Ratio:
        """The key's own value."""
        return ratio(self._answer.value)

    def mark(self, text: str) -> Outcome:
        """The outcome of an answer."""
        read = self.understood(text)
        return read if isinstance(read, Outcome) else self.compared(read)

    def understood(self, text: str) -> ReadNumber | Outcome:
        """The number that was written, or the outcome where there is none of the kind asked for."""
        read = usual_number(text, self.asked)
        if read is None:
            if is_blank(text):
                return self.outcome("blank", "", says("blank"))
            found = any_number(text, self.asked)
            if isinstance(found, Unreadable):
                return self.outcome("unreadable", "", found.reason)
            read = found
        return read if read.meant.of_kind else self._of_another_kind(read)

    def outcome(self, verdict: Verdict, read: str, why: str) -> Outcome:
        """An outcome that earns nothing, or everything where the verdict is `right` or `followed`."""
        mark = self._full if verdict in ("right", "followed") else "0"
        return Outcome(self.part, verdict, mark, self._full, read, why)

    def compared(self, read: ReadNumber) -> Outcome:
        """The outcome of a number of the kind asked for."""
        value = above, below = read.asked
        (low, low_below), (high, high_below) = self._low, self._high
        if low * below <= above * low_below and above * high_below <= high * below:
            return Outcome(self.part, "right", self._full, self._full, read.read, says("right"))
        for slip in self.slips:
            if inside(value, slip):
                return self.slipped(slip, read)
        return self.outcome("wrong", read.read, self._other_unit(read) or self._wrong(value))

    def slipped(self, slip: Slip, read: ReadNumber) -> Outcome:
        """The outcome of a slip, with what is said to whoever made it."""
        return self.outcome("slip", read.read, slip.says or says("slip-silent"))

    def _of_another_kind(self, read: ReadNumber) -> Outcome:
        wanted = self.asked.entry
        name = "unit" if wanted.shown else "unit-none"
        why = says(name, read=read.read, kind=read.entry.kind, wanted=wanted.kind, unit=wanted.shown)
        return self.outcome("unit", read.read, why)

    def _other_unit(self, read: ReadNumber) -> str:
        """What to say where the number as written is the answer in another unit of its kind: of several the one nearest."""
        if between((0, 1), self._low, self._high):  # nothing is nothing in every unit
            return ""
        (low, low_below), (high, high_below) = self._low, self._high
        key, key_below = self.key
        nearest: Ratio | None = None
        shown = ""
        for sign, (times, plus, over) in self.asked.kin:
            above, below = times * read.above + plus * read.below, over * read.below
            if low * below > above * low_below or above * high_below > high * below:
                continue
            off = abs(above * key_below - key * below), below  # from the answer, times what is below in that
            if nearest is None or off[0] * nearest[1] < nearest[0] * off[1]:
                nearest, shown = off, sign
        if nearest is None:
            return ""
        return says("wrong-unit", unit=shown) if shown else says("wrong-unit-none", unit=self.asked.entry.shown)

    def _wrong(self, value: Ratio) -> str:
        within = self._answer.within
        if self._plausible:
            least, most = self._plausible
            if not between(value, ratio(least), ratio(most)):
                entry = self.asked.entry
                return says("wrong-plausible", within=within, least=with_sign(least, entry), most=with_sign(most, entry))
        return says("wrong", within=within)
