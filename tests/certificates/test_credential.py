from __future__ import annotations

import copy
import hashlib
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from grader.certificates.credential import Facts, credential, holder_of

# Our own schema from the properties that Open Badges 3.0 requires: vectors/SOURCES.txt.
SCHEMA = json.loads((Path(__file__).parent / "vectors" / "ob3-minimum.schema.json").read_bytes())
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


def test_a_certificate_holds_what_open_badges_requires(certificate: bytes) -> None:
    assert [error.message for error in VALIDATOR.iter_errors(json.loads(certificate))] == []


@pytest.mark.parametrize("name", SCHEMA["required"])
def test_the_schema_finds_a_certificate_that_lacks_a_field(said: dict[str, Any], name: str) -> None:
    assert list(VALIDATOR.iter_errors({key: value for key, value in said.items() if key != name}))


def test_the_signature_is_found_good_without_any_of_our_code(certificate: bytes) -> None:
    # A second way, by the suite's text alone: sorted JSON (no number stands in it, so that is RFC 8785), SHA-256, Ed25519.
    document = json.loads(certificate)
    proof = document.pop("proof")
    digits = "123456789ABCDEFGHJKLMNPQRSTUVWXYZabcdefghijkmnopqrstuvwxyz"

    def bytes_of(text: str) -> bytes:
        return sum(digits.index(digit) * 58**place for place, digit in enumerate(reversed(text[1:]))).to_bytes(64, "big")

    def digest(value: object) -> bytes:
        return hashlib.sha256(json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()).digest()

    signature = bytes_of(proof.pop("proofValue"))
    public = bytes_of(proof["verificationMethod"].split("#")[1])[-32:]
    Ed25519PublicKey.from_public_bytes(public).verify(signature, digest(proof) + digest(document))
    with pytest.raises(InvalidSignature):
        Ed25519PublicKey.from_public_bytes(public).verify(signature, digest(document) + digest(proof))


def test_every_result_has_its_description(said: dict[str, Any]) -> None:
    subject = said["credentialSubject"]
    described = [one["id"] for one in subject["achievement"]["resultDescription"]]
    assert [one["resultDescription"] for one in subject["result"]] == described
    assert [one["value"] for one in subject["result"]] == ["78.1", "81.3"]


def test_the_holder_is_named_and_nothing_else_of_the_person_is_said(said: dict[str, Any], facts: Facts) -> None:
    assert holder_of(said) == facts.holder
    assert said["credentialSubject"]["identifier"] == [
        {"type": "IdentityObject", "hashed": False, "identityType": "name", "identityHash": "Ottoline Marwick"}
    ]
    assert "id" not in said["credentialSubject"]


def test_it_is_valid_from_its_first_day_to_the_end_of_its_last(said: dict[str, Any], facts: Facts) -> None:
    assert (said["validFrom"], said["validUntil"]) == ("2031-05-14T00:00:00Z", "2034-05-14T23:59:59Z")
    assert "validUntil" not in credential(replace(facts, last_day=""))


def test_no_accreditation_is_claimed(certificate: bytes) -> None:
    text = certificate.decode().lower()
    assert not [word for word in ("accredit", "17024", "iso/iec", "licensed", "conform") if word in text]


def test_a_schools_id_without_a_slash_gives_the_same_addresses(facts: Facts, said: dict[str, Any]) -> None:
    other = credential(replace(facts, school=replace(facts.school, id="https://weirgate.example")))
    assert other["id"] == said["id"]
    assert other["credentialStatus"] == said["credentialStatus"]


def test_a_hashed_identity_gives_no_name(said: dict[str, Any]) -> None:
    hidden = copy.deepcopy(said)
    hidden["credentialSubject"]["identifier"][0]["hashed"] = True
    assert holder_of(hidden) == ""
    assert holder_of({}) == ""
