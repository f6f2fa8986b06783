"""
The issuer's key: Ed25519, made once, kept away from what is published.

    issuer-key/issuer-private.json     the secret, readable by its owner only; a passphrase may seal it
    issuer/issuer.json                 the public half: a controlled identifier document, what a verifier must trust
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from grader.base.canon import canonical, read_json
from grader.base.errors import UseError
from grader.base.files import make_folder, read_capped
from grader.base.locks import NONCE, Cost, Lock, locked, new_lock, unlocked
from grader.certificates.multibase import ED25519_SECRET, base58btc, base64url, multikey, read_base64url, read_multikey

FORM = "grader-issuer-key-1"
NAME = "issuer-private.json"
LIMIT = 64 * 1024
_SCRYPT = {"n": 1 << 16, "r": 8, "p": 1}  # 64 MiB, about a fifth of a second


@dataclass(frozen=True, slots=True)
class IssuerKey:
    """
    An Ed25519 key pair. `secret` is the seed of 32 bytes.

    >>> key = IssuerKey(bytes(32))
    >>> signed = key.sign(b"a message")
    >>> signature_is_good(key.public, signed, b"a message"), signature_is_good(key.public, signed, b"another")
    (True, False)
    """

    secret: bytes = field(repr=False)

    @property
    def public(self) -> bytes:
        """The public key, 32 bytes."""
        return Ed25519PrivateKey.from_private_bytes(self.secret).public_key().public_bytes_raw()

    @property
    def multikey(self) -> str:
        """The public key as text."""
        return multikey(self.public)

    @property
    def method(self) -> str:
        """How a signature names the key: its did:key, which holds the key itself."""
        return f"did:key:{self.multikey}#{self.multikey}"

    def sign(self, message: bytes) -> bytes:
        """The signature, 64 bytes; the same for the same message (RFC 8032)."""
        return Ed25519PrivateKey.from_private_bytes(self.secret).sign(message)


def signature_is_good(public: bytes, signature: bytes, message: bytes) -> bool:
    """Whether a signature is the key's over the message (RFC 8032); False too for bytes that are no key or no signature."""
    try:
        Ed25519PublicKey.from_public_bytes(public).verify(signature, message)
    except (InvalidSignature, ValueError):
        return False
    return True


def make_key(folder: Path, passphrase: str = "") -> IssuerKey:
    """
    A new key, kept in the folder with mode 0600 in a folder of mode 0700.

    Raises `UseError` where a key is there already: what it signed could no longer be checked.
    """
    key = IssuerKey(os.urandom(32))
    make_folder(folder).chmod(0o700)
    path, neighbour = folder / NAME, folder / f".{os.urandom(4).hex()}.part"
    try:
        with os.fdopen(os.open(neighbour, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as stream:
            stream.write(canonical(_closed(key, passphrase)))
            stream.flush()
            os.fsync(stream.fileno())
        try:
            path.hardlink_to(neighbour)  # whole or not at all, and never over a key that is there
        finally:
            neighbour.unlink()
    except FileExistsError as error:
        raise UseError(f"{path}: there is a key already; keep it, what it signed is checked with it") from error
    except OSError as error:
        raise UseError(f"{path}: cannot be written ({error.strerror}); check the folder") from error
    return key


def load_key(folder: Path, passphrase: str = "") -> IssuerKey:
    """
    The key kept in the folder.

    Raises `UseError` where there is none, others may read it, it is damaged, or the passphrase is missing or wrong.
    """
    path = folder / NAME
    data = read_capped(path, LIMIT)
    if os.name == "posix" and path.stat().st_mode & 0o077:
        raise UseError(f"{path}: others on this machine may read the issuer's key; take that away with chmod 600")
    try:
        return _opened(read_json(data), passphrase)
    except UseError as error:
        raise UseError(f"{path}: {error}") from error


def _closed(key: IssuerKey, passphrase: str) -> dict[str, Any]:
    kept: dict[str, Any] = {"form": FORM, "publicKeyMultibase": key.multikey}
    if not passphrase:
        return kept | {"secretKeyMultibase": base58btc(ED25519_SECRET + key.secret)}
    lock = new_lock(Cost(**_SCRYPT))
    sealed = locked(lock.key(passphrase), key.secret, key.public)
    texts = {"salt": base64url(lock.salt), "nonce": base64url(sealed[:NONCE]), "data": base64url(sealed[NONCE:])}
    return kept | {"sealed": {"with": "scrypt, AES-256-GCM", **_SCRYPT, **texts}}


def _opened(kept: Any, passphrase: str) -> IssuerKey:
    if not isinstance(kept, dict) or kept.get("form") != FORM:
        raise UseError(f"not an issuer's key of the form {FORM!r}")
    public = read_multikey(_word(kept, "publicKeyMultibase"))
    if "sealed" in kept:
        key = IssuerKey(_unsealed(kept["sealed"], public, passphrase))
    else:
        key = IssuerKey(read_multikey(_word(kept, "secretKeyMultibase"), ED25519_SECRET))
    if key.public != public:
        raise UseError("the secret and the public half do not belong together; restore the key from a copy")
    return key


def _unsealed(sealed: Any, public: bytes, passphrase: str) -> bytes:
    if not passphrase:
        raise UseError("the key is sealed; give its passphrase")
    if not isinstance(sealed, dict) or {name: sealed.get(name) for name in _SCRYPT} != _SCRYPT:
        raise UseError("sealed in a way this program does not know")
    salt, nonce, data = (read_base64url(_word(sealed, name)) for name in ("salt", "nonce", "data"))
    secret = unlocked(Lock(salt, Cost(**_SCRYPT)).key(passphrase), nonce + data, public)
    if secret is None:
        raise UseError("the passphrase is not the one it was sealed with")
    if len(secret) != 32:
        raise UseError("the sealed secret is damaged; restore the key from a copy")
    return secret


def _word(kept: Mapping[str, Any], name: str) -> str:
    word = kept.get(name)
    if not isinstance(word, str):
        raise UseError(f"`{name}` is missing or not a text")
    return word
