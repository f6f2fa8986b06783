"""
The air's way through the carburetor: one unknown, the manifold pressure. Fuel has no part in it.

Numbers in parentheses are those of the equations in `model.md` beside this file.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from grader.circuits.air import (
    Air,
    Array,
    Values,
    circle,
    isentropic_flow,
    plate_opening,
    venturi_depression,
)
from grader.circuits.principles import AIR_CONSTANT
from grader.circuits.solving import Method, roots
from grader.circuits.specimens import Carburetor
from grader.circuits.whole.columns import taken


@dataclass(frozen=True)
class AirPath:
    """
    The balance of air in the manifold, as an equation in its pressure.

    Coefficients, numbers or arrays: `ambient` [Pa], `density` [kg/m³], `temperature` [K]; the engine draws
    `filling` (pm - `least`) [kg/(s·Pa)], [Pa]; `cleaner`, `choke`, `venturi` are pressure lost over the carburetor's flow
    squared, times twice the density or as below; `throttle` and `leak` effective areas [m²].
    """

    ambient: Values
    temperature: Values
    filling: Values
    least: Values
    cleaner: Values
    choke: Values
    venturi: Values
    throttle: Values
    leak: Values

    def __call__(self, x: Array) -> Array:
        """(3.6) Air past the throttle less what the engine draws through the carburetor: falls as the pressure rises."""
        flow, upstream = self.flow(x)[1:3]
        return np.asarray(isentropic_flow(self.throttle, upstream, self.temperature, x) - flow)

    def flow(self, manifold: Array) -> tuple[Array, Array, Array, Array, Array]:
        """(3.1 to 3.5) Air into the cylinders, through the carburetor [kg/s]; pressure above the throttle, below the choke,
        in the horn."""
        drawn = self.filling * np.maximum(manifold - self.least, 0.0)
        through = drawn
        if np.any(self.leak):
            through = np.maximum(drawn - isentropic_flow(self.leak, self.ambient, self.temperature, manifold), 0.0)
        square = through * through
        horn = self.ambient - self.cleaner * square
        choked = np.sqrt(np.maximum(horn * (horn - self.choke * square), 0.0))
        upstream = np.maximum(choked - self.venturi * square, 0.0)
        return drawn, through, upstream, choked, horn

    def take(self, places: NDArray[Any]) -> AirPath:
        """The equations at some places, flat."""
        return taken(self, places)


@dataclass(frozen=True)
class Breath:
    """
    What the air does, one value for each point and carburetor.

    Pressures in Pa: manifold, above the throttle, below the choke plate, in the air horn; depressions below that in the air
    horn: at the main venturi, at the nozzle. Flows in kg/s: into the engine, through the carburetor. `mach` in the main venturi.
    """

    manifold: Array
    above_throttle: Array
    below_choke: Array
    horn: Array
    engine_air: Array
    air: Array
    main_depression: Array
    nozzle_depression: Array
    mach: Array


def air_path(c: Carburetor, air: Air, speed: Values, throttle: Values, choke: Values) -> AirPath:
    """
    The equation for carburetors `c` at a speed [rev/s], a throttle and a choke opening [rad].

    All are numbers, rows of shape (points, 1) or columns of shape (carburetors,).
    """
    off = (speed - c.best_filling_speed) / c.best_filling_speed
    efficiency = c.volumetric_efficiency * (1 - c.filling_loss * off * off)
    filling = (
        efficiency * c.displacement * speed / 2 / (AIR_CONSTANT * (air.temperature + c.charge_heating)) / (1 - c.residual_share)
    )
    plate = plate_opening(c.throttle_bore, c.throttle_shaft, c.throttle_closed_angle, throttle)
    choke_area = plate_opening(c.air_horn_bore, c.choke_shaft, c.choke_closed_angle, choke) + c.choke_clearance
    barrel = c.barrels * c.barrels * air.density
    return AirPath(
        ambient=air.pressure,
        temperature=air.temperature,
        filling=filling,
        least=c.residual_share * air.pressure,
        cleaner=c.air_cleaner_resistance / (2 * air.density),
        choke=1 / (barrel * (c.choke_discharge * choke_area) ** 2),
        venturi=c.venturi_loss / (2 * barrel * venturi_area(c) ** 2),
        throttle=c.barrels * c.throttle_discharge * (plate + c.throttle_clearance) + c.leak_discharge * c.idle_bypass,
        leak=c.leak_discharge * c.manifold_leak,
    )


def venturi_area(c: Carburetor) -> Values:
    """(3.5) What the booster leaves of the main venturi, a barrel."""
    return circle(c.venturi_bore) - circle(c.booster_outside) + circle(c.booster_bore)


def breathe(c: Carburetor, path: AirPath, method: Method) -> Breath:
    """Solve the air's path and say what the air does; NaN where no manifold pressure balances it."""
    shape = np.broadcast_shapes(*(np.shape(getattr(path, name)) for name in path.__dataclass_fields__))
    low = np.array(np.broadcast_to(path.least, shape), dtype=np.float64)
    high = np.array(np.broadcast_to(path.ambient, shape), dtype=np.float64)
    manifold = roots(path, low, high, method)
    drawn, through, upstream, choked, horn = (np.broadcast_to(each, shape) for each in path.flow(manifold))
    with np.errstate(all="ignore"):
        at_throat = c.venturi_discharge * venturi_area(c)
        depression, mach = venturi_depression(through / c.barrels, at_throat, np.maximum(choked, 1.0), path.temperature)
    lost = horn - choked
    return Breath(
        manifold, upstream, choked, horn, drawn, through, lost + depression, lost + c.booster_multiplication * depression, mach
    )  # fmt: skip
