"""
No examination stands on the site: no item's id, no sentence of its questions, options, slips or working, however it is written.

Keys and candidates' names are looked for in the demonstration's site (tests/cli/test_demo.py).
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from grader.items.course import load_course, load_practice
from grader.items.model import Item

ROOT = Path(__file__).parents[2]
RUN = 5  # words: as long a run of the same words is a sentence taken over, not chance

Run = tuple[str, ...]


def words(text: str) -> list[str]:
    """The words of a text without markup: character references, escapes of a script and tags are undone."""
    text = re.sub(r"\\u([0-9a-fA-F]{4})", lambda found: chr(int(found[1], 16)), text)
    text = html.unescape(html.unescape(text.replace('\\"', '"').replace("\\n", " ")))
    return re.findall(r"\w+", re.sub(r"</?[a-zA-Z][^<>]{0,200}>", " ", text).lower())


def runs(found: list[str]) -> Iterator[Run]:
    return zip(*(found[place:] for place in range(RUN)), strict=False)


def all_runs(texts: Iterable[str]) -> set[Run]:
    return {run for text in texts for run in runs(words(text))}


def said_by(item: Item) -> Iterator[str]:
    """All that an item says, cut where a value or a formula is put in."""
    said = [item.stem, item.hint]
    for part in item.parts:
        said += [part.stem, part.hint, part.working, *part.entries, *part.extra]
        said += [text for option in part.options for text in (option.text, option.says)]
        said += [text for row in part.rows for text in (row.text, row.match)] + [slip.says for slip in part.slips]
    return (piece for text in said for piece in re.split(r"\{[^}]*\}|\$[^$]*\$", text))


def standing(items: Iterable[Item], there: set[Run]) -> Iterator[tuple[str, str]]:
    """The pieces, long enough to tell, that stand in a set of runs from their first word to their last."""
    for item in items:
        for piece in said_by(item):
            own = set(runs(words(piece)))
            if own and own <= there:
                yield item.id, piece


@pytest.fixture(scope="module")
def texts(whole: Path) -> dict[str, str]:
    """Every file of the site as text, also those that are none."""
    return {
        file.relative_to(whole).as_posix(): file.read_bytes().decode("utf-8", "replace")
        for file in whole.rglob("*")
        if file.is_file()
    }


def test_no_sentence_of_an_exam_item_stands_anywhere(texts: dict[str, str]) -> None:
    assert texts["search/search_index.json"] in texts["search/search_index.js"]  # so that one of them is enough
    skipped = (".map", ".png", ".woff2", "search_index.json")
    ours = {name: text for name, text in texts.items() if not name.endswith(skipped) and "/lunr/" not in name}
    there = all_runs(ours.values())
    exam = load_course(ROOT).exam
    # A sentence that practice or a lesson has too, word for word, was published by its author there.
    published = all_runs(
        file.read_text("utf-8") for place in ("lessons", "questions/practice") for file in (ROOT / place).rglob("*.[my][da]*")
    )
    assert len(exam) > 100
    assert [found for found in standing(exam, there) if found not in set(standing(exam, published))] == []
    # The search finds what is there: nearly all that the practice items say.
    practice = load_practice(ROOT).practice
    told = [piece for item in practice for piece in said_by(item) if len(words(piece)) >= RUN]
    assert len(list(standing(practice, there))) > 0.95 * len(told) > 1000


def test_no_id_of_an_exam_item_stands_in_any_file_or_its_name(texts: dict[str, str]) -> None:
    names = {name for name in re.findall(r"[\w.-]+", "\n".join([*texts, *texts.values()])) if "-" in name}
    assert {item.id for item in load_practice(ROOT).practice} <= names  # the search finds what is there
    assert {item.id for item in load_course(ROOT).exam} & names == set()
