"""A key's units made ready to be looked up."""

from __future__ import annotations

import pytest

from grader.base.quantities import fold
from grader.marking.key import UnitEntry, unit_entries
from grader.marking.units import sign_of, table_of, with_sign

UNITS = unit_entries()


def test_the_keys_of_a_sitting_share_one_table() -> None:
    assert table_of(UNITS) is table_of(unit_entries())
    assert table_of(UNITS) is not table_of(unit_entries(["mm", "in"]))


@pytest.mark.parametrize("name", [name for name in UNITS if UNITS[name].kind != "temperature difference"])
def test_every_spelling_means_its_unit_where_its_kind_is_asked(name: str) -> None:
    asked = table_of(UNITS).asked(name)
    for spelling in UNITS[name].spelt:
        assert fold(spelling) == spelling
        meant = asked.meant(spelling)
        assert meant is not None
        assert (meant.unit, meant.of_kind) == (name, True)


def test_the_units_of_a_kind_change_into_each_other_and_all_are_there() -> None:
    asked = table_of(UNITS).asked("kPa")
    names = sorted(name for name, entry in UNITS.items() if entry.kind == "pressure")
    assert [shown for shown, _ in asked.kin] == [UNITS[name].shown for name in names]
    assert {shown: change.of((1, 1)) for shown, change in asked.kin}["bar"] == (100, 1)


def test_what_is_no_unit_means_nothing() -> None:
    asked = table_of(UNITS).asked("mm")
    assert asked.meant("furlongs") is None
    assert asked.meant(" mm. ") is asked.itself is asked.meant("")


def test_a_sign_stands_behind_a_thin_space_but_for_degrees() -> None:
    assert [sign_of(UNITS[name]) for name in ("mm^2", "deg", "degC", "1")] == ["\u202fmm²", "°", "\u202f°C", ""]
    assert with_sign("2.3", UnitEntry(kind="area", factor="1", shown="ha")) == "2.3\u202fha"
