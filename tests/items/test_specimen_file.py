"""Specification sheets: read in the trade's units, every fault on its line."""
# ruff: noqa: E501 (a finding is compared as one line)

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from grader.base.errors import FindingsError, UseError
from grader.base.findings import Finding
from grader.circuits.carburetor import points_of, solve
from grader.circuits.specimens import Specimen, entries
from grader.items.schema import schemas
from grader.items.specimen_file import load_specimen, read_sheet, specimen_names

ROOT = Path(__file__).parents[2]
GOOD = (ROOT / "questions" / "specimens" / "T-1.yaml").read_text("utf-8")


def read(text: str) -> tuple[Specimen | None, list[str]]:
    findings: list[Finding] = []
    found = read_sheet("T-1.yaml", text.encode(), findings)
    return (None if found is None else found.specimen), [
        str(finding).removeprefix("T-1.yaml:").replace("\u202f", " ") for finding in findings
    ]


def line_of(text: str, part: str) -> int:
    return next(number for number, line in enumerate(text.split("\n"), 1) if part in line)


def test_the_courses_sheets_are_read() -> None:
    found, told = read(GOOD)
    assert told == []
    assert found is not None
    assert (found.id, found.well, len(found.points), len(found.tube_holes)) == ("T-1", "emulsion tube", 6, 4)
    assert specimen_names(ROOT) == ("T-1", "T-2")
    assert load_specimen(ROOT, "t-2").barrels == 2


@pytest.mark.parametrize(
    ("old", "new", "finding"),
    [
        ("main_jet: 0.093 in", "main_jet: 0.093", "main_jet (main jet bore) is given without a unit: `0.093`; write it with its unit, in [bad-value]"),
        ("main_jet: 0.093 in", "main_jet: 0.093 psi", "main_jet (main jet bore) is given in psi: `0.093 psi`; write it with its unit, in [bad-value]"),
        ("main_jet: 0.093 in", "main_jet: -0.093 in", "main_jet (main jet bore) is −0.093000 in; give it from 0.005 in to 0.5 in [bad-value]"),
        ("main_jet: 0.093 in", "main_jet: nan in", "`nan in` is not a number with a unit; write it as `0.089 in`, `5/32 in` or `2 %` [bad-value]"),
        ("main_jet: 0.093 in", "main_jet: 0.065 in", "rod_steps: a rod of 0.07000 in does not fit a main_jet of 0.06500 in; it must be thinner than the jet [contradiction]"),
        ("main_jet: 0.093 in", "main_get: 0.093 in", "`main_get` is not a field of the sheet's main; did you mean `main_jet`? [unknown-field]"),
        ("idle_jet: '#69'", "idle_jet: '#96'", "`#96` is not a numbered drill; write #1 to #80, or the bore with its unit [bad-value]"),
        ("idle_jet: '#69'", "idle_jet: #69", "`#69` is a comment to YAML; put the drill in quotes: '#69' [cut-by-comment]"),
        ("venturi_discharge: 0.92", "venturi_discharge: 0.92 in", "venturi_discharge (discharge coefficient of the venturi) is given in in: `0.92 in`; give it as a plain number [bad-value]"),
        ("well: emulsion tube", "well: emulsion", "`emulsion` is not one of emulsion tube, solid fuel; did you mean `emulsion tube`? [unknown-word]"),
        ("coil_neutral: 20 degC", "coil_neutral: 20", "coil_neutral (temperature at which the free coil just closes the choke) is given without a unit: `20`; write it with its unit, degC [bad-value]"),
        ("speed: 700 rev/min", "speed: 7 rev/min", "speed (engine speed) is 7.0000 rev/min; give it from 100 rev/min to 12000 rev/min [bad-value]"),
        ("id: T-1", "id: one", "`one` is not written as specimens are called; write it like `T-3` [bad-name]"),
        ("  fuel_pressure: 4.5 psi\n", "", "`fuel_pressure` is missing from the sheet's float; write it: fuel pressure at the inlet, in psi, 0.1 to 20 [missing-field]"),
        ("booster_outside: 0.56 in", "booster_outside: 1.5 in", "booster_outside is 1.500 in, venturi_bore is 1.340 in; booster_outside must be the smaller [contradiction]"),
    ],
)  # fmt: skip
def test_a_fault_stands_on_its_line_and_says_how_to_mend_it(old: str, new: str, finding: str) -> None:
    assert GOOD.count(old) >= 1
    text = GOOD.replace(old, new, 1)
    found, told = read(text)
    assert len(told) == 1 or "missing" in told[-1], told
    number, _, said = told[0].partition(": ")
    assert said == finding
    if new:
        at = "rod_steps" if said.startswith("rod_steps") else new
        assert int(number) == line_of(text, at)
    else:
        assert int(number) == line_of(text, "needle_seat_bore")
    assert found is None or "unknown-field" in finding


def test_every_fault_is_told_at_once() -> None:
    text = GOOD.replace("0.093 in", "0.093 mi").replace("'#69'", "'#0'").replace("3.7 L", "-3 L").replace("73 deg", "73 psi")
    _, told = read(text)
    assert len(told) == 4


def test_any_unit_of_the_kind_will_do() -> None:
    metric = (
        GOOD.replace("displacement: 3.7 L", "displacement: 3700 cm^3")
        .replace("main_jet: 0.093 in", "main_jet: 2.3622 mm")
        .replace("fuel_pressure: 4.5 psi", "fuel_pressure: 31.02640781925 kPa")
        .replace("coil_neutral: 20 degC", "coil_neutral: 68 degF")
        .replace("coil_warming: 30 K", "coil_warming: 54 degF")
        .replace("charge_heating: 15 K", "charge_heating: 27 degF")
        .replace("main_bleed: '#54'", "main_bleed: 1.397 mm")
    )
    (one, none), (other, told) = read(GOOD), read(metric)
    assert none == told == []
    assert one is not None
    assert other is not None
    for name in entries():
        if not entries()[name].pair:
            assert getattr(other, name) == pytest.approx(getattr(one, name), rel=1e-9), name
    a, b = (solve(each, points_of(each.points)).air_fuel for each in (one, other))
    assert a == pytest.approx(b, rel=1e-8)


def test_an_instructor_adds_a_third_specimen_in_few_lines(tmp_path: Path) -> None:
    text = GOOD.replace("id: T-1", "id: T-3").replace("main_jet: 0.093 in", "main_jet: 0.095 in")
    short = "\n".join(
        line for line in text.split("\n") if "discharge:" not in line and "_share:" not in line.replace("signal_share", "")
    )
    folder = tmp_path / "questions" / "specimens"
    folder.mkdir(parents=True)
    (folder / "T-3.yaml").write_text(short, "utf-8")
    found = load_specimen(tmp_path, "T-3")
    assert found.throttle_discharge == 0.82  # what the sheet leaves out is filled in
    assert solve(found, points_of(found.points)).air_fuel[3, 0] < 14.7
    assert load_specimen(tmp_path, str(folder / "T-3.yaml")) == found


def test_an_unknown_specimen_is_named_with_the_nearest(tmp_path: Path) -> None:
    with pytest.raises(UseError, match=r"`T1` is not a specimen of this course; did you mean `T-1`\?"):
        load_specimen(ROOT, "T1")
    with pytest.raises(UseError, match=r"`boat` is not a specimen of this course; they are T-1, T-2"):
        load_specimen(ROOT, "boat")
    with pytest.raises(UseError, match=r"it has none in questions/specimens"):
        load_specimen(tmp_path, "T-1")
    with pytest.raises(UseError, match="no such file"):
        load_specimen(tmp_path, "mine.yaml")


def test_a_sheet_with_another_name_than_its_file_is_a_finding(tmp_path: Path) -> None:
    folder = tmp_path / "questions" / "specimens"
    folder.mkdir(parents=True)
    (folder / "T-4.yaml").write_text(GOOD, "utf-8")
    with pytest.raises(FindingsError) as caught:
        load_specimen(tmp_path, "T-4")
    assert str(caught.value) == (
        "questions/specimens/T-4.yaml:3: the specimen calls itself `T-1`, its file `T-4`; give both one name [wrong-id]"
    )


@pytest.mark.parametrize("name", ["T-1", "T-2"])
def test_the_schema_accepts_the_courses_sheets_and_refuses_what_the_loader_refuses(name: str) -> None:
    check = Draft202012Validator(schemas()["specimen.schema.json"])
    value = yaml.safe_load((ROOT / "questions" / "specimens" / f"{name}.yaml").read_text("utf-8"))
    assert list(check.iter_errors(value)) == []
    assert list(check.iter_errors({**value, "main": {**value["main"], "well": "none"}}))
    assert list(check.iter_errors({**value, "main": {**value["main"], "main_get": "1 in"}}))
    assert list(check.iter_errors({key: below for key, below in value.items() if key != "float"}))


@settings(max_examples=60, deadline=None)
@given(data=st.binary(max_size=200), at=st.integers(0, 3000))
def test_whatever_bytes_are_read_nothing_but_findings_comes_of_it(data: bytes, at: int) -> None:
    findings: list[Finding] = []
    found = read_sheet("x.yaml", GOOD.encode()[:at] + data + GOOD.encode()[at:], findings)
    assert found is not None or findings
