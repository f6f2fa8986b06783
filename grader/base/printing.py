"""
Pages as PDF by typst, and QR codes: what papers, bench sheets and certificates are printed with.

A template gets everything as text under names, so nothing that a person wrote is ever source. The fonts are those inside
typst's wheel. A warning is a failure: an unknown font or a missing sign would be only a warning.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import segno
import typst

from grader.base.errors import UseError

INK = "#1b2430"
REPLACED = "\ufffd"
"""What is printed for a sign that no font has: Unicode's replacement character, which the fonts do have."""


def language_and_region(tag: str) -> tuple[str, str]:
    """
    A language tag as typst takes it: the language, and a region of two letters; `GB` where the tag names none of that form.

    >>> [language_and_region(tag) for tag in ("en-US", "de", "sr-Latn", "zh-Hans-cn", "es-419")]
    [('en', 'US'), ('de', 'GB'), ('sr', 'GB'), ('zh', 'CN'), ('es', 'GB')]
    """
    language, *others = tag.split("-")
    return language, next((other.upper() for other in others if len(other) == 2 and other.isalpha()), "GB")


def set_pdf(template: Path, inputs: Mapping[str, str], what: str) -> bytes:
    """
    A template as tagged PDF, exported as PDF/UA-1: the same bytes from the same inputs.

    Parameters
    ----------
    template : Path
        A file of ours; nothing outside its folder can be read.
    inputs : mapping
        What the template asks for by name.
    what : str
        How an error calls it: "the paper of c-01".

    Raises
    ------
    UseError
        It cannot be set: a sign that no font has, a figure that is no SVG.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     page = Path(folder, "page.typ")
    ...     _ = page.write_text('#set document(title: "Jet")\\n#sys.inputs.text', encoding="utf-8")
    ...     set_pdf(page, {"text": "#read(0)"}, "the page")[:5]
    b'%PDF-'
    """
    try:
        pdf, warnings = typst.compile_with_warnings(
            template,
            sys_inputs=dict(inputs),
            root=template.parent,
            font_paths=_fonts(),
            ignore_system_fonts=True,
            pdf_standards="ua-1",
            timestamp=0,
        )
    except typst.TypstError as error:
        raise UseError(f"{what} cannot be set: {_said(error)}") from error
    if warnings:
        raise UseError(f"{what} cannot be set: {'; '.join(map(_said, warnings))}")
    return bytes(pdf)


def unprintable(text: str) -> str:
    """
    The signs of a text that none of the fonts has, each once, in order.

    >>> unprintable("Zoë Ōta-Łukasz, Ἀθηνᾶ, Жук"), unprintable("A 李 b 明 李")
    ('', '李明')
    """
    return "".join(sign for sign in dict.fromkeys(text) if not _printable(sign))


def replaced(text: str) -> str:
    """
    A text that can be printed: `REPLACED` stands for each sign that no font has.

    >>> replaced("李 Ming"), replaced("Zoë")
    ('� Ming', 'Zoë')
    """
    missing = unprintable(text)
    return text.translate(dict.fromkeys(map(ord, missing), REPLACED)) if missing else text


@cache
def _printable(sign: str) -> bool:
    """Whether a font has a sign: PDF/UA-1 refuses what none has. It takes a millisecond, once for each sign."""
    if sign.isascii() and sign.isprintable():
        return True
    try:
        set_pdf(Path(str(files("grader.base"))) / "probe.typ", {"text": f"x{sign}"}, "the probe")
    except UseError:
        return False
    return True


def _said(error: Any) -> str:
    """What typst says, in one line; its own hints come after."""
    return " ".join((error.message, *(f"({hint})" for hint in error.hints[:2])))


@cache
def _fonts() -> typst.Fonts:
    """The fonts in the wheel, opened once a process: setting a page takes a quarter of the time then."""
    return typst.Fonts(include_system_fonts=False)


@cache
def qr_svg(text: str) -> str:
    """
    A full QR code (never a Micro QR, which most phone cameras cannot read) as SVG.

    >>> qr_svg("7M2KQ8D4XT").startswith("<svg")
    True
    """
    stream = io.BytesIO()
    segno.make_qr(text, error="m").save(stream, kind="svg", border=2, xmldecl=False, dark=INK, nl=False)
    return stream.getvalue().decode()
