"""
What any table of marks says of its questions: how hard, how well they part strong from weak, how they fit one scale.

Figures are for a person to read, so a question also gets a sentence on what to look at; under thirty people none is called bad.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from grader.base.errors import FindingsError
from grader.base.findings import Finding
from grader.reports.analysis import FEW, FEWEST, SOME
from grader.reports.number_table import NumberTable
from grader.stats.classical import Interval, alpha, alpha_without, item_rest, length_for, measurement_error, wilson
from grader.stats.rasch import Fit, Scale, estimate, fit

SURE = 0.8
"""An alpha that a decision about a person can lean on (common practice, no source)."""
OUT_OF = "out of"
"""The name of the row that holds each question's greatest mark."""


@dataclass(frozen=True, slots=True)
class Question:
    """
    One question of a table; `None` where a statistic does not exist.

    Parameters
    ----------
    facility : float
        The mean mark as a share of its greatest.
    full : Interval
        The share with full marks, with its 95 % interval.
    discrimination : float or None
        Correlation with the sum of the others; among those who had every question.
    alpha_without : float or None
        What alpha would be without the question; larger than the table's alpha, the others hang together better without it.
    difficulty, error, outfit, infit : float or None
        Of the Rasch model, full marks taken as right and everything else as not.
    look : tuple of str
        What to look at, in words.
    """

    name: str
    people: int
    facility: float
    full: Interval
    discrimination: float | None
    alpha_without: float | None
    difficulty: float | None
    error: float | None
    outfit: float | None
    infit: float | None
    look: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Analysis:
    """A whole table: its questions, how many people, how sure the totals are, and what must be said of the figures."""

    questions: tuple[Question, ...]
    people: int
    alpha: float | None
    error: float | None
    notes: tuple[str, ...]


def analyse(table: NumberTable) -> Analysis:
    """
    Classical figures and the Rasch model of a table of marks.

    Parameters
    ----------
    table : NumberTable
        A row a person, a column a question; empty where a person did not have it. A row named `out of` gives the greatest marks;
        without it all marks are 0 or 1.

    Raises
    ------
    FindingsError
        Marks below 0 or above the greatest, or greatest marks that are not told.

    Examples
    --------
    >>> from grader.reports.number_table import numbers_of
    >>> found = analyse(numbers_of("t.csv", b"who,a,b,c\\n1,1,1,1\\n2,1,1,0\\n3,1,0,0\\n4,0,0,0\\n"))
    >>> [question.facility for question in found.questions], found.alpha
    ([0.75, 0.5, 0.25], 0.75)
    """
    people, greatest = table.without(OUT_OF)
    marks, out_of = people.numbers, np.ones(len(table.columns)) if greatest is None else greatest
    _check(people, out_of, told=greatest is not None)
    whole = marks[~np.isnan(marks).any(axis=1)]
    right = np.where(np.isnan(marks), np.nan, (marks == out_of).astype(np.float64))
    scale = estimate(right)
    fits = fit(right, scale) if scale else None
    parting = item_rest(whole) if len(whole) >= FEWEST else [None] * len(out_of)
    without = alpha_without(whole) if len(whole) else [None] * len(out_of)
    questions = [
        _question(name, marks[:, place], out_of[place], (parting[place], without[place]), scale, fits, place)
        for place, name in enumerate(table.columns)
    ]
    reliability = alpha(whole) if len(whole) else None
    notes = [*_notes(len(marks), len(whole), scale, table.columns), *_longer(reliability, len(out_of))]
    return Analysis(tuple(questions), len(marks), reliability, measurement_error(whole) if len(whole) else None, tuple(notes))


def _longer(reliability: float | None, questions: int) -> list[str]:
    """How many questions of the same kind would make a paper as sure as a certificate wants."""
    if reliability is None or not 0 < reliability < SURE:
        return []
    return [f"about {math.ceil(questions * length_for(reliability, SURE))} questions of this kind would bring alpha to {SURE}"]


def _check(table: NumberTable, out_of: NDArray[np.float64], *, told: bool) -> None:
    findings = []
    for name, most in zip(table.columns, out_of, strict=True):
        if not most > 0:
            says = f"the greatest mark of `{name}` is not above 0"
            findings.append(Finding(table.file, 0, "no-greatest-mark", says, f"write it in the row `{OUT_OF}`"))
    outside = (
        (table.numbers < 0) | (table.numbers > out_of) if told else ~np.isin(table.numbers, (0, 1)) & ~np.isnan(table.numbers)
    )
    for place, name in enumerate(table.columns):
        rows = np.flatnonzero(outside[:, place])
        for row in rows if told else rows[:1]:
            limit = f"0 to {out_of[place]:g}" if told else "0 or 1"
            says = f"{table.rows[row]} has {table.numbers[row, place]:g} in `{name}`, not {limit}"
            mend = "correct one of the two" if told else f"add a row `{OUT_OF}` with each question's greatest mark"
            findings.append(Finding(table.file, table.lines[row], "mark-outside", says, mend))
    if findings:
        raise FindingsError(findings)


def _question(
    name: str,
    column: NDArray[np.float64],
    most: float,
    rest: tuple[float | None, float | None],
    scale: Scale | None,
    fits: Fit | None,
    place: int,
) -> Question:
    parting, without = rest
    had = column[~np.isnan(column)]
    full = wilson(int((had == most).sum()), len(had)) or Interval(0.0, 0.0, 1.0)
    facility = float(had.mean() / most) if len(had) else 0.0
    infit = _number(fits.infit[place]) if fits else None
    return Question(
        name=name,
        people=len(had),
        facility=facility,
        full=full,
        discrimination=parting,
        alpha_without=without,
        difficulty=_number(scale.difficulty[place]) if scale else None,
        error=_number(scale.error[place]) if scale else None,
        outfit=_number(fits.outfit[place]) if fits else None,
        infit=infit,
        look=tuple(_look(len(had), full, facility, parting, infit)),
    )


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _look(people: int, full: Interval, facility: float, parting: float | None, infit: float | None) -> list[str]:
    """In words, from thirty people on: below, a figure is one more reason to look, never a verdict, and is only named as that."""
    if people < FEW:
        nobody = people >= SOME and facility == 0
        return [f"none of the {people} has it: work it once yourself, then ask whether it was taught"] if nobody else []
    said = []
    if full.low > 0.9:
        said.append("nearly everybody has it: it tells little")
    if facility < 0.2:
        said.append("few have it: taught, and is the key right?")
    if parting is not None and parting < 0:
        said.append("the strong miss it more than the weak: is the key right, is a second answer defensible?")
    elif parting is not None and parting < 0.1:
        said.append("it hardly parts strong from weak: read it for an ambiguity")
    if infit is not None and infit > 1.3:
        said.append("answers surprise more than chance explains: guessing, or something else is measured")
    return said


def _notes(people: int, whole: int, scale: Scale | None, names: Sequence[str]) -> tuple[str, ...]:
    notes = []
    if people < FEW:
        notes.append(f"{people} people: intervals are wide, and no question is called bad on figures from fewer than {FEW}")
    if whole < people:
        notes.append(f"alpha, its error and discrimination rest on the {whole} of {people} who had every question")
    if whole < FEWEST:
        notes.append(f"discrimination is not shown: fewer than {FEWEST} people had every question")
    if scale is None:
        notes.append("no scale: no two questions can be compared, because nobody had one right and another wrong both ways")
    elif scale.without:
        left = ", ".join(names[place] for place in scale.without)
        notes.append(f"no difficulty for {left}: all or none had it, or nothing ties it to the others")
    return tuple(notes)
