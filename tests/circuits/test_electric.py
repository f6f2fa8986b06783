from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits import choke, electric


def si(text: str) -> float:
    return read_quantity(text).si


def test_the_ends_of_the_wire_gauge_and_its_printed_sizes() -> None:
    # By definition number 36 is 0.005 in, and 39 steps down, 0000 (here -3), 0.46 in: number 0 lies three steps above that end.
    assert electric.wire_diameter(36) == pytest.approx(0.005 * 0.0254, rel=1e-12)
    assert electric.wire_diameter(0) * 92 ** (3 / 39) == pytest.approx(0.46 * 0.0254, rel=1e-12)
    # Handbook tables print 1.024 mm for 18, 1.291 for 16, 0.511 for 24 (ASTM B258, from memory).
    for number, printed in ((18, 1.024), (16, 1.291), (24, 0.511)):
        assert electric.wire_diameter(number) * 1e3 == pytest.approx(printed, abs=5e-4)


@pytest.mark.parametrize(("number", "ohms"), [(18, 6.385), (16, 4.015)])
def test_copper_wire_per_thousand_feet(number: float, ohms: float) -> None:
    # 20 °C; from the gauge's definition and 1.7241e-8 ohm m, as wire tables print it; from memory, recomputed.
    resistance = electric.wire_resistance(si("1000 ft"), electric.wire_diameter(number))
    assert resistance == pytest.approx(ohms, abs=5e-4)


def test_ten_numbers_up_ten_times_the_resistance() -> None:
    # The trade's rule, good to 2 %: 92^(20/39) = 10.164.
    thick, thin = (electric.wire_resistance(10.0, electric.wire_diameter(number)) for number in (12, 22))
    assert thin / thick == pytest.approx(10.164, abs=5e-4)


@settings(max_examples=50, deadline=None)
@given(cold=st.floats(0.1, 100), warm=st.floats(0, 150))
def test_copper_s_resistance_grows_as_from_a_point_far_below_zero(cold: float, warm: float) -> None:
    # Motor and transformer standards count copper as (234.5 + t2)/(234.5 + t1), t in °C, from memory: 0.00393 at 20 °C.
    by_rule = cold * (234.5 + warm) / (234.5 + 20)
    assert electric.warm_resistance(cold, warm + 273.15) == pytest.approx(by_rule, rel=2e-3)


def test_a_hot_winding_draws_a_quarter_less() -> None:
    # By hand: 20 ohm at 20 °C, 1 + 0.00393 x 80 = 1.3144 times as much at 100 °C, so 0.761 of the current.
    hot = electric.warm_resistance(20, si("100 degC"))
    assert hot == pytest.approx(26.288, abs=5e-4)
    assert choke.heater_current(12, hot) / choke.heater_current(12, 20) == pytest.approx(0.761, abs=5e-4)


def test_a_wire_that_is_none_is_refused() -> None:
    with pytest.raises(RangeError):
        electric.wire_diameter(41)
    with pytest.raises(RangeError):
        electric.wire_resistance(1.0, 0.0)
    with pytest.raises(RangeError):
        electric.warm_resistance(20, 0.0)
