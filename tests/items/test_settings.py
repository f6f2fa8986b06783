"""What a sheet wants set: value, tolerance and both ends, exact, each fault on its line."""
# ruff: noqa: E501 (a finding is compared as one line)

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.findings import Finding
from grader.base.quantities import read_quantity, unit
from grader.items.course import load_practice
from grader.items.settings import Setting, shown_range, tolerated
from grader.items.sheet_values import reference_printed
from grader.items.specimen_file import Sheet, read_sheet

ROOT = Path(__file__).parents[2]
GOOD = (ROOT / "questions/specimens/T-2.yaml").read_text("utf-8").partition("\nsettings:")[0]


def read(settings: str) -> tuple[Sheet | None, list[str]]:
    findings: list[Finding] = []
    found = read_sheet("T-2.yaml", f"{GOOD}\nsettings:\n{settings}".encode(), findings)
    first = GOOD.count("\n") + 3
    return found, [
        f"{finding.line - first}: {finding.message}; {finding.mend} [{finding.code}]".replace("\u202f", " ")
        for finding in findings
    ]


def one(settings: str) -> Setting:
    found, told = read(settings)
    assert told == []
    assert found is not None
    (setting,) = found.settings.values()
    return setting


def plain(text: str) -> str:
    return text.replace("\u202f", " ")


@pytest.mark.parametrize(
    ("setting", "printed"),
    [
        # By hand: 1/4 less and more 1/32; 0.40 less and more 0.015; 28.9 less and more a tenth; 0.49 with 1/32 = 0.03125, inward.
        ("float_level: {says: x, value: 1/4 in, within: 1/32 in}", "1/4 in: 7/32 to 9/32 in"),
        ("float_level: {says: x, value: 1 1/4 in, within: 1/32 in}", "1 1/4 in: 1 7/32 to 1 9/32 in"),
        ("pump_stroke: {says: x, within: 0.015 in}", "0.40 in: 0.385 to 0.415 in"),
        ("ten_shots: {says: x, value: 28.9 cm^3, within: 10 %}", "28.9 cm³: 26.01 to 31.79 cm³"),
        ("float_drop: {says: x, value: 0.49 in, within: 1/32 in}", "0.49 in: 0.459 to 0.521 in"),
        ("rod_height: {says: x, value: 0.520 in, within: 0.010 in}", "0.520 in: 0.510 to 0.530 in"),
        ("rod_height: {says: x, value: 12 mm, within: 0.01 in}", "12 mm: 11.75 to 12.25 mm"),  # 0.254 mm, inward to two places
        ("coil_index: {says: x, within: 2 deg}", "0°: −2 to 2°"),
        ("idle_jet: {says: x, within: 0.001 in}", "0.025 in: 0.024 to 0.026 in"),  # a #72 drill is 0.025 in
    ],
)
def test_value_and_ends_are_printed_as_the_sheet_writes_them(setting: str, printed: str) -> None:
    found = one(f"  {setting}\n")
    assert plain(f"{found.value.shown}: {shown_range(found.least, found.greatest)}") == printed


def test_a_setting_is_computed_from_the_sheet_and_from_settings_above() -> None:
    # By hand: 0.050 in of needle lift by 2.40 over 0.50 in of arm is 0.24 in of fall, below a level of 1/4 in.
    found, told = read(
        "  float_level: {says: x, value: 1/4 in, within: 1/32 in}\n"
        "  float_drop: {says: x, value: float_level + needle_lift * float_arm / needle_arm, unit: in, figures: 2, within: 0.03 in}\n"
        # 10 x 0.85 x pi/4 x (0.812 in)^2 x 0.40 in = 1.7607 in^3; 1 in^3 = 16.387064 cm^3
        "  ten_shots: {says: x, value: 'shots_volume(10, pump_bore, pump_stroke, pump_delivery)', unit: cm^3, within: 10 %}\n"
        "  curb_idle: {says: x, value: curb_idle_speed, unit: rev/min, within: 25 rev/min}\n"
        "  third_step: {says: x, value: fast_idle_steps_3_throttle, unit: deg, figures: 2, within: 0.5 deg}\n"
    )
    assert told == []
    assert found is not None
    assert {name: plain(each.value.shown) for name, each in found.settings.items()} == {
        "float_level": "1/4 in",
        "float_drop": "0.49 in",
        "ten_shots": "28.9 cm³",
        "curb_idle": "700 rev/min",
        "third_step": "8.0°",
    }


@pytest.mark.parametrize(
    ("setting", "finding"),
    [
        ("hanger: {says: x, within: 0.1 in}", "0: the setting `hanger`: no value is given, and the sheet has none of this name; write `value`, or call it as the sheet calls a value [missing-field]"),
        ("pump_strok: {says: x, within: 0.1 in}", "0: the setting `pump_strok`: no value is given, and the sheet has none of this name; did you mean `pump_stroke`? [missing-field]"),
        ("pump_stroke: {says: x, value: 0.4 in, within: 0.1 in}", "0: the setting `pump_stroke`: the sheet says already 0.40 in; take `value` out [repeated-value]"),
        ("rod_height: {says: x, value: 0.5 in, within: 1 psi}", "0: the setting `rod_height`: `within` is a pressure, the value a length; write it in in or as a share: 10 % [dimension]"),
        ("rod_height: {says: x, value: 0.5 in, within: 0 in}", "0: the setting `rod_height`: within 0 in leaves no room; write how far it may be off [bad-tolerance]"),
        ("rod_height: {says: x, value: float_arm / 2, within: 0.1 in}", "0: the setting `rod_height`: `float_arm / 2` is an expression and has no unit; write `unit: in` or the like [missing-field]"),
        ("rod_height: {says: x, value: flot_arm / 2, unit: in, within: 0.1 in}", "0: the setting `rod_height`: `flot_arm` is neither on the sheet nor a setting above; did you mean `float_arm`? [unknown-name]"),
        ("rod_height: {says: x, value: float_arm / 2, unit: psi, within: 0.1 psi}", "0: the setting `rod_height`: `float_arm / 2` does not come in psi; mend the unit or the expression [dimension]"),
        ("rod_height: {says: x, value: float_arm /, unit: in, within: 0.1 in}", "[expression]"),
        ("rod_height: {says: x, value: __import__('os'), unit: in, within: 0.1 in}", "[expression]"),
        ("rod_height: {says: x, value: 'open_area(rod_steps_1_diameter, main_jet)', unit: mm^2, within: 10 %}", "[no-value]"),
        ("rod_height: {says: x, value: float_arm / coil_index * 1, unit: in, within: 10 %}", "[no-value]"),
        ("rod_height: {says: x, value: 0.5 in, figures: 2, within: 0.1 in}", "0: the setting `rod_height`: `figures` belongs to an expression, and 0.5 in is none; take it out [foreign-field]"),
        ("rod_height: {says: x, value: float_arm, unit: in, figures: 9, within: 0.1 in}", "0: the setting `rod_height`: 9 significant figures; write 1 to 6 [bad-number]"),
        ("Rod: {says: x, value: 0.5 in, within: 0.1 in}", "[bad-name]"),
        ("rod_height: {value: 0.5 in, within: 0.1 in}", "[missing-field]"),
    ],
)  # fmt: skip
def test_a_fault_of_a_setting_stands_on_its_line(setting: str, finding: str) -> None:
    found, told = read(f"  {setting}\n")
    assert found is None
    assert len(told) == 1, told
    assert told[0].startswith("0: ")
    assert finding in told[0]


def test_every_fault_is_told_at_once() -> None:
    _, told = read(
        "  a_height: {says: x, value: 1 in, within: 1 psi}\n  b_height: {says: x, within: 1 in}\n  pump_stroke: {says: x, within: 0 in}\n"
    )
    assert [line.split(" [")[1] for line in told] == ["dimension]", "missing-field]", "bad-tolerance]"]


@given(
    value=st.integers(1, 500),
    within=st.integers(1, 60),
    measure=st.sampled_from(["mm", "in", "cm"]),
    power=st.integers(0, 3),
)
def test_nothing_outside_the_sheets_range_lies_inside_it_in_another_unit(
    value: int, within: int, measure: str, power: int
) -> None:
    # A second way: the exact ends in metres, by fractions.
    tolerance = f"{within}/64 in"
    found = tolerated("rod_height", f"{Fraction(value, 10**power)} in" if power == 0 else f"{value / 10**power} in", tolerance)
    exact = Fraction(str(value / 10**power)) if power else Fraction(value)
    low, high = ((exact + sign * Fraction(within, 64)) * Fraction("0.0254") for sign in (-1, 1))
    least, greatest = found.range_in(unit(measure))
    for end, factor in ((least, least.unit.factor), (greatest, greatest.unit.factor)):
        assert low <= end.number * factor <= high
        assert Fraction(end.written) == end.number if "/" not in end.written else True
    assert (greatest.number - least.number) * least.unit.factor > (high - low) * Fraction(7, 10)  # and little of it is lost


@pytest.mark.parametrize("name", ["T-1", "T-2"])
def test_lessons_take_value_tolerance_and_ends_from_the_sheet(name: str) -> None:
    sheets = load_practice(ROOT).specimens
    for setting, each in sheets[name].settings.items():
        for what, quantity in (("", each.value), (" within", each.within), (" least", each.least), (" greatest", each.greatest)):
            printed = reference_printed(f"{name} {setting}{what}", sheets)
            assert printed == quantity.shown, (setting, what)
    assert plain(reference_printed("T-2 float_level least as mm", sheets)) == "5.56 mm"


def test_the_courses_settings_agree_with_the_models_own_numbers() -> None:
    for sheet in load_practice(ROOT).specimens.values():
        specimen = sheet.specimen
        fall = specimen.needle_lift * specimen.float_arm / specimen.needle_arm
        level, drop = (sheet.settings[name].value.si for name in ("float_level", "float_drop"))
        assert drop - level == pytest.approx(fall, abs=0.005 * 0.0254)
        assert sheet.settings["curb_idle"].value.si == pytest.approx(specimen.points[0].speed)
        assert sheet.settings["lower_idle"].greatest.si < sheet.settings["curb_idle"].least.si
        assert sheet.settings["lifter_lift"].greatest.si < specimen.greatest_rod_lift  # else the stop would be measured


def test_a_value_without_a_tolerance_on_the_sheet_can_be_given_one() -> None:
    found = tolerated("main_bleed", "#60", "0.001 in")  # a #60 drill is 0.040 in
    assert plain(shown_range(found.least, found.greatest)) == "0.039 to 0.041 in"
    assert read_quantity("0.040 in").number == found.value.number


def test_a_third_has_ends_in_decimals_by_which_a_reading_can_be_judged() -> None:
    # By hand: 1/3 - 1/32 = 0.30208…, 1/3 + 1/32 = 0.36458…, inward to three places.
    found = one("  float_level: {says: x, value: 1/3 in, within: 1/32 in}\n")
    assert plain(shown_range(found.least, found.greatest)) == "0.303 to 0.364 in"


@pytest.mark.parametrize(
    ("setting", "told"),
    [
        ("value: 0.5 in, within: 1e-30 %", "bad-tolerance"),
        ("value: 0.5 in, within: 1e-999 in", "bad-tolerance"),
        ("value: 1e-999 in, within: 10 %", "bad-tolerance"),
        (f"value: {'9' * 60} in, within: 1 in", "bad-quantity"),
        ("value: 1e999 in, within: 1 in", "bad-quantity"),
        ("value: 12345678901234567890123 in, within: 0.1 in", "bad-tolerance"),
    ],
)
def test_what_no_bench_can_measure_is_refused(setting: str, told: str) -> None:
    _, findings = read(f"  float_level: {{says: x, {setting}}}\n")
    assert [one.rpartition("[")[2] for one in findings] == [f"{told}]"]


def test_ends_of_many_digits_are_printed_whole() -> None:
    found = one(f"  float_level: {{says: x, value: 1{'0' * 27}.123 mm, within: 1{'0' * 22} mm}}\n")
    assert found.least.written == f"0{'9' * 5}{'0' * 22}.123"[1:]
    assert Fraction(found.least.written) == found.least.number
