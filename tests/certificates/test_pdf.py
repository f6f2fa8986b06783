from __future__ import annotations

import io
import json
import re
from collections.abc import Callable, Iterator
from typing import Any

import pikepdf
import pypdfium2
import pytest
import zxingcpp

from grader.base.canon import digest
from grader.base.errors import UseError
from grader.certificates.keys import IssuerKey
from grader.certificates.pdf import certificate_pdf, qr_text, sheet

pytestmark = pytest.mark.paper
Sign = Callable[..., bytes]


@pytest.fixture(scope="module")
def page(certificate: bytes, key: IssuerKey) -> bytes:
    return certificate_pdf(certificate, key.public, place="Weirgate")


def _picture(page: bytes, dpi: int) -> Any:
    document = pypdfium2.PdfDocument(page)
    try:
        assert len(document) == 1
        return document[0].render(scale=dpi / 72).to_pil()
    finally:
        document.close()


def _words(page: bytes) -> str:
    document = pypdfium2.PdfDocument(page)
    try:
        text = document[0].get_textpage().get_text_range()
    finally:
        document.close()
    return re.sub(r"\s+", " ", text)


def _renamed(said: dict[str, Any], holder: str) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(json.dumps(said))
    document["credentialSubject"]["identifier"][0]["identityHash"] = holder
    return document


@pytest.mark.parametrize("dpi", [96, 150, 300])
def test_the_qr_code_is_read_back_from_the_page(page: bytes, certificate: bytes, dpi: int) -> None:
    # Read by zxing-cpp from the page as drawn by pdfium: neither is ours.
    found = zxingcpp.read_barcodes(_picture(page, dpi))
    assert [one.text for one in found] == [qr_text(json.loads(certificate), digest(certificate))]
    assert found[0].ec_level == "M"  # a tenth and a half of the code may be torn, stained or folded away


def test_the_qr_code_holds_the_facts_and_where_they_are_checked(certificate: bytes) -> None:
    assert qr_text(json.loads(certificate), digest(certificate)).splitlines() == [
        "https://weirgate.example/certificates/7M2KQ8D4XT",
        "Ottoline Marwick",
        "Main, power and pump circuits",
        "2031-05-14 to 2034-05-14",
        f"sha256 {digest(certificate)}",
        "check: https://weirgate.example/issuer/",
    ]


def test_the_page_says_who_what_when_and_how_to_check(page: bytes) -> None:
    words = _words(page)
    for said in (
        "Ottoline Marwick",
        "has passed the examination held on 12 May 2031",
        "Main, power and pump circuits",
        "Decided by T. Examiner on the marks.",
        "7M2KQ-8D4XT",
        "14 May 2031",
        "until 14 May 2034",
        "no network, grader verify 7M2KQ8D4XT.json --issuer issuer.json",
        "accredits nobody, and claims no accreditation for the school",
    ):
        assert said in words, said


def _tags(element: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(element, pikepdf.Array):
        for one in element:
            yield from _tags(one)
    elif isinstance(element, pikepdf.Dictionary):
        if "/S" in element:
            yield str(element["/S"])[1:], element
        if "/K" in element:
            yield from _tags(element["/K"])


def test_the_page_is_tagged_titled_and_says_its_language(page: bytes) -> None:
    # PDF/UA-1 (ISO 14289-1): what pikepdf can see of it; no full validator was run.
    with pikepdf.open(io.BytesIO(page)) as document:
        root = document.Root
        assert root.MarkInfo.Marked
        assert str(root.Lang) == "en-GB"
        assert root.ViewerPreferences.DisplayDocTitle
        with document.open_metadata() as metadata:
            assert metadata["pdfuaid:part"] == "1"
            assert metadata["dc:title"] == "Certificate 7M2KQ-8D4XT: Main, power and pump circuits"
        tags = list(_tags(root.StructTreeRoot.K))
    names = [name for name, _ in tags]
    assert [name for name in names if re.fullmatch(r"H\d", name)] == ["H1", "H2"]
    assert names.count("Table") == 1
    assert names.count("TH") == 2
    assert names.count("TD") == 4
    assert [str(element.Alt) for name, element in tags if name == "Figure"] == [
        "QR code with the facts of certificate 7M2KQ-8D4XT and where it can be checked, in plain text"
    ]


def test_the_signed_file_is_attached_byte_for_byte(page: bytes, certificate: bytes) -> None:
    with pikepdf.open(io.BytesIO(page)) as document:
        assert list(document.attachments) == ["7M2KQ8D4XT.json"]
        assert document.attachments["7M2KQ8D4XT.json"].get_file().read_bytes() == certificate


def test_the_same_certificate_gives_the_same_bytes(page: bytes, certificate: bytes, key: IssuerKey) -> None:
    assert certificate_pdf(certificate, key.public, place="Weirgate") == page


@pytest.mark.parametrize(
    "holder",
    [
        '#panic("x") $x^2$ *bold* _it_ `raw` <label> @ref [b] = Heading',
        '\\u{41} // comment /* more */ #import "@preview/x:1.0.0"',
        "https://elsewhere.example/ -- ~ ' \" … {[(",
        "Zoë Ōta-Łukasz, Ἀθηνᾶ Жук",
    ],
)
def test_a_name_is_set_as_it_stands_and_never_run(said: dict[str, Any], sign: Sign, key: IssuerKey, holder: str) -> None:
    page = certificate_pdf(sign(_renamed(said, holder)), key.public)
    assert re.sub(r"\s+", " ", holder) in _words(page)


def test_a_long_name_and_long_texts_stay_on_one_page(said: dict[str, Any], sign: Sign, key: IssuerKey) -> None:
    document = _renamed(said, " ".join(["Wilhelmina-Alexandrina"] * 6))
    achievement = document["credentialSubject"]["achievement"]
    achievement["name"] = "Main, power and pump circuits of a downdraft carburetor with two barrels " * 2
    achievement["description"] = "Computes and checks the main jet, the stepped rod and the accelerator pump. " * 4
    achievement["criteria"]["narrative"] = "A written paper of 60 minutes with numbers of its own for each candidate. " * 6
    page = certificate_pdf(sign(document), key.public, place="Weirgate")
    assert len(zxingcpp.read_barcodes(_picture(page, 150))) == 1


def test_a_sign_that_no_font_has_is_refused_in_words(said: dict[str, Any], sign: Sign, key: IssuerKey) -> None:
    with pytest.raises(UseError, match=r"the certificate's page cannot be set: "):
        certificate_pdf(sign(_renamed(said, "李 明")), key.public)


def test_a_certificate_without_end_says_so(said: dict[str, Any], sign: Sign, key: IssuerKey) -> None:
    endless = sign({name: value for name, value in said.items() if name != "validUntil"})
    assert sheet(endless, key.public)["last_day"] == ""
    assert "2031-05-14 to no end" in qr_text(json.loads(endless), "")
    assert "without end" in _words(certificate_pdf(endless, key.public))


def test_a_certificate_is_set_in_a_language_whose_tag_names_a_script(certificate: bytes, key: IssuerKey) -> None:
    assert certificate_pdf(certificate, key.public, language="sr-Latn").startswith(b"%PDF-")
