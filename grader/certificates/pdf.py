"""
The certificate as a page to hang up: PDF, tagged, exported as PDF/UA-1, the same bytes from the same certificate.

It is set from the signed file alone, so that the page cannot say more than was signed, and carries that file as an attachment.
Typst gets everything as one JSON text: a name is never source.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

from grader.base.canon import digest, read_json
from grader.base.codes import show_code
from grader.base.printing import language_and_region, qr_svg, set_pdf
from grader.certificates.credential import below, holder_of
from grader.certificates.issuer import fingerprint

MONTHS = "January February March April May June July August September October November December".split()  # noqa: SIM905


def certificate_pdf(signed: bytes, public: bytes, *, place: str = "", language: str = "en-GB") -> bytes:
    """
    A certificate as PDF.

    Parameters
    ----------
    signed : bytes
        The signed certificate's file.
    public : bytes
        The public key that signed it, whose fingerprint is printed.
    place : str
        Where the school is.
    language : str
        The page's language, a tag such as ``en-GB``.

    Raises
    ------
    UseError
        It cannot be set: a sign of the name is in none of the fonts.
    """
    data = json.dumps(sheet(signed, public, place=place, language=language), ensure_ascii=False)
    template = Path(str(files("grader.certificates"))) / "certificate.typ"
    return set_pdf(template, {"certificate": data}, "the certificate's page")


def sheet(signed: bytes, public: bytes, *, place: str = "", language: str = "en-GB") -> dict[str, Any]:
    """What the page says, as the template takes it; `signed` as in `certificate_pdf`."""
    said = read_json(signed)
    subject = said["credentialSubject"]
    achievement = subject["achievement"]
    number = said["id"].rsplit("/", 1)[-1]
    lang, region = language_and_region(language)
    text = qr_text(said, digest(signed))
    return {
        "title": f"Certificate {show_code(number)}: {achievement['name']}",
        "lang": lang,
        "region": region,
        "school": said["issuer"]["name"],
        "place": place,
        "holder": holder_of(said),
        "achievement": achievement["name"],
        "description": _tied(achievement["description"]),
        "criteria": _tied(achievement["criteria"]["narrative"]),
        "examined": day(said["awardedDate"]),
        "issued": day(said["validFrom"]),
        "last_day": day(said["validUntil"]) if "validUntil" in said else "",
        "decided": subject.get("narrative", ""),
        "results": _results(subject),
        "number_shown": show_code(number),
        "qr": qr_svg(text),
        "qr_alt": f"QR code with the facts of certificate {show_code(number)} and where it can be checked, in plain text",
        "small_print": _small_print(said, number, digest(signed), fingerprint(public)),
        "file": f"{number}.json",
        "signed": signed.decode(),
    }


def qr_text(said: Mapping[str, Any], signed: str) -> str:
    """The facts in plain text, as the QR code holds them: `signed` is the digest of the certificate's file."""
    until = said["validUntil"][:10] if "validUntil" in said else "no end"
    return "\n".join(
        (
            said["id"],
            holder_of(said),
            said["credentialSubject"]["achievement"]["name"],
            f"{said['validFrom'][:10]} to {until}",
            f"sha256 {signed}",
            f"check: {below(said['issuer']['id'], 'issuer/')}",
        )
    )


def day(instant: str) -> str:
    """
    The day of an instant in words.

    >>> day("2031-05-12T00:00:00Z")
    '12 May 2031'
    """
    year, month, date = instant[:10].split("-")
    return f"{int(date)} {MONTHS[int(month) - 1]} {year}"


def _tied(text: str) -> str:
    return text.replace(" %", "\u202f%")  # a number and its sign stay on one line


def _results(subject: Mapping[str, Any]) -> list[dict[str, str]]:
    names = {described["id"]: described["name"] for described in subject["achievement"]["resultDescription"]}
    return [{"name": names[result["resultDescription"]], "percent": result["value"]} for result in subject["result"]]


def _small_print(said: Mapping[str, Any], number: str, signed: str, key: str) -> list[str]:
    address = below(said["issuer"]["id"], "issuer/")
    return [
        "This certificate says what was examined and passed at the school named above, and nothing more. The program that made "
        "it accredits nobody, and claims no accreditation for the school. It replaces no licence that a law requires.",
        f"A printed page can be imitated. Check the signed file {number}.json, which is attached to this PDF: with issuer.json "
        f"and status.json from {address} in one folder, and no network, grader verify {number}.json --issuer issuer.json says "
        "whether it is good. The QR code holds the facts in plain text; it is no signature.",
        f"SHA-256 of the signed file: {signed}. Fingerprint of the issuer's key: {key}.",
    ]
