"""Numbers put into text."""

from __future__ import annotations

import pytest

from grader.base.errors import UseError
from grader.base.quantities import read_quantity, unit
from grader.items.template import filled, places

BORE = read_quantity("0.50 m")


def test_a_given_value_is_printed_as_it_is_written() -> None:
    assert filled("{bore}", {"bore": BORE}, {"bore": BORE.si}, {}) == "0.50\u202fm"


def test_a_computed_value_is_printed_in_its_unit_and_figures() -> None:
    assert filled("{bore:cm:2} {plan}", {}, {"bore": 0.5, "plan": 0.19635}, {"plan": unit("m^2")}) == "50\u202fcm 0.196\u202fm²"


def test_braces_are_doubled_to_be_printed() -> None:
    assert filled("{{bore}} }}{{", {}, {}, {}) == "{bore} }{"


@pytest.mark.parametrize(
    "text", ["{", "}", "{}", "{a b}", "{A}", "{a:zz}", "{a:mm:0}", "{a:mm:3:4}", "{{a}", "{a.b}", "{a!r}", "{0}"]
)
def test_a_brace_that_means_nothing_is_refused(text: str) -> None:
    with pytest.raises(UseError):
        places(text)


@pytest.mark.parametrize("text", ["{bore}", "{plan}"])
def test_a_name_that_is_not_there_or_has_no_unit_is_refused(text: str) -> None:
    with pytest.raises(UseError):
        filled(text, {}, {"plan": 1.0}, {})
