"""The cryptosuite against the published vectors, step by step: vectors/SOURCES.txt."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from grader.base.canon import canonical, read_json
from grader.base.errors import UseError
from grader.certificates import proof
from grader.certificates.keys import IssuerKey
from grader.certificates.multibase import ED25519_SECRET, base58btc, read_base58btc, read_multikey

VECTORS = Path(__file__).parent / "vectors" / "eddsa-jcs-2022"


def _text(name: str) -> str:
    return (VECTORS / name).read_text("utf-8").strip()


def _json(name: str) -> Any:
    return read_json((VECTORS / name).read_bytes())


@pytest.fixture(scope="module")
def published() -> IssuerKey:
    pair = _json("keyPair.json")
    key = IssuerKey(read_multikey(pair["privateKeyMultibase"], ED25519_SECRET))
    assert key.multikey == pair["publicKeyMultibase"]
    return key


def test_step_1_the_document_has_the_published_canonical_bytes() -> None:
    assert canonical(_json("unsigned.json")) == _text("canonDocJCS.txt").encode()


def test_step_2_the_document_has_the_published_digest() -> None:
    assert hashlib.sha256(canonical(_json("unsigned.json"))).hexdigest() == _text("docHashJCS.txt")


def test_step_3_the_proof_is_set_up_as_published(published: IssuerKey) -> None:
    made = proof.options(_json("unsigned.json"), published.method, "2023-02-24T23:36:38Z")
    assert made == _json("proofConfigJCS.json")
    assert canonical(made) == _text("proofCanonJCS.txt").encode()
    assert hashlib.sha256(canonical(made)).hexdigest() == _text("proofHashJCS.txt")


def test_step_4_the_proofs_digest_comes_before_the_documents() -> None:
    assert proof.hashed(_json("unsigned.json"), _json("proofConfigJCS.json")).hex() == _text("combinedHashJCS.txt")


def test_step_5_the_signature_is_the_published_one(published: IssuerKey) -> None:
    signature = published.sign(bytes.fromhex(_text("combinedHashJCS.txt")))
    assert signature.hex() == _text("sigHexJCS.txt")
    assert base58btc(signature) == _text("sigBTC58JCS.txt")


def test_step_6_the_signed_document_is_the_published_one(published: IssuerKey) -> None:
    assert proof.signed(_json("unsigned.json"), published, "2023-02-24T23:36:38Z") == _json("signedJCS.json")


def test_the_published_signed_document_is_good_and_another_key_is_not(published: IssuerKey) -> None:
    assert proof.is_signed_by(_json("signedJCS.json"), published.public)
    assert not proof.is_signed_by(_json("signedJCS.json"), IssuerKey(bytes(32)).public)


@pytest.mark.parametrize("name", ["@context", "id", "type", "name", "description", "issuer", "validFrom", "credentialSubject"])
def test_a_field_changed_or_taken_out_of_the_published_document_is_not_good(published: IssuerKey, name: str) -> None:
    document = _json("signedJCS.json")
    assert not proof.is_signed_by({**document, name: "another"}, published.public)
    del document[name]
    assert not proof.is_signed_by(document, published.public)


def test_a_field_added_is_not_good(published: IssuerKey) -> None:
    assert not proof.is_signed_by({**_json("signedJCS.json"), "more": 1}, published.public)
    document = _json("signedJCS.json")
    document["proof"]["more"] = 1
    assert not proof.is_signed_by(document, published.public)


def test_a_context_added_is_not_good_though_the_suite_allows_it(published: IssuerKey) -> None:
    document = _json("signedJCS.json")
    document["@context"].append("https://weirgate.example/more")
    assert not proof.is_signed_by(document, published.public)


def test_a_signature_cut_short_or_in_another_base_is_not_good(published: IssuerKey) -> None:
    document = _json("signedJCS.json")
    whole = read_base58btc(document["proof"]["proofValue"])
    for text in (base58btc(whole[:-1]), base58btc(whole + b"\0"), "z", "m" + document["proof"]["proofValue"][1:], "zO"):
        document["proof"]["proofValue"] = text
        assert not proof.is_signed_by(document, published.public)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            {"cryptosuite": "eddsa-rdfc-2022"},
            "its signature's `cryptosuite` is 'eddsa-rdfc-2022'; this program checks 'eddsa-jcs-2022' only",
        ),
        ({"cryptosuite": None}, "its signature's `cryptosuite` is missing; this program checks 'eddsa-jcs-2022' only"),
        (
            {"type": "Ed25519Signature2020"},
            "its signature's `type` is 'Ed25519Signature2020'; this program checks 'DataIntegrityProof' only",
        ),
        (
            {"proofPurpose": "authentication"},
            "its signature's `proofPurpose` is 'authentication'; this program checks 'assertionMethod' only",
        ),
        ({"proofValue": 7}, "its signature's `proofValue` is missing or not a text"),
        ({"verificationMethod": ["x"]}, "its signature's `verificationMethod` is missing or not a text"),
        ({"created": None}, "its signature's `created` is missing or not a text"),
    ],
)
def test_a_proof_of_another_kind_is_refused_by_name(change: dict[str, Any], says: str) -> None:
    document = _json("signedJCS.json")
    document["proof"] |= change
    with pytest.raises(UseError) as refused:
        proof.proof_of(document)
    assert str(refused.value) == says


@pytest.mark.parametrize("proofs", [[], "z", [{}, {}]])
def test_several_proofs_or_none_at_all_are_refused(proofs: object) -> None:
    with pytest.raises(UseError, match="is not one signature"):
        proof.proof_of({**_json("signedJCS.json"), "proof": proofs})


def test_order_and_spacing_of_the_json_do_not_matter_to_the_signature(published: IssuerKey) -> None:
    document = _json("signedJCS.json")
    turned = json.loads(json.dumps(dict(reversed(document.items())), indent=3))
    assert proof.is_signed_by(turned, published.public)


def test_signing_twice_gives_the_same_bytes(sign: Callable[..., bytes], said: dict[str, Any]) -> None:
    assert sign(said) == sign(said)
