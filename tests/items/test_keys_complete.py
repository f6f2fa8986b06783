"""
No item that asks for a number goes without a second computation of it: every bank, whatever circuit it is of.

Each `test_keys_CIRCUIT.py` beside this file states its circuit's, as a mapping `HAND` (or `LAWS`) from an item's id. A bank of a
circuit that is added, or an item, fails here by name until its numbers are computed a second time.
"""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest

from tests.items.by_hand import computed_items, course

HERE = Path(__file__).parent


def computed_for(circuit: str) -> set[str]:
    """The ids of the items of a circuit that its test computes; none where it has no test."""
    name = f"test_keys_{circuit}"
    if not (HERE / f"{name}.py").is_file():
        return set()
    module = importlib.import_module(f"tests.items.{name}")
    return set(getattr(module, "HAND", None) or module.LAWS)


@pytest.mark.parametrize("circuit", sorted({item.circuit for item in (*course().practice, *course().exam)}))
def test_every_number_that_a_bank_asks_for_is_computed_a_second_time(circuit: str) -> None:
    without = {item.id for item in computed_items(circuit)} - computed_for(circuit)
    assert not without, f"write their arithmetic into test_keys_{circuit}.py: {', '.join(sorted(without))}"


@pytest.mark.parametrize("place", sorted(HERE.glob("test_keys_*.py")), ids=lambda place: place.stem)
def test_every_test_of_keys_is_of_a_bank(place: Path) -> None:
    circuits = {item.circuit for item in computed_items()}
    assert place.stem.removeprefix("test_keys_") in circuits | {"complete", "specimens"}


def test_an_item_without_a_second_computation_would_be_named(monkeypatch: pytest.MonkeyPatch) -> None:
    from tests.items import test_keys_safety

    monkeypatch.delitem(test_keys_safety.HAND, "safety-co-minutes")
    with pytest.raises(AssertionError, match=r"test_keys_safety\.py: safety-co-minutes"):
        test_every_number_that_a_bank_asks_for_is_computed_a_second_time("safety")
