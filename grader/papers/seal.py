"""
Seals a paper: its code, its questions drawn, its key's canonical bytes and their digest.

Everything follows from the sitting's secret. The nonce does too: nobody without the secret can try answers against the digest
that the paper prints, and the same sitting seals to the same bytes.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

import msgspec

from grader.base.canon import canonical, digest
from grader.base.codes import paper_code
from grader.base.errors import UseError
from grader.items.model import Item
from grader.marking.key import FORM, AnyQuestion, Key, read_key, unit_entries
from grader.papers.letters import lopsided, rights_of, unevenness

SHUFFLES = 8
"""A paper whose right letters come out lopsided is shuffled again so often at most; then the evenest counts."""


class Draw(Protocol):
    """Draws an item for a paper, its options in an order of that number; `grader.items.variants.draw_question` of a course."""

    def __call__(self, item: Item, secret: bytes, paper: str, /, *, shuffle: int) -> AnyQuestion: ...


@dataclass(frozen=True, slots=True)
class Sealed:
    """A key, its canonical bytes, and the digest that the paper prints."""

    key: Key
    data: bytes
    digest: str


def codes(secret: bytes, sitting: str, candidates: Iterable[str]) -> dict[str, str]:
    """
    Each candidate's paper code, unlike every other of the sitting; the first in the roster keeps the code drawn first.

    >>> found = codes(b"demo", "spring", ["c-01", "c-02"])
    >>> len(set(found.values()))
    2
    """
    found: dict[str, str] = {}
    taken: set[str] = set()
    for candidate in candidates:
        again = 0
        code = paper_code(secret, sitting, candidate)
        while code in taken:
            again += 1
            code = paper_code(secret, sitting, f"{candidate}/{again}")
        taken.add(code)
        found[candidate] = code
    return found


def nonce(secret: bytes, sitting: str, paper: str) -> str:
    """
    The 32 bytes in a key that keep its digest from being tried out, in hexadecimal.

    >>> len(nonce(b"demo", "spring", "7M2KQ8D4XT"))
    64
    """
    message = canonical(["grader-nonce-1", sitting, paper])
    return hashlib.blake2b(message, key=secret, digest_size=32).hexdigest()


def seal(
    items: Sequence[Item], *, sitting: str, candidate: str, code: str, blueprint: str, bank: str, secret: bytes, draw: Draw
) -> Sealed:
    """
    A candidate's key: the questions drawn for the paper, numbered from 1 in the order of the items.

    Parameters
    ----------
    items : sequence of Item
    bank : str
        The digest of the bank the items come from.
    secret : bytes
        The sitting's secret, 32 to 64 bytes: with less, a key could be guessed from its digest.
    draw : callable
        `grader.items.variants.draw_question` of the course, taking item, secret, paper code and `shuffle`.

    Raises
    ------
    UseError
        The secret is too short, or an item gives no variant.
    """
    if not 32 <= len(secret) <= 64:
        raise UseError(f"the secret has {len(secret)} bytes; give 32 to 64 random ones")
    questions = tuple(
        msgspec.structs.replace(question, number=str(number))
        for number, question in enumerate(_drawn(items, secret, code, draw), 1)
    )
    key = Key(
        form=FORM,
        sitting=sitting,
        paper=code,
        candidate=candidate,
        blueprint=blueprint,
        bank=bank,
        nonce=nonce(secret, sitting, code),
        units=unit_entries(),
        questions=questions,
    )
    data = key.encoded()
    return Sealed(read_key(data), data, digest(data))  # as it comes back from the register, so that all is printed from the same


def _drawn(items: Sequence[Item], secret: bytes, code: str, draw: Draw) -> list[AnyQuestion]:
    """The questions of a paper, shuffled again as a whole while its right letters are lopsided; see `grader.papers.letters`."""
    found = []
    for shuffle in range(SHUFFLES):
        found.append([draw(item, secret, code, shuffle=shuffle) for item in items])
        if not lopsided(rights_of(found[-1])):
            return found[-1]
    return min(found, key=lambda questions: unevenness(rights_of(questions))[0])
