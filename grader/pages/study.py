"""
The page "What to study again": what stands there without a script, and what its script must know of the course.

What is due and what is known is kept in the reader's browser alone (`assets/progress.js`); `assets/study.js` shows it here.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from html import escape
from typing import TypedDict

from grader.items.model import Item, Lesson
from grader.relations.symbol import capital

PAGE = "study.md"

SOURCE = """---
title: What to study again
---

What you answer in practice on this device is remembered here, and each question comes back when it is due.

## Due today {#due}

<div id="study-due" class="study-part"><p>With scripts on, this lists the objectives that have questions due today,
with a button that asks just those. Without scripts nothing is kept; the <a href="practice.html">mixed practice</a> can be
read.</p></div>

## Strong and weak circuits {#circuits}

<div id="study-circuits" class="study-part"></div>

## Save, open, erase {#keep}

All of this stays on this device, in this browser. Nothing is sent, no name is asked, and no answer is kept: only each
question's name, its box, the day it was last answered and whether it was right, and the day it is due. To take it to another
device, save it to a file and open the file there. Whoever clears the browser's data clears it too.

Opened from a folder or a memory card, some browsers keep what each page remembers apart. Then only what is practised on this
page shows here; the buttons above reach every question.

<div id="study-keep" class="study-part"><p>Saving, opening and erasing need scripts.</p></div>

## How a question becomes due {#boxes}

Each question stands in one of five boxes. A right answer moves it one box on; any other answer puts it back into box 1. The
higher the box, the longer it rests. It moves on only where it is new or due, so that five right answers in one evening are
not five. From box 3 on, after right answers on two days, it counts as known.

| box | due again after | counts as |
|---|---|---|
| 1 | 1 day | learning |
| 2 | 2 days | learning |
| 3 | 5 days | known |
| 4 | 8 days | known |
| 5 | 14 days | known |

The method is Sebastian Leitner's (*So lernt man lernen*, 1972; the book itself not seen). An encyclopedia gives the
compartments of his box as 1, 2, 5, 8 and 14 cm deep, each gone through when it is full; to count days in place of
centimetres is ours.
"""


class StudyObjective(TypedDict):
    """An objective, where it is taught, and the questions that practise it."""

    id: str
    says: str
    link: str
    items: list[str]


class StudyCircuit(TypedDict):
    """A circuit, its lesson's page (empty where it has none) and its objectives."""

    name: str
    title: str
    page: str
    objectives: list[StudyObjective]


def study_data(lessons: Sequence[Lesson], circuits: Mapping[str, Sequence[Item]]) -> list[StudyCircuit]:
    """
    The circuits that can be practised, each with its objectives and their questions, in the order of the lessons.

    `circuits` holds the items of each pack. A circuit without a lesson, or an objective that its lesson does not name, comes
    last, under its own name.
    """
    by_circuit = {lesson.circuit: lesson for lesson in lessons if lesson.circuit}
    names = [name for name in by_circuit if name in circuits] + [name for name in circuits if name not in by_circuit]
    return [_circuit(name, by_circuit.get(name), circuits[name]) for name in names]


def _circuit(name: str, lesson: Lesson | None, items: Sequence[Item]) -> StudyCircuit:
    page = lesson.file.removeprefix("lessons/").removesuffix(".md") + ".html" if lesson else ""
    aims = {aim.id: aim.says for aim in lesson.objectives} if lesson else {}
    asked: dict[str, list[str]] = {}
    for item in items:
        asked.setdefault(item.objective, []).append(item.id)
    anchors = lesson.anchors if lesson else {}
    return {
        "name": name,
        "title": lesson.title if lesson else capital(name.replace("-", " ")),
        "page": page,
        "objectives": [
            {"id": one, "says": aims.get(one, one), "link": f"{page}#{one}" if one in anchors else page, "items": asked[one]}
            for one in [*(one for one in aims if one in asked), *(one for one in asked if one not in aims)]
        ],
    }


def with_course(html: str, data: Sequence[StudyCircuit]) -> str:
    """
    The page with its course: a table to read without a script, and the same for the script.

    >>> page = '<div id="study-circuits" class="study-part"></div>'
    >>> "<table" in with_course(page, [{"name": "power", "title": "Power", "page": "", "objectives": []}])
    True
    """
    table = (
        "<p>With scripts on, a bar for each circuit shows how many of its questions are known, being learned, and new. "
        "This is what there is to practise:</p>"
        '<table class="course-table"><thead><tr><th scope="col">Circuit</th><th scope="col">Objectives</th>'
        f'<th scope="col">Questions</th></tr></thead><tbody>{"".join(map(_row, data))}</tbody></table>'
    )
    plain = json.dumps(data, ensure_ascii=False, separators=(",", ":")).replace("</", "<\\/")
    start = '<div id="study-circuits" class="study-part">'
    return html.replace(start, start + table) + f'<script type="application/json" id="study-course">{plain}</script>'


def _row(circuit: StudyCircuit) -> str:
    title, page = escape(circuit["title"]), escape(circuit["page"])
    named = f'<a href="{page}">{title}</a>' if page else title
    questions = sum(len(one["items"]) for one in circuit["objectives"])
    return f"<tr><td>{named}</td><td>{len(circuit['objectives'])}</td><td>{questions}</td></tr>"
