"""What must hold of an item's readings: on the scale, where the scale can be read, and marked no finer than it can be read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import cast

import numpy as np

from grader.base.findings import Finding, Level
from grader.base.quantities import show_number, unit
from grader.items.drawing import MENDS
from grader.items.instruments.instrument import Scale
from grader.items.model import InstrumentUse, Item, NumericAnswer
from grader.items.readings import hidden
from grader.items.sampling import Floats, Sample, indicated, values_of

_LITTLE = 1e-6
_ROUGH = 1e-4  # a slope is taken from a small difference


def check_readings(sample: Sample) -> Iterator[Finding]:
    """Everything wrong with the readings of an item's variants; nothing for an item without an instrument."""
    item = sample.item
    if item.instrument is None:
        return
    yield from _off_scale(sample, item.instrument)
    if sample.accepted:
        yield from _between_lines(sample, item.instrument)
        if item.parts[0].answer is not None:
            yield from _finer_than_scale(sample, item.instrument, item.parts[0].answer)


def _finding(item: Item, line: int, code: str, message: str, mend: str) -> Finding:
    level: Level = "warning" if code == "between-lines" else "error"
    return Finding(item.file, line, code, f"{item.id}: {message}", mend, level, item.id)


def _off_scale(sample: Sample, use: InstrumentUse) -> Iterator[Finding]:
    """An author who sets a range has the scale before them: a paper draws again, but here it is told."""
    for times, reason in sample.reasons():
        if reason.code == "off-scale":
            what = f"{reason.why}, in {times} of {sample.size} draws"
            yield _finding(sample.item, use.line, reason.code, what, MENDS[reason.code])


def _between_lines(sample: Sample, use: InstrumentUse) -> Iterator[Finding]:
    """A needle that stands where nobody can say what it shows makes marks a matter of luck."""
    shown = indicated(sample, use)[sample.good]
    values = np.unique(np.round(shown, 9))
    lost = [float(value) for value in values if not use.scale.readable(float(value))]
    if lost:
        what = f"the instrument shows {_shown(lost[0], use.scale)} and the like, and is read by {_step(use.scale)}"
        mend = "draw values that lie on its lines, or where it can be read between them"
        yield _finding(sample.item, use.line, "between-lines", what, mend)


def _step(scale: Scale) -> str:
    return "the drills there are" if scale.readings else _shown(float(scale.resolution), scale)


def _shown(value: float, scale: Scale) -> str:
    return f"{show_number(value, 6).rstrip('0').rstrip('.') if value % 1 else f'{value:.0f}'} {unit(scale.unit).name}"


def _finer_than_scale(sample: Sample, use: InstrumentUse, answer: NumericAnswer) -> Iterator[Finding]:
    """
    Whoever reads the scale as well as it can be read is right.

    A reading that is off by what its scale allows must leave the answer within its tolerance: of a speed that is computed as
    8/6 of what the dial shows, 8/6 as much is to be allowed.
    """
    reach = sample.parts[0].reach
    if reach is None:
        return
    scale, measure = unit(use.scale.unit), float(answer.unit.factor)
    off = float(use.scale.within * scale.factor)
    for name in sorted(hidden(sample.item)):
        moved = off * _slope(sample, use, answer, name)
        with np.errstate(all="ignore"):
            over = np.where(sample.good & np.isfinite(moved), moved / reach, 0.0)
        worst = int(np.argmax(over))
        if over[worst] > 1 + _ROUGH:
            may = f"a reading that is off by {_shown(float(use.scale.within), use.scale)}, as the scale allows,"
            moves = f"{may} moves the answer by {show_number(moved[worst] / measure, 3)} {answer.unit.name}"
            what = f"{moves}, and `within` comes to {show_number(reach[worst] / measure, 3)} {answer.unit.name}"
            line = answer.lines.get("within", answer.line)
            yield _finding(
                sample.item, line, "finer-than-scale", what, "widen `within`, or leave it out where the reading is asked"
            )
            return


def _slope(sample: Sample, use: InstrumentUse, answer: NumericAnswer, name: str) -> Floats:
    """How much the answer moves, over what the instrument moves, where one of the values that it alone tells changes a little."""
    values = dict(sample.values)
    step = _LITTLE * float(np.max(np.abs(values[name])))
    values[name] = values[name] + step
    for let in sample.item.let:
        values[let.name] = values_of(let.value.expression, values, sample.size)
    turns = [
        values_of(formula.expression, values, sample.size) - values_of(formula.expression, sample.values, sample.size)
        for formula in (answer.value, use.shows)
    ]
    with np.errstate(all="ignore"):
        return cast("Floats", np.abs(turns[0] / turns[1]))
