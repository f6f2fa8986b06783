"""An item as its author wants to see it: variants with key, bounds, slips and working, as text or as a page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from html import escape
from importlib import resources
from pathlib import Path

from grader.base.quantities import show_number, unit, with_unit
from grader.items.figures import for_page
from grader.items.model import Item
from grader.items.variants import draw_question
from grader.marking import key

Part = key.AnyQuestion | key.NumericPart | key.ChoicePart
SECRET = b"grader show"


def drawn(item: Item, figures: Mapping[str, Path], count: int) -> list[key.AnyQuestion]:
    """The first variants of an item, the same at each look."""
    return [draw_question(item, SECRET, f"show-{number}", figures) for number in range(1, count + 1)]


def _points(item: Item) -> str:
    return f"{item.points.normalize():f} point{'' if item.points == 1 else 's'}"


def as_text(item: Item, questions: Sequence[key.AnyQuestion]) -> str:
    """The item and its variants as plain text."""
    lines = [
        f"{item.id}  ({item.kind}, objective {item.objective}, {_points(item)}, {item.minutes:g} min)",
        f"{item.file}:{item.line}",
    ]
    for number, question in enumerate(questions, 1):
        lines += ["", f"variant {number}", *(f"  {line}" for line in _question(question))]
    return "\n".join(lines) + "\n"


def _question(question: key.AnyQuestion) -> Iterator[str]:
    yield question.stem
    if question.figure:
        yield f"figure: {question.figure.alt}"
    if isinstance(question, key.Case):
        for part in question.parts:
            yield ""
            yield f"{part.part}) {part.stem}"
            yield from (f"   {line}" for line in answered(part))
    else:
        yield from answered(question)


def answered(question: Part) -> Iterator[str]:
    """Key, bounds, slips, options and working of a question or a part, line by line."""
    if isinstance(question, key.Numeric | key.Reading | key.NumericPart):
        yield from _numeric(question)
    elif isinstance(question, key.Order):
        yield from (f"{entry.letter}. {entry.text}" for entry in question.entries)
        yield f"key: {' '.join(question.right)}"
    elif isinstance(question, key.Match):
        yield from (f"{row.number}. {row.text}" for row in question.rows)
        yield from (f"{option.letter}. {option.text}" for option in question.options)
        yield f"key: {' '.join(f'{row}-{letter}' for row, letter in question.right.items())}"
    elif isinstance(question, key.Choice | key.Choices | key.ChoicePart):
        for option in question.options:
            mark = "*" if option.letter in question.right else " "
            says = f"   → {option.says}" if option.says else ""
            yield f"{mark} {option.letter}. {option.text}{says}"
    if question.hint:
        yield f"hint: {question.hint}"
    for step in question.working:
        yield f"working: {' '.join(filter(None, (step.says, step.text)))}"


def _numeric(question: key.Numeric | key.Reading | key.NumericPart) -> Iterator[str]:
    if isinstance(question, key.Reading):
        yield f"rule: {question.rule}"
    answer = question.answer
    measure = unit(answer.unit)
    low, high = (show_number(Decimal(end), 5) for end in (answer.low, answer.high))
    yield f"key: {answer.shown}, within {answer.within}: {low} to {with_unit(high, measure)}"
    if question.plausible:
        least, most = question.plausible
        yield f"plausible: {least} to {with_unit(most, measure)}"
    for number, slip in enumerate(question.slips, 1):
        yield f"slip {number}: {with_unit(show_number(Decimal(slip.value), 4), measure)}   → {slip.says}"
    if isinstance(question, key.NumericPart) and question.follow:
        taken = ", ".join(f"{name} from {letter}" for name, letter in question.follow.takes.items())
        yield f"follows: {taken}"


def as_page(item: Item, questions: Sequence[key.AnyQuestion]) -> str:
    """The item and its variants as a page to look at: one file, no script, nothing from elsewhere."""
    sections = "\n".join(_section(number, question) for number, question in enumerate(questions, 1))
    worth = f"{_points(item)}, {item.minutes:g} min"
    about = f"{item.kind}, objective {item.objective}, {worth} · {item.file}:{item.line}"
    note = f"<p><b>note:</b> {escape(item.note)}</p>" if item.note else ""
    figures = resources.files("grader.items").joinpath("figures.css").read_text(encoding="utf-8")
    return _PAGE.format(title=escape(item.id), about=escape(about), note=note, sections=sections, style=f"{_STYLE}\n{figures}")


def _section(number: int, question: key.AnyQuestion) -> str:
    body = [f"<h2>Variant {number}</h2>", f"<p>{escape(question.stem)}</p>"]
    if question.figure:
        figure = for_page(question.figure.svg, f"v{number}")
        body.append(f"<figure>{figure}<figcaption>{escape(question.figure.alt)}</figcaption></figure>")
    parts: Iterable[Part] = question.parts if isinstance(question, key.Case) else (question,)
    for part in parts:
        if isinstance(part, key.NumericPart | key.ChoicePart):
            body.append(f"<h3>{part.part})</h3><p>{escape(part.stem)}</p>")
        lines = [line for line in answered(part) if not line.startswith("working: ")]
        body.append("<ul>" + "".join(f"<li>{escape(line)}</li>" for line in lines) + "</ul>")
        body.append("".join(f"<p>{escape(step.says)} {step.mathml or escape(step.text)}</p>" for step in part.working))
    return f"<section>{''.join(body)}</section>"


_STYLE = """
:root { color-scheme: light dark; font: 16px/1.5 system-ui, sans-serif; }
body { margin: 0 auto; max-width: 46rem; padding: 1rem; overflow-wrap: anywhere; }
section { border-top: 1px solid; margin-top: 1.5rem; }
h1 { font-size: 1.4rem; } h2 { font-size: 1.1rem; } h3 { font-size: 1rem; margin-bottom: 0; } h3 + p { margin-top: 0; }
ul { list-style: none; padding-left: 1rem; } li { white-space: pre-wrap; }
figure { margin: 1rem 0; max-width: 30rem; } math { font-size: 1.1rem; }
"""

_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="robots" content="noindex">
<title>{title}</title>
<style>{style}</style>
</head>
<body>
<h1>{title}</h1>
<p>{about}</p>
{note}
{sections}
</body>
</html>
"""
