"""Pages as PDF: nothing a person wrote is source, nothing outside the folder is read, a warning is a failure."""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree

from grader.base.errors import UseError
from grader.base.printing import qr_svg, set_pdf

HEAD = '#set document(title: "x")\n#set text(lang: "en")\n'


def template(folder: Path, body: str) -> Path:
    page = folder / "page.typ"
    page.write_text(HEAD + body, encoding="utf-8")
    return page


def test_the_same_text_gives_the_same_bytes_and_another_gives_others(tmp_path: Path) -> None:
    page = template(tmp_path, "#sys.inputs.name")
    assert set_pdf(page, {"name": "Ada"}, "a page") == set_pdf(page, {"name": "Ada"}, "a page")
    assert set_pdf(page, {"name": "Ada"}, "a page") != set_pdf(page, {"name": "Bea"}, "a page")


@pytest.mark.parametrize("name", ["#read(0)", "#panic()", "= Heading", "$x$", '#import "x"', "*bold*", "\\u{41}"])
def test_what_a_person_wrote_is_never_source(tmp_path: Path, name: str) -> None:
    # Set as text it is set at all: as source each of these would fail or look different.
    assert set_pdf(template(tmp_path, "#sys.inputs.name"), {"name": name}, "a page").startswith(b"%PDF-")


def test_a_warning_is_a_failure_that_names_the_page(tmp_path: Path) -> None:
    page = template(tmp_path, '#set text(font: "No Such Face")\nx')
    with pytest.raises(UseError, match="the paper of c-01 cannot be set: unknown font family"):
        set_pdf(page, {}, "the paper of c-01")


def test_nothing_outside_the_template_s_folder_can_be_read(tmp_path: Path) -> None:
    inside = tmp_path / "inside"
    inside.mkdir()
    (tmp_path / "secret.txt").write_text("key")
    with pytest.raises(UseError, match="a page cannot be set"):
        set_pdf(template(inside, '#read("../secret.txt")'), {}, "a page")


def test_a_code_is_a_full_qr_code_of_its_text() -> None:
    # ISO/IEC 18004: a full QR code has 21 modules a side or more (version 1), a Micro QR at most 17; with a border of 2: 25.
    root = etree.fromstring(qr_svg("7M2KQ8D4XT").encode())
    assert float(root.get("width")) >= 25
    assert qr_svg("7M2KQ8D4XT") != qr_svg("7M2KQ8D4XA")
