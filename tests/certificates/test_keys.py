from __future__ import annotations

import json
from pathlib import Path

import pytest

from grader.base.errors import UseError
from grader.certificates.keys import NAME, IssuerKey, load_key, make_key, signature_is_good

# RFC 8032, 7.1: test 1 as in the vectors of the library cryptography (asymmetric/Ed25519/sign.input, line 1); tests 2 and 3 from
# memory.
RFC_8032 = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
]


@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032)
def test_signing_agrees_with_rfc_8032(secret: str, public: str, message: str, signature: str) -> None:
    key = IssuerKey(bytes.fromhex(secret))
    assert key.public.hex() == public
    assert key.sign(bytes.fromhex(message)).hex() == signature
    assert signature_is_good(key.public, bytes.fromhex(signature), bytes.fromhex(message))


def test_no_changed_bit_of_a_signature_is_good() -> None:
    key, message = IssuerKey(bytes(range(32))), b"a message"
    signature = key.sign(message)
    for bit in range(512):
        changed = bytearray(signature)
        changed[bit // 8] ^= 1 << bit % 8
        assert not signature_is_good(key.public, bytes(changed), message)


def test_a_signature_with_the_order_added_is_not_good() -> None:
    # RFC 8032, 5.1.7: S below the order L, or the same message would have two signatures.
    order = 2**252 + 27742317777372353535851937790883648493
    key = IssuerKey(bytes(range(32)))
    signature = key.sign(b"a message")
    other = signature[:32] + (int.from_bytes(signature[32:], "little") + order).to_bytes(32, "little")
    assert not signature_is_good(key.public, other, b"a message")


@pytest.mark.parametrize("passphrase", ["", "über den Wehrsteg"])
def test_a_key_that_was_made_is_loaded_again(tmp_path: Path, passphrase: str) -> None:
    made = make_key(tmp_path / "issuer-key", passphrase)
    assert load_key(tmp_path / "issuer-key", passphrase) == made


def test_a_new_key_is_always_another(tmp_path: Path) -> None:
    assert make_key(tmp_path / "a") != make_key(tmp_path / "b")


def test_the_secret_is_for_its_owner_only_and_never_printed(tmp_path: Path) -> None:
    key = make_key(tmp_path / "issuer-key")
    assert (tmp_path / "issuer-key" / NAME).stat().st_mode & 0o777 == 0o600
    assert (tmp_path / "issuer-key").stat().st_mode & 0o777 == 0o700
    assert [file.name for file in (tmp_path / "issuer-key").iterdir()] == [NAME]
    assert "secret" not in repr(key)


def test_a_sealed_key_shows_no_secret(tmp_path: Path) -> None:
    key = make_key(tmp_path, "a passphrase")
    kept = json.loads((tmp_path / NAME).read_bytes())
    assert sorted(kept) == ["form", "publicKeyMultibase", "sealed"]
    assert key.secret.hex() not in (tmp_path / NAME).read_text()


def test_a_second_key_is_refused_and_the_first_kept(tmp_path: Path) -> None:
    first = make_key(tmp_path)
    with pytest.raises(UseError, match=r"there is a key already; keep it, what it signed is checked with it"):
        make_key(tmp_path)
    assert load_key(tmp_path) == first


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o620, 0o602])
def test_a_key_that_others_may_read_or_change_is_refused(tmp_path: Path, mode: int) -> None:
    make_key(tmp_path)
    (tmp_path / NAME).chmod(mode)
    with pytest.raises(UseError, match=r"others on this machine may read the issuer's key; take that away with chmod 600"):
        load_key(tmp_path)


@pytest.mark.parametrize(
    ("given", "says"),
    [("", "the key is sealed; give its passphrase"), ("another", "the passphrase is not the one it was sealed with")],
)
def test_a_sealed_key_wants_its_passphrase(tmp_path: Path, given: str, says: str) -> None:
    make_key(tmp_path, "a passphrase")
    with pytest.raises(UseError, match=says):
        load_key(tmp_path, given)


def _spoilt(kept: dict[str, object], name: str, value: object) -> bytes:
    return json.dumps({**kept, name: value}).encode()


@pytest.mark.parametrize(
    ("name", "value", "says"),
    [
        ("form", "another", "not an issuer's key of the form 'grader-issuer-key-1'"),
        ("publicKeyMultibase", 5, "`publicKeyMultibase` is missing or not a text"),
        ("secretKeyMultibase", None, "`secretKeyMultibase` is missing or not a text"),
        ("secretKeyMultibase", "z6Mk", "is not an Ed25519 Multikey"),
        ("publicKeyMultibase", IssuerKey(bytes(32)).multikey, "the secret and the public half do not belong together"),
        ("sealed", {"n": 2}, "sealed in a way this program does not know"),
        ("sealed", {"n": 65536, "r": 8, "p": 1}, "`salt` is missing or not a text"),
    ],
)
def test_a_damaged_key_file_is_refused_by_name(tmp_path: Path, name: str, value: object, says: str) -> None:
    make_key(tmp_path)
    path = tmp_path / NAME
    path.write_bytes(_spoilt(json.loads(path.read_bytes()), name, value))
    with pytest.raises(UseError) as refused:
        load_key(tmp_path, "a passphrase")
    assert str(refused.value).startswith(f"{path}: ")
    assert says in str(refused.value)


def test_a_missing_key_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UseError, match="no such file"):
        load_key(tmp_path)


def test_a_folder_that_cannot_be_made_is_refused(tmp_path: Path) -> None:
    (tmp_path / "issuer-key").write_text("a file in its place")
    with pytest.raises(UseError, match="the folder cannot be made"):
        make_key(tmp_path / "issuer-key")
    assert [file.name for file in tmp_path.iterdir()] == ["issuer-key"]
