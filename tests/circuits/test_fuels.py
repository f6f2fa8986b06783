"""The fuels against a public fuel table and mass balance."""

from __future__ import annotations

import numpy as np
import pytest

from grader.base.errors import RangeError
from grader.circuits.fuels import E10, FUELS, GASOLINE, fuel_named


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
