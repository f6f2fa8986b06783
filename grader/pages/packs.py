"""
Practice packs: for each practice item a number of variants, in the key's form, as one classic script a circuit.

The secret they are drawn with is public and fixed: a pack holds nothing to hide, and comes out the same wherever it is built.
An item's variants share most of what they say; what they share stands once, see `factoring`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_EVEN, Context
from pathlib import Path
from typing import Any

import msgspec

from grader.items.model import Item
from grader.items.variants import draw_question
from grader.marking.key import AnyQuestion, unit_entries
from grader.pages.factoring import factored

FORM = "grader-pack-2"
SECRET = b"practice is public"
VARIANTS = 40
ORDERS = 6
"""Variants of an item without numbers: only the order of its options differs."""

SIX = Context(prec=6, rounding=ROUND_HALF_EVEN)
BOUNDS = frozenset({"value", "low", "high"})

_ATTRIBUTES = re.compile(r"<math [^>]*>")


def draw_variants(item: Item, count: int, figures: Mapping[str, Path]) -> list[AnyQuestion]:
    """
    Up to `count` variants of an item, no two alike; fewer where the item has no more, and a few orders where it has no numbers.

    `figures` is `Course.figures`. Raises what `grader.items.variants.draw_question` raises.
    """
    found: dict[bytes, AnyQuestion] = {}
    for turn in range(count if item.given else min(count, ORDERS)):
        question = draw_question(item, SECRET, f"practice-{turn + 1}", figures)
        found.setdefault(msgspec.json.encode(question), question)
    return list(found.values())


def pack_script(circuit: str, questions: Sequence[Sequence[AnyQuestion]]) -> str:
    """
    The pack of a circuit as a classic script: for each item the form of its variants, and what goes into the form's gaps.

    >>> pack_script("power", [])[:60]
    'graderPacks.add({"circuit":"power","form":"grader-pack-2","i'
    """
    pack = {
        "form": FORM,
        "circuit": circuit,
        "units": msgspec.to_builtins(unit_entries()),
        "items": [_entry([for_browser(question) for question in variants]) for variants in questions],
    }
    return f"graderPacks.add({json.dumps(pack, ensure_ascii=False, sort_keys=True, separators=(',', ':'))});\n"


def _entry(variants: list[dict[str, Any]]) -> dict[str, Any]:
    """One item in a pack; `numbers` says whether its variants differ in more than the order of options."""
    first = variants[0]
    numbers = any(one.get(name) != first.get(name) for one in variants for name in ("stem", "answer", "parts"))
    form, columns = factored(variants)
    named = {name: first[name] for name in ("item", "kind", "objective")}
    return {**named, "count": len(variants), "numbers": numbers, "form": form, "columns": columns}


def for_browser(question: AnyQuestion) -> dict[str, Any]:
    """
    A question as plain data, without Typst math, which only a paper needs, and text that MathML says already.

    Bounds are given to six figures: for practice a part in a million is nothing, and the twelve of a key make half a pack.
    """
    plain: dict[str, Any] = _light(msgspec.to_builtins(question))
    return plain


def _light(value: Any) -> Any:
    if isinstance(value, list | tuple):
        return [_light(below) for below in value]
    if not isinstance(value, dict):
        return value
    if "mathml" in value:  # a step: its formula once, in the bare form that a page reads
        return {"says": value.get("says", ""), "mathml": _ATTRIBUTES.sub("<math>", value["mathml"])}
    if "letter" in value:  # what is said of an option or not: one shape for all
        value = {"says": "", **value}
    if value.keys() >= BOUNDS:
        value = {**value, **{name: _six(value[name]) for name in BOUNDS}}
    return {key: _light(below) for key, below in value.items()}


def _six(number: str) -> str:
    """
    A decimal to six significant figures at most.

    >>> _six("1076.1350895936"), _six("1.96"), _six("-0.000123456789")
    ('1076.14', '1.96', '-0.000123457')
    """
    return f"{SIX.create_decimal(number).normalize():f}"
