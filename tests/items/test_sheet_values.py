"""Numbers taken from a specimen: as its sheet writes them, or as its computed carburetor comes to."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner

from grader.base.errors import UseError
from grader.base.quantities import read_quantity
from grader.circuits.specimens import entries
from grader.cli.curves import command
from grader.items.course import load_practice
from grader.items.model import Fence
from grader.items.sheet_values import Asked, asked_curves, quantity, reference_printed, reference_quantity, sheet_named
from grader.items.specimen_file import read_sheet

ROOT = Path(__file__).parents[2]
SHEETS = load_practice(ROOT).specimens


def printed(text: str) -> str:
    return reference_printed(text, SHEETS).replace("\u202f", " ")


@pytest.mark.parametrize("name", ["T-1", "T-2"])
def test_every_value_is_the_number_written_on_the_sheet_and_the_one_computed_with(name: str) -> None:
    raw = yaml.safe_load((ROOT / "questions" / "specimens" / f"{name}.yaml").read_text("utf-8"))
    written = {
        key: str(value)
        for name, group in raw.items()
        if isinstance(group, dict) and name != "settings"
        for key, value in group.items()
    }
    for key, entry in entries().items():
        if entry.pair:
            continue
        found, _ = quantity(SHEETS[name], Asked(key))
        assert found.si == pytest.approx(getattr(SHEETS[name].specimen, key), rel=1e-12), key
        if key in written and not written[key].startswith("#"):
            assert found.number == read_quantity(written[key]).number, key


def test_a_drill_is_printed_with_its_number_and_its_bore() -> None:
    # No. 54 is 0.0550 in, No. 69 0.0292 in: number drill tables (public lists; ASME B94.11M itself not seen)
    assert printed("T-1 main_bleed") == "#54 (0.055 in)"
    assert printed("T-1 idle_jet") == "#69 (0.0292 in)"
    assert printed("T-1 idle_jet as mm to 3 figures") == "0.742 mm"
    assert reference_quantity("T-1 main_bleed", SHEETS).number == Fraction("0.055")


def test_a_value_of_a_list_is_named_with_its_place() -> None:
    assert printed("T-1 rod_steps 3 diameter") == "0.061 in"
    assert printed("T-1 tube_holes 2 depth") == "0.4 in"


def test_what_a_sheet_leaves_out_is_given_as_it_is_filled_in() -> None:
    text = (ROOT / "questions" / "specimens" / "T-1.yaml").read_text("utf-8")
    short = "\n".join(line for line in text.split("\n") if "jet_discharge:" not in line and "piston_weight:" not in line)
    sheet = read_sheet("T-1.yaml", short.replace("charge_heating: 15 K", "charge_heating: 27 degF").encode(), [])
    assert sheet is not None
    assert quantity(sheet, Asked("jet_discharge"))[1] == "0.78"
    assert quantity(sheet, Asked("piston_weight"))[1].replace("\u202f", " ") == "0.02 lbf"
    rise, _ = quantity(sheet, Asked("charge_heating"))  # 27 °F of rise is 15 K of rise, not a temperature
    assert (rise.si, rise.written) == (15.0, "15.00")


@pytest.mark.parametrize("fault", ["", "rod-stuck-down"])
def test_computed_values_are_those_that_the_command_prints(fault: str) -> None:
    asked = ["--fault", fault] if fault else []
    asked = ["T-1", *asked, "--altitude", "4000", "--json", "--in", str(ROOT)]
    result = CliRunner().invoke(command, asked, standalone_mode=False)
    names = {"vacuum_inHg": "vacuum", "air_g_s": "air", "fuel_g_s": "fuel", "air_fuel": "air_fuel", "lambda": "lambda"}
    for point in json.loads(result.stdout)["points"]:
        for key, name in {**names, "rod_lift_in": "rod_lift", "rpm": "speed"}.items():
            found, _ = quantity(SHEETS["T-1"], Asked(name, point["point"], fault, 1219.2, 6))
            assert float(found.number) == pytest.approx(point[key], rel=2e-5, abs=1e-12), (point["point"], name)


def test_a_computed_value_is_used_exactly_as_it_is_printed() -> None:
    found, text = quantity(SHEETS["T-1"], Asked("air_fuel", "heavy load", "rod-stuck-down"))
    assert text == found.written
    assert found.number == Fraction(text)
    assert len(text.replace(".", "")) == 3


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("T-12 main_jet", "`T-12` is not a specimen of this course, or its sheet cannot be read; there are T-1, T-2"),
        ("T-1 main_get", "`main_get` is not a value of the sheet of T-1; did you mean `main_jet`?"),
        ("T-1 crise air_fuel", "`crise` is not an operating point of T-1; did you mean `cruise`?"),
        ("T-1 cruise air_feul", "`cruise air_feul` is not a value of the sheet of T-1; see `questions/specimens`"),
        ("T-1 air_fuel", "air_fuel is computed at an operating point, and none is named; name one: curb idle, off idle"),
        ("T-1 cruise air_fuel with rod-stuck-dawn", "is not a fault known here; did you mean `rod-stuck-down`?"),
        ("T-1 cruise air_fuel with idle-bypass-blocked", "T-1 has no part that idle-bypass-blocked can befall"),
        ("T-1 main_jet with rod-stuck-down", "has a fault or an altitude and no point"),
        ("T-1 cruise air_fuel at 9000 m", "`9000 m` is not an altitude from 0 to 4500 m"),
        ("T-1 cruise vacuum as mm", "vacuum does not come in mm; leave out `as mm`"),
        ("T-1", "asks nothing of a specimen"),
    ],
)
def test_what_is_not_there_is_named_with_what_was_meant(text: str, told: str) -> None:
    with pytest.raises(UseError) as caught:
        printed(text)
    assert told in str(caught.value)


def test_a_block_of_curves_names_its_specimen_and_faults() -> None:
    fence = Fence("curves", 1, ())
    found = asked_curves(fence, {"specimen": "T-2", "faults": "rod-stuck-up, spring-weak", "altitude": "4000 ft"}, SHEETS)
    assert [fault.name for fault in found.faults] == ["rod-stuck-up", "spring-weak-force-x-0.5"]
    assert found.specimen.id == "T-2"
    assert found.altitude == pytest.approx(1219.2)
    for pairs, told in [
        ({"specimen": "T-1", "fault": "rod-stuck-up"}, "`fault` is not a field of a curves block"),
        ({"faults": "rod-stuck-up"}, "is not a specimen"),
        ({"specimen": "T-1", "faults": "rod-stuck-up, rod-stuck-up"}, "a fault stands twice"),
        ({"specimen": "T-1", "faults": ",".join(["level-1/8-in-high"] * 8)}, "twice"),
        ({"specimen": "T-1", "altitude": "high"}, "not a number"),
    ]:
        with pytest.raises(UseError, match=told):
            asked_curves(fence, pairs, SHEETS)


def test_a_sheet_is_found_by_its_name_alone() -> None:
    assert sheet_named("T-2", SHEETS).specimen.barrels == 2
    with pytest.raises(UseError, match="there are none"):
        sheet_named("T-1", {})
