"""
Air on arrays: what stands round the carburetor, and how it flows through holes, past plates and through a venturi.

Plain NumPy, for the whole carburetor, which solves thousands of states at once. The same laws stand singly, with their symbols
and working, in `principles` and `main`; tests hold the two together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from grader.base.errors import RangeError
from grader.circuits.principles import AIR_CONSTANT, HEAT_RATIO

Array = NDArray[np.float64]
Values = float | Array

CRITICAL_RATIO = (2 / (HEAT_RATIO + 1)) ** (HEAT_RATIO / (HEAT_RATIO - 1))
"""Throat pressure over inlet pressure at which air reaches the speed of sound, 0.528283."""

VENTURI_MACH_LIMIT = 0.9
"""Past this the venturi law is not used: a little more air would choke the throat."""

_GREATEST_FLOW = 0.5787  # m sqrt(R T / gamma) / (C_d A p) where the throat is sonic
_EXPONENT = (HEAT_RATIO - 1) / HEAT_RATIO


@dataclass(frozen=True)
class Air:
    """Air round the carburetor: pressure [Pa], temperature [K], density [kg/m³]; numbers, or one for each operating point."""

    pressure: Values
    temperature: Values
    density: Values


def standard_air(altitude: Values = 0.0, temperature: Values | None = None, humidity: Values = 0.0) -> Air:
    """
    Air at an altitude of the standard atmosphere.

    Parameters
    ----------
    altitude : float or array
        Geopotential, 0 to 11 000. [m]
    temperature : float or array, optional
        That of the standard atmosphere if left out. [K]
    humidity : float or array
        Relative, 0 to 1; with it the temperature must lie from 253.15 K to 323.15 K (-20 °C to 50 °C).

    Raises
    ------
    RangeError
        Outside these ranges.

    Examples
    --------
    >>> round(float(standard_air(1219.2).pressure) / 1000, 2), round(float(standard_air().density), 4)
    (87.51, 1.225)
    """
    _within("altitude", altitude, 0.0, 11_000.0, "m")
    standard = 288.15 - 0.0065 * np.asarray(altitude, dtype=np.float64)
    pressure = 101_325.0 * (standard / 288.15) ** 5.25588
    return air_at(pressure[()], standard[()] if temperature is None else temperature, humidity)


def air_at(pressure: Values, temperature: Values, humidity: Values = 0.0) -> Air:
    """
    Air of a pressure (10 to 120 kPa), a temperature (200 to 340 K) and a relative humidity (0 to 1). Raises `RangeError` outside.

    >>> round(float(air_at(101325.0, 293.15, 0.5).density), 3)
    1.199
    """
    _within("pressure", pressure, 10_000.0, 120_000.0, "Pa")
    _within("temperature", temperature, 200.0, 340.0, "K")
    _within("humidity", humidity, 0.0, 1.0, "")
    wet: Values = 0.0
    if np.any(np.asarray(humidity) > 0):
        _within("temperature of moist air", temperature, 253.15, 323.15, "K")
        wet = 0.378 * humidity * saturation_pressure(temperature)
    return Air(pressure, temperature, (pressure - wet) / (AIR_CONSTANT * temperature))


def _within(name: str, value: Values, least: float, greatest: float, unit: str) -> None:
    numbers = np.atleast_1d(np.asarray(value, dtype=np.float64))
    wrong = numbers[~((numbers >= least) & (numbers <= greatest))]
    if wrong.size:
        space = f" {unit}" if unit else ""
        raise RangeError(f"{name} is {wrong[0]:g}{space}; it must lie from {least:g}{space} to {greatest:g}{space}")


def saturation_pressure(temperature: Values) -> Values:
    """
    Pressure at which air of a temperature (253 to 323 K) is full of water vapour. [Pa]

    Source: Buck 1996, over water, from memory; tests compare it with a reference library.

    >>> round(float(saturation_pressure(293.15)), -1)
    2340.0
    """
    t = temperature - 273.15
    full: Values = 611.21 * np.exp((18.678 - t / 234.5) * t / (257.14 + t))
    return full


def circle(bore: Values) -> Values:
    """Area of a round hole."""
    return np.pi / 4 * bore * bore


def in_series(first: Values, second: Values) -> Values:
    """Two restrictions one behind the other as one: of what area times discharge coefficient."""
    both: Values = first * second / np.sqrt(first * first + second * second + 1e-30)
    return both


def isentropic_flow(area: Values, upstream: Values, temperature: Values, downstream: Values) -> Values:
    """
    Air through a restriction of an effective area (area times discharge coefficient), choked or not. [kg/s]

    Nothing flows back: where the pressure downstream is the higher, the flow is 0.

    Source: isentropic flow of an ideal gas.

    >>> round(float(isentropic_flow(1e-4, 101000.0, 288.0, 40000.0)) * 1000, 2)
    24.05
    """
    ratio = np.minimum(np.maximum(downstream / np.maximum(upstream, 1e-9), CRITICAL_RATIO), 1.0)
    work = ratio**_EXPONENT  # so that ratio^(1/gamma) is ratio over work: one power instead of two
    passed: Values = (
        area * upstream / np.sqrt(AIR_CONSTANT * temperature) * (ratio / work) * np.sqrt((1 - work) * (2 / _EXPONENT))
    )
    return passed


def venturi_depression(flow: Values, area: Values, pressure: Values, temperature: Values) -> tuple[Array, Array]:
    """
    Depression at a venturi's throat, below the pressure at its inlet [Pa], and the Mach number there.

    Parameters
    ----------
    flow : float or array
        Air. [kg/s]
    area : float or array
        Effective area of the throat: area times discharge coefficient. [m²]
    pressure, temperature : float or array
        At the inlet, at rest. [Pa], [K]

    Notes
    -----
    The isentropic law turned round, on its subsonic side. Where the Mach number is not below `VENTURI_MACH_LIMIT` the depression
    is not to be used.

    Source: isentropic flow of an ideal gas.

    Examples
    --------
    60 g/s of standard air through 30 mm, for which Bernoulli alone gives 2.94 kPa:

    >>> depression, mach = venturi_depression(0.060, circle(0.030), 101325.0, 288.15)
    >>> round(float(depression), 1)
    3038.5
    """
    share = np.minimum(flow * np.sqrt(AIR_CONSTANT * temperature / HEAT_RATIO) / (area * pressure), _GREATEST_FLOW)
    mach = share * (1 + 0.5 * share * share)
    for _ in range(6):
        square = mach * mach
        base = 1 + 0.2 * square
        slope = 1.2 * share * mach * base * base - 1
        # Next to Mach 1 the slope vanishes; such points are refused by the limit, they only must not divide by nothing.
        mach = np.clip(mach - (share * base * base * base - mach) / np.minimum(slope, -1e-6), 0.0, 1.0)
    return np.asarray(pressure * (1 - (1 + 0.2 * mach * mach) ** -3.5)), np.asarray(mach)


def plate_opening(bore: Values, shaft: Values, closed_angle: Values, opened: Values) -> Values:
    """
    Area a butterfly plate leaves open: the bore's circle less the plate's shadow and the shaft's. [m²]

    Parameters
    ----------
    bore, shaft : float or array
        Diameters. [m]
    closed_angle, opened : float or array
        Angle from square to the bore at which it closes, and how far it is opened from there. [rad]

    Notes
    -----
    Source: plane geometry, derived here; tests check it by quadrature and against printed values.

    Examples
    --------
    >>> round(float(plate_opening(0.040, 0.008, 0.0, np.radians(20))) * 1e6, 4)
    75.4982
    """
    a = shaft / bore
    k = np.minimum(np.maximum(np.cos(closed_angle + opened) / np.cos(closed_angle), a), 1.0)
    b = np.minimum(a / np.maximum(k, 1e-12), 1.0)
    ring = np.arccos(a) - a * np.sqrt(1 - a * a) + a * np.sqrt(1 - b * b) - k * np.arccos(b)
    open_area: Values = bore * bore / 2 * np.maximum(ring, 0.0)
    return open_area
