"""
A simulated class: answers that candidates of different skill might write, through the public formats only.

Simulated means: nobody sat this paper. Each candidate has a skill, and the chance to get a question right grows with it. Who gets
it wrong makes one of the item's slips, takes another option, leaves a blank, or forgets a unit, as people do.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from msgspec.structs import replace

from grader.base.canon import draw
from grader.base.codes import show_code
from grader.base.quantities import UNITS, show_number, with_unit
from grader.marking.case import carried_value
from grader.marking.key import (
    Answer,
    Case,
    Choice,
    ChoicePart,
    Choices,
    Key,
    Match,
    Numeric,
    NumericPart,
    Order,
    Question,
    Reading,
    Slip,
)
from grader.marking.numbers import ReadNumber, read_number

SECRET = b"the simulated class"
GRAIN = 10_000
BAD = 8
"""How many files of the pile cannot be marked: seven bad ones, and the one that one of them contradicts."""


@dataclass(frozen=True, slots=True)
class Person:
    """A simulated candidate: skill 0 gets half of the middling questions right, +2 nearly all."""

    candidate: str
    skill: float

    def chance(self, key: Key, what: str, size: int = GRAIN) -> int:
        """A whole number below `size` that depends on the person, the paper and what it decides."""
        return draw(SECRET, key.paper, self.candidate, what, 0, size)


def skill_of(place: int, size: int) -> float:
    """
    Skills spread over a class as people's are: most near +1, a few far off.

    >>> round(skill_of(0, 24), 1), round(skill_of(12, 24), 1), round(skill_of(23, 24), 1)
    (-1.3, 1.1, 1.6)
    """
    share = ((place * 7) % size + 0.5) / size  # neighbours in the roster differ
    return 1.0 + 0.6 * math.log(share / (1 - share))


def answers(person: Person, key: Key) -> dict[str, str]:
    """What the person writes: the paper's numbers to texts, as typed into an answer sheet."""
    written: dict[str, str] = {}
    for question in key.questions:
        if isinstance(question, Case):
            written |= _case(person, key, question)
        else:
            written[question.number] = _written(person, key, question.number, question)
    return written


def _case(person: Person, key: Key, case: Case) -> dict[str, str]:
    """A case's parts one after another: who is right in a later part computes on from what they wrote before."""
    written: dict[str, str] = {}
    own: dict[str, ReadNumber] = {}
    keyed: dict[str, Fraction] = {}
    for part in case.parts:
        number = f"{case.number}{part.part}"
        if isinstance(part, NumericPart):
            if part.follow is not None:
                value = carried_value(part.follow, part.follow.tree, own, keyed, key.units, part.answer.unit)
                own_answer = part.answer if value is None else replace(part.answer, value=str(value))
                part = replace(part, answer=own_answer)
            entry = key.units[part.answer.unit]
            keyed[part.part] = Fraction(part.answer.value) * Fraction(entry.factor) + Fraction(entry.offset)
        written[number] = _written(person, key, number, part)
        read = read_number(written[number], key.units, part.answer.unit) if isinstance(part, NumericPart) else None
        if isinstance(read, ReadNumber) and isinstance(part, NumericPart) and read.entry.kind == key.units[part.answer.unit].kind:
            own[part.part] = read
    return written


def _written(person: Person, key: Key, number: str, question: Question | NumericPart | ChoicePart) -> str:
    knows = person.chance(key, f"{number} knows") / GRAIN < 1 / (1 + math.exp(-1.4 * person.skill))
    way = person.chance(key, f"{number} way", 12)
    match question:
        case Numeric() | NumericPart():
            return _number(question.answer, question.slips, knows, way)
        case Reading():
            return _reading(question, knows, way)
        case Choice() | ChoicePart():
            letters = [option.letter for option in question.options]
            return question.right if knows else letters[way % len(letters)]
        case Choices():
            return " ".join(question.right if knows else question.right[:-1])
        case Order():
            right = list(question.right)
            return " ".join(right if knows else [right[1], right[0], *right[2:]])
        case Match():
            letters = list(question.right.values())
            given = letters if knows else [*letters[1:], letters[0]]
            return " ".join(f"{row}-{letter}" for row, letter in zip(question.right, given, strict=True))
    raise AssertionError(f"nobody answers a {type(question).__name__}")


def _number(answer: Answer, slips: tuple[Slip, ...], knows: bool, way: int) -> str:
    if knows:
        return _in_words(answer.value, answer.unit, way)
    if slips and way < 8:
        return _in_words(slips[way % len(slips)].value, answer.unit, way)
    if way == 8:
        return ""
    if way == 9:
        return _in_words(answer.value, "kg" if UNITS[answer.unit].kind != "mass" else "mm", way)
    if way == 10:
        return "about the same as before"
    return _in_words(str(Fraction(answer.value) * 3 // 2 + 1), answer.unit, way)


def _reading(question: Reading, knows: bool, way: int) -> str:
    """What is read off an instrument is written as fine as it counts; who misreads it is a few lines off."""
    answer = question.answer
    reach = Decimal(answer.high) - Decimal(answer.value)
    value = answer.value
    if not knows and question.slips and way < 8:
        value = question.slips[way % len(question.slips)].value
    elif not knows and way in {8, 9, 10}:
        return _number(answer, (), knows, way)
    elif not knows:
        value = f"{Decimal(value) + reach * (3 + way % 3)}"
    finest = Decimal(1).scaleb(reach.adjusted() - 1)
    return _as_people_write(f"{Decimal(value).quantize(finest).normalize():f}", answer.unit, way)


def _in_words(value: str, unit: str, way: int) -> str:
    """A number as people write it, rounded to three or four figures."""
    return _as_people_write(show_number(float(Fraction(value)), 4 if way % 2 else 3), unit, way)


def _as_people_write(number: str, unit: str, way: int) -> str:
    """A number with a comma, without a space, without the unit, or as it should be."""
    if way == 3 and number.count(".") == 1 and len(number.split(".")[1]) != 3:
        return with_unit(number.replace(".", ","), UNITS[unit])
    if way == 4:
        return f"{number}{UNITS[unit].shown}"
    if way == 5:
        return number
    return with_unit(number, UNITS[unit])


def pile(keys: Mapping[str, Key], people: Mapping[str, Person]) -> dict[str, bytes]:
    """
    The class's answer files by name: JSON, YAML and a class CSV, and seven bad ones, each bad in another way.

    Parameters
    ----------
    keys : mapping
        Candidate to the key of their paper.
    people : mapping
        Candidate to the simulated person; the same candidates, twenty-four of them.
    """
    order = list(keys)
    written = {candidate: answers(people[candidate], keys[candidate]) for candidate in order}
    files: dict[str, bytes] = {}
    for candidate in order[:14]:
        files[f"{candidate}.json"] = _json(keys[candidate], candidate, written[candidate])
    for candidate in order[14:16]:
        files[f"{candidate}.yaml"] = _yaml(keys[candidate], candidate, written[candidate])
    files["bench-three.csv"] = _csv([(keys[c], c, written[c]) for c in order[16:19]])
    files |= _bad(keys, order, written)
    return files


def _bad(keys: Mapping[str, Key], order: list[str], written: Mapping[str, dict[str, str]]) -> dict[str, bytes]:
    cut, code, swapped, twice, aliases = order[19:24]
    whole = _json(keys[cut], cut, written[cut]).decode()  # cut between two letters, so that it is bad in one way only
    lines = _json(keys[twice], twice, written[twice]).decode().splitlines()
    first = next(line for line in lines if '"1' in line)
    return {
        f"{cut}.json": whole[: len(whole) * 2 // 3].encode(),
        f"{code}.json": _json(keys[code], code, written[code]).replace(keys[code].paper[-3:].encode(), _other(keys[code].paper)),
        f"{swapped}.json": _json(keys[order[0]], swapped, written[swapped]),
        f"{twice}.json": "\n".join(line if line != first else f"{first}\n{first}" for line in lines).encode(),
        f"{aliases}.yaml": b"a: &a [x, x]\nb: &b [*a, *a, *a, *a]\nc: &c [*b, *b, *b, *b]\npaper: *c\n",
        f"{order[1]}-again.json": _json(
            keys[order[1]], order[1], {**written[order[1]], next(iter(written[order[1]])): "changed my mind"}
        ),
        "IMG_0231.json": b"\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01" + bytes(range(256)) * 8,
    }


def _other(code: str) -> bytes:
    """The last three characters of a code with two neighbours swapped, or one changed where they are alike."""
    one, two, check = tuple(code[-3:])
    return f"{two}{one}{check}".encode() if one != two else f"{one}{'2' if two != '2' else '3'}{check}".encode()


def _json(key: Key, candidate: str, given: Mapping[str, str]) -> bytes:
    return json.dumps({"paper": key.paper, "candidate": candidate, "answers": given}, ensure_ascii=False, indent=1).encode()


def _yaml(key: Key, candidate: str, given: Mapping[str, str]) -> bytes:
    lines = [f"paper: {show_code(key.paper)}", f"candidate: {candidate}", "answers:"]
    lines += [f"  {number}: {json.dumps(text, ensure_ascii=False)}" for number, text in given.items()]
    return ("\n".join(lines) + "\n").encode()


def _csv(rows: list[tuple[Key, str, dict[str, str]]]) -> bytes:
    """A class list as a spreadsheet saves it: a byte order mark, semicolons, Windows line ends."""
    numbers = list(dict.fromkeys(number for _, _, given in rows for number in given))
    lines = [";".join(["paper", "candidate", *numbers])]
    for key, candidate, given in rows:
        cells = [key.paper, candidate, *(given.get(number, "") for number in numbers)]
        lines.append(";".join('"' + cell.replace('"', '""') + '"' if set(cell) & set(';"\n') else cell for cell in cells))
    return b"\xef\xbb\xbf" + "\r\n".join(lines).encode() + b"\r\n"
