"""
A candidate's feedback as PDF: what the page says, to be handed out on paper.

It is tagged and exported as PDF/UA-1. Typst gets all of it as one JSON text, so that nothing a person wrote is ever source.
"""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

from grader.base.codes import show_code
from grader.base.printing import replaced, set_pdf, unprintable
from grader.items.figures import for_paper
from grader.marking.key import Figure, Step
from grader.papers.figures import bare, figure_width
from grader.papers.pdf import breakable
from grader.reports.feedback import APPEAL, Asked, Feedback, Part, SeenStation, SeenStep

LETTER, WIDEST = 0.28, 9.0  # a figure's words are set 8 pt high, and it is at most so wide, cm
NOT_PRINTED = "A sign of your name is in none of the fonts; another stands for it here."


def feedback_pdf(shown: Feedback) -> bytes:
    """
    The feedback of one candidate as PDF: the same bytes from the same feedback.

    A sign that no font has is printed as `base.printing.REPLACED`; in a name the sheet says so. Raises `UseError` where it cannot
    be set: a figure that is no SVG.

    >>> empty = Feedback(school="Weirgate", title="Trial", sitting="trial", held="2031-05-12", name="Ada Weir", candidate="c-01",
    ...     code="7M2KQ8D4XT", mark="3 of 4 (75 %)", decision="", circuits=(), stations=(), again=(), asked=())
    >>> feedback_pdf(empty)[:5]
    b'%PDF-'
    """
    template = Path(str(files("grader.reports"))) / "feedback.typ"
    data = json.dumps(_data(shown), ensure_ascii=False)
    return set_pdf(template, {"feedback": data}, f"the feedback of {shown.candidate}")


def _data(shown: Feedback) -> dict[str, Any]:
    facts = [
        ("Candidate", f"{shown.name} ({shown.candidate})"),
        ("Sitting", f"{shown.sitting}, {shown.held}"),
        ("Mark", shown.mark),
        *([("Decision", shown.decision)] if shown.decision else []),
    ]
    return {
        "school": _set(shown.school),
        "title": _set(shown.title),
        "name": _set(shown.name),
        "code-shown": show_code(shown.code),
        "facts": [(label, _set(value)) for label, value in facts],
        "notes": [NOT_PRINTED] if unprintable(shown.name) else [],
        "circuits": [[_set(name), points, share] for name, points, share in shown.circuits],
        "stations": [_station(station) for station in shown.stations],
        "again": [
            {"says": _set(one.says or one.objective), "where": _set(f"{one.lesson} ({one.objective}): {one.lost.points} marks")}
            for one in shown.again
        ],
        "questions": [_question(asked) for asked in shown.asked],
        "appeal": APPEAL,
    }


def _set(text: str) -> str:
    """A text as it can be set, whoever wrote it: signs that no font has are replaced, and no run of letters leaves the page."""
    return breakable(replaced(text))


def _station(station: SeenStation) -> dict[str, Any]:
    return {
        "title": _set(station.title),
        "outcome": _set(station.outcome),
        "steps": [_step(step) for step in station.steps],
        "remarks": [(_set(who), _set(what)) for who, what in station.remarks],
    }


def _step(step: SeenStep) -> dict[str, Any]:
    wanted = f", wanted {step.wanted}" if step.wanted else ""
    seen = [step.state, *(f"“{reading}”{wanted}" for reading in step.readings)]
    if step.award:
        seen.append(f"Decided by an examiner: {step.award}")
    return {"number": step.number, "text": _set(step.text), "critical": _set(step.critical), "seen": list(map(_set, seen))}


def _question(asked: Asked) -> dict[str, Any]:
    return {
        "number": asked.number,
        "about": f"{asked.score.points} · {_set(asked.objective)}",
        "stem": list(map(_set, asked.stem)),
        "figure": asked.figure and _figure(asked.figure),
        "answers": [_part(part) for part in asked.parts],
    }


def _figure(figure: Figure) -> dict[str, Any]:
    width = figure_width(figure.svg, LETTER, WIDEST)
    return {"svg": for_paper(bare(figure.svg)), "alt": _set(figure.alt), "width": width}


def _part(part: Part) -> dict[str, Any]:
    wrote = f"“{part.wrote}”" if part.wrote else "nothing"
    return {
        "number": part.number,
        "stem": list(map(_set, part.stem)),
        "rule": _set(part.rule),
        "rows": [{"letter": row.number, "text": _set(row.text)} for row in part.rows],
        "options": [{"letter": option.letter, "text": _set(option.text)} for option in part.options],
        "verdict": part.verdict,
        "wrote": _set(f"{wrote} – read as {part.read}" if part.read else wrote),
        "says": part.says[1],
        "earned": f", {part.earned}" if part.earned else "",
        "why": _set(f". {part.why}") if part.why else "",
        "right": _set(part.right),
        "notes": list(map(_set, part.notes)),
        "steps": [_worked(step) for step in part.working],
    }


def _worked(step: Step) -> dict[str, str]:
    return {"says": _set(step.says), "typst": step.typst, "text": _set(step.text)}
