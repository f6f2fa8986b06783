"""
A paper as PDF: tagged, exported as PDF/UA-1, the same bytes from the same paper.

Typst gets the paper as one JSON text, so nothing a person wrote (a name, a stem) is ever source; only the annex's mathematics is
evaluated, and that comes from our own typesetter.
"""

from __future__ import annotations

import json
import re
from dataclasses import asdict
from importlib.resources import files
from pathlib import Path
from typing import Any

from grader.base.codes import show_code
from grader.base.printing import language_and_region, qr_svg, replaced, set_pdf, unprintable
from grader.items.figures import for_paper
from grader.papers.figures import bare, figure_width
from grader.papers.paper import Asked, Paper, unparted

_RUN = re.compile(r"\S{25,}")

WIDEST = 16.0  # a figure's greatest width and height on paper, cm
LETTER, LARGE_LETTER = 0.32, 0.5  # how high a figure's words are set: 9 and 14 pt, cm
READING_LETTER, LARGE_READING_LETTER = 0.46, 0.6  # of an instrument: 13 and 17 pt, so that its lines stand well apart
READING_HIGHEST, LARGE_READING_HIGHEST = 8.5, 12.5  # but no dial takes half a page, cm


def set_paper(paper: Paper) -> bytes:
    """
    A candidate's paper as PDF.

    A sign of the name that no font has is printed as `base.printing.REPLACED`, and the cover says so. Raises `UseError` where the
    paper cannot be set: such a sign anywhere else, a figure that is no SVG.

    >>> blank = Paper(school="Weirgate Workshop School", place="", title="Trial", language="en-GB", sitting="trial",
    ...     date="2031-05-12", candidate="c-01", name="Ada Weir", code="7M2KQ8D4XT", key_digest="0" * 64, minutes=60, asked=())
    >>> set_paper(blank)[:5]
    b'%PDF-'
    """
    return compile_pdf("paper.typ", {"paper": paper_source(paper)}, f"the paper of {paper.candidate}")


def paper_source(paper: Paper) -> str:
    """All that the template prints of a paper, as the one JSON text that it gets."""
    return json.dumps(_data(paper), ensure_ascii=False)


def compile_pdf(template: str, inputs: dict[str, str], what: str) -> bytes:
    """A template of this room as PDF; see `grader.base.printing.set_pdf`."""
    return set_pdf(Path(str(files("grader.papers"))) / template, inputs, what)


def _data(paper: Paper) -> dict[str, Any]:
    language, region = language_and_region(paper.language)
    return {
        "lang": language,
        "region": region,
        "large": paper.large,
        "title": breakable(paper.title),
        "called": paper.called,
        "school": breakable(paper.school),
        "place": paper.place,
        "sitting": breakable(paper.sitting),
        "date": paper.date,
        "candidate": paper.candidate,
        "name": breakable(replaced(paper.name)),
        "name-whole": not unprintable(paper.name),
        "code": paper.code,
        "code-shown": show_code(paper.code),
        "qr": qr_svg(paper.code),
        "digest-shown": " ".join(re.findall(".{1,8}", paper.key_digest)),
        "facts": _facts(paper),
        "sections": _sections(paper),
        "cautions": list(map(unparted, paper.cautions)),
        "open": paper.open,
        "handing-in": [] if paper.open else HANDING_IN,
        "fields": OPEN_FIELDS if paper.open else FIELDS,
        "questions": [_question(asked, paper) for asked in paper.asked],
        "formulas": [asdict(formula) for formula in paper.formulas],
    }


HANDING_IN = [
    "On screen: answer in your answer sheet, the file named after your paper code, and save the answer file. "
    "Write the first eight characters of its digest below, so that nobody can change it after you.",
    "On paper: write on the answer lines. Hand in every page; each bears your code.",
]
FIELDS = ["Digest of my answer file", "Signature"]
OPEN_FIELDS = ["Name", "Date"]
RULES = [
    "A number is read in the unit printed behind its line. Another unit of the kind is written over it: 0.0036 sq in, 5/32 in.",
    "Only the answer is marked, not the way to it. A wrong answer takes nothing from other questions.",
    "Where a question has parts, a later part is marked on your own earlier value: one mistake costs once.",
    "The numbers on this paper are yours alone. Another paper has others, and an answer that fits another paper is seen.",
]
OPEN_RULES = [
    *RULES[:1],
    "This is practice: write the way to each answer too, and compare it with the worked key.",
    "The copies of this quiz ask the same questions with other numbers. The key of this copy bears its code.",
]


def breakable(text: str) -> str:
    """
    A text in which no run of letters is too long for a line: places to break it that are not seen.

    >>> [part for part in breakable("x" * 60).split("\u200b")] == ["x" * 24, "x" * 24, "x" * 12], breakable("Ada Weir")
    (True, 'Ada Weir')
    """
    return _RUN.sub(lambda run: "\u200b".join(re.findall(".{1,24}", run[0])), text)


def _facts(paper: Paper) -> list[tuple[str, str, str]]:
    extra = f"{paper.extra} extra time included" if paper.extra else ""
    return [
        ("Time", f"{paper.minutes} min", extra),
        ("Questions", str(len(paper.asked)), ""),
        ("Points", paper.points, ""),
    ]


def _sections(paper: Paper) -> list[tuple[str, list[str]]]:
    aids = list(paper.aids) or ["None but pen and paper."]
    return [
        ("Allowed aids", list(map(unparted, aids))),
        ("Rules", list(map(unparted, OPEN_RULES if paper.open else RULES)) + ([paper.notice] if paper.notice else [])),
    ]


def _question(asked: Asked, paper: Paper) -> dict[str, Any]:
    return {
        "title": f"Question {asked.label}",
        "kind": asked.kind,
        "points": _points(asked.points),
        "stem": paragraphs(asked.stem),
        "figure": _figure(asked, paper),
        "rule": asked.rule,
        "unit": asked.unit,
        "options": [{"letter": option.letter, "text": option.text} for option in asked.options],
        "rows": [{"number": row.number, "text": row.text} for row in asked.rows],
        "parts": [{**_question(part, paper), "title": f"Part {part.label}"} for part in asked.parts],
    }


def _points(points: str) -> str:
    return f"{points} point" if points == "1" else f"{points} points"


def paragraphs(text: str) -> list[str]:
    """
    The paragraphs of a stem: parted by an empty line; a single line break is a space.

    >>> paragraphs("One\\nline.\\n\\nAnother.")
    ['One line.', 'Another.']
    """
    return [" ".join(part.split("\n")).strip() for part in re.split(r"\n\s*\n", text.strip())]


def _figure(asked: Asked, paper: Paper) -> dict[str, Any] | None:
    if asked.figure is None:
        return None
    svg = asked.figure.svg
    width = figure_width(svg, LARGE_LETTER if paper.large else LETTER, WIDEST)
    if asked.kind == "reading":
        letter, highest = (LARGE_READING_LETTER, LARGE_READING_HIGHEST) if paper.large else (READING_LETTER, READING_HIGHEST)
        width = max(width, figure_width(svg, letter, WIDEST, highest))
    return {"svg": for_paper(bare(svg)), "alt": asked.figure.alt, "width": width}
