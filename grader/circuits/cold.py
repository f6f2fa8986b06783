"""
The cold engine: where the choke plate comes to rest between coil, air stream and vacuum break, and the whole carburetor there.

Fuel that does not vaporise is left out: the mixture here is what is delivered, which must be far richer than the engine burns.
"""

from __future__ import annotations

import numpy as np

from grader.circuits.air import Array, Values, circle
from grader.circuits.carburetor import SEA_LEVEL, Conditions, Points, States, columns_of, complete, in_rows, positions
from grader.circuits.solving import Method
from grader.circuits.sound import require_sound
from grader.circuits.specimens import Carburetor, Specimen, healthy
from grader.circuits.whole.breathing import Breath, air_path, breathe

HALVINGS = 40


def opening_torque(c: Carburetor, choke: Values, drop: Values, vacuum: Values, coil_temperature: Values) -> Values:
    """
    (10.1) What turns the choke plate open, less what holds it shut. [N·m]

    Parameters
    ----------
    choke : float or array
        Its opening. [rad]
    drop, vacuum : float or array
        Across the choke plate; of the manifold below the air horn. [Pa]
    coil_temperature : float or array
        [K]
    """
    stream = c.air_torque_factor * drop * circle(c.air_horn_bore) * c.choke_plate_offset * np.cos(c.choke_closed_angle + choke)
    pulled = np.where(vacuum > c.vacuum_break_acts, c.vacuum_break_spring * np.maximum(c.vacuum_break_angle - choke, 0.0), 0.0)
    return stream + pulled - c.coil_rate * (choke - free_coil(c, coil_temperature))


def free_coil(c: Specimen, coil_temperature: Values) -> Values:
    """(10.1) The opening at which the coil alone would hold the plate; below 0 it presses it shut. [rad]"""
    return c.coil_deflection * (coil_temperature - c.coil_neutral) + c.coil_index


def fast_idle(c: Specimen, choke: Values, curb: Values) -> Array:
    """(10.4) Throttle angle on the fast-idle cam for a choke opening; the curb angle once the cam has dropped away. [rad]"""
    throttle = np.broadcast_to(np.asarray(curb, dtype=np.float64), np.broadcast_shapes(np.shape(curb), np.shape(choke)))
    for below, step in c.fast_idle_steps:
        throttle = np.where(np.asarray(choke) < below, np.maximum(step, curb), throttle)
    return throttle


def solve_cold(
    carburetor: Specimen, points: Points, coil_temperature: float, conditions: Conditions = SEA_LEVEL, method: Method = "fast"
) -> States:
    """
    The states with a cold choke, the coil at a temperature [K].

    The choke plate rests where its torques balance, or on a stop; where the throttle rests on its stop, the fast-idle cam
    holds it. A choke that is stuck stays where it sticks. Raises as `carburetor.solve`.
    """
    made = carburetor if isinstance(carburetor, Carburetor) else healthy(carburetor)
    require_sound(made)
    local = in_rows(conditions, slice(None))
    speed, asked, _ = positions(made, points)
    shape = np.broadcast_shapes(np.shape(speed), np.shape(asked), (columns_of(made),))
    low = np.zeros(shape)
    high = np.array(np.broadcast_to(made.choke_travel, shape), dtype=np.float64)
    stuck = np.broadcast_to(~np.isnan(made.choke_held_at), shape)
    for _ in range(HALVINGS):
        choke = _choke(made, (low + high) / 2)
        b = _breath(made, local, speed, _throttle(made, points, asked, choke), choke, method)
        opens = opening_torque(made, choke, b.horn - b.below_choke, b.horn - b.manifold, coil_temperature) > 0
        low, high = np.where(opens, choke, low), np.where(opens, high, choke)
    choke = _choke(made, np.where(stuck, high, (low + high) / 2))
    throttle = _throttle(made, points, asked, choke)
    return complete(made, local, _breath(made, local, speed, throttle, choke, method), throttle, choke, method)


def _choke(c: Carburetor, free: Array) -> Array:
    return np.where(np.isnan(c.choke_held_at), free, c.choke_held_at)


def _throttle(c: Carburetor, points: Points, asked: Values, choke: Array) -> Values:
    on_stop = points.on_stop[:, None]
    return np.where(on_stop, fast_idle(c, choke, asked), asked) if on_stop.any() else asked


def _breath(c: Carburetor, conditions: Conditions, speed: Values, throttle: Values, choke: Array, method: Method) -> Breath:
    return breathe(c, air_path(c, conditions.air, speed, throttle, choke), method)
