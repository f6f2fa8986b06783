from __future__ import annotations

import hashlib
from types import SimpleNamespace
from typing import Any

import msgspec
import pytest

from grader.base.codes import is_code
from grader.base.errors import UseError
from grader.marking.key import AnyQuestion, Choice, Option, read_key
from grader.papers.seal import codes, nonce, seal

SECRET = bytes(range(32))


def sealed(questions: tuple[AnyQuestion, ...], **named: Any) -> Any:
    items: list[Any] = [SimpleNamespace(question=question) for question in reversed(questions)]
    fields: dict[str, Any] = {
        "sitting": "spring",
        "candidate": "c-01",
        "code": "7M2KQ8D4XT",
        "blueprint": "trial",
        "bank": "ab" * 32,
        "secret": SECRET,
        "draw": lambda item, *_, **__: item.question,
    }
    return seal(named.pop("items", items), **{**fields, **named})


def test_the_digest_is_what_sha256sum_prints_of_the_key(questions: tuple[AnyQuestion, ...]) -> None:
    found = sealed(questions)
    assert found.digest == hashlib.sha256(found.data).hexdigest()
    assert read_key(found.data) == found.key


def test_questions_are_numbered_as_they_stand(questions: tuple[AnyQuestion, ...]) -> None:
    key = sealed(questions).key
    assert [question.number for question in key.questions] == [str(n) for n in range(1, len(questions) + 1)]
    assert [question.item for question in key.questions] == [question.item for question in reversed(questions)]


def test_the_same_inputs_seal_to_the_same_bytes(questions: tuple[AnyQuestion, ...]) -> None:
    assert sealed(questions).data == sealed(questions).data


def test_the_nonce_hangs_on_secret_sitting_and_paper() -> None:
    known = {nonce(*given) for given in ((SECRET, "a", "p"), (bytes(32), "a", "p"), (SECRET, "b", "p"), (SECRET, "a", "q"))}
    assert len(known) == 4
    assert all(len(bytes.fromhex(found)) == 32 for found in known)


def test_the_nonce_never_changes() -> None:
    # Never to be regenerated: it stands in sealed keys. BLAKE2b keyed with the secret, over RFC 8785 JSON.
    message = b'["grader-nonce-1","spring","7M2KQ8D4XT"]'
    by_hand = hashlib.blake2b(message, key=b"demo", digest_size=32).hexdigest()
    assert nonce(b"demo", "spring", "7M2KQ8D4XT") == by_hand
    assert by_hand == "c24e803750c15fcda9abd0ceee70da442f16157c631d5dc5f64f09eb8007fd36"


def test_a_short_secret_is_refused(questions: tuple[AnyQuestion, ...]) -> None:
    with pytest.raises(UseError, match="the secret has 16 bytes; give 32 to 64 random ones"):
        sealed(questions, secret=bytes(16))


def test_codes_are_valid_and_all_unlike() -> None:
    found = codes(SECRET, "spring", [f"c-{n}" for n in range(200)])
    assert len(set(found.values())) == 200
    assert all(map(is_code, found.values()))


def test_a_code_drawn_twice_is_drawn_again(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = {"c-01": "A", "c-02": "A", "c-02/1": "A", "c-02/2": "B"}
    monkeypatch.setattr("grader.papers.seal.paper_code", lambda _secret, _sitting, candidate: drawn[candidate])
    assert codes(SECRET, "spring", ["c-01", "c-02"]) == {"c-01": "A", "c-02": "B"}


def test_a_key_s_bytes_hold_no_float_that_is_not_json(questions: tuple[AnyQuestion, ...]) -> None:
    assert msgspec.json.decode(sealed(questions).data)["form"] == "grader-key-1"


def choices(letters: str) -> list[AnyQuestion]:
    options = tuple(Option(letter=letter, text=letter) for letter in "abcd")
    named: dict[str, Any] = {"objective": "pump.1", "circuit": "pump", "points": "1", "stem": ""}
    return [Choice(**named, item=f"i{n}", options=options, right=letter) for n, letter in enumerate(letters)]


def shuffled_as(*orders: str) -> tuple[list[str], list[int]]:
    """The right letters that are sealed where each shuffle gives these, the last for ever, and which shuffles were drawn."""
    asked = []

    def draw(item: Any, _secret: bytes, _paper: str, /, *, shuffle: int) -> AnyQuestion:
        asked.append(shuffle)
        return choices(orders[min(shuffle, len(orders) - 1)])[item.place]

    key = sealed((), items=[SimpleNamespace(place=place) for place in range(len(orders[0]))], draw=draw).key
    return [question.right for question in key.questions], sorted(set(asked))


def test_a_paper_stands_as_it_was_shuffled_first_unless_its_letters_are_lopsided() -> None:
    assert shuffled_as("abcabaac", "dddddddd") == ([*"abcabaac"], [0])
    assert shuffled_as("aaaaaaab", "abcdabcd") == ([*"abcdabcd"], [0, 1])


def test_a_paper_that_no_shuffle_evens_out_is_sealed_as_even_as_it_gets() -> None:
    assert shuffled_as("aaaaaaaa", "aaaaaaab", "bbbbbbbb") == ([*"aaaaaaab"], list(range(8)))
