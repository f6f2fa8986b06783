"""
What goes wrong with a carburetor, each fault as a change of its values, and the names by which commands call them.

A name is what the trade says, in lower case, its words joined by hyphens: `rod-stuck-down`, `level-1/8-in-high`. Of a size
that matters the figure stands in the name. Where only one fault starts so, the first words are enough: `needle-worn`.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any, Literal

import numpy as np

from grader.base.errors import RangeError, UseError
from grader.base.quantities import unit
from grader.circuits.air import Values
from grader.circuits.specimens import Carburetor, Specimen, healthy, side_by_side

How = Literal["add", "times", "hold"]


@dataclass(frozen=True, slots=True)
class Change:
    """A value changed: `add` an amount, multiply it (`times`), or `hold` it there. SI; `of` takes the amount from another
    value."""

    name: str
    how: How
    amount: float
    of: str = ""

    def applied(self, value: Values, size: float, carburetor: Carburetor) -> Values:
        """The value after so much of the change: 0 none, 1 all of it."""
        amount = getattr(carburetor, self.of) if self.of else self.amount
        if self.how == "add":
            return value + size * amount
        if self.how == "times":
            return value * (1 + size * (amount - 1))
        return amount if size > 0 else value


@dataclass(frozen=True, slots=True)
class Fault:
    """
    A fault: its name, what it is in a sentence, the values it changes.

    `needs` names a value without which the fault cannot be (a bypass that the sheet does not have).
    """

    name: str
    says: str
    changes: tuple[Change, ...]
    needs: str = ""

    def fits(self, specimen: Specimen) -> bool:
        """Whether this carburetor has the part."""
        return not self.needs or bool(np.all(getattr(specimen, self.needs) > 0))

    def applied(self, carburetor: Specimen, size: float = 1.0) -> Carburetor:
        """
        The carburetor with so much of the fault: 0 is healthy, 1 the fault as named; for what only sticks, anything above 0
        is all.

        Raises `UseError` where the carburetor does not have the part, `RangeError` for a size below 0.
        """
        if not 0 <= size < np.inf:
            raise RangeError(f"size of {self.name} is {size:g}; it must lie from 0 (healthy) up, 1 is the fault as named")
        if not self.fits(carburetor):
            raise UseError(f"{carburetor.id} cannot have `{self.name}`: its {self.needs} is 0")
        made = carburetor if isinstance(carburetor, Carburetor) else healthy(carburetor)
        changed: dict[str, Any] = {change.name: change.applied(getattr(made, change.name), size, made) for change in self.changes}
        return replace(made, **changed)


def _si(number: float, measure: str) -> float:
    return float(unit(measure).factor) * number


def _add(name: str, number: float, measure: str = "1") -> Change:
    return Change(name, "add", _si(number, measure))


def _times(name: str, factor: float) -> Change:
    return Change(name, "times", factor)


def _hold(name: str, number: float, measure: str = "1") -> Change:
    return Change(name, "hold", _si(number, measure))


def _hole(bore: float) -> float:
    """Area of a hole of so many inches, in square inches."""
    return float(np.pi / 4 * bore**2)


def _fault(name: str, says: str, *changes: Change, needs: str = "") -> Fault:
    return Fault(name, says, changes, needs)


_ALL = (
    # The float circuit.
    _fault(
        "level-1/8-in-high",
        "The float is set so that the fuel stands 1/8 in too high in the bowl.",
        _add("level_error", 0.125, "in"),
    ),
    _fault(
        "level-1/8-in-low",
        "The float is set so that the fuel stands 1/8 in too low in the bowl.",
        _add("level_error", -0.125, "in"),
    ),
    _fault(
        "needle-worn-level-3/8-in-high",
        "A worn needle lets fuel past until it stands 3/8 in too high.",
        _add("level_error", 0.375, "in"),
    ),
    _fault(
        "float-logged-weight-x-1.6",
        "Fuel has soaked into the float; it weighs 1.6 times as much and shuts the needle too late.",
        _times("float_weight", 1.6),
    ),
    _fault("fuel-pressure-+-4-psi", "The pump delivers 4 psi more than the sheet asks for.", _add("fuel_pressure", 4, "psi")),
    _fault("inlet-blocked-to-1/4", "A clogged filter leaves a quarter of the fuel inlet.", _times("inlet_open_share", 0.25)),
    # The idle circuit.
    _fault("idle-bleed-blocked-to-1/2", "Dirt leaves half of the idle air bleed.", _times("idle_bleed_open_share", 0.5)),
    _fault("idle-bleed-blocked", "Dirt leaves next to nothing of the idle air bleed.", _times("idle_bleed_open_share", 0.02)),
    _fault("idle-jet-blocked-to-1/3", "Dirt leaves a third of the idle jet.", _times("idle_jet_open_share", 1 / 3)),
    _fault("economiser-blocked-to-1/6", "Dirt leaves a sixth of the economiser.", _times("economiser_open_share", 1 / 6)),
    _fault("mixture-screw-1/2-turn-in", "The mixture screw stands half a turn too far in.", _add("mixture_screw_turns", -0.5)),
    _fault("mixture-screw-1/2-turn-out", "The mixture screw stands half a turn too far out.", _add("mixture_screw_turns", 0.5)),
    _fault(
        "plates-2-deg-too-far-open", "The throttle stop holds the plates 2° too far open at idle.", _add("stop_error", 2, "deg")
    ),
    # The main circuit.
    _fault("main-jet-blocked-to-0.85", "Varnish leaves 85 % of the main jet.", _times("main_jet_open_share", 0.85)),
    _fault("main-jet-0.004-in-over", "A main jet 0.004 in too large is fitted.", _add("main_jet", 0.004, "in")),
    _fault("main-jet-0.003-in-under", "A main jet 0.003 in too small is fitted.", _add("main_jet", -0.003, "in")),
    _fault("main-bleed-blocked", "Dirt leaves next to nothing of the main air bleed.", _times("main_bleed_open_share", 0.02)),
    _fault("nozzle-blocked-to-0.7", "Deposits leave 70 % of the nozzle.", _times("nozzle_open_share", 0.7)),
    _fault(
        "cluster-gasket-leak",
        "The cluster's gasket leaks air into the idle and the main passages, as much as a hole of 0.030 in.",
        Change("gasket_leak", "add", 0.65 * _si(_hole(0.030), "in^2")),
    ),
    # Air where none should come in.
    _fault(
        "manifold-leak-1/8-in",
        "Air leaks into the manifold as through a hole of 1/8 in.",
        _add("manifold_leak", _hole(0.125), "in^2"),
    ),
    _fault(
        "throttle-shaft-worn",
        "The throttle shaft is worn; 0.008 in² more air a barrel passes it.",
        _add("throttle_clearance", 0.008, "in^2"),
    ),
    # Metering rods.
    _fault("rod-stuck-down", "The metering rods stick in the jets at the bottom.", _hold("rod_held_at", 0)),
    _fault("rod-stuck-up", "The metering rods stick at the top.", Change("rod_held_at", "hold", 0.0, "greatest_rod_lift")),
    _fault("spring-weak-force-x-0.5", "The power spring is weak: half its force.", _times("power_spring_force", 0.5)),
    _fault(
        "spring-strong-force-x-2.2",
        "The power spring is stretched or the wrong one: 2.2 times its force.",
        _times("power_spring_force", 2.2),
    ),
    _fault(
        "piston-bore-leaking",
        "Vacuum leaks past the piston, which pulls as one of three tenths its diameter.",
        _times("vacuum_piston_bore", 0.3),
    ),
    _fault("lifter-tab-0.110-in-high", "The lifter tab is bent 0.110 in too high.", _add("lifter_offset", 0.110, "in")),
    # Accelerator pump.
    _fault("pump-discharge-check-missing", "The pump's discharge check was left out.", _times("check_weight_share", 0)),
    _fault("pump-discharge-check-leaking", "The pump's discharge check does not seat.", _add("check_leak_share", 0.3)),
    _fault(
        "pump-jet-bleed-blocked",
        "Dirt blocks the air bleed of the pump jets.",
        _times("pump_jet_bleed", 0),
        needs="pump_jet_bleed",
    ),
    # Vents, choke plate, air cleaner.
    _fault("bowl-vent-blocked", "Dirt leaves a hundredth of the bowl vent.", _times("bowl_vent_area", 0.01)),
    _fault("choke-stuck-at-20-deg", "The choke plate sticks 20° open, engine warm.", _hold("choke_held_at", 20, "deg")),
    _fault("choke-stuck-at-45-deg", "The choke plate sticks 45° open, engine warm.", _hold("choke_held_at", 45, "deg")),
    _fault(
        "vacuum-break-split",
        "The vacuum break's diaphragm is split; it no longer opens a cold choke after the start.",
        _times("vacuum_break_spring", 0),
    ),
    _fault("choke-coil-15-deg-rich", "The coil's cover is turned 15° rich of its mark.", _add("coil_index", -15, "deg")),
    _fault("choke-coil-15-deg-lean", "The coil's cover is turned 15° lean of its mark.", _add("coil_index", 15, "deg")),
    _fault("air-cleaner-blocked", "The air cleaner is clogged: 15 times its resistance.", _times("air_cleaner_resistance", 15)),
    _fault(
        "air-cleaner-blocked-outside-vent",
        "The air cleaner is clogged, 15 times its resistance, and the bowl is vented outside it.",
        _times("air_cleaner_resistance", 15),
        _add("vent_outside", 1),
    ),
    _fault("idle-bypass-blocked", "Dirt blocks the idle bypass.", _times("idle_bypass", 0), needs="idle_bypass"),
)

FAULTS = MappingProxyType({fault.name: fault for fault in _ALL})
"""Every fault by its name, in the order of the circuits."""


def _folded(name: str) -> tuple[str, ...]:
    """Its words and figures: case, hyphens, commas and signs do not tell faults apart."""
    return tuple(word for word in re.findall(r"[a-z]+|[0-9]+(?:\.[0-9]+)?", name.lower()) if word != "plus")


def fault_named(name: str) -> Fault:
    """
    A fault by its name, or by its first words where they leave no doubt.

    Raises `UseError` for an unknown name, with the nearest; for first words of several, with those.

    >>> fault_named("rod-stuck-down").says
    'The metering rods stick in the jets at the bottom.'
    >>> fault_named("Level 1/8 in high").name, fault_named("needle-worn").name
    ('level-1/8-in-high', 'needle-worn-level-3/8-in-high')
    """
    words = _folded(name[:120])
    whole = [fault for key, fault in FAULTS.items() if _folded(key) == words]
    if whole:
        return whole[0]
    started = [fault for key, fault in FAULTS.items() if words and _folded(key)[: len(words)] == words]
    if len(started) == 1:
        return started[0]
    shown = name[:60]
    if started:
        raise UseError(f"`{shown}` may be {' or '.join(f'`{fault.name}`' for fault in started)}; write which")
    near = difflib.get_close_matches("-".join(words), list(FAULTS), 1, 0.5)
    hint = f"did you mean `{near[0]}`?" if near else "`grader curves --faults` lists them all"
    raise UseError(f"`{shown}` is not a fault known here; {hint}")


def with_faults(specimen: Specimen, faults: Sequence[Fault]) -> Carburetor:
    """A healthy carburetor in the first column, then one for each fault."""
    return side_by_side([healthy(specimen), *(fault.applied(specimen) for fault in faults)])
