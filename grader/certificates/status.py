"""
The status list: one bit a certificate, 1 where it is revoked, signed as a whole (W3C Bitstring Status List v1.0).

At least 131,072 places, so that a place tells nothing about who asks; place 0 is the left-most bit. Packed with gzip, then `u`
and base64url. Unpacking is capped: a small file may not grow into a large one.
"""

from __future__ import annotations

import gzip
import zlib
from collections.abc import Iterable, Mapping
from typing import Any

from grader.base.errors import UseError
from grader.certificates.multibase import base64url, read_base64url

PLACES = 131_072
LIMIT = 2 * 1024 * 1024  # bytes unpacked: sixteen million certificates
CONTEXT = "https://www.w3.org/ns/credentials/v2"
PURPOSE = "revocation"


def packed(revoked: Iterable[int], places: int = PLACES) -> str:
    """
    A list with the bits of `revoked` set, as text.

    Raises `UseError` where a place is outside the list, or the list is shorter than the standard allows.

    >>> is_set(unpacked(packed([0, 7])), 7), is_set(unpacked(packed([0, 7])), 8)
    (True, False)
    """
    if places < PLACES or places % 8:
        raise UseError(f"a list of {places} places; the standard wants {PLACES} or more, and whole bytes")
    bits = bytearray(places // 8)
    for place in revoked:
        if not 0 <= place < places:
            raise UseError(f"place {place} is outside the list's 0 to {places - 1}")
        bits[place // 8] |= 0x80 >> place % 8
    return base64url(gzip.compress(bytes(bits), mtime=0))


def unpacked(text: str) -> bytes:
    """
    The bits of a packed list.

    Raises `UseError` where it is not one gzip stream of the standard's length, or unpacks to more than 2 MiB.
    """
    unpacker = zlib.decompressobj(wbits=31)
    try:
        bits = unpacker.decompress(read_base64url(text), LIMIT + 1)
    except zlib.error as error:
        raise UseError(f"the status list cannot be unpacked: {error}") from error
    if len(bits) > LIMIT:
        raise UseError(f"the status list unpacks to more than {LIMIT:,} bytes")
    if not unpacker.eof or unpacker.unused_data:
        raise UseError("the status list is cut off, or something stands after it")
    if len(bits) * 8 < PLACES:
        raise UseError(f"the status list has {len(bits) * 8} places; the standard wants {PLACES} or more")
    return bits


def is_set(bits: bytes, place: int) -> bool:
    """Whether the bit of a place is set; `UseError` where the list does not reach that far."""
    if not 0 <= place < len(bits) * 8:
        raise UseError(f"place {place} is outside the status list's 0 to {len(bits) * 8 - 1}")
    return bool(bits[place // 8] & 0x80 >> place % 8)


def status_list(issuer: str, address: str, revoked: Iterable[int], since: str) -> dict[str, Any]:
    """
    The status list as a credential, not yet signed.

    Parameters
    ----------
    issuer, address : str
        The issuer's id; where the list is published, which certificates name.
    revoked : iterable of int
        The places of revoked certificates.
    since : str
        The instant it was made, in UTC.
    """
    return {
        "@context": [CONTEXT],
        "id": address,
        "type": ["VerifiableCredential", "BitstringStatusListCredential"],
        "issuer": issuer,
        "validFrom": since,
        "credentialSubject": {
            "id": f"{address}#list",
            "type": "BitstringStatusList",
            "statusPurpose": PURPOSE,
            "encodedList": packed(revoked),
        },
    }


def entry(address: str, place: int) -> dict[str, str]:
    """
    What a certificate says about its place in the list.

    >>> entry("https://weirgate.example/issuer/status.json", 94567)["statusListIndex"]
    '94567'
    """
    return {
        "id": f"{address}#{place}",
        "type": "BitstringStatusListEntry",
        "statusPurpose": PURPOSE,
        "statusListIndex": str(place),
        "statusListCredential": address,
    }


def bits_of(credential: Mapping[str, Any], address: str) -> bytes:
    """The bits of a status list credential; `UseError` where it is another document, for another purpose or address."""
    subject = credential.get("credentialSubject")
    kinds = credential.get("type")
    if not isinstance(kinds, list) or "BitstringStatusListCredential" not in kinds or not isinstance(subject, dict):
        raise UseError("the status list's file holds another document")
    if credential.get("id") != address:
        raise UseError(f"the status list is {credential.get('id')!r}; the certificate names {address!r}")
    if subject.get("type") != "BitstringStatusList" or subject.get("statusPurpose") != PURPOSE:
        raise UseError(f"the status list is not one for {PURPOSE}")
    text = subject.get("encodedList")
    if not isinstance(text, str):
        raise UseError("the status list holds no bits")
    return unpacked(text)
