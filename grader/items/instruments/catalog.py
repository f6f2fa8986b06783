"""Every instrument by its kind."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from grader.items.instruments import (
    angle_gauge,
    dial_gauge,
    drill_shanks,
    graduate,
    ohmmeter,
    steel_rule,
    tachometer,
    vacuum_gauge,
    vernier_caliper,
)
from grader.items.instruments.instrument import Instrument

_ALL = (vacuum_gauge, steel_rule, vernier_caliper, dial_gauge, graduate, ohmmeter, angle_gauge, drill_shanks, tachometer)

INSTRUMENTS: Mapping[str, Instrument] = MappingProxyType({one.INSTRUMENT.kind: one.INSTRUMENT for one in _ALL})
"""Every instrument, by what a bank calls it."""
