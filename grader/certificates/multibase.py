"""
Multibase and multicodec: how keys and signatures are written as text.

Source: W3C Controlled Identifiers v1.0 (Multibase, Multikey) as used by the vectors of "Data Integrity EdDSA Cryptosuites v1.0";
the alphabet and the letter `z` as in the multibase tests of the multiformats project.
"""

from __future__ import annotations

import base64
import binascii

from grader.base.errors import UseError

_BASE58 = "123456789ABCDEFGHJKLMNPQRSTUVWXYZabcdefghijkmnopqrstuvwxyz"
ED25519_PUBLIC = bytes.fromhex("ed01")
ED25519_SECRET = bytes.fromhex("8026")
TEXT_LIMIT = 256  # characters: no key or signature comes near, and base 58 takes quadratic time


def base58btc(data: bytes) -> str:
    """
    Bytes in base 58 with the letter `z` before them.

    >>> base58btc(b"yes mani !")
    'z7paNL19xttacUY'
    """
    number = int.from_bytes(data, "big")
    digits = ""
    while number:
        number, digit = divmod(number, 58)
        digits = _BASE58[digit] + digits
    zeros = len(data) - len(data.lstrip(b"\0"))
    return "z" + "1" * zeros + digits


def read_base58btc(text: str) -> bytes:
    """
    The bytes of a text that starts with `z`; at most 256 characters.

    Raises `UseError` where a character is not of the alphabet.

    >>> read_base58btc("z17paNL19xttacUY")
    b'\\x00yes mani !'
    """
    if not text.startswith("z") or len(text) > TEXT_LIMIT:
        raise UseError(f"`{text[:20]}` is not base58btc; it starts with z and has at most {TEXT_LIMIT} characters")
    number = 0
    for letter in text[1:]:
        digit = _BASE58.find(letter)
        if digit < 0:
            raise UseError(f"`{letter}` is not a character of base 58")
        number = number * 58 + digit
    zeros = len(text) - 1 - len(text[1:].lstrip("1"))
    return b"\0" * zeros + number.to_bytes((number.bit_length() + 7) // 8, "big")


def base64url(data: bytes) -> str:
    """
    Bytes in base 64, URL-safe, without padding, with the letter `u` before them.

    >>> base64url(b"yes mani !")
    'ueWVzIG1hbmkgIQ'
    """
    return "u" + base64.urlsafe_b64encode(data).decode().rstrip("=")


def read_base64url(text: str) -> bytes:
    """
    The bytes of a text that starts with `u`.

    Raises `UseError` where it is not URL-safe base 64 without padding.

    >>> read_base64url("ueWVzIG1hbmkgIQ")
    b'yes mani !'
    """
    if not text.startswith("u") or not text.isascii():
        raise UseError(f"`{text[:20]}` is not base64url; it starts with u")
    body = text[1:].translate({ord("-"): "+", ord("_"): "/", ord("+"): "!", ord("/"): "!", ord("="): "!"})
    try:
        return base64.b64decode(body + "=" * (-len(body) % 4), validate=True)
    except binascii.Error as error:
        raise UseError(f"not base64url: {error}") from error


def multikey(public: bytes) -> str:
    """
    An Ed25519 public key of 32 bytes as a Multikey.

    >>> multikey(bytes(32))
    'z6MkeTG3bFFSLYVU7VqhgZxqr6YzpaGrQtFMh1uvqGy1vDnP'
    """
    return base58btc(ED25519_PUBLIC + public)


def read_multikey(text: str, prefix: bytes = ED25519_PUBLIC) -> bytes:
    """
    The 32 bytes of an Ed25519 key; `UseError` where the Multikey is of another kind or length.

    >>> read_multikey("z6MkeTG3bFFSLYVU7VqhgZxqr6YzpaGrQtFMh1uvqGy1vDnP") == bytes(32)
    True
    """
    data = read_base58btc(text)
    if not data.startswith(prefix) or len(data) != len(prefix) + 32:
        raise UseError(f"`{text[:20]}…` is not an Ed25519 Multikey")
    return data[len(prefix) :]
