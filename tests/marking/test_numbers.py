"""Numbers with units as people write them."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.marking.key import UnitEntry, unit_entries
from grader.marking.numbers import ReadNumber, Unreadable, is_blank, read_number

UNITS = unit_entries()

# What was written, the unit asked for, and the value meant, as a fraction of the unit that was meant.
WRITTEN = [
    ("19.4 mm²", "mm^2", "19.4", "mm^2"),
    ("19.4mm2", "mm^2", "19.4", "mm^2"),
    ("19.4 mm^2", "mm^2", "19.4", "mm^2"),
    ("19.4 sq mm", "mm^2", "19.4", "mm^2"),
    ("19.4 sq. mm.", "mm^2", "19.4", "mm^2"),
    ("19,4 mm²", "mm^2", "19.4", "mm^2"),
    ("19.4", "mm^2", "19.4", "mm^2"),
    ("19.4 MM²", "mm^2", "19.4", "mm^2"),
    ("  19.4\u202fmm² ", "mm^2", "19.4", "mm^2"),
    ("19.4\u00a0mm\u00b2", "mm^2", "19.4", "mm^2"),
    ("１９．４ ｍｍ²", "mm^2", "19.4", "mm^2"),
    ("19.4 ㎟", "mm^2", "19.4", "mm^2"),
    ("A = 19.4 mm²", "mm^2", "19.4", "mm^2"),
    ("= 19.4 mm²", "mm^2", "19.4", "mm^2"),
    ("≈ 3", "mm", "3", "mm"),
    ("~3mm", "mm", "3", "mm"),
    ("ca. 3 mm", "mm", "3", "mm"),
    ("approx 3 mm", "mm", "3", "mm"),
    ("approx. 3 mm", "mm", "3", "mm"),
    ("About 3 mm.", "mm", "3", "mm"),
    ("5/32 in", "mm", "5/32", "in"),
    ("5⁄32 in", "in", "5/32", "in"),
    ("5 / 32 in", "in", "5/32", "in"),
    ("½", "in", "1/2", "in"),
    ("½ in", "in", "1/2", "in"),
    ('⅜"', "in", "3/8", "in"),
    ('1 1/4"', "in", "5/4", "in"),
    ('1-1/4"', "in", "5/4", "in"),
    ("1¼″", "in", "5/4", "in"),
    ("1 ¼ ”", "in", "5/4", "in"),
    ("-1 1/4 in", "in", "-5/4", "in"),
    (".095 in", "mm", "0.095", "in"),
    ('.095"', "mm", "0.095", "in"),
    ("0.095-in", "mm", "0.095", "in"),
    ("95 thou", "mm", "95", "thou"),
    (".75 cc", "cm^3", "0.75", "cm^3"),
    (",75 cc", "cm^3", "0.75", "cm^3"),
    ("0,125 in", "in", "0.125", "in"),
    ("1,5 kPa", "kPa", "1.5", "kPa"),
    ("1.5kpa", "kPa", "1.5", "kPa"),
    ("1500 Pa", "kPa", "1500", "Pa"),
    ("1.2e-3 m3", "cm^3", "0.0012", "m^3"),
    ("1.2E-3 m³", "cm^3", "0.0012", "m^3"),
    ("1.2×10^-3 m³", "L", "0.0012", "m^3"),
    ("1.2 × 10⁻³ m³", "L", "0.0012", "m^3"),
    ("1.2x10-3 m3", "L", "0.0012", "m^3"),
    ("1,2·10^-3 m³", "L", "0.0012", "m^3"),
    ("10^3 Pa", "kPa", "1000", "Pa"),
    ("14.7:1", "1", "14.7", "1"),
    ("14.7 : 1", "1", "14.7", "1"),
    ("14.7 to 1", "1", "14.7", "1"),
    ("14.7∶1", "1", "14.7", "1"),
    ("12 %", "1", "12", "%"),
    ("12 per cent", "%", "12", "%"),
    ("12 in. Hg", "inHg", "12", "inHg"),
    ("12 inHg", "kPa", "12", "inHg"),
    ('12" Hg', "inHg", "12", "inHg"),
    ("12 inches of mercury", "inHg", "12", "inHg"),
    ("7 in. H2O", "inH2O", "7", "inH2O"),
    ("7 inH₂O", "inH2O", "7", "inH2O"),
    ("−4", "mm", "-4", "mm"),
    ("–4 °C", "degC", "-4", "degC"),
    ("- 4 mm", "mm", "-4", "mm"),
    ("+4 mm", "mm", "4", "mm"),
    ("72°", "degF", "72", "degF"),
    ("72 °F", "degC", "72", "degF"),
    ("72 deg F", "degF", "72", "degF"),
    ("72℉", "degF", "72", "degF"),
    ("72 ºC", "degC", "72", "degC"),
    ("8°", "deg", "8", "deg"),
    ("8 degrees", "deg", "8", "deg"),
    ("1,234,567 Pa", "Pa", "1234567", "Pa"),
    ("1.234.567 Pa", "Pa", "1234567", "Pa"),
    ("1,234.5 mm", "mm", "1234.5", "mm"),
    ("1.234,5 mm", "mm", "1234.5", "mm"),
    ("101 325 Pa", "Pa", "101325", "Pa"),
    ("101\u2009325 Pa", "kPa", "101325", "Pa"),
    ("1.234 mm", "mm", "1.234", "mm"),
    ("1,2345 mm", "mm", "1.2345", "mm"),
    ("1,23 mm", "mm", "1.23", "mm"),
    ("1234,567 mm", "mm", "1234.567", "mm"),
    ("19. mm", "mm", "19", "mm"),
    ("19.4 mm,", "mm", "19.4", "mm"),
    ("007 mm", "mm", "7", "mm"),
    ("3200 rpm", "rev/min", "3200", "rev/min"),
    ("3200 r/min", "rev/min", "3200", "rev/min"),
    ("2.5 g per min", "g/min", "2.5", "g/min"),
    ("3 fl. oz.", "cm^3", "3", "floz"),
    ("350 cfm", "ft^3/min", "350", "ft^3/min"),
    ("12 lb ft", "N*m", "12", "lbf*ft"),
    ("740 kg/m³", "kg/m^3", "740", "kg/m^3"),
    ("0.74 g/cc", "kg/m^3", "0.74", "g/cm^3"),
]

UNREADABLE = [
    ("1,234", "can be read as 1234 and as 1.234"),
    ("12,345 mm", "can be read as 12345 and as 12.345"),
    ("-1,234 mm", "can be read as 1234 and as 1.234"),
    ("1.2.3", "do not make one number"),
    ("1,23,456", "do not make one number"),
    ("1,234.567,8", "do not make one number"),
    ("3-4 mm", "more than one number"),
    ("3 to 4 mm", "more than one number"),
    ("5 ± 1 mm", "more than one number"),
    ("3 mm 4", "more than one number"),
    ("2' 3\"", "more than one number"),
    ("1'000 mm", "more than one number"),
    ("1.2×103", "more than one number"),
    ("1/2/3", "more than one number"),
    ("2.5/3", "more than one number"),
    ("1 5/4 in", "fraction of “1 5/4 in” is not below one"),
    ("1/0 in", "divides by zero"),
    ("1e999 mm", "beyond 99"),
    ("1e99999999999 mm", "beyond 99"),
    ("19.4 furlongs", "“furlongs” is not a unit"),
    ("19.4 mm² (rounded)", "is not a unit"),
    ("19.4 MPa", "“MPa” is not a unit"),
    ("about the same", "does not begin with a number"),
    ("No. 42", "may be a drill's number or a jet's"),
    ("No. 90 drill", "no drill No. 90; they run from 1 to 80"),
    ("< 3 mm", "does not begin with a number"),
    ("five mm", "does not begin with a number"),
    ("٣ mm", "does not begin with a number"),
    ("NaN", "does not begin with a number"),
    ("inf", "does not begin with a number"),
    ("05. Mar", "looks like a date"),
    ("5-Mar", "looks like a date"),
    ("Mar 32", "looks like a date"),
    ("3\x07 mm", "cannot be printed"),
    ("3\u202e mm", "cannot be printed"),
    ("9" * 101, "Longer than 100"),
    ("9" * 1_000_000, "Longer than 100"),
]


@pytest.mark.parametrize(("text", "asked", "number", "unit"), WRITTEN)
def test_a_number_is_read_as_it_was_meant(text: str, asked: str, number: str, unit: str) -> None:
    read = read_number(text, UNITS, asked)
    assert isinstance(read, ReadNumber), read
    assert (read.number, read.unit) == (Fraction(number), unit)


@pytest.mark.parametrize(("text", "reason"), UNREADABLE)
def test_what_is_not_one_number_is_not_guessed(text: str, reason: str) -> None:
    read = read_number(text, UNITS, "mm")
    assert isinstance(read, Unreadable), read
    assert reason in read.reason


def test_a_fraction_of_an_inch_is_exact() -> None:
    # 1 in = 25.4 mm exactly, so 5/32 in = 3.96875 mm (international yard and pound agreement, 1959, from memory)
    read = read_number("5/32 in", UNITS, "mm")
    assert isinstance(read, ReadNumber)
    assert Fraction(*read.within(UNITS["mm"])) == Fraction("3.96875")


def test_a_drill_is_no_number_where_the_key_has_no_inches() -> None:
    read = read_number("No. 42 drill", unit_entries(["mm", "kPa"]), "mm")
    assert isinstance(read, Unreadable)
    assert "does not begin with a number" in read.reason


PINT = {
    "in": "inch", "ft": "foot", "mm^2": "mm**2", "in^2": "inch**2", "cm^3": "cm**3", "floz": "fluid_ounce", "gal": "gallon",
    "lb": "pound", "oz": "ounce", "psi": "psi", "bar": "bar", "mbar": "mbar", "atm": "atm", "lbf": "lbf", "lb/h": "pound/hour",
    "ft^3/min": "foot**3/minute", "degC": "degC", "degF": "degF", "lbf*ft": "lbf*foot", "mm^2/s": "mm**2/s", "inHg": "inHg",
}  # fmt: skip


@pytest.mark.parametrize(("ours", "theirs"), PINT.items())
def test_units_convert_as_in_pint(ours: str, theirs: str) -> None:
    # pint 0.25's own table is the reference; inHg agrees to the conventional value's seven figures
    registry: Any = pint.UnitRegistry()
    read = read_number(f"12.5 {UNITS[ours].shown}", UNITS, ours)
    assert isinstance(read, ReadNumber)
    expected = registry.Quantity(12.5, theirs).to_base_units().magnitude
    assert float(read.si) == pytest.approx(expected, rel=1e-6)


def test_degrees_are_differences_where_a_difference_is_asked() -> None:
    read = read_number("9 °F", UNITS, "dK")
    assert isinstance(read, ReadNumber)
    assert (read.entry.kind, Fraction(*read.within(UNITS["dK"]))) == ("temperature difference", Fraction(5))


def test_the_order_of_the_units_in_the_key_does_not_matter() -> None:
    backwards = dict(reversed(UNITS.items()))
    for text, asked, *_ in WRITTEN:
        assert read_number(text, UNITS, asked) == read_number(text, backwards, asked)


def test_a_spelling_that_units_share_means_the_one_of_the_kind_asked_for() -> None:
    shared = {
        "b": UnitEntry(kind="length", factor="2", shown="b", spelt=("x",)),
        "a": UnitEntry(kind="mass", factor="3", shown="a", spelt=("x",)),
        "c": UnitEntry(kind="length", factor="1", shown="c", spelt=("c",)),
        "d": UnitEntry(kind="time", factor="1", shown="d", spelt=("d",)),
    }
    for units in (shared, dict(reversed(shared.items()))):
        found = [read_number("5 x", units, asked) for asked in ("a", "b", "c", "d")]
        assert [read.unit for read in found if isinstance(read, ReadNumber)] == ["a", "b", "b", "a"]  # else the first by name


@given(number=st.decimals(-99999, 99999, places=3), unit=st.sampled_from([u for u in UNITS if UNITS[u].spelt]))
@settings(max_examples=100, deadline=None)
def test_what_is_printed_reads_back(number: object, unit: str) -> None:
    read = read_number(f"{number} {UNITS[unit].shown}", UNITS, unit)
    assert isinstance(read, ReadNumber)
    again = read_number(read.read, UNITS, unit)
    assert isinstance(again, ReadNumber)
    assert (again.number, again.unit, read.number) == (read.number, read.unit, Fraction(str(number)))


@given(st.text(max_size=120))
@settings(max_examples=200, deadline=None)
def test_any_text_is_read_or_told_why_not(text: str) -> None:
    read = read_number(text, UNITS, "mm^2")
    assert read.read if isinstance(read, ReadNumber) else read.reason


def test_nothing_but_dashes_and_question_marks_is_blank() -> None:
    assert [is_blank(t) for t in ("", " \t\n", "-", "—", "??", "…", "n/a", "0", "a")] == [True] * 6 + [False] * 3
