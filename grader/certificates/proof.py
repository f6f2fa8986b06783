"""
The signature on a document: W3C Data Integrity, cryptosuite eddsa-jcs-2022.

    hash    = SHA-256(JCS(proof without proofValue)) then SHA-256(JCS(document without proof))     64 bytes
    proof   = z + base58btc(Ed25519(hash))

JCS is RFC 8785 (`grader.base.canon`). Source: the published vectors of "Data Integrity EdDSA Cryptosuites v1.0", redone step
by step in the tests.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

from grader.base.canon import canonical, read_json
from grader.base.errors import UseError
from grader.certificates.keys import IssuerKey, signature_is_good
from grader.certificates.multibase import base58btc, read_base58btc, read_multikey

SUITE = "eddsa-jcs-2022"
TYPE = "DataIntegrityProof"
PURPOSE = "assertionMethod"


def options(document: Mapping[str, Any], method: str, created: str) -> dict[str, Any]:
    """The proof of a document before it is signed: who signs, when (an instant in UTC), by which suite."""
    return {
        "type": TYPE,
        "cryptosuite": SUITE,
        "created": created,
        "verificationMethod": method,
        "proofPurpose": PURPOSE,
        "@context": document["@context"],
    }


def hashed(document: Mapping[str, Any], proof: Mapping[str, Any]) -> bytes:
    """
    The 64 bytes that are signed: the proof's digest, then the document's.

    >>> len(hashed({"@context": []}, {"type": "DataIntegrityProof", "proofValue": "left out"}))
    64
    """
    config = {name: value for name, value in proof.items() if name != "proofValue"}
    unsecured = {name: value for name, value in document.items() if name != "proof"}
    return hashlib.sha256(canonical(config)).digest() + hashlib.sha256(canonical(unsecured)).digest()


def signed(document: Mapping[str, Any], key: IssuerKey, created: str) -> dict[str, Any]:
    """The document with the key's proof on it."""
    proof = options(document, key.method, created)
    return {**document, "proof": proof | {"proofValue": base58btc(key.sign(hashed(document, proof)))}}


def proof_of(document: Mapping[str, Any]) -> dict[str, Any]:
    """
    The one proof on a document, with every field that this suite wants.

    Raises `UseError` saying what is missing or unknown.

    >>> proof_of({"id": "x"})
    Traceback (most recent call last):
    ...
    grader.base.errors.UseError: it carries no signature (`proof`)
    """
    proof = document.get("proof")
    if proof is None:
        raise UseError("it carries no signature (`proof`)")
    if not isinstance(proof, dict):
        raise UseError("`proof` is not one signature")
    wanted = {"type": TYPE, "cryptosuite": SUITE, "proofPurpose": PURPOSE}
    for name, value in wanted.items():
        if proof.get(name) != value:
            raise UseError(f"its signature's `{name}` is {_brief(proof.get(name))}; this program checks {value!r} only")
    for name in ("created", "verificationMethod", "proofValue"):
        if not isinstance(proof.get(name), str):
            raise UseError(f"its signature's `{name}` is missing or not a text")
    return proof


def method_of(data: bytes) -> str:
    """
    The name of the key that signed a document of ours, from its bytes: a did:key, which holds the key itself.

    Raises `UseError` where the bytes are no signed document.
    """
    document = read_json(data)
    if not isinstance(document, dict):
        raise UseError("not a signed document")
    return str(proof_of(document)["verificationMethod"])


def public_of(data: bytes) -> bytes:
    """The public key that a document of ours says it was signed with; raises as `method_of`."""
    return read_multikey(method_of(data).rpartition("#")[2])


def is_signed_by(document: Mapping[str, Any], public: bytes) -> bool:
    """
    Whether the document's proof is the key's.

    The suite lets contexts be added to a document after it was signed; here they are part of what was signed, like all of it.
    Raises `UseError` where `proof_of` would.
    """
    proof = proof_of(document)
    try:
        signature = read_base58btc(proof["proofValue"])
    except UseError:
        return False
    return signature_is_good(public, signature, hashed(document, proof))


def _brief(value: object) -> str:
    return "missing" if value is None else repr(value)[:60]
