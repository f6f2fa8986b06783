from __future__ import annotations

import json
from typing import Any

import pytest

from grader.base.errors import UseError
from grader.certificates.issuer import document, fingerprint, profile, read_issuer
from grader.certificates.keys import IssuerKey

SCHOOL = "https://weirgate.example/"
ONE, OTHER = IssuerKey(bytes(32)), IssuerKey(bytes([1]) * 32)


def test_an_issuers_document_is_read_back_with_all_its_keys() -> None:
    found = read_issuer(json.dumps(document(SCHOOL, [ONE.multikey, OTHER.multikey])).encode())
    assert found.id == SCHOOL
    assert found.keys == {ONE.method: ONE.public, OTHER.method: OTHER.public}


def test_a_key_that_may_not_sign_is_left_out() -> None:
    said = document(SCHOOL, [ONE.multikey, OTHER.multikey])
    said["assertionMethod"] = [OTHER.method]
    assert list(read_issuer(json.dumps(said).encode()).keys) == [OTHER.method]


def _changed(**change: Any) -> bytes:
    said = document(SCHOOL, [ONE.multikey])
    if method := change.pop("method", None):
        said["verificationMethod"][0] |= method
    return json.dumps(said | change).encode()


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"[]", "it has no `id`"),
        (b"no json", "not JSON"),
        (_changed(id=5), "it has no `id`"),
        (_changed(assertionMethod=[]), "it names no key that may sign"),
        (_changed(verificationMethod={}), "it names no key that may sign"),
        (_changed(assertionMethod=["did:key:z6Mk"]), "it holds none of the keys that it says may sign"),
        (
            _changed(method={"id": ["did:key:z6Mk"]}, assertionMethod=[["did:key:z6Mk"]]),
            "it holds none of the keys that it says may sign",
        ),
        (_changed(method={"type": "JsonWebKey"}), "is no Multikey of 'https://weirgate.example/'"),
        (_changed(method={"controller": "https://elsewhere.example/"}), "is no Multikey of 'https://weirgate.example/'"),
        (_changed(method={"publicKeyMultibase": 5}), "is no Multikey of 'https://weirgate.example/'"),
        (_changed(method={"publicKeyMultibase": "z6Mk"}), "is not an Ed25519 Multikey"),
    ],
)
def test_what_is_not_an_issuers_document_is_refused(data: bytes, says: str) -> None:
    with pytest.raises(UseError, match=says):
        read_issuer(data)


def test_the_profile_shows_no_secret_and_the_keys_fingerprint() -> None:
    shown = profile(SCHOOL, "Weirgate Workshop School", ONE.public)
    assert sorted(shown) == ["fingerprint", "id", "name", "publicKeyMultibase"]
    assert shown["fingerprint"] == fingerprint(ONE.public)
    assert len(fingerprint(ONE.public).replace(" ", "")) == 64
