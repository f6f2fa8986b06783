from __future__ import annotations

import gzip
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import UseError
from grader.certificates.multibase import base64url, read_base64url
from grader.certificates.status import LIMIT, PLACES, bits_of, entry, is_set, packed, status_list, unpacked

ADDRESS = "https://weirgate.example/issuer/status.json"
# Repository w3c/vc-bitstring-status-list: the published list with no bit set.
ALL_CLEAR = "uH4sIAAAAAAAAA-3BMQEAAADCoPVPbQwfoAAAAAAAAAAAAAAAAAAAAIC3AYbSVKsAQAAA"


def test_the_published_list_unpacks_to_16384_zero_bytes() -> None:
    assert unpacked(ALL_CLEAR) == bytes(16_384)


def test_an_empty_list_of_ours_holds_the_published_bits() -> None:
    assert unpacked(packed([])) == unpacked(ALL_CLEAR)


@pytest.mark.parametrize(("place", "byte", "value"), [(0, 0, 0x80), (7, 0, 0x01), (8, 1, 0x80), (PLACES - 1, 16_383, 0x01)])
def test_place_0_is_the_left_most_bit(place: int, byte: int, value: int) -> None:
    # W3C Bitstring Status List v1.0: index 0 is the left-most bit; places 0, 7, 8 as in checks of that repository.
    bits = unpacked(packed([place]))
    assert bits[byte] == value
    assert sum(bits) == value


@settings(max_examples=25, deadline=None)
@given(st.sets(st.integers(0, PLACES - 1), max_size=40))
def test_exactly_the_revoked_places_are_set(revoked: set[int]) -> None:
    bits = unpacked(packed(revoked))
    assert {place for place in range(PLACES) if bits[place // 8] and is_set(bits, place)} == revoked


def test_the_same_list_has_the_same_text_whenever_it_is_made() -> None:
    assert packed([5, 9]) == packed([9, 5])
    assert read_base64url(packed([5]))[4:8] == bytes(4)  # RFC 1952: the time in the gzip header


@pytest.mark.parametrize("place", [-1, PLACES, PLACES + 7])
def test_a_place_outside_the_list_is_refused(place: int) -> None:
    with pytest.raises(UseError, match="is outside the list"):
        packed([place])
    with pytest.raises(UseError, match="is outside the status list"):
        is_set(bytes(PLACES // 8), place)


@pytest.mark.parametrize("places", [0, 1024, PLACES - 8, PLACES + 1])
def test_a_list_shorter_than_the_standard_allows_is_refused(places: int) -> None:
    with pytest.raises(UseError, match="the standard wants 131072 or more"):
        packed([], places)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (base64url(gzip.compress(bytes(LIMIT + 1))), "unpacks to more than 2,097,152 bytes"),
        (base64url(gzip.compress(bytes(200 * LIMIT))), "unpacks to more than 2,097,152 bytes"),
        (base64url(gzip.compress(bytes(16_383))), "has 131064 places; the standard wants 131072 or more"),
        (base64url(gzip.compress(bytes(16_384))[:-9]), "is cut off, or something stands after it"),
        (base64url(gzip.compress(bytes(16_384)) + b"more"), "is cut off, or something stands after it"),
        (base64url(gzip.compress(bytes(16_384)) * 2), "is cut off, or something stands after it"),
        (base64url(b"no gzip"), "cannot be unpacked"),
        (base64url(b""), "is cut off"),
        (ALL_CLEAR[1:], "is not base64url"),
    ],
    ids=[
        "bomb",
        "large bomb",
        "short",
        "cut",
        "more after it",
        "two",
        "no gzip",
        "empty",
        "no prefix",
    ],  # the bytes hold the time
)
def test_what_is_not_one_packed_list_is_refused(text: str, says: str) -> None:
    with pytest.raises(UseError, match=says):
        unpacked(text)


def test_an_entry_names_the_list_and_its_place_as_text() -> None:
    assert entry(ADDRESS, 94567) == {
        "id": f"{ADDRESS}#94567",
        "type": "BitstringStatusListEntry",
        "statusPurpose": "revocation",
        "statusListIndex": "94567",
        "statusListCredential": ADDRESS,
    }


def test_a_status_list_is_read_back() -> None:
    made = status_list("https://weirgate.example/", ADDRESS, [12], "2031-05-14T08:00:00Z")
    assert is_set(bits_of(made, ADDRESS), 12)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"type": ["VerifiableCredential"]}, "holds another document"),
        ({"type": "BitstringStatusListCredential"}, "holds another document"),
        ({"credentialSubject": []}, "holds another document"),
        ({"id": "https://weirgate.example/another"}, "the certificate names"),
        ({"credentialSubject": {"type": "BitstringStatusList", "statusPurpose": "suspension"}}, "is not one for revocation"),
        ({"credentialSubject": {"type": "StatusList2021", "statusPurpose": "revocation"}}, "is not one for revocation"),
        ({"credentialSubject": {"type": "BitstringStatusList", "statusPurpose": "revocation"}}, "holds no bits"),
    ],
)
def test_another_document_than_the_list_is_refused(change: dict[str, Any], says: str) -> None:
    made = status_list("https://weirgate.example/", ADDRESS, [12], "2031-05-14T08:00:00Z")
    with pytest.raises(UseError, match=says):
        bits_of({**made, **change}, ADDRESS)
