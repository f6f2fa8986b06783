from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import UseError
from grader.certificates.multibase import (
    ED25519_SECRET,
    base58btc,
    base64url,
    multikey,
    read_base58btc,
    read_base64url,
    read_multikey,
)

# Repository multiformats/multibase, tests/: "yes mani !", also with one leading zero byte.
VECTORS = [(b"yes mani !", "z7paNL19xttacUY"), (b"\0yes mani !", "z17paNL19xttacUY")]


@pytest.mark.parametrize(("data", "text"), VECTORS)
def test_base58btc_agrees_with_the_published_vectors(data: bytes, text: str) -> None:
    assert base58btc(data) == text
    assert read_base58btc(text) == data


def test_base64url_agrees_with_the_published_vector() -> None:
    assert base64url(b"yes mani !") == "ueWVzIG1hbmkgIQ"
    assert read_base64url("ueWVzIG1hbmkgIQ") == b"yes mani !"


@settings(deadline=None)
@given(st.binary(max_size=80))
def test_what_is_written_is_read_back(data: bytes) -> None:
    assert read_base58btc(base58btc(data)) == data
    assert read_base64url(base64url(data)) == data


@settings(deadline=None)
@given(st.text(alphabet="123456789ABCDEFGHJKLMNPQRSTUVWXYZabcdefghijkmnopqrstuvwxyz", max_size=60))
def test_no_two_texts_in_base_58_are_the_same_bytes(body: str) -> None:
    assert base58btc(read_base58btc(f"z{body}")) == f"z{body}"


@pytest.mark.parametrize("text", ["", "7paNL19xttacUY", "z0", "zO", "zI", "zl", "z é", "z" + "2" * 256])
def test_what_is_not_base58btc_is_refused(text: str) -> None:
    with pytest.raises(UseError):
        read_base58btc(text)


@pytest.mark.parametrize("text", ["", "eWVz", "ueWVz=", "ueW+z", "ueW/z", "uA", "ueWVz\n", "u é"])
def test_what_is_not_base64url_is_refused(text: str) -> None:
    with pytest.raises(UseError):
        read_base64url(text)


def test_a_multikey_is_the_prefix_and_32_bytes() -> None:
    # W3C Data Integrity EdDSA vectors, keyPair.json: prefix ed01, then the key.
    public = read_multikey("z6MkrJVnaZkeFzdQyMZu1cgjg7k1pZZ6pvBQ7XJPt4swbTQ2")
    assert len(public) == 32
    assert multikey(public) == "z6MkrJVnaZkeFzdQyMZu1cgjg7k1pZZ6pvBQ7XJPt4swbTQ2"


@pytest.mark.parametrize(
    "data", [bytes(34), bytes.fromhex("ed01") + bytes(31), bytes.fromhex("ed01") + bytes(33), ED25519_SECRET + bytes(32)]
)
def test_another_kind_or_length_of_key_is_refused(data: bytes) -> None:
    with pytest.raises(UseError, match="is not an Ed25519 Multikey"):
        read_multikey(base58btc(data))
