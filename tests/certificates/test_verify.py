from __future__ import annotations

import copy
import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.canon import canonical
from grader.base.errors import UseError
from grader.certificates import proof, status
from grader.certificates.issuer import Issuer
from grader.certificates.keys import IssuerKey
from grader.certificates.multibase import base64url
from grader.certificates.verify import Verdict, verify

NOW = datetime(2032, 1, 1, tzinfo=UTC)
OTHER = IssuerKey(bytes([7]) * 32)
Sign = Callable[..., bytes]
Listed = Callable[..., bytes]


def test_a_certificate_as_it_was_issued_is_good(certificate: bytes, issuer: Issuer, listed: Listed) -> None:
    found = verify(certificate, [issuer], listed(3), NOW)
    assert found.state == "good"
    assert found.is_good
    assert found.reasons == (
        "the issuer's signature is good",
        "it is not revoked; so says the status list of 2031-05-14T08:00:00Z",
    )
    assert found.certified is not None
    assert found.certified.holder == "Ottoline Marwick"
    assert found.as_json()["certified"]["id"] == "https://weirgate.example/certificates/7M2KQ8D4XT"


def test_no_byte_can_be_changed_anywhere(certificate: bytes, issuer: Issuer, listed: Listed) -> None:
    clear = listed()
    for place, byte in enumerate(certificate):
        for other in {byte ^ 1, byte ^ 0x20, byte ^ 0x80, 0x20, 0x0A, 0x22, 0x30} - {byte}:
            changed = certificate[:place] + bytes([other]) + certificate[place + 1 :]
            assert verify(changed, [issuer], clear, NOW).state in ("altered", "unknown issuer", "unreadable"), (place, other)


def test_no_byte_can_be_taken_out_put_in_or_given_twice(certificate: bytes, issuer: Issuer, listed: Listed) -> None:
    clear = listed()
    for place in range(len(certificate)):
        out = certificate[:place] + certificate[place + 1 :]
        put = certificate[:place] + b" " + certificate[place:]
        twice = certificate[:place] + certificate[place : place + 1] + certificate[place:]
        for changed in (out, put, twice):
            assert not verify(changed, [issuer], clear, NOW).is_good, place


@pytest.mark.parametrize("after", [b"\n", b" ", b"\0", b"{}"])
def test_nothing_can_be_put_after_it(certificate: bytes, issuer: Issuer, listed: Listed, after: bytes) -> None:
    assert not verify(certificate + after, [issuer], listed(), NOW).is_good


def test_a_file_written_anew_is_told_from_one_that_says_something_else(
    certificate: bytes, issuer: Issuer, listed: Listed
) -> None:
    found = verify(json.dumps(json.loads(certificate), indent=2).encode(), [issuer], listed(), NOW)
    assert found.state == "altered"
    assert found.reasons == (
        "what it says is what was signed, but the file was written anew since (spacing, order or line ends); "
        "ask for the file as it was issued",
    )


def _paths(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    if isinstance(value, dict):
        return [found for name, below in value.items() for found in _paths(below, (*path, name))]
    if isinstance(value, list):
        return [found for place, below in enumerate(value) for found in _paths(below, (*path, place))]
    return [path]


def test_no_field_can_be_changed_or_taken_out(certificate: bytes, issuer: Issuer, listed: Listed) -> None:
    whole = json.loads(certificate)
    clear = listed()
    for path in _paths(whole):
        changed, taken = copy.deepcopy(whole), copy.deepcopy(whole)
        for document in (changed, taken):
            part = document
            for step in path[:-1]:
                part = part[step]
            if document is changed:
                part[path[-1]] = "another"
            else:
                del part[path[-1]]
            found = verify(canonical(document), [issuer], clear, NOW)
            assert found.state in ("altered", "unknown issuer", "unreadable"), path
            assert found.certified is None


def test_changed_content_is_called_altered_and_nothing_it_says_is_passed_on(
    certificate: bytes, issuer: Issuer, listed: Listed
) -> None:
    found = verify(certificate.replace(b"Ottoline", b"Ottolina"), [issuer], listed(), NOW)
    assert found == Verdict("altered", ("what it says is not what was signed: something was changed after it was issued",))


def test_the_proof_of_another_certificate_is_not_good(said: dict[str, Any], sign: Sign, issuer: Issuer, listed: Listed) -> None:
    other = json.loads(sign({**said, "id": "https://weirgate.example/certificates/2222222222"}))
    found = verify(canonical({**said, "proof": other["proof"]}), [issuer], listed(), NOW)
    assert found.state == "altered"


def test_another_schools_key_is_an_unknown_issuer(said: dict[str, Any], sign: Sign, issuer: Issuer, listed: Listed) -> None:
    found = verify(sign(said, OTHER), [issuer], listed(), NOW)
    assert found.state == "unknown issuer"
    assert found.reasons == ("it was signed with a key that no trusted issuer has; trusted: https://weirgate.example/",)


def test_another_key_that_claims_to_be_the_issuers_is_altered(
    said: dict[str, Any], key: IssuerKey, issuer: Issuer, listed: Listed
) -> None:
    options = proof.options(said, key.method, "2031-05-14T08:00:00Z")
    forged = proof.signed(said, OTHER, "2031-05-14T08:00:00Z")
    forged["proof"] |= {"verificationMethod": options["verificationMethod"]}
    assert verify(canonical(forged), [issuer], listed(), NOW).state == "altered"


def test_a_known_key_cannot_sign_for_another_issuer(said: dict[str, Any], sign: Sign, issuer: Issuer, listed: Listed) -> None:
    for named in ("https://elsewhere.example/", {"id": "https://elsewhere.example/", "type": ["Profile"]}):
        found = verify(sign({**said, "issuer": named}), [issuer], listed(), NOW)
        assert found.state == "unknown issuer"
        assert found.reasons == (
            "it names the issuer 'https://elsewhere.example/', but a key of 'https://weirgate.example/' signed it",
        )


def test_with_no_trusted_issuer_nothing_is_good(certificate: bytes, listed: Listed) -> None:
    assert verify(certificate, [], listed(), NOW).reasons == (
        "it was signed with a key that no trusted issuer has; trusted: none",
    )


def test_a_revoked_certificate_is_called_revoked(certificate: bytes, issuer: Issuer, listed: Listed) -> None:
    found = verify(certificate, [issuer], listed(94567), NOW)
    assert found.state == "revoked"
    assert found.reasons == ("the issuer has revoked it; so says the status list of 2031-05-14T08:00:00Z",)
    assert verify(certificate, [issuer], listed(94566, 94568), NOW).is_good


@pytest.mark.parametrize(
    ("now", "state"),
    [
        (datetime(2031, 5, 13, 23, 59, 59, tzinfo=UTC), "not yet valid"),
        (datetime(2031, 5, 14, tzinfo=UTC), "good"),
        (datetime(2034, 5, 14, 23, 59, 59, tzinfo=UTC), "good"),
        (datetime(2034, 5, 15, tzinfo=UTC), "expired"),
        (datetime(2034, 5, 15, 1, tzinfo=timezone(timedelta(hours=2))), "good"),
    ],
)
def test_it_is_good_from_its_first_second_to_its_last(
    certificate: bytes, issuer: Issuer, listed: Listed, now: datetime, state: str
) -> None:
    assert verify(certificate, [issuer], listed(since="2031-05-13T00:00:00Z"), now).state == state


def test_an_expired_certificate_is_called_expired_not_forged(certificate: bytes, issuer: Issuer, listed: Listed) -> None:
    found = verify(certificate, [issuer], listed(), datetime(2040, 1, 1, tzinfo=UTC))
    assert found.state == "expired"
    assert found.reasons[0] == "it was valid until 2034-05-14T23:59:59+00:00; the signature is good, nothing was changed"
    assert found.certified is not None


def test_a_certificate_without_a_last_day_does_not_expire(
    said: dict[str, Any], sign: Sign, issuer: Issuer, listed: Listed
) -> None:
    endless = {name: value for name, value in said.items() if name != "validUntil"}
    assert verify(sign(endless), [issuer], listed(), datetime(2999, 1, 1, tzinfo=UTC)).is_good


def test_revoked_weighs_more_than_expired(certificate: bytes, issuer: Issuer, listed: Listed) -> None:
    assert verify(certificate, [issuer], listed(94567), datetime(2040, 1, 1, tzinfo=UTC)).state == "revoked"


def test_without_a_status_list_it_is_not_called_good(certificate: bytes, issuer: Issuer) -> None:
    found = verify(certificate, [issuer], None, NOW)
    assert found.state == "status unknown"
    assert found.reasons == ("the issuer's signature is good, but no status list says whether it was revoked",)
    assert verify(certificate, [issuer], None, datetime(2040, 1, 1, tzinfo=UTC)).state == "expired"


def _relisted(sign: Sign, **change: Any) -> bytes:
    made = status.status_list(
        "https://weirgate.example/", "https://weirgate.example/issuer/status.json", [], "2031-05-14T08:00:00Z"
    )
    made["credentialSubject"] |= change.pop("subject", {})
    return sign(made | change)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"issuer": "https://elsewhere.example/"}, "the issuer did not sign it, or it was changed since"),
        ({"id": "https://weirgate.example/other.json"}, "the certificate names"),
        ({"validFrom": "2032-01-01T00:00:01Z"}, "which is yet to come"),
        ({"validFrom": "soon"}, "an instant is written"),
        ({"subject": {"statusPurpose": "suspension"}}, "not one for revocation"),
        ({"subject": {"encodedList": base64url(b"no gzip")}}, "cannot be unpacked"),
    ],
)
def test_a_status_list_that_is_of_no_use_is_not_believed(
    certificate: bytes, issuer: Issuer, sign: Sign, change: dict[str, Any], says: str
) -> None:
    found = verify(certificate, [issuer], _relisted(sign, **change), NOW)
    assert found.state == "status unknown"
    assert says in found.reasons[0]


def test_a_status_list_that_was_changed_or_forged_is_not_believed(
    certificate: bytes, issuer: Issuer, sign: Sign, listed: Listed
) -> None:
    real = json.loads(listed(94567))
    clear = json.loads(listed())
    real["credentialSubject"]["encodedList"] = clear["credentialSubject"]["encodedList"]
    for data in (canonical(real), b"", b"[]", b"{}", certificate, bytes(2_000_000), listed()[:-1]):
        assert verify(certificate, [issuer], data, NOW).state == "status unknown"
    forged = status.status_list(
        "https://weirgate.example/", "https://weirgate.example/issuer/status.json", [], "2031-05-14T08:00:00Z"
    )
    assert verify(certificate, [issuer], sign(forged, OTHER), NOW).state == "status unknown"


@pytest.mark.parametrize(
    "entry",
    [
        {"type": "StatusList2021Entry"},
        {"statusPurpose": "suspension"},
        {"statusListIndex": 94567},
        {"statusListIndex": "-1"},
        {"statusListIndex": "094567"},
        {"statusListIndex": "131072"},
        {"statusListIndex": "9" * 5000},
        {"statusListCredential": None},
    ],
)
def test_a_status_entry_of_another_kind_is_not_taken_for_clear(
    said: dict[str, Any], sign: Sign, issuer: Issuer, listed: Listed, entry: dict[str, Any]
) -> None:
    document = {**said, "credentialStatus": said["credentialStatus"] | entry}
    assert verify(sign(document), [issuer], listed(), NOW).state == "status unknown"
    assert (
        verify(sign({**said, "credentialStatus": [said["credentialStatus"]]}), [issuer], listed(), NOW).state == "status unknown"
    )


def test_a_certificate_that_names_no_status_list_says_so(said: dict[str, Any], sign: Sign, issuer: Issuer) -> None:
    found = verify(sign({name: value for name, value in said.items() if name != "credentialStatus"}), [issuer], None, NOW)
    assert found.is_good
    assert "it cannot be revoked: it names no status list" in found.reasons


def test_an_unknown_cryptosuite_is_unreadable_and_named(certificate: bytes, issuer: Issuer, listed: Listed) -> None:
    document = json.loads(certificate)
    document["proof"]["cryptosuite"] = "eddsa-rdfc-2022"
    found = verify(canonical(document), [issuer], listed(), NOW)
    assert found.state == "unreadable"
    assert found.reasons == ("its signature's `cryptosuite` is 'eddsa-rdfc-2022'; this program checks 'eddsa-jcs-2022' only",)


def test_a_certificate_whose_proof_was_taken_off_is_altered(said: dict[str, Any], issuer: Issuer, listed: Listed) -> None:
    assert verify(canonical(said), [issuer], listed(), NOW) == Verdict("altered", ("it carries no signature (`proof`)",))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "not JSON"),
        (b"\xff\xfe", "not UTF-8"),
        (b"\xef\xbb\xbf{}", "not JSON"),
        (b'{"id": 1, "id": 2}', 'the key "id" stands twice'),
        (b'{"@context": [], "type": [], "x": NaN}', "NaN is not a JSON number"),
        (b'{"@context": [], "type": [], "x": Infinity}', "Infinity is not a JSON number"),
        (b'{"@context": [], "type": [], "x": 1e999}', "not a JSON value"),
        (b'{"@context": [], "type": [], "x": 9007199254740993}', "not a JSON value"),
        (b'{"@context": [], "type": [], "x": ' + b"9" * 6000 + b"}", "a number that cannot be read"),
        (b'{"@context": [], "type": [], "x": "\\ud800"}', "not a JSON value"),
        (b"[" * 100_000, "nested too deep"),
        (b'{"@context": [], "type": [], "x": ' + b"[" * 700 + b"]" * 700 + b"}", ""),
        (b"[]", "a credential has `@context` and `type`"),
        (b"5", "a credential has `@context` and `type`"),
        (b'{"@context": "x", "type": []}', "a credential has `@context` and `type`"),
        (b" " * 2_000_000, "it is larger than 1,048,576 bytes; no certificate is"),
    ],
)
def test_what_cannot_be_read_is_called_unreadable(issuer: Issuer, listed: Listed, data: bytes, says: str) -> None:
    found = verify(data, [issuer], listed(), NOW)
    assert found.state in ("unreadable", "altered")
    if says:
        assert found.state == "unreadable"
        assert says in found.reasons[0]


def test_nothing_in_a_strangers_file_moves_the_terminals_cursor(issuer: Issuer, listed: Listed) -> None:
    found = verify(b'{"\\u001b[2Jgood\\u202e": 1, "\\u001b[2Jgood\\u202e": 2}', [issuer], listed(), NOW)
    assert found.reasons == (r'it cannot be read: the key "\x1b[2Jgood\u202e" stands twice; keep one of the two',)


def test_a_key_that_stands_twice_is_unreadable_whatever_the_second_says(
    certificate: bytes, issuer: Issuer, listed: Listed
) -> None:
    twice = certificate.replace(b'"validUntil":', b'"validUntil":"2099-01-01T00:00:00Z","validUntil":', 1)
    assert verify(twice, [issuer], listed(), NOW).reasons == (
        'it cannot be read: the key "validUntil" stands twice; keep one of the two',
    )


@pytest.mark.parametrize(
    "change",
    [
        {"type": ["VerifiableCredential"]},
        {"type": ["VerifiableCredential", "BitstringStatusListCredential"]},
        {"type": [{}, []]},
        {"@context": ["https://www.w3.org/ns/credentials/v2"]},
        {"validFrom": None},
        {"validFrom": "2031-05-14"},
        {"validFrom": "2031-13-14T00:00:00Z"},
        {"validUntil": "2034-05-14T23:59:59"},
        {"credentialSubject": []},
        {"credentialSubject": {"achievement": "a"}},
    ],
)
def test_another_document_of_the_issuer_is_not_a_certificate(
    said: dict[str, Any], sign: Sign, issuer: Issuer, listed: Listed, change: dict[str, Any]
) -> None:
    assert verify(sign({**said, **change}), [issuer], listed(), NOW).state == "unreadable"


def test_the_status_list_is_not_a_certificate(issuer: Issuer, listed: Listed) -> None:
    assert verify(listed(), [issuer], listed(), NOW).reasons == (
        "the issuer signed it, but it is another document, not a certificate",
    )


def test_the_clock_is_passed_in_with_its_zone(certificate: bytes, issuer: Issuer, listed: Listed) -> None:
    with pytest.raises(UseError, match="has no time zone"):
        verify(certificate, [issuer], listed(), datetime(2032, 1, 1))  # noqa: DTZ001 - refused, that is the point


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=60, deadline=None)
@given(drawn=st.data())
def test_whatever_stands_in_a_field_the_verdict_is_never_good_nor_a_crash(
    drawn: st.DataObject, certificate: bytes, issuer: Issuer, listed: Listed
) -> None:
    document = json.loads(certificate)
    name = drawn.draw(st.sampled_from(sorted(document)))
    document[name] = drawn.draw(JSON)
    text = json.dumps(document).encode("utf-8", "surrogatepass")
    assert not verify(text, [issuer], listed(), NOW).is_good


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=200))
def test_no_bytes_at_all_make_it_crash(issuer: Issuer, data: bytes) -> None:
    assert not verify(data, [issuer], data, NOW).is_good
