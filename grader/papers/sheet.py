"""
An answer sheet: one HTML file that works from disk with no network and holds all it needs.

The page is whole without its script: every question and every field stands in the HTML. The script keeps what is typed, says how
a number is read (with the marker's own reader), and saves the answer file. The policy in its head lets nothing else in or out:
no request, no style or script but those written here.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from functools import cache
from html import escape
from importlib.resources import files
from typing import Any

import msgspec

from grader.base.codes import show_code
from grader.marking.browser import script as marker_script
from grader.marking.key import UnitEntry
from grader.papers.figures import on_screen
from grader.papers.paper import Asked, Formula, Paper, unparted
from grader.papers.pdf import paragraphs

NO_AIDS = ("Nothing but pen and paper",)
ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")

_HOLE = re.compile(r"\{\{(\w+)\}\}")


def write_sheet(paper: Paper, units: Mapping[str, UnitEntry]) -> str:
    """
    A candidate's answer sheet, one HTML document.

    Parameters
    ----------
    paper : Paper
    units : mapping
        The units by which answers are read, as the key carries them.

    Examples
    --------
    >>> blank = Paper(school="Weirgate Workshop School", place="", title="Trial", language="en-GB", sitting="trial",
    ...     date="2031-05-12", candidate="c-01", name="<Ada>", code="7M2KQ8D4XT", key_digest="0" * 64, minutes=60, asked=())
    >>> page = write_sheet(blank, {})
    >>> "&lt;Ada&gt;" in page, "<Ada>" in page
    (True, False)
    """
    style = _text("sheet.css") + files("grader.items").joinpath("figures.css").read_text(encoding="utf-8")
    style += _math_font() if paper.formulas else ""
    marker, keeper, script = marker_script(), _text("kept.js"), _text("sheet.js")
    holes = {name: escape(value) for name, value in _words(paper).items()} | {
        "style": style,
        "style_hash": source_hash(style),
        "script_hashes": " ".join(map(source_hash, (marker, keeper, script))),
        "cautions": _cautions(paper.cautions),
        "aids": _aids(paper.aids),
        "print": ' class="large"' if paper.large else "",
        "extra": f'<dd class="note">{escape(paper.extra)} extra time included</dd>' if paper.extra else "",
        "questions": "\n".join(_question(asked) for asked in paper.asked),
        "chips": "".join(_chip(one.label) for asked in paper.asked for one in asked.answered()),
        "formulas": _annex(paper.formulas),
        "annex_link": '<a class="bar-link" href="#annex">Formulae</a>' if paper.formulas else "",
        "data": script_json(_data(paper, units)),
        "marker": marker,
        "keeper": keeper,
        "script": script,
    }
    return _HOLE.sub(lambda hole: holes[hole[1]], _text("sheet.html"))


def script_json(value: Any) -> str:
    """
    JSON for a script element: nothing in it can end the element or open a comment.

    >>> script_json("</script><!--")
    '"\\\\u003c/script\\\\u003e\\\\u003c!--"'
    """
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def source_hash(source: str) -> str:
    """
    What a content security policy calls an inline script or style by.

    >>> source_hash("")
    "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='"
    """
    return f"'sha256-{base64.b64encode(hashlib.sha256(source.encode()).digest()).decode()}'"


@cache
def _text(name: str) -> str:
    return files("grader.papers").joinpath(name).read_text(encoding="utf-8")


def _words(paper: Paper) -> dict[str, str]:
    return {
        "language": paper.language,
        "title": paper.title,
        "school": paper.school,
        "sitting": paper.sitting,
        "date": paper.date,
        "name": paper.name,
        "candidate": paper.candidate,
        "code": paper.code,
        "code_shown": show_code(paper.code),
        "minutes": str(paper.minutes),
        "count": str(len(paper.asked)),
        "answers": str(paper.answers),
        "points": paper.points,
        "key_digest": paper.key_digest,
    }


def _data(paper: Paper, units: Mapping[str, UnitEntry]) -> dict[str, Any]:
    asks = [one for asked in paper.asked for one in asked.answered()]
    return {
        "paper": paper.code,
        "candidate": paper.candidate,
        "minutes": paper.minutes,
        "units": msgspec.to_builtins(dict(units)),
        "asks": [{"label": one.label, "kind": one.kind, "unit": one.measure} for one in asks],
    }


def _cautions(cautions: tuple[str, ...]) -> str:
    if not cautions:
        return ""
    return f'<div class="caution"><h2>Caution</h2><ul>{_items(cautions)}</ul></div>'


def _aids(aids: tuple[str, ...]) -> str:
    return f"<li>Allowed aids: <ul>{_items(aids or NO_AIDS)}</ul></li>"


def _items(sentences: tuple[str, ...]) -> str:
    return "".join(f"<li>{escape(unparted(sentence))}</li>" for sentence in sentences)


def _stem(text: str) -> str:
    return "".join(f"<p>{escape(part)}</p>" for part in paragraphs(text))


def _points(points: str) -> str:
    return f"{points} point{'' if points == '1' else 's'}"


def _chip(label: str) -> str:
    return f'<li><a id="chip-{label}" href="#q-{label}">{label}</a></li>'


def _question(asked: Asked) -> str:
    field = "" if asked.parts else FIELDS[asked.kind](asked)
    return (
        f'<section class="question {asked.kind}" id="q-{asked.label}" aria-labelledby="h-{asked.label}">'
        f'<div class="title"><h2 id="h-{asked.label}">Question {asked.label}</h2><span>{_points(asked.points)}</span></div>'
        f"{_stem(asked.stem)}{_figure(asked)}{field}{''.join(map(_part, asked.parts))}</section>"
    )


def _part(part: Asked) -> str:
    return (
        f'<section class="part" id="q-{part.label}" aria-labelledby="h-{part.label}">'
        f'<div class="title"><h3 id="h-{part.label}">Part {part.label}</h3><span>{_points(part.points)}</span></div>'
        f"{_stem(part.stem)}{FIELDS[part.kind](part)}</section>"
    )


def _figure(asked: Asked) -> str:
    if asked.figure is None:
        return ""
    drawing = on_screen(asked.figure.svg, f"q{asked.label}")
    return f'<figure><div role="img" aria-label="{escape(asked.figure.alt)}">{drawing}</div></figure>'


def _numeric(asked: Asked) -> str:
    label = asked.label
    unit = f'<span class="unit">{escape(asked.unit)}</span>' if asked.unit else ""
    wanted = f"Answer to {label} ({escape(asked.unit)})" if asked.unit else f"Answer to {label}, a plain number"
    rule = f'<p class="rule" id="rule-{label}">{escape(asked.rule)}</p>' if asked.rule else ""
    told = f"rule-{label} read-{label}" if asked.rule else f"read-{label}"
    return (
        f'{rule}<label class="field" for="a-{label}">{wanted}</label><div class="line"><input type="text" id="a-{label}" '
        f'data-label="{label}" maxlength="100" autocapitalize="off" spellcheck="false" aria-describedby="{told}">'
        f'{unit}</div><p class="read" role="status" id="read-{label}"></p>'
    )


def _ticked(asked: Asked, kind: str, legend: str) -> str:
    label = asked.label
    options = "".join(
        f'<label class="option"><input type="{kind}" name="a-{label}" id="a-{label}-{option.letter}" value="{option.letter}" '
        f'data-label="{label}"><b>{option.letter}</b><span>{escape(option.text)}</span></label>'
        for option in asked.options
    )
    back = f'<button type="button" class="plain" data-back="{label}" hidden>Take back the answer to {label}</button>'
    return f"<fieldset><legend>{legend}</legend>{options}{back}</fieldset>"


def _choice(asked: Asked) -> str:
    return _ticked(asked, "radio", f"Answer to {asked.label}: one of these")


def _choices(asked: Asked) -> str:
    return _ticked(asked, "checkbox", f"Answer to {asked.label}: every one that is right")


def _entries(asked: Asked) -> str:
    entries = "".join(f"<li><b>{option.letter}</b><span>{escape(option.text)}</span></li>" for option in asked.options)
    return f'<ul class="entries">{entries}</ul>'


def _select(asked: Asked, name: str, words: str, more: str = "") -> str:
    choices = "".join(f'<option value="{o.letter}">{o.letter} – {escape(o.text)}</option>' for o in asked.options)
    return (
        f'<label class="pick" for="{name}">{words}<select id="{name}" data-label="{asked.label}"{more} '
        f'aria-describedby="read-{asked.label}"><option value="">not chosen</option>{choices}</select></label>'
    )


def _order(asked: Asked) -> str:
    places = range(1, len(asked.options) + 1)
    picks = "".join(_select(asked, f"a-{asked.label}-{place}", _place(place)) for place in places)
    legend = f"Answer to {asked.label}: first to last"
    return f"{_entries(asked)}<fieldset><legend>{legend}</legend>{picks}</fieldset>{_read(asked)}"


def _place(place: int) -> str:
    return f"{ORDINALS[place - 1].capitalize()}" if place <= len(ORDINALS) else f"Number {place}"


def _match(asked: Asked) -> str:
    picks = "".join(
        _select(asked, f"a-{asked.label}-{row.number}", f"{row.number}. {escape(row.text)}", f' data-row="{row.number}"')
        for row in asked.rows
    )
    legend = f"Answer to {asked.label}: what belongs to each"
    return f"{_entries(asked)}<fieldset><legend>{legend}</legend>{picks}</fieldset>{_read(asked)}"


def _read(asked: Asked) -> str:
    return f'<p class="read" role="status" id="read-{asked.label}"></p>'


FIELDS = {
    "numeric": _numeric,
    "reading": _numeric,
    "choice": _choice,
    "choices": _choices,
    "order": _order,
    "match": _match,
}


def _annex(formulas: tuple[Formula, ...]) -> str:
    if not formulas:
        return ""
    back = '<p class="only-script"><button type="button" class="plain" id="back">Back to where you were</button></p>'
    head = f'<h2 id="annex" tabindex="-1">Formulae</h2>{back}'
    return f'<section class="annex" aria-labelledby="annex">{head}{"".join(map(_formula, formulas))}</section>'


def _formula(formula: Formula) -> str:
    rows = "".join(
        f"<tr><td>{meaning.symbol.mathml}</td><td>{escape(meaning.says)}</td><td>{escape(meaning.unit)}</td></tr>"
        for meaning in formula.symbols
    )
    head = '<thead><tr><th scope="col">Symbol</th><th scope="col">Meaning</th><th scope="col">Unit</th></tr></thead>'
    table = f"<table>{head}<tbody>{rows}</tbody></table>" if rows else ""
    return f'<h3>{escape(formula.says)}</h3><p class="formula" tabindex="0">{formula.equation.mathml}</p>{table}'


@cache
def _math_font() -> str:
    """The style that brings the mathematics font along: few phones have one, and without it roots are drawn wrong."""
    font = base64.b64encode(files("grader.pages").joinpath("assets", "course-math.woff2").read_bytes()).decode()
    return f'@font-face{{font-family:"Course Math";src:url(data:font/woff2;base64,{font}) format("woff2")}}'
