from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits import safety


def si(text: str) -> float:
    return read_quantity(text).si


@pytest.mark.parametrize(
    ("molecular_weight", "printed", "within"),
    [(2.0, 0.07, 0.005), (28.0, 0.97, 0.005), (44.1, 1.55, 0.03)],
    ids=["hydrogen", "carbon monoxide", "propane"],
)
def test_weights_of_gases_agree_with_a_handbook(molecular_weight: float, printed: float, within: float) -> None:
    # NIOSH Pocket Guide to Chemical Hazards, molecular weight and relative gas density, from memory. Propane is printed as a real
    # gas, 2 % heavier than the ideal one.
    assert safety.vapour_weight(molecular_weight) == pytest.approx(printed, abs=within)


def test_the_lightest_part_of_gasoline_is_two_and_a_half_times_as_heavy_as_air() -> None:
    # Pentane, C5H12: 5 x 12.011 + 12 x 1.008 = 72.151. "Gasoline in brief", Fire Engineering, April 1988, prints 2.48 as the
    # least vapour density of gasoline, made of pentane to decane.
    assert safety.vapour_weight(5 * 12.011 + 12 * 1.008) == pytest.approx(2.48, abs=0.015)


def test_a_quarter_litre_of_gasoline_makes_four_cubic_metres_burnable() -> None:
    # By hand: 0.25 L × 0.74 kg/L = 0.185 kg; over 3 × 1.2 = 3.6 kg/m³: 0.05139 m³; over 1.4 %: 3.671 m³.
    fuel = si("740 kg/m^3"), si("0.25 L"), 3.0, si("1.2 kg/m^3")
    assert safety.vapour_volume(*fuel) == pytest.approx(0.05139, abs=5e-6)
    assert safety.burnable_volume(*fuel, si("1.4 %")) == pytest.approx(3.671, abs=5e-4)


def test_a_closed_garage_fouls_in_less_than_a_minute() -> None:
    # By hand: 45 m³ × 0.02 % = 0.009 m³; 0.3 m³/min × 4 % = 0.012 m³/min; 0.75 min.
    assert safety.fouling_time(si("0.02 %"), si("45 m^3"), si("4 %"), si("0.3 m^3/min")) == pytest.approx(45, abs=1e-9)


def test_fresh_air_thins_what_the_exhaust_brings() -> None:
    # By hand: 0.012 m³/min over 0.005 % (50 parts in a million) = 240 m³/min.
    assert safety.fresh_air(si("4 %"), si("0.3 m^3/min"), si("0.005 %")) == pytest.approx(4, abs=1e-9)


@given(room=st.floats(1, 1000), share=st.floats(1e-5, 1e-2), flow=st.floats(1e-3, 1))
def test_the_air_that_holds_a_share_is_a_room_in_each_fouling_time(room: float, share: float, flow: float) -> None:
    time = float(safety.fouling_time(share, room, 0.04, flow))
    assert safety.fresh_air(0.04, flow, share) * time == pytest.approx(room, rel=1e-9)


@given(more=st.floats(1.001, 10))
def test_a_heavier_vapour_and_a_higher_limit_make_less_air_burn(more: float) -> None:
    healthy = float(safety.burnable_volume(740, 0.25e-3, 3, 1.2, 0.014))
    assert safety.burnable_volume(740, 0.25e-3, 3 * more, 1.2, 0.014) == pytest.approx(healthy / more)
    assert safety.burnable_volume(740, 0.25e-3, 3, 1.2, 0.014 * more) == pytest.approx(healthy / more)


def test_what_can_not_be_is_refused() -> None:
    with pytest.raises(RangeError):
        safety.vapour_weight(0)
    with pytest.raises(RangeError):
        safety.burnable_volume(740, 0.25e-3, 3, 1.2, 0)
    with pytest.raises(RangeError):  # a room can't grow fouler than the exhaust
        safety.fouling_time(0.05, 45, 0.04, 0.005)
    with pytest.raises(RangeError):
        safety.fresh_air(0.04, 0.005, 0)
