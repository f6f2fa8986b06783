"""
The choke as it warms: the temperature of its coil in time, by hot air and by an electric heater, and the place of its plate.

The air flow is taken as given. How throttle, choke and engine settle together is the cold carburetor's business.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from grader.base.errors import RangeError
from grader.circuits.air import plate_opening
from grader.circuits.choke import (
    air_torque,
    choke_opening_torque,
    coil_end_temperature,
    coil_free_angle,
    coil_temperature,
    coil_torque,
    heater_power,
    vacuum_break_torque,
    warm_up_time,
)
from grader.circuits.specimens import Specimen

Array = NDArray[np.float64]

FULL_HEAT_ABOVE = 288.71
"""Coil temperature at which the second half of an electric assist comes on, about 60 °F: common practice, no source. [K]"""

HALVINGS = 50


@dataclass(frozen=True, slots=True)
class ChokeCoil:
    """
    A bimetal coil in its housing.

    Parameters
    ----------
    rate : float
        Torque for each radian it is held back. [N·m/rad]
    turn : float
        For each kelvin. [rad/K]
    shut_at : float
        Temperature at which it just shuts the plate, the cover at its mark. [K]
    index : float
        What the cover is turned from its mark, lean positive. [rad]
    time_constant : float
        [s]
    hot_air_rise : float
        What hot air from the exhaust warms it above the air round it, in the end. [K]
    """

    rate: float
    turn: float
    shut_at: float
    time_constant: float
    hot_air_rise: float
    index: float = 0.0


@dataclass(frozen=True, slots=True)
class ElectricAssist:
    """
    An electric heater beside the coil.

    Parameters
    ----------
    resistance : float
        Hot; 4 to 12 ohm: common practice, no source. [ohm]
    rise_per_watt : float
        What a watt warms the coil by, in the end. Illustrative. [K/W]
    share_when_cold : float
        Part of the heat below `full_heat_above`, 0 to 1: common practice, no source.
    full_heat_above : float
        [K]
    """

    resistance: float
    rise_per_watt: float
    share_when_cold: float = 0.5
    full_heat_above: float = FULL_HEAT_ABOVE

    def __post_init__(self) -> None:
        if not 0 <= self.share_when_cold <= 1:
            raise RangeError(f"share_when_cold is {self.share_when_cold:g}; it must lie from 0 to 1")


@dataclass(frozen=True, slots=True)
class ChokePlate:
    """
    The plate: its bore, shaft and offset [m], its angle when closed and its travel from there [rad], the clearance round it [m²],
    the torque factor of the air on it, and the discharge coefficient of what it leaves open.
    """

    bore: float
    shaft: float
    offset: float
    closed_angle: float
    travel: float
    clearance: float = 0.0
    torque_factor: float = 1.0
    coefficient: float = 0.7


@dataclass(frozen=True, slots=True)
class VacuumBreak:
    """The pull-off: the rate of its spring [N·m/rad], the opening it pulls to [rad], the vacuum above which it acts [Pa]."""

    spring: float
    opening: float
    acts_above: float = 16_932.0


@dataclass(frozen=True, slots=True)
class AirStream:
    """Air through one barrel [kg/s], its pressure above the choke [Pa], its density [kg/m³], and the manifold vacuum [Pa]."""

    flow: float
    pressure: float = 101_325.0
    density: float = 1.225
    vacuum: float = 0.0


def choke_of(carburetor: Specimen) -> tuple[ChokeCoil, ChokePlate, VacuumBreak]:
    """Coil, plate and vacuum break of a carburetor's sheet; a heater is no part of it."""
    c = carburetor
    coil = ChokeCoil(
        rate=float(c.coil_rate),
        turn=float(c.coil_deflection),
        shut_at=float(c.coil_neutral),
        time_constant=float(c.coil_warming_time),
        hot_air_rise=float(c.coil_warming),
        index=float(c.coil_index),
    )
    plate = ChokePlate(
        bore=float(c.air_horn_bore),
        shaft=float(c.choke_shaft),
        offset=float(c.choke_plate_offset),
        closed_angle=float(c.choke_closed_angle),
        travel=float(c.choke_travel),
        clearance=float(c.choke_clearance),
        torque_factor=float(c.air_torque_factor),
        coefficient=float(c.choke_discharge),
    )
    pull_off = VacuumBreak(float(c.vacuum_break_spring), float(c.vacuum_break_angle), float(c.vacuum_break_acts))
    return coil, plate, pull_off


def coil_warming(
    coil: ChokeCoil, ambient: float, time: ArrayLike, assist: ElectricAssist | None = None, voltage: float = 13.8
) -> Array:
    """
    Temperature of the coil. [K]

    Parameters
    ----------
    ambient : float
        Temperature of the air, and of the coil at the start. [K]
    time : array_like
        Since the start, 0 or more. [s]
    assist : ElectricAssist or None
        Hot air alone without one.
    voltage : float
        At the heater. [V]

    Notes
    -----
    First-order lag towards the temperature that hot air and heater hold in the end; where the coil passes the switching
    temperature on the way, the whole heater comes on and the lag starts again from there. Source: relations `coil_temperature`
    and `coil_end_temperature`.

    Examples
    --------
    From 5 °C, without and with an electric assist of 8 ohm, after one minute:

    >>> coil = ChokeCoil(rate=0.012, turn=0.02618, shut_at=293.15, time_constant=110, hot_air_rise=30)
    >>> assist = ElectricAssist(resistance=8, rise_per_watt=1.5)
    >>> [round(float(coil_warming(coil, 278.15, 60, with_it)) - 273.15, 1) for with_it in (None, assist)]
    [17.6, 29.7]
    """
    seconds = np.asarray(time, dtype=np.float64)
    if not np.all(seconds >= 0):
        raise RangeError("a time before the start; give 0 s or more")
    shares = _shares(coil, ambient, assist, voltage)
    temperature, began = np.full(seconds.shape, ambient), 0.0
    start = ambient
    for end, until in shares:
        temperature = np.where(
            seconds >= began, coil_temperature(np.maximum(seconds - began, 0.0), start, end, coil.time_constant), temperature
        )
        if until is None or end <= until:
            break
        began += float(warm_up_time(until, start, end, coil.time_constant))
        start = until
    return temperature


def _shares(
    coil: ChokeCoil, ambient: float, assist: ElectricAssist | None, voltage: float
) -> tuple[tuple[float, float | None], ...]:
    """Each stretch of the warming: the temperature it tends to, and the one that ends it."""
    if assist is None:
        return ((ambient + coil.hot_air_rise, None),)
    power = heater_power(voltage, assist.resistance)

    def end(share: float) -> float:
        return float(coil_end_temperature(ambient, coil.hot_air_rise, power, assist.rise_per_watt, share))

    if ambient >= assist.full_heat_above:
        return ((end(1.0), None),)
    return ((end(assist.share_when_cold), assist.full_heat_above), (end(1.0), None))


def plate_angle(
    coil: ChokeCoil, plate: ChokePlate, stream: AirStream, temperature: ArrayLike, pull_off: VacuumBreak | None = None
) -> Array:
    """
    Opening at which the plate comes to rest: where its torques balance, or on a stop. [rad]

    Parameters
    ----------
    temperature : array_like
        Of the coil. [K]

    Notes
    -----
    Air and vacuum break open it, the coil shuts it; what is left falls as it opens, so that there is one place, found by halving.
    The plate's weight and friction are left out. Source: relations `air_torque`, `coil_torque`, `vacuum_break_torque`.

    Examples
    --------
    No air flows: the plate stands where the coil lets it, here shut at 10 °C and a little open at 30 °C.

    >>> coil = ChokeCoil(rate=0.012, turn=0.02618, shut_at=293.15, time_constant=110, hot_air_rise=30)
    >>> plate = ChokePlate(bore=0.04826, shaft=0.004826, offset=0.002032, closed_angle=0.2618, travel=1.2741)
    >>> [round(float(np.degrees(plate_angle(coil, plate, AirStream(0.0), t))), 1) for t in (283.15, 303.15)]
    [0.0, 15.0]
    """
    coil_at = np.asarray(temperature, dtype=np.float64)
    low, high = np.zeros(coil_at.shape), np.full(coil_at.shape, plate.travel)
    free = coil_free_angle(coil.turn, coil_at, coil.shut_at, coil.index)
    opens = _torque(coil, plate, stream, pull_off, low, free) > 0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        still = _torque(coil, plate, stream, pull_off, middle, free) > 0
        low, high = np.where(still, middle, low), np.where(still, high, middle)
    return np.where(opens, np.where(high == plate.travel, plate.travel, (low + high) / 2), 0.0)


def _torque(
    coil: ChokeCoil, plate: ChokePlate, stream: AirStream, pull_off: VacuumBreak | None, opening: Array, free: Array
) -> Array:
    area = plate_opening(plate.bore, plate.shaft, plate.closed_angle, opening) + plate.clearance
    with np.errstate(divide="ignore", invalid="ignore"):  # shut tight, it bears the whole pressure of the air
        q = np.where(stream.flow > 0, (stream.flow / (plate.coefficient * area)) ** 2 / stream.density, 0.0)
    drop = stream.pressure - np.sqrt(np.maximum(stream.pressure * (stream.pressure - q), 0.0))
    by_air = air_torque(drop, plate.bore, plate.offset, plate.closed_angle, opening, plate.torque_factor)
    by_vacuum: float | Array = 0.0
    if pull_off is not None:
        by_vacuum = vacuum_break_torque(pull_off.spring, pull_off.opening, opening, stream.vacuum, pull_off.acts_above)
    return np.asarray(choke_opening_torque(by_air, by_vacuum, coil_torque(coil.rate, opening, free)))


def seconds_to_open(
    coil: ChokeCoil,
    plate: ChokePlate,
    ambient: float,
    assist: ElectricAssist | None = None,
    voltage: float = 13.8,
    opening: float | None = None,
) -> float:
    """
    Time after which the coil alone lets the plate stand at an opening, wholly open if none is named. [s]

    NaN where the coil never comes to the temperature.

    >>> coil = ChokeCoil(rate=0.012, turn=0.02618, shut_at=293.15, time_constant=110, hot_air_rise=60)
    >>> plate = ChokePlate(bore=0.04826, shaft=0.004826, offset=0.002032, closed_angle=0.2618, travel=1.2741)
    >>> round(seconds_to_open(coil, plate, 288.15))
    247
    """
    wanted = coil.shut_at + ((plate.travel if opening is None else opening) - coil.index) / coil.turn
    if wanted <= ambient:
        return 0.0
    start, began = ambient, 0.0
    for end, until in _shares(coil, ambient, assist, voltage):
        if wanted < end and (until is None or wanted <= until):
            return began + float(warm_up_time(wanted, start, end, coil.time_constant))
        if until is None or end <= until:
            break
        began += float(warm_up_time(until, start, end, coil.time_constant))
        start = until
    return float("nan")
