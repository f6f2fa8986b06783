"""
Writes what a sitting's people read: `results.csv`, `marks.csv`, `report.html`, `feedback/CODE.html`, and `CODE.pdf` if wanted.

Where papers were marked again there is `changes.csv`, where stations were assessed `stations.csv`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from grader.base.files import make_folder, write_atomic
from grader.reports.feedback import feedback, feedback_page
from grader.reports.feedback_pdf import feedback_pdf
from grader.reports.report import report_page
from grader.reports.tables import changes_csv, marks_csv, results_csv, stations_csv
from grader.reports.view import View


def write_reports(
    view: View,
    folder: Path,
    *,
    objectives: Mapping[str, str],
    lessons: Mapping[str, str],
    pdf: bool = False,
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
    pdf : bool
        Whether everybody's feedback is set as PDF too: a fifth of a second each, thirty times what the page takes.
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
    if view.changes:
        write_atomic(folder / "changes.csv", changes_csv(view))
    if view.benches:
        write_atomic(folder / "stations.csv", stations_csv(view))
    handed_out = [sat for sat in view.candidates if sat.named and (sat.marking or any(bench.seen for bench in sat.benches))]
    for place, sat in enumerate(handed_out, 1):
        shown = feedback(view, sat, objectives, lessons)
        page = pages / f"{sat.paper.code}.html"
        write_atomic(page, feedback_page(shown))
        written.append(page)
        on_paper = page.with_suffix(".pdf")
        if pdf:
            write_atomic(on_paper, feedback_pdf(shown))
        else:
            on_paper.unlink(missing_ok=True)  # one from an earlier run would say what no longer counts
        if place % 10 == 0 or place == len(handed_out):
            progress(f"{place} of {len(handed_out)} feedback pages")
    return written
