"""
The whole carburetor against a second one, slow and one point at a time, written from the model's text and not from the program.

The two must agree on random machines.
"""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from grader.circuits.carburetor import points_at, solve
from grader.circuits.specimens import Carburetor, healthy
from grader.items.specimen_file import load_specimen
from tests.second_carburetor import HEALTHY, state

ROOT = Path(__file__).parents[2]


def second(machine: Carburetor) -> SimpleNamespace:
    """A machine's values as the second carburetor takes them: plain, its lists by name, nothing wrong beside."""
    steps = [{"lift": lift, "diameter": diameter} for lift, diameter in machine.rod_steps]
    holes = [{"depth": depth, "bore": bore} for depth, bore in machine.tube_holes]
    return SimpleNamespace(**{**vars(machine), **HEALTHY, "rod_steps": steps, "tube_holes": holes})


DIMENSIONS = (
    "main_jet", "nozzle_bore", "main_bleed", "idle_jet", "economiser", "idle_bleed", "mixture_port", "venturi_bore",
    "power_spring_force", "displacement",
)  # fmt: skip


@pytest.mark.parametrize("name", ["T-1", "T-2"])
def test_both_models_agree_on_random_machines(name: str) -> None:
    # Ten main dimensions times random factors (log-normal, sigma 0.35), 500 to 4500 rev/min, 1 to 78 degrees.
    random = np.random.default_rng(20261125)
    sheet = healthy(load_specimen(ROOT, name))
    compared = 0
    for _ in range(60):
        factors = np.exp(0.35 * random.standard_normal(len(DIMENSIONS)))
        changed = {d: getattr(sheet, d) * f for d, f in zip(DIMENSIONS, factors, strict=True)}
        machine = Carburetor(**{**vars(sheet), **changed})
        if machine.booster_outside >= machine.venturi_bore:
            continue
        n, th = random.uniform(500, 4500, 5), np.radians(random.uniform(1, 78, 5))
        states, plain = solve(machine, points_at(n / 60, th), checked=False), second(machine)
        for row in range(5):
            if states.reason[row, 0]:
                continue
            other = state(plain, plain, n[row], th[row])
            assert states.manifold_pressure[row, 0] == pytest.approx(other.pm, rel=1e-7)
            assert states.air_fuel[row, 0] == pytest.approx(other.air_fuel, rel=1e-6)
            assert states.rod_lift[row, 0] == pytest.approx(other.lift, abs=1e-9)
            assert states.level[row, 0] == pytest.approx(other.level, abs=1e-9)
            assert states.starved[row, 0] == other.starved
            compared += 1
    assert compared > 200
