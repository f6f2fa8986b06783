"""Altitude: how much richer a carburetor runs in thin air, and what bleeds a two-position compensator must add."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from grader.base.errors import UseError
from grader.circuits.air import Array, standard_air
from grader.circuits.carburetor import Conditions, points_of, solve
from grader.circuits.fuels import GASOLINE, Fuel
from grader.circuits.running import idle_point
from grader.circuits.specimens import Carburetor, OperatingPoint, Specimen, healthy

HALVINGS = 50
WIDEST = 0.1 * 0.0254
"""The widest bleed that is looked for. [m]"""


@dataclass(frozen=True)
class Altitude:
    """
    A specimen at an altitude, uncorrected and with a compensator's bleeds open.

    `square_root_law` is the mixture there over that at sea level by that law; `uncorrected`, `corrected` and `left_open` the
    computed ones, at each operating point: nothing done, bleeds open at altitude, bleeds left open at sea level. `idle_bleed`,
    `main_bleed` are the bores of the further holes [m]; NaN where no hole restores the mixture (`reason` says why). `jet_share`
    is the share of the main jet's open area that restores the main point without a compensator.
    """

    altitude: float
    density_ratio: float
    square_root_law: float
    uncorrected: Array
    corrected: Array
    left_open: Array
    idle_bleed: float
    main_bleed: float
    jet_share: float
    reason: str

    def as_json(self, names: Sequence[str]) -> dict[str, Any]:
        """As `grader curves --json` prints it: shares by operating point, bores in inches (null where there is none)."""

        def by_point(shares: Array) -> dict[str, float]:
            return {name: round(float(share), 6) for name, share in zip(names, shares, strict=True)}

        def inches(bore: float) -> float | None:
            return None if np.isnan(bore) else round(bore / 0.0254, 6)

        return {
            "density_ratio": round(self.density_ratio, 6),
            "square_root_law": round(self.square_root_law, 6),
            "uncorrected": by_point(self.uncorrected),
            "corrected": by_point(self.corrected),
            "left_open_at_sea_level": by_point(self.left_open),
            "idle_bleed_in": inches(self.idle_bleed),
            "main_bleed_in": inches(self.main_bleed),
            "jet_share": round(self.jet_share, 6),
            "reason": self.reason,
        }


def at_altitude(specimen: Specimen, altitude: float, fuel: Fuel = GASOLINE, main_at: str = "cruise") -> Altitude:
    """
    How rich a specimen runs at an altitude [m], and the holes that a two-position compensator opens to put it right.

    The idle hole restores curb idle, the main hole the point named `main_at`; at the other points what is left over stands in
    `corrected`: a compensator is open or shut, so it is right at one altitude and one load of each circuit only. Both holes
    open in the air horn; the idle one lies beside the idle bleed, the main one leads to the nozzle.

    Raises `RangeError` for an altitude outside 0 to 11 000 m, `UseError` where the sheet has no such point.
    """
    here, there = Conditions(standard_air(0.0), fuel), Conditions(standard_air(altitude), fuel)
    made, points = healthy(specimen), points_of(specimen.points)
    at_sea = solve(made, points, here).air_fuel[:, 0]
    ratio = float(there.air.density) / float(here.air.density)
    uncorrected = solve(made, points, there).air_fuel[:, 0] / at_sea

    idle_row = specimen.points.index(idle_point(specimen))
    main_row = specimen.points.index(_named(specimen, main_at))
    leaner = ("compensator_idle_bleed", 0.0, WIDEST), ("compensator_main_bleed", 0.0, WIDEST)
    jet_share = _restoring(_mixture(made, specimen.points[main_row], there, "main_jet_open_share"), at_sea[main_row], 1.0, 0.2)
    bores = []
    for (name, low, high), row in zip(leaner, (idle_row, main_row), strict=True):
        bores.append(_restoring(_mixture(made, specimen.points[row], there, name), at_sea[row], low, high))
        made = _with(made, name, 0.0 if np.isnan(bores[-1]) else bores[-1])
    lacking = [what for what, bore in zip(("idle", "main"), bores, strict=True) if np.isnan(bore)]
    return Altitude(
        altitude=altitude,
        density_ratio=ratio,
        square_root_law=float(np.sqrt(ratio)),
        uncorrected=uncorrected,
        corrected=solve(made, points, there).air_fuel[:, 0] / at_sea,
        left_open=solve(made, points, here).air_fuel[:, 0] / at_sea,
        idle_bleed=bores[0],
        main_bleed=bores[1],
        jet_share=jet_share,
        reason=f"no {' or '.join(lacking)} bleed of up to {WIDEST / 0.0254:g} in restores the mixture" if lacking else "",
    )


def _named(specimen: Specimen, name: str) -> OperatingPoint:
    for point in specimen.points:
        if point.name == name:
            return point
    raise UseError(f"{specimen.id} has no operating point `{name}`; it has {', '.join(p.name for p in specimen.points)}")


def _with(c: Carburetor, name: str, value: float) -> Carburetor:
    changed: dict[str, Any] = {name: value}
    return replace(c, **changed)


def _mixture(c: Carburetor, point: OperatingPoint, conditions: Conditions, name: str) -> Callable[[float], float]:
    def mixture(value: float) -> float:
        found = float(solve(_with(c, name, value), points_of([point]), conditions, checked=False).air_fuel[0, 0])
        return float("inf") if np.isnan(found) else found  # so wide a bleed that no fuel comes

    return mixture


def _restoring(mixture: Callable[[float], float], wanted: float, rich: float, lean: float) -> float:
    """The value between a rich and a lean end that gives a mixture; NaN where the ends do not hold it."""
    if not mixture(rich) <= wanted <= mixture(lean):
        return float("nan")
    for _ in range(HALVINGS):
        middle = (rich + lean) / 2
        rich, lean = (middle, lean) if mixture(middle) < wanted else (rich, middle)
    return (rich + lean) / 2
