"""A draft is a bank that `grader check` reads, whatever stood in the question."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.findings import Finding
from grader.exchange.draft import Drafted, bank_draft
from grader.items.item_file import read_items
from grader.items.model import Item

TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Cf", "Zl", "Zp")), min_size=1, max_size=40).map(
    str.strip
)


def read(text: str, circuit: str) -> tuple[tuple[Item, ...], list[str]]:
    """The items of a draft, and the faults that stop it."""
    findings: list[Finding] = []
    bank = read_items(f"{circuit}.yaml", circuit, text.encode(), {}, findings)
    return tuple(bank.items), [finding.code for finding in findings if finding.level == "error"]


@given(st.lists(st.tuples(TEXTS.filter(bool), TEXTS.filter(bool)), min_size=1, max_size=4))
def test_whatever_a_stem_or_an_option_says_comes_back_as_written(texts: list[tuple[str, str]]) -> None:
    drafts = [Drafted(stem, stem, options=(option, f"not {option}")) for stem, option in texts]
    items, faults = read(bank_draft(drafts, "pump", "pump.1"), "pump")
    assert faults == []
    assert len({item.id for item in items}) == len(items) == len(texts)


def test_a_number_is_a_numeric_item() -> None:
    text = bank_draft(
        [Drafted("Level", "How high, {x}?", "2", value="12.5", unit="mm", within="0.5", left=("a\npicture",))], "float", "float.1"
    )
    assert "# not carried over: a picture" in text
    items, faults = read(text, "float")
    assert faults == []
    assert (items[0].kind, items[0].id) == ("numeric", "float-level")


@pytest.mark.parametrize("title", ["!!!", "Pump?", "pump", "x" * 300])
def test_any_title_gives_a_name_of_its_own(title: str) -> None:
    twice = bank_draft([Drafted(title, "Which?", options=("a", "b"))] * 2, "pump", "pump.1")
    names = [line.removeprefix("- id: ") for line in twice.splitlines() if line.startswith("- id: ")]
    assert len(set(names)) == 2
    assert all(name.startswith("pump-") and len(name) < 70 for name in names)
    assert Path(names[0]).name == names[0]
