"""The fuels against a public fuel table and mass balance."""

from __future__ import annotations

import numpy as np
import pytest

from grader.base.errors import RangeError
from grader.circuits.fuels import E10, FUELS, GASOLINE, fuel_named
from grader.circuits.principles import hydrocarbon_air_fuel_ratio


def test_gasoline_lies_inside_the_public_table() -> None:
    # US DOE, Alternative Fuels Data Center, fuel properties: specific gravity 0.72 to 0.78 at 60 °F, 0.5 to 0.6 mm²/s at 68 °F.
    assert 720 <= GASOLINE.density(288.71) <= 780
    assert 0.5e-6 <= GASOLINE.viscosity_at_20 <= 0.6e-6
    # The same table's 6.0 to 6.5 lb/gal: 719 to 779 kg/m³.
    assert 719 <= GASOLINE.density(288.71) <= 779


def test_the_blend_wants_what_its_parts_want() -> None:
    # By volume 10 %, 745 and 789 kg/m³: 0.10528 by mass; 14.7 and 9.0 give 14.100, by hand. Blended by volume it would be 14.13.
    share = 0.1 * 789 / (0.1 * 789 + 0.9 * 745)
    assert share == pytest.approx(0.10528, abs=5e-6)
    assert share * 9.0 + (1 - share) * GASOLINE.stoichiometric == pytest.approx(E10.stoichiometric, abs=5e-4)


def test_14_7_is_right_for_one_gasoline_and_near_for_all() -> None:
    # A mass balance to carbon dioxide and water in full dry air (28.9647 g/mol, 0.20946 oxygen), molar masses of IUPAC, abridged,
    # from memory: CH1.87 needs 14.60, CH1.85 14.57; 14.7, which the US DOE's fuel table prints as calculated, is that of CH1.94,
    # 86.0 % of carbon. With 1 oxygen to 3.76 nitrogen it would be 0.66 % less.
    def needs(hydrogen: float) -> float:
        return 28.9647 * (1 + hydrogen / 4) / (0.20946 * (12.011 + 1.008 * hydrogen))

    assert needs(1.87) == pytest.approx(14.60, abs=5e-3)
    assert needs(1.94) == pytest.approx(GASOLINE.stoichiometric, abs=5e-3)
    carbon = 12.011 / (12.011 + 1.94 * 1.008)
    assert carbon == pytest.approx(0.860, abs=5e-4)
    for hydrogen in (1.75, 1.85, 1.94, 2.0):  # what gasolines are: within 2 %
        assert hydrocarbon_air_fuel_ratio(hydrogen) == pytest.approx(needs(hydrogen), rel=1e-12)
        assert needs(hydrogen) == pytest.approx(GASOLINE.stoichiometric, rel=0.02)


def test_ethanol_needs_less_air_because_it_carries_oxygen() -> None:
    # C2H6O: 9.00 (J. Heywood, Internal Combustion Engine Fundamentals, from memory). Of 46.069 g/mol 15.999 are oxygen, so a
    # blend with 10.528 % of it by mass has 3.66 %, by hand.
    assert hydrocarbon_air_fuel_ratio(3, 0.5) == pytest.approx(9.00, abs=5e-3)
    oxygen = 0.10528 * 15.999 / (2 * 12.011 + 6 * 1.008 + 15.999)
    assert oxygen == pytest.approx(0.0366, abs=5e-5)


def test_warm_fuel_is_lighter() -> None:
    for fuel in FUELS.values():
        density = np.asarray(fuel.density(np.linspace(240, 330, 10)))
        assert np.all(np.diff(density) < 0)
        assert fuel.density(288.15) == fuel.density_at_15


def test_a_fuel_is_found_by_its_name_and_no_other() -> None:
    assert fuel_named("GASOLINE") is GASOLINE
    assert fuel_named("e10") is E10
    with pytest.raises(RangeError, match="fuel temperature is nan K; it must lie from"):
        GASOLINE.density(float("nan"))
