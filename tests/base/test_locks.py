"""A passphrase's lock."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import UseError
from grader.base.locks import Cost, Lock, check_new, locked, new_lock, unlocked

KEY = bytes(range(32))


@pytest.mark.parametrize(
    ("passphrase", "salt", "cost", "begins"),
    [
        # RFC 7914, section 12, from memory: the first 32 of the 64 bytes of two of its four vectors (PBKDF2's last step makes the
        # output a stream, so a shorter output is its beginning).
        ("password", b"NaCl", Cost(1024, 8, 16), "fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162"),
        (
            "pleaseletmein",
            b"SodiumChloride",
            Cost(16384, 8, 1),
            "7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2",
        ),
    ],
)
def test_a_passphrase_comes_to_what_the_standard_says(passphrase: str, salt: bytes, cost: Cost, begins: str) -> None:
    assert Lock(salt, cost).key(passphrase).hex() == begins


def test_data_is_locked_as_the_standard_says() -> None:
    # McGrew and Viega's AES-GCM test case 14 (256-bit key of zeros, nonce of zeros, one block of zeros), from memory.
    sealed = bytes(12) + bytes.fromhex("cea7403d4d606b6e074ec5d3baf39d18" + "d0d1c8a799996bf0265b98b5d48ab919")
    assert unlocked(bytes(32), sealed, b"") == bytes(16)


@settings(max_examples=25, deadline=None)
@given(data=st.binary(max_size=300), about=st.binary(max_size=40), place=st.integers(0, 400), bit=st.integers(0, 7))
def test_what_is_locked_opens_and_one_bit_changed_does_not(data: bytes, about: bytes, place: int, bit: int) -> None:
    sealed = bytearray(locked(KEY, data, about))
    assert unlocked(KEY, bytes(sealed), about) == data
    assert unlocked(KEY, bytes(sealed), about + b"!") is None
    sealed[place % len(sealed)] ^= 1 << bit
    assert unlocked(KEY, bytes(sealed), about) is None


def test_every_lock_has_a_salt_and_every_text_a_nonce_of_its_own() -> None:
    assert len({new_lock().salt for _ in range(50)}) == 50
    assert len({locked(KEY, b"the same", b"")[:12] for _ in range(50)}) == 50


def test_a_new_lock_costs_what_was_decided() -> None:
    assert new_lock().cost == Cost(1 << 17, 8, 1)


@pytest.mark.parametrize(
    "cost", [Cost(0), Cost(1), Cost(3), Cost(1 << 30), Cost(1 << 22, 8), Cost(1 << 17, 8, 99), Cost(2, 0), Cost(-4)]
)
def test_a_cost_nobody_would_ask_is_refused_before_memory_is_taken(cost: Cost) -> None:
    with pytest.raises(UseError, match="locked in a way this program does not know"):
        Lock(bytes(16), cost).key("four old brass jets")


def test_one_word_typed_on_two_systems_is_one_passphrase() -> None:
    assert Lock(bytes(16), Cost(2)).key("Zoe\u0308 and the jets") == Lock(bytes(16), Cost(2)).key("Zo\u00eb and the jets")


@pytest.mark.parametrize("sealed", [b"", b"short", bytes(27), bytes(28)])
def test_what_is_too_short_to_be_locked_does_not_open(sealed: bytes) -> None:
    assert unlocked(KEY, sealed, b"") is None


def test_a_short_passphrase_locks_nothing_new() -> None:
    with pytest.raises(UseError, match="the passphrase has 7 letters; take 8 or more"):
        check_new("jet-rod")


def test_half_a_character_is_no_passphrase() -> None:
    with pytest.raises(UseError, match="half a character") as refused:
        Lock(bytes(16), Cost(2)).key("four \ud800 jets")
    assert "four" not in str(refused.value)
