"""
A question from elsewhere as a draft of a bank: what a person then gives objective, slips and working.

Only what can be carried over truly is: one right option, or a number with a tolerance. All else is told, not guessed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import yaml

RIGHT = "right_value"
"""The given value that stands for a number until its author says what it is computed from."""
NUMBERS = (
    f"# `{RIGHT}` is the right answer, not a value to ask with: give instead what stands in the stem, and write the formula",
    "# under `value`.",
)


@dataclass(frozen=True, slots=True)
class Drafted:
    """
    A question with one right option (`options`, the right one first) or a number (`value`, `unit`, `within`).

    `within` is a share, or an amount in the unit that is not said again. `left` names what the source had and the draft has not.
    """

    name: str
    stem: str
    points: str = ""
    options: tuple[str, ...] = ()
    value: str = ""
    unit: str = "1"
    within: str = ""
    working: str = ""
    left: tuple[str, ...] = ()


def bank_draft(questions: Sequence[Drafted], circuit: str, objective: str) -> str:
    """
    The text of a bank file with a draft of each question.

    Parameters
    ----------
    circuit, objective : str
        What the drafts are filed under; a person sorts them afterwards.

    Examples
    --------
    >>> print(bank_draft([Drafted("Way?", "Which way?", options=("up", "down"))], "pump", "pump.1"))
    # yaml-language-server: $schema=../schema/items.schema.json
    # A draft: move each item to the end of its circuit's file; give it objective, slips (or what to say to wrong
    # options) and working. Then `grader check`.
    <BLANKLINE>
    - id: pump-way
      objective: pump.1
      kind: choice
      stem: Which way?
      options:
      - text: up
        right: true
      - text: down
    <BLANKLINE>
    """
    lines = [
        "# yaml-language-server: $schema=../schema/items.schema.json",
        "# A draft: move each item to the end of its circuit's file; give it objective, slips (or what to say to wrong",
        "# options) and working. Then `grader check`.",
        *(NUMBERS if any(not question.options and question.unit != "1" for question in questions) else ()),
        "",
    ]
    taken: set[str] = set()
    for question in questions:
        name = _name(circuit, question.name, taken)
        lines += [f"# not carried over: {_line(left)}" for left in question.left]
        lines.append(yaml.safe_dump([_item(question, name, objective)], sort_keys=False, allow_unicode=True, width=120))
    return "\n".join(lines)


def _line(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def _name(circuit: str, title: str, taken: set[str]) -> str:
    """A name that no other draft has: the circuit, then the title's letters and digits."""
    plain = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:50].strip("-") or "item"
    wanted = plain if plain.startswith(f"{circuit}-") else f"{circuit}-{plain}"
    name, again = wanted, 2
    while name in taken:
        name, again = f"{wanted}-{again}", again + 1
    taken.add(name)
    return name


def _item(question: Drafted, name: str, objective: str) -> dict[str, object]:
    item: dict[str, object] = {"id": name, "objective": objective, "kind": "choice" if question.options else "numeric"}
    if question.points not in ("", "1"):
        item["points"] = question.points
    item["stem"] = _literal(question.stem)
    if question.options:
        right, *wrong = (_literal(option) for option in question.options)
        item["options"] = [{"text": right, "right": True}, *({"text": text} for text in wrong)]
    elif question.unit == "1":
        item["answer"] = {"value": question.value, "unit": "1", "within": question.within}
    else:  # an expression holds no units: what it is made of is given
        item["given"] = {RIGHT: f"{question.value} {question.unit}"}
        amount = question.within if question.within.endswith("%") else f"{question.within} {question.unit}"
        item["answer"] = {"value": RIGHT, "unit": question.unit, "within": amount}
    if question.working:
        item["working"] = _literal(question.working)
    return item


def _literal(text: str) -> str:
    """Braces doubled: in a bank they stand round the name of a value."""
    return text.replace("{", "{{").replace("}", "}}")
