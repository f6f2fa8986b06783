"""
The issuer's public half: the document a verifier must have, from the school itself, before it can check anything.

`issuer.json` is a W3C controlled identifier document: it says which keys may sign for the school. Whoever checks a certificate
trusts this file and nothing in the certificate.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from grader.base.canon import digest, read_json
from grader.base.errors import UseError
from grader.certificates.multibase import multikey, read_multikey

CONTEXT = "https://www.w3.org/ns/cid/v1"


@dataclass(frozen=True, slots=True)
class Issuer:
    """An issuer as a verifier knows it: its id, and its keys by the name that a signature gives them."""

    id: str
    keys: Mapping[str, bytes]


def document(school: str, multikeys: Sequence[str]) -> dict[str, Any]:
    """
    The issuer's document.

    Parameters
    ----------
    school : str
        The school's id, a URI.
    multikeys : sequence of str
        The public keys that may sign, the newest first.
    """
    methods = [f"did:key:{key}#{key}" for key in multikeys]
    return {
        "@context": [CONTEXT],
        "id": school,
        "verificationMethod": [
            {"id": method, "type": "Multikey", "controller": school, "publicKeyMultibase": key}
            for method, key in zip(methods, multikeys, strict=True)
        ],
        "assertionMethod": methods,
    }


def profile(school: str, name: str, public: bytes) -> dict[str, Any]:
    """Who the issuer is, for people: name, id, key and the key's fingerprint. Nothing is checked against it."""
    return {"id": school, "name": name, "publicKeyMultibase": multikey(public), "fingerprint": fingerprint(public)}


def read_issuer(data: bytes) -> Issuer:
    """
    An issuer from its document. Only keys that it says may sign are taken.

    Raises `UseError` saying what is wrong with the document.

    >>> read_issuer(b'{"id": "https://weirgate.example/"}')
    Traceback (most recent call last):
    ...
    grader.base.errors.UseError: not an issuer's document: it names no key that may sign (`assertionMethod`)
    """
    found = read_json(data)
    if not isinstance(found, dict) or not isinstance(found.get("id"), str):
        raise UseError("not an issuer's document: it has no `id`")
    methods, signing = found.get("verificationMethod"), found.get("assertionMethod")
    if not isinstance(methods, list) or not isinstance(signing, list) or not signing:
        raise UseError("not an issuer's document: it names no key that may sign (`assertionMethod`)")
    keys = {}
    for method in methods:
        if isinstance(method, dict) and isinstance(method.get("id"), str) and method["id"] in signing:
            keys[method["id"]] = _key(method, found["id"])
    if not keys:
        raise UseError("not an issuer's document: it holds none of the keys that it says may sign")
    return Issuer(found["id"], keys)


def _key(method: Mapping[str, Any], controller: str) -> bytes:
    text = method.get("publicKeyMultibase")
    if method.get("type") != "Multikey" or method.get("controller") != controller or not isinstance(text, str):
        raise UseError(f"not an issuer's document: key {str(method.get('id'))[:80]!r} is no Multikey of {controller!r}")
    return read_multikey(text)


def fingerprint(public: bytes) -> str:
    """
    The SHA-256 of a public key in groups of four, to be read out over the telephone.

    >>> fingerprint(bytes(32))[:19]
    '6668 7aad f862 bd77'
    """
    text = digest(public)
    return " ".join(text[place : place + 4] for place in range(0, len(text), 4))
