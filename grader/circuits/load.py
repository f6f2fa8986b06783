"""The throttle angle for a load: what a technician knows is the vacuum, or how much of its air the engine takes."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from grader.base.errors import RangeError
from grader.circuits.air import Array, Values
from grader.circuits.carburetor import SEA_LEVEL, Conditions, Points, in_rows, points_at, positions
from grader.circuits.sound import require_sound
from grader.circuits.specimens import Carburetor, Specimen, healthy
from grader.circuits.whole.breathing import Breath, air_path, breathe

HALVINGS = 50


def throttle_for_vacuum(specimen: Specimen, speed: Values, vacuum: Values, conditions: Conditions = SEA_LEVEL) -> Array:
    """
    The throttle angle at which the manifold shows a vacuum. [rad]

    Parameters
    ----------
    speed, vacuum : float or array
        One for each point. [rev/s], [Pa below ambient]

    Returns
    -------
    ndarray, shape of the points
        NaN where no angle gives that vacuum at that speed (`Reason.NOT_REACHED`).

    Raises
    ------
    RangeError
        A vacuum below 0, or not a number; a speed out of range.
    """
    wanted = _checked("vacuum", vacuum, np.inf)
    return _angle(specimen, speed, conditions, lambda b, ambient: (ambient - b.manifold)[:, 0] - wanted)


def throttle_for_share(specimen: Specimen, speed: Values, share: Values, conditions: Conditions = SEA_LEVEL) -> Array:
    """
    The throttle angle at which the engine takes a share of the air that it takes wide open at that speed. [rad]

    NaN where no angle gives it: the closed throttle passes more, or the share is above 1. Raises `RangeError` for a share
    below 0.
    """
    wanted = _checked("share of full air", share, 1.0)
    made = _made(specimen)
    points = points_at(np.atleast_1d(speed), [0.0])
    widest = np.pi / 2 - float(np.max(made.throttle_closed_angle))
    most = _breath(made, points, np.full((len(points), 1), widest), conditions).engine_air[:, 0]
    return _angle(specimen, speed, conditions, lambda b, _: wanted * most - b.engine_air[:, 0])


def _checked(name: str, value: Values, greatest: float) -> Array:
    numbers = np.atleast_1d(np.asarray(value, dtype=np.float64))
    wrong = numbers[~((numbers >= 0) & (numbers <= greatest))]
    if wrong.size:
        raise RangeError(f"{name} is {wrong[0]:g}; it must lie from 0 {f'to {greatest:g}' if np.isfinite(greatest) else 'up'}")
    return numbers


def _made(specimen: Specimen) -> Carburetor:
    made = specimen if isinstance(specimen, Carburetor) else healthy(specimen)
    require_sound(made)
    return made


def _breath(c: Carburetor, points: Points, throttle: Array, conditions: Conditions) -> Breath:
    speed, _, choke = positions(c, points)
    return breathe(c, air_path(c, in_rows(conditions, slice(None)).air, speed, throttle, choke), "fast")


def _angle(specimen: Specimen, speed: Values, conditions: Conditions, excess: Callable[[Breath, Values], Array]) -> Array:
    """Halving the throttle's travel on what is too much with the plate shut and too little with it open."""
    made = _made(specimen)
    points = points_at(np.atleast_1d(speed), [0.0])
    ambient = in_rows(conditions, slice(None)).air.pressure

    def over(throttle: Array) -> Array:
        return excess(_breath(made, points, throttle[:, None], conditions), ambient)

    low = np.zeros(len(points))
    high = np.full(len(points), np.pi / 2 - float(np.max(made.throttle_closed_angle)))
    at_low, at_high = over(low), over(high)
    shape = at_low.shape
    low, high = np.array(np.broadcast_to(low, shape)), np.array(np.broadcast_to(high, shape))
    # A load asked for may be the widest throttle's own, to the last bit.
    held = (at_low >= 0) & (at_high <= 1e-9 * np.maximum(np.abs(at_low), 1e-12))
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        more = over(middle) > 0
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    return np.where(held, (low + high) / 2, np.nan)
