"""
The devices that move the throttle's stop at idle, each as a small state machine: what it is told, and what it does then.

A device is a value that never changes; `after` gives the device as it is a moment later. Speeds, times and temperatures here are
common practice, no source; the sheet and the decal of the engine decide.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from grader.base.errors import RangeError

RELEASE_DELAY = 2.0
"""How long load compensation stays on after its load is off: common practice, no source. [s]"""

ACTS_AT = 450 / 60
"""Speed to which the engine must fall for the actuator to catch it: common practice, no source. [rev/s]"""

LETS_GO_AT = 1150 / 60
"""Speed past which it lets go after a second drop: common practice, no source. [rev/s]"""

COLD_AIR = (55 + 459.67) * 5 / 9
"""Intake air below this is cold, 55 °F: common practice, no source. [K]"""

Stop = Literal["solenoid", "screw"]
Place = Literal["vacuum", "electric", "screw"]


@dataclass(frozen=True, slots=True)
class ThrottleStopSolenoid:
    """
    A solenoid that is the throttle's idle stop while the ignition is on, and takes it away when it is off.

    Without it the throttle closes past curb idle, so far that a hot engine gets no air to run on with. Its plunger can hold the
    throttle but not push it open: it comes out when the driver opens the throttle a little (common practice, no source).

    Examples
    --------
    >>> stop = ThrottleStopSolenoid().after(ignition=True)
    >>> stop.stop, stop.after(ignition=True, throttle_opened=True).stop
    ('screw', 'solenoid')
    """

    energised: bool = False
    extended: bool = False

    def after(self, *, ignition: bool, throttle_opened: bool = False) -> ThrottleStopSolenoid:
        """The solenoid once the ignition is on or off; `throttle_opened` where the driver has opened the throttle meanwhile."""
        return ThrottleStopSolenoid(ignition, ignition and (self.extended or throttle_opened))

    @property
    def stop(self) -> Stop:
        """Which stop the throttle comes to rest on: the solenoid's plunger (curb idle) or the screw below it."""
        return "solenoid" if self.extended else "screw"


THROTTLE_STOP_ADJUSTMENTS = (
    "curb idle, at the plunger, the solenoid fed and the throttle opened once by hand",
    "lower idle, at the stop screw, the solenoid's lead off",
)
"""Its two adjustments in their order; the other way about, the screw would carry the curb idle: common practice, no source."""


@dataclass(frozen=True, slots=True)
class LoadCompensator:
    """
    A solenoid that opens the throttle a little while an accessory loads the engine, and holds it for a while after.

    The load is not gone the moment its switch opens, and one that comes and goes would make the idle hunt: so the throttle is let
    down only when the load has been off for the delay (common practice, no source).

    Parameters
    ----------
    holds : bool
        Whether it holds the throttle open.
    off_for : float
        How long the load has been off. [s]
    delay : float
        [s]

    Examples
    --------
    >>> working = LoadCompensator().after(load=True, seconds=0)
    >>> working.after(load=False, seconds=1.9).holds, working.after(load=False, seconds=2.1).holds
    (True, False)
    """

    holds: bool = False
    off_for: float = 0.0
    delay: float = RELEASE_DELAY

    def after(self, *, load: bool, seconds: float) -> LoadCompensator:
        """The solenoid when the load has been on, or off, for so many more seconds. Raises `RangeError` for a time below 0."""
        if not seconds >= 0:
            raise RangeError(f"seconds is {seconds:g}; time does not run backwards")
        if load:
            return replace(self, holds=True, off_for=0.0)
        off_for = self.off_for + seconds
        return replace(self, holds=self.holds and off_for < self.delay, off_for=off_for)


@dataclass(frozen=True, slots=True)
class IdleActuator:
    """
    A solenoid and a vacuum diaphragm on one plunger: the electric part holds curb idle, the vacuum part opens further.

    The electric part acts while it is fed. The vacuum part acts while the intake air is colder than about 55 °F, and when a
    running engine falls to about 450 rev/min. The first time it lets go once the engine is back at its curb idle. A second drop
    says that the engine cannot hold its idle: now it holds until the driver takes the engine past about 1150 rev/min. Past that
    speed the drops are forgotten. All of it common practice, no source; that a first catch ends at curb idle is this course's
    reading.

    Parameters
    ----------
    curb_idle : float
        [rev/s]
    fed : bool
        Whether the electric part has its voltage.
    running : bool
        Whether the engine has been above `acts_at` since it was started: a cranking engine is not a falling one.
    drops : int
        Since the engine last passed `lets_go_at`.
    caught, cold : bool
        Why the vacuum part acts.
    acts_at, lets_go_at, cold_air : float
        [rev/s], [rev/s], [K]

    Examples
    --------
    >>> at_idle = IdleActuator(curb_idle=700 / 60).after(speed=700 / 60, intake_air=293.15)
    >>> at_idle.stop, at_idle.after(speed=440 / 60, intake_air=293.15).stop
    ('electric', 'vacuum')
    """

    curb_idle: float
    fed: bool = False
    running: bool = False
    drops: int = 0
    caught: bool = False
    cold: bool = False
    acts_at: float = ACTS_AT
    lets_go_at: float = LETS_GO_AT
    cold_air: float = COLD_AIR

    def __post_init__(self) -> None:
        if not 0 < self.acts_at < self.curb_idle < self.lets_go_at:
            said = ", ".join(f"{60 * speed:.0f}" for speed in (self.acts_at, self.curb_idle, self.lets_go_at))
            raise RangeError(f"the speeds are {said} rev/min; it must hold that acts_at < curb_idle < lets_go_at")

    @property
    def stop(self) -> Place:
        """What the throttle comes to rest on: the vacuum part, the electric part below it, or the stop screw below both."""
        if self.caught or self.cold:
            return "vacuum"
        return "electric" if self.fed else "screw"

    def after(self, *, speed: float, intake_air: float, fed: bool = True) -> IdleActuator:
        """
        The actuator once the engine has come to a speed [rev/s], its intake air at a temperature [K].

        Raises `RangeError` for a speed below 0.
        """
        if not speed >= 0:
            raise RangeError(f"speed is {60 * speed:g} rev/min; it must be 0 or more")
        if speed == 0:  # stopped: no vacuum, and nothing is remembered
            return replace(self, fed=fed, running=False, drops=0, caught=False, cold=False)
        moved = self._held(speed) if self.caught else self._free(speed)
        return replace(moved, fed=fed, cold=intake_air < self.cold_air)

    def _held(self, speed: float) -> IdleActuator:
        if speed > self.lets_go_at:
            return replace(self, caught=False, drops=0)
        if self.drops == 1 and speed >= self.curb_idle:
            return replace(self, caught=False)
        return self

    def _free(self, speed: float) -> IdleActuator:
        if self.running and speed <= self.acts_at:
            return replace(self, caught=True, drops=self.drops + 1)
        drops = 0 if speed > self.lets_go_at else self.drops
        return replace(self, running=self.running or speed > self.acts_at, drops=drops)


ACTUATOR_ADJUSTMENTS = (
    "lowest idle, at the stop screw, both parts at rest",
    "curb idle, at the electric part, fed, the vacuum hose off and plugged",
    "caught speed, at the vacuum part, with a hand pump",
)
"""Its three adjustments; the sheet gives their order, often this one, each stop under the next: common practice, no source."""


def followed(device: IdleActuator, readings: Iterable[tuple[float, float]]) -> list[IdleActuator]:
    """
    The actuator after each reading of speed [rev/s] and intake air [K], in their order.

    >>> warm = [(speed / 60, 293.15) for speed in (700, 440, 700, 440, 900, 1200)]
    >>> [state.stop for state in followed(IdleActuator(curb_idle=700 / 60), warm)]
    ['electric', 'vacuum', 'electric', 'vacuum', 'vacuum', 'electric']
    """
    states = []
    for speed, intake_air in readings:
        device = device.after(speed=speed, intake_air=intake_air)
        states.append(device)
    return states
