"""What the idle-speed devices do. Every speed, time and temperature here: common practice, no source."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.errors import RangeError
from grader.base.quantities import read_quantity
from grader.circuits.idle_devices import (
    ACTS_AT,
    ACTUATOR_ADJUSTMENTS,
    COLD_AIR,
    LETS_GO_AT,
    THROTTLE_STOP_ADJUSTMENTS,
    IdleActuator,
    LoadCompensator,
    ThrottleStopSolenoid,
    followed,
)


def si(text: str) -> float:
    return read_quantity(text).si


WARM, COLD = si("70 degF"), si("40 degF")
CURB = si("700 rev/min")


def test_the_values_of_the_trade() -> None:
    assert pytest.approx(si("450 rev/min")) == ACTS_AT
    assert pytest.approx(si("1150 rev/min")) == LETS_GO_AT
    assert pytest.approx(si("55 degF")) == COLD_AIR
    assert LoadCompensator().delay == 2.0


# the throttle-stop solenoid


def test_switching_off_takes_the_solenoid_s_stop_away_so_that_the_engine_cannot_run_on() -> None:
    idling = ThrottleStopSolenoid().after(ignition=True, throttle_opened=True)
    assert idling.stop == "solenoid"
    assert idling.after(ignition=False).stop == "screw"


def test_the_plunger_holds_the_throttle_but_cannot_push_it() -> None:
    switched_on = ThrottleStopSolenoid().after(ignition=True)
    assert switched_on.energised
    assert switched_on.stop == "screw"
    assert switched_on.after(ignition=True, throttle_opened=True).stop == "solenoid"


def test_once_out_the_plunger_stays_out_while_the_ignition_is_on() -> None:
    idling = ThrottleStopSolenoid().after(ignition=True, throttle_opened=True)
    assert idling.after(ignition=True).after(ignition=True).stop == "solenoid"
    assert idling.after(ignition=False).after(ignition=True).stop == "screw"


def test_opening_the_throttle_with_the_ignition_off_does_nothing() -> None:
    assert ThrottleStopSolenoid().after(ignition=False, throttle_opened=True).stop == "screw"


def test_curb_idle_is_set_at_the_plunger_before_the_lower_idle_at_the_screw() -> None:
    first, second = THROTTLE_STOP_ADJUSTMENTS
    assert first.startswith("curb idle, at the plunger")
    assert second.startswith("lower idle, at the stop screw")


# the load-compensating solenoid


def test_it_holds_while_the_load_is_on() -> None:
    loaded = LoadCompensator().after(load=True, seconds=0)
    assert loaded.holds
    assert loaded.after(load=True, seconds=600).holds


def test_it_lets_go_about_two_seconds_after_the_load_is_off() -> None:
    loaded = LoadCompensator().after(load=True, seconds=5)
    assert loaded.after(load=False, seconds=1.99).holds
    assert not loaded.after(load=False, seconds=2.0).holds


def test_a_load_that_comes_back_within_the_delay_starts_it_anew() -> None:
    device = LoadCompensator().after(load=True, seconds=5)
    for _ in range(20):  # a clutch that cycles each second does not make the throttle move
        device = device.after(load=False, seconds=0.9).after(load=True, seconds=0.1)
        assert device.holds
    assert device.after(load=False, seconds=1.99).holds


def test_at_rest_it_holds_nothing_however_long() -> None:
    assert not LoadCompensator().after(load=False, seconds=0).holds
    assert not LoadCompensator().after(load=False, seconds=3600).holds


@given(parts=st.lists(st.floats(0, 0.5), min_size=1, max_size=20))
def test_it_does_not_matter_how_often_one_looks(parts: list[float]) -> None:
    total = sum(parts)
    if abs(total - 2.0) < 1e-9:
        return
    often = LoadCompensator().after(load=True, seconds=1)
    for seconds in parts:
        often = often.after(load=False, seconds=seconds)
    assert often.holds == LoadCompensator().after(load=True, seconds=1).after(load=False, seconds=total).holds


def test_time_does_not_run_backwards() -> None:
    for seconds in (-1.0, float("nan")):
        with pytest.raises(RangeError, match="time does not run backwards"):
            LoadCompensator().after(load=True, seconds=seconds)


# the electric-and-vacuum actuator


def after(*speeds: int, air: float = WARM) -> list[str]:
    """Where the throttle rests after each speed, in rev/min."""
    return [state.stop for state in followed(IdleActuator(curb_idle=CURB), [(speed / 60, air) for speed in speeds])]


def test_warm_and_at_its_idle_the_electric_part_alone_holds_the_throttle() -> None:
    assert after(700) == ["electric"]
    assert IdleActuator(curb_idle=CURB).after(speed=CURB, intake_air=WARM, fed=False).stop == "screw"


def test_an_engine_that_falls_to_450_is_caught() -> None:
    assert after(700, 460, 450) == ["electric", "electric", "vacuum"]


def test_after_the_first_drop_it_lets_go_when_the_engine_is_back_at_its_idle() -> None:
    assert after(700, 440, 600, 700) == ["electric", "vacuum", "vacuum", "electric"]


def test_after_a_second_drop_it_holds_until_the_engine_passes_1150() -> None:
    assert after(700, 440, 700, 440, 700, 1150, 1160) == [
        "electric",
        "vacuum",
        "electric",
        "vacuum",
        "vacuum",
        "vacuum",
        "electric",
    ]


def test_past_1150_the_drops_are_forgotten() -> None:
    # A blip between two drops makes the second a first one again.
    assert after(700, 440, 700, 1200, 700, 440, 700)[-1] == "electric"
    assert after(700, 440, 700, 900, 700, 440, 700)[-1] == "vacuum"


def test_cold_intake_air_alone_makes_the_vacuum_part_act_at_any_speed() -> None:
    assert after(700, 1500, 3000, air=COLD) == ["vacuum", "vacuum", "vacuum"]
    device = IdleActuator(curb_idle=CURB).after(speed=CURB, intake_air=si("54 degF"))
    assert device.stop == "vacuum"
    assert device.after(speed=CURB, intake_air=si("56 degF")).stop == "electric"


def test_a_cranking_engine_is_not_a_falling_one() -> None:
    assert after(0, 200, 300, 700) == ["electric"] * 4


def test_a_stopped_engine_has_no_vacuum_and_remembers_nothing() -> None:
    assert after(700, 440, 700, 440, 0) == ["electric", "vacuum", "electric", "vacuum", "electric"]
    assert after(700, 440, 700, 440, 0, 250, 700, 440, 700)[-1] == "electric"
    assert after(0, air=COLD) == ["electric"]


def test_each_stop_is_set_below_the_next() -> None:
    assert [text.split(",")[0] for text in ACTUATOR_ADJUSTMENTS] == ["lowest idle", "curb idle", "caught speed"]


@given(speeds=st.lists(st.floats(0, 100), max_size=30))
def test_once_the_engine_has_passed_1150_warm_nothing_holds_it(speeds: list[float]) -> None:
    states = followed(IdleActuator(curb_idle=CURB), [(speed, WARM) for speed in [*speeds, LETS_GO_AT + 1]])
    assert states[-1].stop == "electric"
    assert states[-1].drops == 0


@pytest.mark.parametrize(
    ("curb", "acts", "lets_go"),
    [(400, 450, 1150), (1200, 450, 1150), (700, 0, 1150)],
)
def test_speeds_that_do_not_go_together_are_refused(curb: float, acts: float, lets_go: float) -> None:
    with pytest.raises(RangeError, match="acts_at < curb_idle < lets_go_at"):
        IdleActuator(curb_idle=curb / 60, acts_at=acts / 60, lets_go_at=lets_go / 60)


@pytest.mark.parametrize("speed", [-1.0, float("nan")])
def test_a_speed_below_nothing_is_refused(speed: float) -> None:
    with pytest.raises(RangeError, match="it must be 0 or more"):
        IdleActuator(curb_idle=CURB).after(speed=speed, intake_air=WARM)
