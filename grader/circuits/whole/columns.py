"""Many equations of one form, whose coefficients are arrays: spread to one shape, or taken at some places only."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

E = TypeVar("E", bound=Any)


def taken(equations: E, places: NDArray[Any]) -> E:
    """
    The equations at some places, flat: every coefficient that is an array is spread to the shape of `places` and cut to them.

    Coefficients that are plain numbers stay so; an array marked whole (all places) is only spread and laid flat.
    """
    whole = bool(places.all())
    found: dict[str, Any] = {}
    for f in fields(equations):
        value = getattr(equations, f.name)
        if not isinstance(value, np.ndarray) or value.ndim == 0:
            continue
        if value.size == 1:
            found[f.name] = float(value.reshape(-1)[0])
            continue
        spread = value if value.shape == places.shape else np.broadcast_to(value, places.shape)
        found[f.name] = np.ascontiguousarray(spread).reshape(-1) if whole else spread[places]
    return replace(equations, **found)
