"""
A passphrase's lock: scrypt (RFC 7914) stretches the passphrase, AES-256-GCM (NIST SP 800-38D) locks the data.

What is locked is bound to what it is said to be about: a locked text put in another's place does not open. A fresh salt for each
lock, a fresh nonce for each text: twelve random bytes, enough for some billions of texts under one key.
"""

from __future__ import annotations

import os
import unicodedata
from dataclasses import dataclass

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from grader.base.errors import UseError

SHORTEST = 8  # letters of a new passphrase: what NIST SP 800-63B asks at the least (from memory)
SALT, NONCE, TAG = 16, 12, 16  # bytes
DEAREST = 1 << 23  # n times r: more than 1 GiB would be asked for by somebody who altered the file, not by us


@dataclass(frozen=True, slots=True)
class Cost:
    """What scrypt costs: `n` is a power of two; it takes 128 * n * r bytes. By default 128 MiB and about half a second."""

    n: int = 1 << 17
    r: int = 8
    p: int = 1


@dataclass(frozen=True, slots=True)
class Lock:
    """
    How a passphrase becomes a key; kept beside what it locks.

    >>> lock = Lock(bytes(16), Cost(n=2))
    >>> lock.key("correct horse") == lock.key("correct horse"), len(lock.key("correct horse"))
    (True, 32)
    """

    salt: bytes
    cost: Cost = Cost()

    def key(self, passphrase: str) -> bytes:
        """
        The 32 bytes that a passphrase comes to. One word typed on two systems is one passphrase (Unicode NFC).

        Raises `UseError` where the cost is none that this program would ask, or the passphrase holds half a character.
        """
        n, r, p = self.cost.n, self.cost.r, self.cost.p
        if not (1 < n <= DEAREST and not n & (n - 1) and r >= 1 and n * r <= DEAREST and 1 <= p <= 16):
            raise UseError("locked in a way this program does not know; restore it from a copy")
        try:
            words = unicodedata.normalize("NFC", passphrase).encode()
        except UnicodeEncodeError:
            raise UseError("the passphrase has half a character in it; type it again") from None
        return Scrypt(salt=self.salt, length=32, n=n, r=r, p=p).derive(words)


def new_lock(cost: Cost | None = None) -> Lock:
    """A lock with a fresh salt."""
    return Lock(os.urandom(SALT), cost or Cost())


def locked(key: bytes, data: bytes, about: bytes) -> bytes:
    """
    Data locked with a key: a fresh nonce, then the data enciphered, then the tag of 16 bytes.

    >>> sealed = locked(bytes(32), b"3.31 mm^2", b"paper 7M2KQ8D4XT")
    >>> unlocked(bytes(32), sealed, b"paper 7M2KQ8D4XT"), unlocked(bytes(32), sealed, b"another paper")
    (b'3.31 mm^2', None)
    """
    nonce = os.urandom(NONCE)
    return nonce + AESGCM(key).encrypt(nonce, data, about)


def unlocked(key: bytes, sealed: bytes, about: bytes) -> bytes | None:
    """The data; None where the key, the data or what it is about is another."""
    try:
        return AESGCM(key).decrypt(sealed[:NONCE], sealed[NONCE:], about)
    except (InvalidTag, ValueError):  # ValueError: too short to be anything locked
        return None


def check_new(passphrase: str) -> str:
    """
    A passphrase that may lock something new; `UseError` for one that is too short to.

    >>> check_new("four old brass jets")
    'four old brass jets'
    """
    if len(passphrase) < SHORTEST:
        raise UseError(f"the passphrase has {len(passphrase)} letters; take {SHORTEST} or more, four words for instance")
    return passphrase
