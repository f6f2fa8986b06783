"""Writes what a sitting's people read: `results.csv`, `marks.csv`, `report.html`, `feedback/CODE.html`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from grader.base.files import make_folder, write_atomic
from grader.reports.feedback import feedback_page
from grader.reports.report import report_page
from grader.reports.tables import marks_csv, results_csv
from grader.reports.view import View


def write_reports(
    view: View,
    folder: Path,
    *,
    objectives: Mapping[str, str],
    lessons: Mapping[str, str],
    progress: Callable[[str], None] = lambda _line: None,
) -> list[Path]:
    """
    Write every report of a sitting into its `results` folder, each file whole or not at all.

    Parameters
    ----------
    view : View
    folder : Path
        The sitting's `results` folder; made where it is missing.
    objectives, lessons : mapping
        Objective's id to its text; circuit to its lesson's title.
    progress : callable
        Told after every tenth feedback page, and after the last.

    Returns
    -------
    list of Path
        The three files for the examiner, then the feedback pages in the roster's order.
    """
    pages = make_folder(folder / "feedback")
    written = [folder / "report.html", folder / "results.csv", folder / "marks.csv"]
    write_atomic(written[0], report_page(view, objectives, lessons))
    write_atomic(written[1], results_csv(view))
    write_atomic(written[2], marks_csv(view))
    for place, sat in enumerate(view.marked, 1):
        page = pages / f"{sat.paper.code}.html"
        write_atomic(page, feedback_page(view, sat, objectives, lessons))
        written.append(page)
        if place % 10 == 0 or place == len(view.marked):
            progress(f"{place} of {len(view.marked)} feedback pages")
    return written
