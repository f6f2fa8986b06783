"""
Questions from QTI 3.0: items with one right option, and items that ask for a number, as drafts.

What a file may do is bounded: no document type, no entities, no file but those handed in, nothing fetched.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from pathlib import Path
from xml.etree import ElementTree

from grader.base.errors import UseError
from grader.base.files import read_capped
from grader.base.quantities import unit
from grader.exchange.draft import Drafted

SIZE_LIMIT = 16_000_000
MOST_FILES = 5_000
MOST_NESTED = 200
Element = ElementTree.Element
_BLOCK = frozenset({"p", "div", "li", "h1", "h2", "h3", "h4", "h5", "h6", "tr", "blockquote", "pre", "br"})


def read_qti(path: Path) -> tuple[list[Drafted], list[str]]:
    """
    The drafts in an item's file, a package (``.zip``) or a folder of items, and a line for each item that could not be drafted.

    Raises
    ------
    UseError
        Nothing there is an item of QTI 3.0, or the file cannot be read.
    """
    drafts: list[Drafted] = []
    refused: list[str] = []
    for name, data in _files(path):
        found = item_of(name, data)
        if isinstance(found, Drafted):
            drafts.append(found)
        elif found:
            refused.append(found)
    if not drafts and not refused:
        raise UseError(f"{path} holds no item of QTI 3.0; give an item's .xml, a folder of them or a package's .zip")
    return drafts, refused


def item_of(name: str, data: bytes) -> Drafted | str | None:
    """
    An item's bytes as a draft; a line that says why not; None where the file is no item at all (a test, a manifest).

    >>> item_of("x.xml", b"<manifest/>") is None
    True
    >>> item_of("x.xml", b"<a><b></a>")
    'x.xml:1: no XML: mismatched tag'
    """
    root = _tree(name, data)
    if isinstance(root, str):
        return root
    if _local(root) != "qti-assessment-item":
        return None
    title = root.get("title") or root.get("identifier") or Path(name).stem
    drafted = _drafted(root, title)
    return f"{name}: {drafted}" if isinstance(drafted, str) else drafted


def _files(path: Path) -> Iterator[tuple[str, bytes]]:
    if path.is_dir():
        for file in sorted(path.rglob("*.xml"))[:MOST_FILES]:
            yield str(file), read_capped(file, SIZE_LIMIT)
        return
    data = read_capped(path, SIZE_LIMIT)
    if path.suffix.lower() != ".zip":
        yield str(path), data
        return
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            left = SIZE_LIMIT
            for entry in archive.infolist()[:MOST_FILES]:
                if not entry.filename.lower().endswith(".xml"):
                    continue
                with archive.open(entry) as opened:
                    content = opened.read(left + 1)
                left -= len(content)
                if left < 0:
                    raise UseError(f"{path}: unpacked it has more than {SIZE_LIMIT // 1_000_000} MB; part it")
                yield f"{path}/{entry.filename}", content
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError) as error:
        raise UseError(f"{path} cannot be unpacked: {error}") from error


def _tree(name: str, data: bytes) -> Element | str:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return f"{name}: not UTF-8; save it as UTF-8"
    if "<!DOCTYPE" in text.upper() or "<!ENTITY" in text.upper():
        return f"{name}: a document type or entity is not read; take it out"
    try:
        root = ElementTree.fromstring(text.partition("?>")[2] if text.lstrip().startswith("<?xml") else text)  # noqa: S314 (no entities)
    except ElementTree.ParseError as error:
        return f"{name}:{error.position[0]}: no XML: {str(error).partition(':')[0]}"
    return root if _depth(root) <= MOST_NESTED else f"{name}: nested deeper than {MOST_NESTED}"


def _depth(root: Element) -> int:
    deepest, level = 0, [root]
    while level and deepest <= MOST_NESTED:
        deepest, level = deepest + 1, [child for element in level for child in element]
    return deepest


def _local(element: Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _all(root: Element, name: str) -> list[Element]:
    return [element for element in root.iter() if _local(element) == name]


def _drafted(root: Element, title: str) -> Drafted | str:
    bodies = _all(root, "qti-item-body")
    asks = [element for element in root.iter() if _local(element).endswith("-interaction")]
    if len(bodies) != 1:
        return "no item body"
    if len(asks) != 1:
        return f"{len(asks)} things asked in one item; part it" if asks else "nothing is asked"
    declared = {element.get("identifier"): element for element in _all(root, "qti-response-declaration")}
    response = declared.get(asks[0].get("response-identifier"))
    if response is None:
        return "what is asked has no response declaration"
    left = ["pictures"] if _all(bodies[0], "img") or _all(bodies[0], "object") or _all(bodies[0], "svg") else []
    match _local(asks[0]):
        case "qti-choice-interaction":
            return _choice(bodies[0], asks[0], response, title, left)
        case "qti-text-entry-interaction":
            return _number(root, bodies[0], response, title, left)
        case other:
            return f"a {other} cannot be drafted"


def _values(response: Element) -> list[str]:
    right = _all(response, "qti-correct-response")
    return [(value.text or "").strip() for value in _all(right[0], "qti-value")] if right else []


def _choice(body: Element, ask: Element, response: Element, title: str, left: list[str]) -> Drafted | str:
    right = _values(response)
    if response.get("cardinality") != "single" or len(right) != 1:
        return "more than one right option, or none said"
    options = {choice.get("identifier"): _text(choice) for choice in _all(ask, "qti-simple-choice")}
    if right[0] not in options:
        return f"the right option {right[0][:40]!r} is not among the options"
    if len(options) < 2 or len(set(options.values())) < len(options):
        return "two options say the same, or there is only one"
    prompts = [_text(prompt) for prompt in _all(ask, "qti-prompt")]
    stem = "\n\n".join(filter(None, [_text(body, without=ask), *prompts]))
    if _all(response, "qti-mapping"):
        left = [*left, "part marks of single options"]
    if _all(body, "qti-feedback-inline"):
        left = [*left, "feedback to single options"]
    wrong = [text for name, text in options.items() if name != right[0]]
    return Drafted(title, stem, options=(options[right[0]], *wrong), left=tuple(left)) if stem else "no question is put"


def _number(root: Element, body: Element, response: Element, title: str, left: list[str]) -> Drafted | str:
    right = _values(response)
    if response.get("base-type") not in ("float", "integer") or len(right) != 1:
        return "a typed answer that is no single number"
    try:
        value = Decimal(right[0])
    except InvalidOperation:
        return f"the right answer {right[0][:40]!r} is no number"
    if not value.is_finite():
        return "the right answer is not finite"
    within = _within(root, value)
    if within is None:
        return "its tolerance is not a plain one"
    (field,) = _all(body, "qti-text-entry-interaction")
    asked = _unit_behind(field)
    left = left if asked else [*left, "the unit: say in which it is asked"]
    field.text = "…"
    stem = _text(body)
    return (
        Drafted(title, stem, value=right[0], unit=asked or "1", within=within, left=tuple(left)) if stem else "no question is put"
    )


def _unit_behind(field: Element) -> str:
    """The unit that stands behind a field, by the name that banks give it; empty where what stands there is none."""
    try:
        found = unit((field.tail or "").strip(" .\n\t"))
    except UseError:
        return ""
    return found.name if found.name != "1" else ""


def _within(root: Element, value: Decimal) -> str | None:
    """The tolerance as a bank writes it. An exact number is allowed half a unit of its last digit."""
    tests = _all(root, "qti-equal")
    mode, written = (
        (tests[0].get("tolerance-mode", "exact"), tests[0].get("tolerance", "").split()) if len(tests) == 1 else ("exact", [])
    )
    if len(tests) > 1:
        return None
    if mode == "exact" or not written:
        exponent = value.as_tuple().exponent
        return f"{Decimal(5).scaleb(int(exponent) - 1):f}"
    try:
        sides = [Decimal(side) for side in written]
    except InvalidOperation:
        return None
    if len(set(sides)) != 1 or not sides[0].is_finite() or sides[0] <= 0:
        return None
    return f"{sides[0]:f} %" if mode == "relative" else f"{sides[0]:f}"


def _text(element: Element, without: Element | None = None) -> str:
    """The words in an element, a paragraph a block, without those of one element in it."""
    parts: list[str] = []

    def walk(one: Element) -> None:
        if one is without:
            return
        if _local(one) in _BLOCK:
            parts.append("\n\n")
        parts.append(one.text or "")
        for child in one:
            walk(child)
            parts.append(child.tail or "")

    walk(element)
    paragraphs = (" ".join(part.split()) for part in "".join(parts).split("\n\n"))
    return "\n\n".join(part for part in paragraphs if part)
