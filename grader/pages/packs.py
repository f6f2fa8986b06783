"""
Practice packs: for each practice item a number of variants, in the key's form, as one classic script a circuit.

The secret they are drawn with is public and fixed: a pack holds nothing to hide, and comes out the same wherever it is built.
An item's variants share most of what they say; what they share stands once, see `factoring`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import ROUND_HALF_EVEN, Context, Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

import msgspec

from grader.items.drawing import draw_variant
from grader.items.model import Item
from grader.items.variants import question_of
from grader.marking.key import AnyQuestion, unit_entries
from grader.pages.factoring import EXACT, bounds, factored

FORM = "grader-pack-3"
SECRET = b"practice is public"
SCRIPTS = ("drag.js", "fields.js", "worked.js", "practice.js")
"""What asks and shows the questions of a pack on a page, each after what it needs; `parts.js` comes before all of them."""
VARIANTS = 40
ORDERS = 6
"""Variants of an item without numbers: only the order of its options differs."""

SIX = Context(prec=6, rounding=ROUND_HALF_EVEN)
BOUNDS = frozenset({"value", "low", "high"})

_PER_CENT = re.compile(r"(\d+(?:\.\d+)?)\s?%")


def draw_variants(item: Item, count: int, figures: Mapping[str, Path]) -> list[AnyQuestion]:
    """
    Up to `count` variants of an item, no two alike; fewer where the item has no more, and a few orders where it has no numbers.

    `figures` is `Course.figures`. Raises what `grader.items.variants.draw_question` raises.
    """
    found: list[AnyQuestion] = []
    alike: dict[str, list[AnyQuestion]] = {}  # by their stems: most differ there already
    drawn: set[tuple[str, ...]] = set()
    for turn in range(count if item.given else min(count, ORDERS)):
        paper = f"practice-{turn + 1}"
        variant = draw_variant(item, SECRET, paper)
        numbers = (*(given.written for given in variant.givens.values()), *variant.words.values())
        if numbers in drawn and not _shuffled(item):  # the same numbers once more are the same question
            continue
        drawn.add(numbers)
        question = question_of(item, variant, SECRET, paper, figures)
        same = alike.setdefault(question.stem, [])
        if question not in same:
            same.append(question)
            found.append(question)
    return found


def _shuffled(item: Item) -> bool:
    """Whether something of an item stands in a drawn order."""
    return any(part.options or part.entries or part.rows for part in item.parts)


def pack_script(circuit: str, entries: Iterable[str]) -> str:
    """
    The pack of a circuit as a classic script, from the `pack_entry` of each of its items.

    >>> pack_script("power", [])[:60]
    'graderPacks.add({"circuit":"power","form":"grader-pack-3","i'
    """
    units = _json(msgspec.to_builtins(unit_entries()))
    parted = [entry.partition("\n") for entry in entries]
    items, columns = (",".join(part[place] for part in parted) for place in (0, 2))
    head = f'"circuit":{_json(circuit)},"form":"{FORM}"'
    return f'graderPacks.add({{{head},"items":[{items}],"columns":[{columns}],"units":{units}}});\n'


def pack_entry(questions: Sequence[AnyQuestion]) -> str:
    """
    One item in a pack: a line of JSON with the form of its variants, and one with what goes into the form's gaps.

    `numbers` says whether its variants differ in more than the order of options. Variants stand by their answers: neighbours
    that are alike pack well, and the page asks them in an order of its own.
    """
    variants = sorted((for_browser(question) for question in questions), key=_answer)
    first = variants[0]
    numbers = any(one.get(name) != first.get(name) for one in variants for name in ("stem", "answer", "parts"))
    form, columns = factored(variants)
    named = {name: first[name] for name in ("item", "kind", "objective")}
    return _json({**named, "count": len(variants), "numbers": numbers, "form": form}) + "\n" + _json(columns)


def _answer(variant: Mapping[str, Any]) -> list[float]:
    """The numbers that are asked for."""
    return [float(asked["answer"]["value"]) for asked in (variant, *variant.get("parts", ())) if "answer" in asked]


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def for_browser(question: AnyQuestion) -> dict[str, Any]:
    """
    A question as plain data, without Typst math, which only a paper needs, and text that MathML says already.

    Numbers are given to six figures: for practice a part in a million is nothing. Bounds are left out where they lie by a share
    of the number, or by an amount, to both sides of it, as they mostly do: they would be a third of a pack. They are put back by
    `factoring.filled`, and on the page by its script.
    """
    plain: dict[str, Any] = _light(msgspec.to_builtins(question))
    return plain


def _light(value: Any, share: str = "") -> Any:
    """`share` is how far off an answer may be, as a part of one, where it is a share."""
    kind = type(value)  # plain data: nothing of a kind made from these
    if kind is list or kind is tuple:
        return [below if type(below) is str else _light(below, share) for below in value]
    if kind is not dict:
        return value
    if "mathml" in value:  # a step: its formula once, in the bare form that a page reads
        return {"says": value.get("says", ""), "mathml": _bare(value["mathml"])}
    if "letter" in value:  # what is said of an option or not: one shape for all
        value = {"says": "", **value}
    if "answer" in value:
        share = _share(value["answer"]["within"])
    if "low" in value and "high" in value and "value" in value:
        value = _without_bounds(value, share)
    return {key: below if type(below) is str or key == "tree" else _light(below, share) for key, below in value.items()}


def _bare(mathml: str) -> str:
    """
    A formula without the attributes of its element, which say it once more as text.

    >>> _bare('<math alttext="a = 2"><mrow><mi>a</mi></mrow></math>'), _bare("")
    ('<math><mrow><mi>a</mi></mrow></math>', '')
    """
    return f"<math>{mathml[mathml.index('>') + 1 :]}" if mathml.startswith("<math ") else mathml


def _without_bounds(value: dict[str, Any], share: str) -> dict[str, Any]:
    middle, low, high = (Decimal(value[name]) for name in ("value", "low", "high"))
    rest = {name: below for name, below in value.items() if name not in BOUNDS} | {"value": _six(value["value"])}
    if share and bounds(value["value"], share=share) == (_plain(low), _plain(high)):
        return rest | {"share": share}
    reach = EXACT.subtract(high, middle)
    if EXACT.subtract(middle, low) == reach:
        return rest | {"reach": _plain(reach)}
    return rest | {"low": _six(value["low"]), "high": _six(value["high"])}


@lru_cache(maxsize=1024)
def _share(within: str) -> str:
    """
    A tolerance in per cent as a part of one; nothing for an amount.

    >>> _share("2 %"), _share("0.5 mm")
    ('0.02', '')
    """
    found = _PER_CENT.fullmatch(within)
    return _plain(Decimal(found[1]) / 100) if found else ""


def _plain(number: Decimal) -> str:
    return f"{EXACT.plus(number).normalize(EXACT):f}"


@lru_cache(maxsize=4096)
def _six(number: str) -> str:
    """
    A decimal to six significant figures at most.

    >>> _six("1076.1350895936"), _six("1.96"), _six("-0.000123456789")
    ('1076.14', '1.96', '-0.000123457')
    """
    return f"{SIX.create_decimal(number).normalize():f}"
