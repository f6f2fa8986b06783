from __future__ import annotations

import json
import subprocess
import sys

import pytest


def grader(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "grader", *arguments], capture_output=True, text=True, timeout=60, check=False)


def test_it_prints_value_formula_and_working() -> None:
    done = grader("compute", "open_area", "D=0.095 in", "d=0.067 in", "--unit", "mm^2")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.replace("\u202f", " ") == (
        "open area of the jet round the rod: 2.298 mm²\n"
        "A = π/4 · (D² − d²)    (plane geometry: circle less circle)\n"
        "\n"
        "The numbers, in the units that go into the formula:\n"
        "    D = 0.095 in = 2.413 mm\n"
        "    d = 0.067 in = 1.7018 mm\n"
        "Open area of the jet round the rod:\n"
        "    A = π/4 · (D² − d²)\n"
        "With the numbers put in:\n"
        "    A = π/4 × (2.413² − 1.7018²)\n"
        "The result, rounded only here:\n"
        "    A = 2.298 mm²\n"
    )


def test_json_holds_value_unit_and_working() -> None:
    done = grader("compute", "open_area", "D=0.095 in", "d=0.067 in", "--unit", "in^2", "--json")
    found = json.loads(done.stdout)
    assert list(found) == ["value", "unit", "working"]
    # 2.29843 mm², by hand, over 645.16.
    assert found["value"] == pytest.approx(2.29843 / 645.16, rel=1e-5)
    assert found["unit"] == "in^2"
    assert set(found["working"][0]) == {"says", "text", "mathml", "typst"}
    assert found["working"][-1]["text"].endswith("0.003563\u202fin²")


def test_without_a_name_it_lists_every_relation_with_symbols_and_units() -> None:
    done = grader("compute")
    assert (
        "open_area: open area of the jet round the rod [mm^2]\n    A = π/4 · (D² − d²)\n    D [mm] bore of the jet\n"
        in done.stdout
    )
    assert "    g [m/s^2] acceleration of gravity, 9.806650\u202fm/s² if left out\n" in done.stdout
    listed = json.loads(grader("compute", "--json").stdout)["relations"]
    names = [entry["name"] for entry in listed]
    assert len(set(names)) == len(names) >= 30
    area = next(entry for entry in listed if entry["name"] == "open_area")
    assert area["symbols"][0] == {"name": "D", "unit": "mm", "says": "bore of the jet", "default": None}


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["open_aera"], "grader: `open_aera` is not a relation; did you mean `open_area`? (`grader compute` lists them all)\n"),
        (["zzz"], "grader: `zzz` is not a relation (`grader compute` lists them all)\n"),
        (
            ["main_jet_flow", "C_d=0.78", "A=2 mm^2", "rho=740 kg/m^3", "delta_p_m=3 kPa", "h=8 mm"],
            "grader: `delta_p_m` is no symbol of main_jet_flow; did you mean `delta_p_n`?\n"
            '        `delta_p_n` (depression at the nozzle) has no value; add delta_p_n="… kPa"\n',
        ),
        (
            ["open_area", "D=0.095", "d", "d=1 mm", "d=2 mm"],
            "grader: `D` (bore of the jet) is given without a unit; give it in mm or another unit of that kind\n"
            '        `d` is not NAME=VALUE; write it as D="0.095 in"\n'
            "        `d` is given twice; keep one of the two\n",
        ),
        (
            ["open_area", "D=1 kPa", "d=1 mm"],
            "grader: `D` (bore of the jet) is given in kPa; give it in mm or another unit of that kind\n",
        ),
        (
            ["open_area", "D=two mm", "d=1 mm"],
            "grader: D: `two mm` is not a number with a unit; write it as `0.089 in`, `5/32 in` or `2 %`\n",
        ),
        (
            ["open_area", "D=2 mm", "d=1 mm", "--unit", "kPa"],
            "grader: --unit kPa does not measure the open area of the jet round the rod; use mm^2 or another unit of that kind\n",
        ),
        (
            ["open_area", "D=2 mm", "d=3 mm"],
            "grader: open_area: d is 3.0000 mm, D is 2.0000 mm; it must hold that 0 ≤ d < D\n",
        ),
        (["--unit", "mm"], "grader: --unit goes with a relation; `grader compute` alone lists them all\n"),
    ],
)
def test_wrong_use_says_how_to_mend_it_and_exits_with_2(arguments: list[str], said: str) -> None:
    done = grader("compute", *arguments)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", said)


def test_a_unit_may_be_spelt_as_people_spell_it() -> None:
    # 350 in³, 5500 rev/min, 0.80: 445.602 ft³/min (V N VE/3456, by hand).
    done = grader("compute", "engine_air_volume", "V=350 cubic inches", "n=5500 rpm", "eta=80 %", "--json")
    assert json.loads(done.stdout)["value"] == pytest.approx(445.602, rel=2e-6)
    assert (
        grader("compute", "disc_area", 'D=5/32"', "--json").stdout == grader("compute", "disc_area", "D=5/32 in", "--json").stdout
    )


def test_an_unknown_unit_is_named() -> None:
    done = grader("compute", "disc_area", "D=2 furlong")
    assert done.returncode == 2
    assert done.stderr.startswith("grader: D: `furlong` is not a unit known here; write one such as mm, in, mm^2")


def test_help_has_an_example() -> None:
    assert 'grader compute open_area D="0.095 in" d="0.067 in" --unit mm^2' in grader("compute", "--help").stdout
