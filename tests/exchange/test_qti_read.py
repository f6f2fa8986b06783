"""Items of QTI 3.0 as drafts: what is taken over is exact, what is not is said, and a hostile file does nothing."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.errors import UseError
from grader.exchange.draft import Drafted
from grader.exchange.qti_read import item_of, read_qti

# Our own items, in the shape of the standard's published examples (1EdTech/qti-examples, commit 49814742).
SPACE = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0"
HEAD = f'<qti-assessment-item xmlns="{SPACE}" identifier="x" title="Spill" time-dependent="false">'
CHOICE = (
    HEAD + '<qti-response-declaration identifier="R" cardinality="single" base-type="identifier"><qti-correct-response>'
    "<qti-value>B</qti-value></qti-correct-response></qti-response-declaration><qti-item-body><p>A bowl <b>overflows</b>.</p>"
    '<qti-choice-interaction response-identifier="R" max-choices="1"><qti-prompt>What do you look at first?</qti-prompt>'
    '<qti-simple-choice identifier="A">the choke</qti-simple-choice>'
    '<qti-simple-choice identifier="B">the needle {seat}</qti-simple-choice>'
    "</qti-choice-interaction></qti-item-body></qti-assessment-item>"
)
NUMBER = (
    HEAD + '<qti-response-declaration identifier="R" cardinality="single" base-type="float"><qti-correct-response>'
    "<qti-value>12.50</qti-value></qti-correct-response></qti-response-declaration><qti-item-body><p>How high is the level?</p>"
    '<p>It is <qti-text-entry-interaction response-identifier="R"/> mm.</p></qti-item-body><qti-response-processing>'
    "<qti-response-condition><qti-response-if>TEST</qti-response-if></qti-response-condition></qti-response-processing>"
    "</qti-assessment-item>"
)
EQUAL = "<qti-equal {}><qti-correct identifier='R'/><qti-variable identifier='R'/></qti-equal>"


def drafted(text: str) -> Drafted:
    found = item_of("x.xml", text.encode())
    assert isinstance(found, Drafted), found
    return found


def refused(text: str | bytes) -> str:
    found = item_of("x.xml", text if isinstance(text, bytes) else text.encode())
    assert isinstance(found, str), found
    return found


def test_a_choice_has_its_stem_and_the_right_option_first() -> None:
    found = drafted(CHOICE)
    assert found.stem == "A bowl overflows.\n\nWhat do you look at first?"
    assert found.options == ("the needle {seat}", "the choke")
    assert (found.name, found.left) == ("Spill", ())


@pytest.mark.parametrize(
    ("attributes", "within"),
    [
        ("tolerance-mode='absolute' tolerance='0.25 0.25'", "0.25"),
        ("tolerance-mode='absolute' tolerance='0.25'", "0.25"),
        ("tolerance-mode='relative' tolerance='2'", "2 %"),
        ("tolerance-mode='exact'", "0.005"),
    ],
)
def test_a_number_has_its_tolerance_as_a_bank_writes_it_and_the_unit_behind_its_field(attributes: str, within: str) -> None:
    found = drafted(NUMBER.replace("TEST", EQUAL.format(attributes)))
    assert (found.value, found.within, found.unit, found.left) == ("12.50", within, "mm", ())
    assert found.stem == "How high is the level?\n\nIt is … mm."


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (CHOICE.replace('"single"', '"multiple"'), "more than one right"),
        (CHOICE.replace("<qti-value>B</qti-value>", "<qti-value>Z</qti-value>"), "not among the options"),
        (CHOICE.replace("the choke", "the needle {seat}"), "two options say the same"),
        (CHOICE.replace("qti-choice-interaction", "qti-hotspot-interaction"), "hotspot-interaction cannot be drafted"),
        (CHOICE.replace('response-identifier="R"', 'response-identifier="S"'), "no response declaration"),
        (NUMBER.replace("12.50", "twelve"), "is no number"),
        (NUMBER.replace("12.50", "NaN"), "not finite"),
        (NUMBER.replace('base-type="float"', 'base-type="string"'), "no single number"),
        (NUMBER.replace("TEST", EQUAL.format("tolerance-mode='absolute' tolerance='1 2'")), "not a plain one"),
        (HEAD + "<qti-item-body><p>Read this.</p></qti-item-body></qti-assessment-item>", "nothing is asked"),
        ("<!DOCTYPE x [<!ENTITY a 'b'>]>" + CHOICE, "document type"),
        (b"\xff\xfe<", "not UTF-8"),
        ("<a><b></a>", "no XML"),
        ("<qti-assessment-item>" + "<p>" * 5000 + "</p>" * 5000 + "</qti-assessment-item>", "nested deeper"),
    ],
)
def test_what_cannot_be_taken_over_is_said(text: str | bytes, says: str) -> None:
    assert says in refused(text)


def test_a_package_gives_its_items_and_passes_over_the_rest(tmp_path: Path) -> None:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        archive.writestr("imsmanifest.xml", "<manifest/>")
        archive.writestr("../../out.xml", CHOICE)
        archive.writestr("bad.xml", "<a>")
        archive.writestr("picture.png", b"\x89PNG")
    (tmp_path / "p.zip").write_bytes(data.getvalue())
    found, said = read_qti(tmp_path / "p.zip")
    assert [one.name for one in found] == ["Spill"]
    assert len(said) == 1
    assert [file.name for file in tmp_path.iterdir()] == ["p.zip"]  # nothing was unpacked anywhere


def test_a_package_that_unpacks_without_end_is_stopped(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "bomb.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        for name in "ab":
            archive.writestr(f"{name}.xml", b" " * 9_000_000)
    with pytest.raises(UseError, match="more than 16 MB"):
        read_qti(tmp_path / "bomb.zip")


def test_what_holds_no_item_is_told(tmp_path: Path) -> None:
    (tmp_path / "m.xml").write_text("<manifest/>")
    (tmp_path / "z.zip").write_bytes(b"PK nothing")
    with pytest.raises(UseError, match="no item of QTI"):
        read_qti(tmp_path / "m.xml")
    with pytest.raises(UseError, match="no item of QTI"):
        read_qti(tmp_path)
    with pytest.raises(UseError, match="cannot be unpacked"):
        read_qti(tmp_path / "z.zip")


@given(st.binary(max_size=300))
def test_any_bytes_are_a_draft_a_reason_or_no_item(data: bytes) -> None:
    assert isinstance(item_of("x.xml", data), Drafted | str | None)
