"""Paper codes and their check character."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_2

from grader.base.codes import LETTERS, check_character, is_code, paper_code, read_code, show_code

codes = st.integers(0, 10**9).map(lambda n: paper_code(b"secret", "spring", str(n)))


@given(st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", min_size=1, max_size=20))
def test_the_check_character_is_that_of_the_standard(payload: str) -> None:
    # ISO/IEC 7064 MOD 37-2 as python-stdnum 2.2 computes it
    assert check_character(payload) == mod_37_2.calc_check_digit(payload)


@given(codes, st.integers(0, 9), st.sampled_from(LETTERS))
def test_one_wrong_character_is_always_caught(code: str, place: int, letter: str) -> None:
    wrong = code[:place] + letter + code[place + 1 :]
    assert is_code(wrong) == (wrong == code)


@given(codes, st.integers(0, 8))
def test_swapped_neighbours_are_always_caught(code: str, place: int) -> None:
    wrong = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    assert is_code(wrong) == (wrong == code)


@given(codes)
def test_a_code_is_read_back_however_it_is_typed(code: str) -> None:
    assert set(code) <= set(LETTERS)
    assert read_code(show_code(code).lower().replace("0", "o").replace("1", "l")) == code


@pytest.mark.parametrize("text", ["", "7M2KQ8D4X", "7M2KQ-8D4XT", "IIIIIIIIII", "ÄÄÄÄÄÄÄÄÄÄ"])
def test_what_is_no_code_is_no_code(text: str) -> None:
    assert not is_code(text)


def test_codes_never_change() -> None:
    # Never to be regenerated: the code stands on papers that were handed out.
    assert paper_code(b"demo", "spring", "c-01") == "Y9TYKEKD7P"
    assert paper_code(bytes(range(32)), "spring-2031", "Zoë") == "RVDQF1GA9K"
