"""
Canonical bytes: JSON with one spelling (RFC 8785), its digest, and draws that come out the same in ten years.

The draw, written down in DEVELOPERS.md with test vectors and never to be changed:

    message = RFC 8785 JSON of ["grader-draw-1", paper, item, name, attempt, turn]      turn = 0, 1, 2 …
    value   = BLAKE2b(message, key = secret, 32 bytes) read as a big-endian whole number
    accept the first value below 2^256 - (2^256 mod size); the draw is value mod size
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from functools import cache
from itertools import count
from typing import Any

import rfc8785

from grader.base.errors import UseError

JSON_LIMIT = 64 * 1024 * 1024
DEEPEST = 100  # lists and groups in each other; far below where the library gives up, which hangs on how deep its caller stands
SPAN = 1 << 256

_plain_json = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


def canonical(value: Any) -> bytes:
    """
    The one spelling of a JSON value (RFC 8785).

    Raises `UseError` for what JSON cannot carry: NaN, infinities, whole numbers beyond 2^53, lone surrogates.

    >>> canonical({"b": 1.0, "a": "°"})
    b'{"a":"\\xc2\\xb0","b":1}'
    """
    try:
        return rfc8785.dumps(value)
    except (rfc8785.CanonicalizationError, UnicodeEncodeError) as error:
        raise UseError(f"not a JSON value: {error}") from error
    except RecursionError as error:
        raise UseError("nested too deep to be a JSON value here") from error


def read_json(data: bytes, *, numbers: Callable[[str], Any] | None = None, deepest: int = DEEPEST) -> Any:
    """
    A JSON value read strictly: UTF-8, no repeated keys, no NaN, no infinities, not too deep.

    Parameters
    ----------
    data : bytes
    numbers : callable
        Makes a value of a number as it was written; without it they are whole numbers and floats.
    deepest : int
        How many lists and groups may stand in each other.

    Raises `UseError` saying what is wrong.

    >>> read_json(b'{"a": 1, "a": 2}')
    Traceback (most recent call last):
    ...
    grader.base.errors.UseError: the key "a" stands twice; keep one of the two
    >>> read_json(b"[[1.50]]", numbers=str)
    [['1.50']]
    """
    if len(data) > JSON_LIMIT:
        raise UseError(f"larger than {JSON_LIMIT:,} bytes")
    try:
        text = data.decode("utf-8")
        if text.startswith("\ufeff"):
            raise json.JSONDecodeError("it begins with a byte order mark", text, 0)
        value = _decoder(numbers).decode(text)
    except UnicodeDecodeError as error:
        raise UseError(f"not UTF-8 at byte {error.start}; save the file as UTF-8") from error
    except json.JSONDecodeError as error:
        raise UseError(f"not JSON at line {error.lineno}, column {error.colno}: {error.msg}") from error
    except RecursionError as error:
        raise UseError("nested too deep to be read") from error
    except ValueError as error:  # a whole number of more than some thousand digits
        raise UseError(f"a number that cannot be read: {error}") from error
    if data.count(b"[") + data.count(b"{") > deepest and _deeper(value, deepest):
        raise UseError("nested too deep to be read")
    return value


@cache
def _decoder(numbers: Callable[[str], Any] | None) -> json.JSONDecoder:
    return json.JSONDecoder(object_pairs_hook=_distinct, parse_constant=_refuse, parse_float=numbers, parse_int=numbers)


def _deeper(value: Any, deepest: int) -> bool:
    """Whether a value is nested deeper; not by recursion, or how deep is too deep would hang on who asks."""
    level = [value]
    for _ in range(deepest):
        inner = [part for one in level for part in (one.values() if isinstance(one, dict) else one)]
        level = [part for part in inner if isinstance(part, dict | list)]
        if not level:
            return False
    return True


def _distinct(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        seen: set[str] = set()
        for name, _ in pairs:
            if name in seen:
                raise UseError(f'the key "{name[:60]}" stands twice; keep one of the two')
            seen.add(name)
    return found


def _refuse(word: str) -> Any:
    raise UseError(f"{word} is not a JSON number")


def digest(data: bytes) -> str:
    """
    SHA-256 in hexadecimal, as `sha256sum` prints it.

    >>> digest(b"abc")[:16]
    'ba7816bf8f01cfea'
    """
    return hashlib.sha256(data).hexdigest()


def draw(secret: bytes, paper: str, item: str, name: str, attempt: int, size: int) -> int:
    """
    A whole number from 0 up to `size` - 1, every one as likely as the next, fixed by the other arguments.

    Parameters
    ----------
    secret : bytes
        The sitting's secret, at most 64 bytes.
    paper, item, name : str
        Paper code, item id, and what is drawn.
    attempt : int
        0 at first; one more after each variant that had to be rejected.
    size : int
        How many values there are to draw from, 1 to 2^53.

    Examples
    --------
    >>> draw(b"demo", "7M2KQ8D4XT", "power-open-area", "jet_bore", 0, 13)
    9
    """
    if not 1 <= size <= 1 << 53:
        raise UseError(f"size is {size}; draw from 1 to 2^53 values")
    if len(secret) > 64:
        raise UseError(f"the secret has {len(secret)} bytes; BLAKE2b takes a key of 64 at most")
    limit = SPAN - SPAN % size
    for turn in count():
        message = _message(paper, item, name, attempt, turn)
        value = int.from_bytes(hashlib.blake2b(message, key=secret, digest_size=32).digest(), "big")
        if value < limit:
            return value % size
    raise AssertionError("unreachable: turns do not end")


def _message(paper: str, item: str, name: str, attempt: int, turn: int) -> bytes:
    """
    What a draw hashes, RFC 8785 JSON: of texts and whole numbers alone the standard library writes the same, ten times as fast.

    >>> _message("7M2KQ8D4XT", "power-open-area", "jet_bore", 0, 1)
    b'["grader-draw-1","7M2KQ8D4XT","power-open-area","jet_bore",0,1]'
    """
    try:
        return _plain_json(["grader-draw-1", paper, item, name, attempt, turn]).encode()
    except UnicodeEncodeError as error:
        raise UseError(f"not a JSON value: {error}") from error


def shuffled(secret: bytes, paper: str, item: str, name: str, attempt: int, size: int) -> list[int]:
    """
    The numbers 0 to `size` - 1 in a drawn order (Fisher-Yates, from the last place down).

    >>> sorted(shuffled(b"demo", "7M2KQ8D4XT", "power-why", "options", 0, 4))
    [0, 1, 2, 3]
    """
    order = list(range(size))
    for place in range(size - 1, 0, -1):
        other = draw(secret, paper, item, f"{name}/{place}", attempt, place + 1)
        order[place], order[other] = order[other], order[place]
    return order
