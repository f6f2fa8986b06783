"""Canonical JSON, digests and draws."""

from __future__ import annotations

import hashlib
import json
import re
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grader.base.canon import canonical, digest, draw, read_json, shuffled
from grader.base.errors import UseError

VECTORS = Path(__file__).parent / "vectors" / "jcs"


@pytest.mark.parametrize("name", sorted(p.name for p in (VECTORS / "input").glob("*.json")))
def test_canonical_agrees_with_the_published_documents(name: str) -> None:
    # RFC 8785 test data, see vectors/SOURCES.txt
    given_document = json.loads((VECTORS / "input" / name).read_text("utf-8"))
    assert canonical(given_document) == (VECTORS / "output" / name).read_bytes()


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 2**53 + 1, {"a": "\ud800"}])
def test_what_json_cannot_carry_is_refused(value: object) -> None:
    with pytest.raises(UseError, match="not a JSON value"):
        canonical(value)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b'{"a": 1, "b": {"c": 1, "c": 2}}', 'the key "c" stands twice'),
        (b"[NaN]", "NaN is not a JSON number"),
        (b"[-Infinity]", "-Infinity is not a JSON number"),
        (b'{"a": "\xff"}', "not UTF-8 at byte 7"),
        (b'{"a": 1,}', "not JSON at line 1"),
        (b"[" * 200_000, "nested too deep"),
        (b"9" * 5000, "a number that cannot be read"),
        (b"", "not JSON at line 1, column 1"),
    ],
)
def test_loose_json_is_refused_with_the_reason(data: bytes, says: str) -> None:
    with pytest.raises(UseError) as refused:
        read_json(data)
    assert says in str(refused.value)


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.text(),
        lambda s: st.lists(s) | st.dictionaries(st.text(), s),
        max_leaves=12,
    )
)
def test_reading_undoes_writing(value: object) -> None:
    assert read_json(canonical(value)) == value


def test_the_digest_is_plain_sha256() -> None:
    # NIST SHA256ShortMsg.rsp (from memory): the empty message
    assert digest(b"") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


# Never to be regenerated: a paper must come out the same in ten years. Also in DEVELOPERS.md.
DRAWS = [
    ((b"demo", "7M2KQ8D4XT", "power-open-area", "jet_bore", 0, 13), 9),
    ((b"demo", "7M2KQ8D4XT", "power-open-area", "jet_bore", 1, 13), 11),
    ((b"demo", "7M2KQ8D4XT", "power-open-area", "rod_diameter", 0, 3), 0),
    ((bytes(range(64)), "", "pump-shot", "°", 7, 1_000_000_007), 606714505),
    ((b"", "0000000000", "x", "options/3", 0, 1), 0),
]


def slow_draw(secret: bytes, paper: str, item: str, name: str, attempt: int, size: int) -> int:
    """The draw again, from its description alone."""
    turn = 0
    while True:
        message = json.dumps(["grader-draw-1", paper, item, name, attempt, turn], ensure_ascii=False, separators=(",", ":"))
        value = int(hashlib.blake2b(message.encode(), digest_size=32, key=secret).hexdigest(), 16)
        if value < 2**256 - 2**256 % size:
            return value % size
        turn += 1


@pytest.mark.parametrize(("arguments", "expected"), DRAWS)
def test_draws_never_change(arguments: tuple[bytes, str, str, str, int, int], expected: int) -> None:
    assert draw(*arguments) == expected


def test_the_draws_that_are_written_down_are_those_that_are_made() -> None:
    told = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text("utf-8")
    rows = re.findall(
        r"^\| (`demo`|bytes 00..3f) \| (\S+|\(empty\)) \| (\S+) \| (\S+) \| (\d+) \| ([\d ]+) \| (\d+) \|$", told, re.MULTILINE
    )
    assert len(rows) >= 4
    for keyed, paper, item, name, attempt, size, drawn in rows:
        key = b"demo" if keyed == "`demo`" else bytes(range(64))
        assert draw(key, paper.replace("(empty)", ""), item, name, int(attempt), int(size.replace(" ", ""))) == int(drawn)


# Never to be regenerated either: the order of options, and of items in a quiz.
ORDERS = [
    ((b"demo", "7M2KQ8D4XT", "power-why", "options", 0, 5), [1, 3, 4, 2, 0]),
    ((bytes(range(32)), "", "", "objectives", 0, 7), [0, 3, 1, 4, 6, 5, 2]),
]


@pytest.mark.parametrize(("arguments", "expected"), ORDERS)
def test_orders_never_change(arguments: tuple[bytes, str, str, str, int, int], expected: list[int]) -> None:
    assert shuffled(*arguments) == expected
    secret, paper, item, name, attempt, size = arguments
    left = list(range(size))  # again from its description: from the last place down, a drawn one of those up to it comes there
    for place in range(size - 1, 0, -1):
        other = slow_draw(secret, paper, item, f"{name}/{place}", attempt, place + 1)
        left[place], left[other] = left[other], left[place]
    assert left == expected


@given(st.binary(max_size=64), st.text(max_size=12), st.text(max_size=12), st.integers(0, 500), st.integers(1, 2**53))
def test_draws_follow_their_description(secret: bytes, item: str, name: str, attempt: int, size: int) -> None:
    drawn = draw(secret, "7M2KQ8D4XT", item, name, attempt, size)
    assert 0 <= drawn < size
    assert drawn == slow_draw(secret, "7M2KQ8D4XT", item, name, attempt, size)


def test_draws_favour_no_value() -> None:
    counts = Counter(draw(b"fair", "7M2KQ8D4XT", "item", f"n{i}", 0, 6) for i in range(6000))
    chi_square = sum((counts[face] - 1000) ** 2 / 1000 for face in range(6))
    assert chi_square < 20.5  # 5 degrees of freedom, p = 0.001 (scipy.stats.chi2.ppf)


@pytest.mark.parametrize("size", [0, -1, 2**53 + 1])
def test_an_impossible_size_is_refused(size: int) -> None:
    with pytest.raises(UseError, match="draw from 1 to"):
        draw(b"", "p", "i", "n", 0, size)


def test_a_secret_longer_than_the_hash_takes_is_refused() -> None:
    with pytest.raises(UseError, match="65 bytes"):
        draw(bytes(65), "p", "i", "n", 0, 2)


def test_every_order_of_three_comes_about() -> None:
    orders = Counter(tuple(shuffled(b"s", f"paper {i}", "item", "options", 0, 3)) for i in range(600))
    assert len(orders) == 6
    assert min(orders.values()) > 60
