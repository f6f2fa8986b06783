"""
Practice packs: for each practice item a number of variants, in the key's form, as one classic script a circuit.

The secret they are drawn with is public and fixed: a pack holds nothing to hide, and comes out the same wherever it is built.
An item's variants share most of their fields; what they share stands once.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import msgspec

from grader.base.canon import canonical
from grader.items.model import Item
from grader.items.variants import draw_question
from grader.marking.key import AnyQuestion, unit_entries

FORM = "grader-pack-1"
SECRET = b"practice is public"
VARIANTS = 40
ORDERS = 6
"""Variants of an item without numbers: only the order of its options differs."""

_ATTRIBUTES = re.compile(r"<math [^>]*>")


def draw_variants(item: Item, count: int, figures: Mapping[str, Path]) -> list[AnyQuestion]:
    """
    Up to `count` variants of an item, no two alike; fewer where the item has no more, and a few orders where it has no numbers.

    `figures` is `Course.figures`. Raises what `grader.items.variants.draw_question` raises.
    """
    found: dict[bytes, AnyQuestion] = {}
    for turn in range(count if item.given else min(count, ORDERS)):
        question = draw_question(item, SECRET, f"practice-{turn + 1}", figures)
        found.setdefault(canonical(msgspec.to_builtins(question)), question)
    return list(found.values())


def pack_script(circuit: str, questions: Sequence[Sequence[AnyQuestion]]) -> str:
    """
    The pack of a circuit as a classic script: for each item its variants, what they share stated once.

    >>> pack_script("power", [])[:60]
    'graderPacks.add({"circuit":"power","form":"grader-pack-1","i'
    """
    pack = {
        "form": FORM,
        "circuit": circuit,
        "units": msgspec.to_builtins(unit_entries()),
        "items": [shared_and_varied([for_browser(question) for question in variants]) for variants in questions],
    }
    return f"graderPacks.add({json.dumps(pack, ensure_ascii=False, sort_keys=True, separators=(',', ':'))});\n"


def for_browser(question: AnyQuestion) -> dict[str, Any]:
    """A question as plain data, without Typst math, which only a paper needs, and text that MathML says already."""
    plain: dict[str, Any] = _light(msgspec.to_builtins(question))
    return plain


def _light(value: Any) -> Any:
    if isinstance(value, list | tuple):
        return [_light(below) for below in value]
    if not isinstance(value, dict):
        return value
    if "mathml" in value:  # a step: its formula once, in the bare form that a page reads
        return {"says": value.get("says", ""), "mathml": _ATTRIBUTES.sub("<math>", value["mathml"])}
    return {key: _light(below) for key, below in value.items()}


def shared_and_varied(variants: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """
    One item: the fields that all its variants share, and under `variants` the fields in which they differ.

    >>> shared_and_varied([{"item": "a", "stem": "1"}, {"item": "a", "stem": "2"}])
    {'item': 'a', 'variants': [{'stem': '1'}, {'stem': '2'}]}
    """
    every = list(variants)
    first = every[0]
    shared = {name: value for name, value in first.items() if all(name in one and one[name] == value for one in every)}
    return shared | {"variants": [{name: value for name, value in one.items() if name not in shared} for one in every]}
