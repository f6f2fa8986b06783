"""Which numbers of a specimen the formula sheet works each formula with: chains that can be followed, and every refusal."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest

from grader.base.errors import GraderError
from grader.circuits.catalog import by_circuit, relations
from grader.items.course import Course, load_course
from grader.items.formula_numbers import FormulaNumbers, check_formulas, example_numbers, formula_numbers
from grader.items.model import Fence
from grader.items.sheet_values import NotThere

ROOT = Path(__file__).parents[2]


@cache
def course() -> Course:
    return load_course(ROOT)


def block(*lines: str) -> Fence:
    return Fence("formulas", 1, lines)


def numbers(*lines: str) -> FormulaNumbers:
    return formula_numbers([block("circuit: power", "specimen: T-1", *lines)], relations(), course().specimens)


@cache
def sheet() -> FormulaNumbers:
    page = next(page for page in course().pages if page.file == "lessons/formulas.md")
    return formula_numbers(page.fences, relations(), course().specimens)


def test_a_value_of_the_sheet_is_taken_as_it_is_written() -> None:
    given = numbers("open_area: D = main_jet, d = rod_steps 1 diameter").numbers("open_area")
    assert {name: quantity.shown.replace("\u202f", " ") for name, quantity in given.items()} == {"D": "0.093 in", "d": "0.070 in"}


def test_a_line_takes_what_another_comes_to_rounded_as_it_is_printed() -> None:
    found = numbers(
        "jet_head: delta_p_n = 600 Pa, rho = 736.3 kg/m^3, h = spill_height",
        "jet_velocity: delta_p = jet_head, rho = 736.3 kg/m^3",
    )
    # By hand: 600 Pa less 736.3 kg/m³ × 9.80665 m/s² × 0.30 in (7.62 mm) = 600 − 55.02 = 544.98, to four figures 545.0 Pa;
    # √(2 × 545.0 / 736.3) = 1.2167 m/s.
    assert found.result("jet_head").written == "545.0"
    assert found.numbers("jet_velocity")["delta_p"].written == "545.0"
    assert found.result("jet_velocity").written == "1.217"


def test_an_expression_may_join_values_of_the_sheet_and_formulas() -> None:
    found = numbers("piston_force: D = 2 * vacuum_piston_bore, delta_p = cruise vacuum", "disc_bore: A = disc_area(main_jet)")
    assert found.numbers("piston_force")["D"].si == pytest.approx(2 * 0.375 * 0.0254)
    # π/4 × (0.093 × 25.4 mm)² = 4.38253 mm², to four figures.
    assert found.numbers("disc_bore")["A"].written == "4.383"


def test_a_number_computed_at_a_point_is_the_curve_s() -> None:
    from grader.circuits.curves import curves

    readings = {reading.point: reading for reading in curves(course().specimens["T-1"].specimen, [])[0].readings}
    taken = numbers("piston_force: D = vacuum_piston_bore, delta_p = cruise vacuum").numbers("piston_force")["delta_p"]
    assert float(taken.number) == pytest.approx(readings["cruise"].vacuum_inHg, abs=0.005)


def test_a_formula_without_a_line_or_with_the_word_is_worked_as_its_own_example() -> None:
    found = numbers("open_area: example")
    assert found.numbers("open_area") == example_numbers(relations()["open_area"])
    assert found.numbers("disc_area") == example_numbers(relations()["disc_area"])
    assert found.specimen("open_area") == found.specimen("disc_area") == ""
    assert numbers("open_area: D = main_jet, d = 1 mm").specimen("open_area") == "T-1"


@pytest.mark.parametrize(
    ("lines", "asked", "code", "said"),
    [
        (
            ("open_aera: D = main_jet",),
            "",
            "unknown-relation",
            "`open_aera` is neither a formula nor a field of a formulas block; did you mean `open_area`?",
        ),
        (("open_area: D = main_jet",), "open_area", "missing-symbol", "open_area lacks d; write `d = …`"),
        (("open_area: D = main_jet, D = 1 mm",), "open_area", "repeated-value", "D of open_area is given twice"),
        (("open_area: main_jet",), "open_area", "unknown-symbol", "gives open_area nothing; write `SYMBOL = …` for D, d"),
        (("open_area: D = mian_jet, d = 1 mm",), "open_area", "unknown-value", "did you mean `main_jet`?"),
        (("open_area: D = 93 inHg, d = 1 mm",), "open_area", "dimension", "D of open_area is 93 inHg; give it in mm or the like"),
        (("open_area: D = main_jet ** 2, d = 1 mm",), "open_area", "dimension", "is of another kind than mm"),
        (("open_area: D = main_jet, d = crusie vacuum",), "open_area", "unknown-point", "did you mean `cruise`?"),
        (("disc_area: D = disc_bore", "disc_bore: A = disc_area"), "disc_area", "cycle", "is worked with its own result"),
    ],
)
def test_a_wrong_line_says_what_is_wrong_and_how_to_mend_it(lines: tuple[str, ...], asked: str, code: str, said: str) -> None:
    with pytest.raises(NotThere) as fault:
        numbers(*lines).numbers(asked)
    assert fault.value.code == code
    assert said in str(fault.value).replace("\u202f", " ")


def test_numbers_outside_a_formula_s_range_name_the_formula() -> None:
    fence = block("circuit: power", "specimen: T-1", "open_area: D = 1 mm, d = 2 mm")
    every = formula_numbers([fence], relations(), course().specimens)
    with pytest.raises(NotThere, match=r"the line of open_area: open_area: d is 2\.0000 mm") as fault:
        check_formulas(fence, every, ["open_area"])
    assert fault.value.code == "no-value"


def test_a_block_with_a_specimen_must_have_a_line_for_every_formula_and_one_without_needs_none() -> None:
    fence = block("circuit: power", "specimen: T-1", "open_area: D = main_jet, d = 1 mm")
    every = formula_numbers([fence], relations(), course().specimens)
    with pytest.raises(NotThere, match=r"disc_area has no numbers of T-1; write a line .*, or `disc_area: example`"):
        check_formulas(fence, every, ["open_area", "disc_area"])
    bare = block("circuit: power")
    check_formulas(bare, formula_numbers([bare], relations(), course().specimens), ["open_area", "disc_area"])


def test_two_lines_for_one_formula_and_numbers_without_a_specimen_are_refused() -> None:
    line = "open_area: D = main_jet, d = 1 mm"
    with pytest.raises(NotThere, match="open_area has two lines on this page"):
        formula_numbers([block("specimen: T-1", line), block("specimen: T-1", line)], relations(), course().specimens)
    with pytest.raises(NotThere, match="the block has numbers and no specimen"):
        formula_numbers([block(line)], relations(), course().specimens)


@pytest.mark.parametrize("name", relations())
def test_every_formula_of_the_sheet_comes_to_a_number(name: str) -> None:
    try:
        assert math.isfinite(sheet().result(name).si)
    except GraderError as error:  # pragma: no cover - says which line
        pytest.fail(str(error))


def test_the_sheet_works_every_formula_that_a_specimen_has_numbers_for() -> None:
    lines = sheet().lines
    assert set(lines) == set(relations())
    examples = {name for name, (text, _) in lines.items() if text == "example"}
    # Safety and measuring come before a carburetor is on the bench; of the rest no specimen's sheet says anything.
    weather = {"standard_pressure", "standard_density_ratio", "standard_temperature", "saturation_pressure", "moist_air_density"}
    fuel = {"fuel_density", "fuel_viscosity", "blend_air_fuel_ratio", "ethanol_mass_share", "hydrocarbon_air_fuel_ratio"}
    gas = {"analysed_air_fuel_ratio", "critical_ratio", "main_mixture", "idle_mean_pressure"}
    workshop = {"column_pressure", "supply_flow", "stop_screw_angle", "rod_turn", "compression_evenness", "displacement"}
    parts = {"coil_spring_rate", "ball_weight", "pull_off_torque", "flexivity", "bimetal_turn", "bimetal_rate"}
    electric = {"heater_power", "heater_current", "wire_diameter", "warm_resistance"}
    pipes = {"laminar_friction_factor", "smooth_friction_factor", "pipe_drop"}
    springs = {"wahl_factor", "spring_stress"}
    elsewhere = {one.name for circuit in ("safety", "measuring") for one in by_circuit()[circuit]}
    assert examples - elsewhere == weather | fuel | gas | workshop | parts | electric | pipes | springs


def test_the_sheet_agrees_with_the_computed_carburetor() -> None:
    # What the whole carburetor is solved for, found again through the sheet's lines, printed figures and all.
    from grader.circuits.curves import curves

    cruise = next(r for r in curves(course().specimens["T-1"].specimen, [])[0].readings if r.point == "cruise")
    assert sheet().result("engine_air_at_manifold_pressure").si == pytest.approx(cruise.air_g_s / 1e3, rel=2e-3)
    assert sheet().result("isentropic_flow").si == pytest.approx(cruise.air_g_s / 1e3, rel=0.04)  # clearance and losses left out
    assert sheet().result("air_fuel_ratio").si == pytest.approx(cruise.air_fuel, rel=2e-3)
