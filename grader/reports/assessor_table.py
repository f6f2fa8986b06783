"""How far the assessors of a table of grades agree, by every measure that its form allows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from grader.base.errors import UseError
from grader.reports.number_table import NumberTable
from grader.stats.agreement import Intraclass, Kappa, Scale, Weights, fleiss_kappa, intraclass, kappa, krippendorff_alpha

LABELS = ((0.8, "close"), (0.6, "good"), (0.4, "moderate"), (0.2, "poor"))
"""Words for how far two agree beyond chance; where each begins is a convention, no law of nature (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Agreement:
    """
    What a table of grades says; `None` where a measure does not exist or does not fit the table.

    Parameters
    ----------
    alike : float or None
        The share of subjects on which all who graded gave the same grade, among those with two grades and more.
    two : Kappa or None
        Of two assessors, with interval.
    many : float or None
        Fleiss' kappa, where all graded all.
    alpha : float or None
        Krippendorff's alpha.
    scores : Intraclass or None
        Where grades are amounts and all graded all.
    differ : tuple of str
        The subjects on which not all gave the same grade, in the table's order.
    """

    subjects: int
    assessors: int
    alike: float | None
    two: Kappa | None
    many: float | None
    alpha: float | None
    scores: Intraclass | None
    notes: tuple[str, ...]
    differ: tuple[str, ...] = ()


def agreement(table: NumberTable, scale: Scale, weights: Weights = "none") -> Agreement:
    """
    How far the assessors of a table agree.

    Parameters
    ----------
    table : NumberTable
        A row a subject, a column an assessor; empty where one did not grade.
    scale : {"nominal", "ordinal", "interval", "ratio"}
        What the grades are.

    Raises
    ------
    UseError
        Fewer than two assessors.

    Examples
    --------
    >>> from grader.reports.number_table import grades_of
    >>> table, _ = grades_of("t.csv", b"who,A,B\\n1,1,1\\n2,0,0\\n3,1,0\\n4,0,0\\n")
    >>> found = agreement(table, "nominal")
    >>> found.alike, found.two.value
    (0.75, 0.5)
    """
    grades = table.numbers
    if grades.shape[1] < 2:
        raise UseError(f"{table.file}: one assessor agrees with nobody; give a column for each of two or more")
    given = (~np.isnan(grades)).sum(axis=1)
    twice = grades[given >= 2]
    whole = grades[given == grades.shape[1]]
    places = np.unique(grades[~np.isnan(grades)])
    amounts = scale in ("interval", "ratio")
    notes = []
    if len(whole) < len(grades):
        notes.append(f"{len(grades) - len(whole)} of {len(grades)} have a gap; only Krippendorff's alpha takes them in")
    if len(places) < 2:
        notes.append("only one grade was given: agreement beyond chance is undefined, neither perfect nor none")
    return Agreement(
        subjects=len(grades),
        assessors=grades.shape[1],
        alike=float(np.mean(np.nanmax(twice, axis=1) == np.nanmin(twice, axis=1))) if len(twice) else None,
        two=kappa(_counts(whole, places), weights) if grades.shape[1] == 2 and len(whole) else None,
        many=fleiss_kappa([[(row == place).sum() for place in places] for row in whole]) if len(whole) else None,
        alpha=krippendorff_alpha(grades.T, scale),
        scores=intraclass(whole) if amounts and len(whole) > 1 else None,
        notes=tuple(notes),
        differ=tuple(name for name, row in zip(table.rows, grades, strict=True) if len(np.unique(row[~np.isnan(row)])) > 1),
    )


def _counts(whole: np.ndarray, places: np.ndarray) -> np.ndarray:
    """How often each pair of grades was given, first assessor down, second across."""
    counts = np.zeros((len(places), len(places)))
    np.add.at(counts, tuple(np.searchsorted(places, whole).T), 1)
    return counts


def what_to_do(value: float) -> str:
    """
    What to do about a kappa or an alpha, whatever its name.

    >>> what_to_do(0.3).partition(":")[0]
    'What to do'
    """
    if value >= LABELS[0][0]:
        return "What to do: nothing; one assessor can stand for the other."
    if value >= LABELS[1][0]:
        return "What to do: settle what the cases below show, and write it on the sheet beside the step."
    return (
        "What to do: let all of them watch the same person, tick alone, then compare; write what counts as done on the sheet, "
        "beside the step. Until they agree, two assessors a candidate."
    )


def in_words(value: float) -> str:
    """
    >>> in_words(0.85), in_words(0.1), in_words(-0.2)
    ('close', 'no better than chance would', 'no better than chance would')
    """
    return next((word for least, word in LABELS if value >= least), "no better than chance would")
