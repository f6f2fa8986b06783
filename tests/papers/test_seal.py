from __future__ import annotations

import hashlib
from types import SimpleNamespace
from typing import Any

import msgspec
import pytest

from grader.base.codes import is_code
from grader.base.errors import UseError
from grader.marking.key import AnyQuestion, read_key
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
        "draw": lambda item, _secret, _paper: item.question,
    }
    return seal(items, **{**fields, **named})


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
