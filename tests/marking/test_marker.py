"""The browser's marker against the Python one: one corpus of answers, the same verdict, mark, reading and sentence."""

from __future__ import annotations

import json
import random
import subprocess
from collections.abc import Callable, Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any, get_args

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from grader.marking.browser import script, slim
from grader.marking.case import FIGURES
from grader.marking.key import AnyQuestion, Case, Key, Kind, read_key
from grader.marking.mark import mark_question
from grader.marking.numbers import ReadNumber, read_number
from grader.marking.ratio import figures
from grader.marking.reading import read_file
from grader.relations.tree import evaluate
from tests.marking.written_answers import written_answers

RUNNER = """
const fs = require('node:fs');
require(process.argv[2]);
const { units, questions, answers, numbers } = JSON.parse(fs.readFileSync(0, 'utf8'));
process.stdout.write(JSON.stringify({
  outcomes: answers.map(([place, given]) => graderMarker.markQuestion(questions[place], given, units)),
  numbers: numbers.map(([text, unit]) => graderMarker.readNumber(text, units, unit)),
}));
"""

Answers = tuple[int, dict[str, str]]
Browser = Callable[[Key, list[Answers], list[tuple[str, str]]], dict[str, list[Any]]]


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory, node: str) -> Browser:
    """Marks a batch of answers with the browser's marker, in one run of Node."""
    return running(script(), tmp_path_factory.mktemp("marker"), node)


def running(marker_script: str, folder: Path, node: str) -> Browser:
    """What marks a batch with this script as the browser's marker."""
    marker, runner = folder / "marker.js", folder / "run.js"
    marker.write_text(marker_script, "utf-8")
    runner.write_text(RUNNER, "utf-8")

    def run(key: Key, answers: list[Answers], numbers: list[tuple[str, str]]) -> dict[str, list[Any]]:
        batch = {
            "units": msgspec.to_builtins(key.units),
            "questions": msgspec.to_builtins(key.questions),
            "answers": answers,
            "numbers": numbers,
        }
        done = subprocess.run([node, runner, marker], input=json.dumps(batch).encode(), capture_output=True, check=False)
        assert done.returncode == 0, done.stderr.decode()
        found: dict[str, list[Any]] = json.loads(done.stdout)
        return found

    return run


def same(key: Key, browser: Browser, answers: list[Answers], numbers: Iterable[tuple[str, str]] = ()) -> None:
    asked = list(numbers)
    theirs = browser(key, answers, asked)
    for (place, given_), found in zip(answers, theirs["outcomes"], strict=True):
        ours = [asdict(o) for o in mark_question(key.questions[place], given_, key.units)]
        assert found == ours, (place, given_)
    for (text, unit), found in zip(asked, theirs["numbers"], strict=True):
        read = read_number(text, key.units, unit)
        one = {"number": str(read.number), "unit": read.unit, "read": read.read} if isinstance(read, ReadNumber) else asdict(read)
        assert found == one, (text, unit)


PIECES = [
    *"0123456789", *".,/-+−–eE×x^*'\"°%:=~≈±½¼⅜²³⁻⁴ \u202f\u00a0\u2009()abcdeABCDE12",
    "10", "1 1/4", "5/32", "1,234", "e-3", "×10^-3", "×10⁻³", " mm²", "mm2", " in", "in. Hg", " kPa", " g/s", "kg/h", " cc",
    " to 1", ":1", " °F", "℃", "psi", " per ", "sq ", "ca. ", "about ", "A = ", "2.3", "2.298", "4.573", "3.87", "7.709", "14.45",
    "72", "０", "９", "．", "٣", "é", "ß", "İ", "ſ", "μ", "Ω", "\t", "\n", "\x07", "\u202e", "\u200b", "\ufeff", "😀", "ﷺ",
    "none", "and", "or", "1-c", "2-a", "3-b", "->", "→", "05. Mar", "{read}", "</script>", "\\",
]  # fmt: skip
HOSTILE = [
    "", " ", "-", "NaN", "Infinity", "1e400", "-1e-400", "0x10", "1_000", "9" * 100, "9" * 101, "1/" + "9" * 90,
    "0." + "0" * 90 + "1", "__proto__", "constructor", "toString", "${read}", "{value}", "$&", "$1", "\ud7ff", "1" + "\u0301",
    "½½", "²", "1²", "1/2/3", "1 2 3", "mm²", "per", "per per", "1 per s", "3 g per min", "a" * 500, "(" * 99, "1,", ",1", "1.",
    ".", ",", "1 234 567,89", "+-1", "--1", "− 4 mm",
]  # fmt: skip


def corpus(count: int, seed: int) -> list[str]:
    """Texts made of pieces that matter, the same every time."""
    chance = random.Random(seed)  # noqa: S311 - a corpus, not a secret
    return ["".join(chance.choices(PIECES, k=chance.randint(1, 7))) for _ in range(count)]


def made_answers(key: Key, texts: list[str], cases: int) -> list[Answers]:
    """Each text to each question that has no parts, and so many cases whose parts go on from each other."""
    whole = [place for place, question in enumerate(key.questions) if not isinstance(question, Case)]
    (case,) = set(range(len(key.questions))) - set(whole)
    answers: list[Answers] = [(place, {"": text}) for place in whole for text in texts]
    chance = random.Random(2)  # noqa: S311 - a corpus, not a secret
    starts = ["2.30", "4.573", "0.397", "3 mm²", "0.04 cm²", "", "large", "2 kPa", "0", "-4.573", "1e-90", "1e90", "5/32 in²"]
    flows = ["3.87", "7.709", "0.6696", "5.451", "2.74", "27.75 kg/h", "", "x", "0", "-7.709", "1e-90 g/s", "5.057"]
    for _ in range(cases):
        pick = {"a": chance.choice([*starts, chance.choice(texts)]), "b": chance.choice([*flows, chance.choice(texts)])}
        last = chance.choice(["14.45", "7.264", "83.6", "10.27", "20.44", "", "0", chance.choice(texts)])
        answers.append((case, pick | {"c": chance.choice(["a", "b", "", "x"]), "d": last}))
    return answers


VERDICTS = {"right", "followed", "slip", "part", "wrong", "unit", "unreadable", "blank"}


def test_both_markers_agree_on_twenty_thousand_made_answers(key: Key, browser: Browser, perfect: dict[str, str]) -> None:
    texts = list(dict.fromkeys([*HOSTILE, *perfect.values(), *corpus(3500, 1)]))
    answers = made_answers(key, texts, cases=1500)
    assert len(answers) >= 20_000
    assert {key.questions[place].__struct_config__.tag for place, _ in answers} == set(get_args(Kind))
    some = answers[::3]
    said = {one.verdict for place, given_ in some for one in mark_question(key.questions[place], given_, key.units)}
    assert said == VERDICTS
    same(key, browser, answers, [(text, unit) for text in texts[:1200] for unit in ("mm^2", "degF", "dK", "1", "in")])


@pytest.mark.parametrize(
    ("was", "spoilt"),
    [
        ("'followed', ONE", "'right', ONE"),
        ("return outcome(q, 'slip', ZERO", "return outcome(q, 'wrong', ZERO"),
        ("says('order', { hit, wanted })", "says('match', { hit, wanted })"),
        ("plain = tidied(text).toLowerCase()", "plain = tidied(text)"),
        ("hit ? 'part' : 'wrong', share, shownAs, says('match'", "'part', share, shownAs, says('match'"),
    ],
)
def test_a_marker_that_differs_in_one_place_is_seen(
    was: str, spoilt: str, key: Key, perfect: dict[str, str], tmp_path: Path, node: str
) -> None:
    assert was in script()
    other = running(script().replace(was, spoilt, 1), tmp_path, node)
    with pytest.raises(AssertionError, match="assert"):
        same(key, other, made_answers(key, [*HOSTILE, *perfect.values(), *corpus(60, 1)], cases=150))


def test_both_markers_read_every_written_answer_alike(key: Key, browser: Browser) -> None:
    drills = [(f"No. {number} drill", "in") for number in range(82)]
    same(key, browser, [], [*((row.text, row.asked) for row in written_answers()), *drills])


def test_both_markers_agree_on_the_golden_answers(browser: Browser) -> None:
    golden = Path(__file__).with_name("golden")
    key = read_key((golden / "key.json").read_bytes())
    answers: list[Answers] = []
    for name in ("right.json", "followed.json", "odd.json", "spelt.yaml"):
        (sheet,) = read_file(name, (golden / name).read_bytes()).sheets
        for place, question in enumerate(key.questions):
            parts = [part.part for part in question.parts] if isinstance(question, Case) else [""]
            answers.append((place, {part: sheet.answers.get(question.number + part, "") for part in parts}))
    same(key, browser, answers)


@given(texts=st.lists(st.text(st.characters(exclude_categories=["Cs", "Cn"]), max_size=30), min_size=80, max_size=200))
@settings(
    max_examples=8,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example],
)
def test_both_markers_agree_on_any_text(key: Key, browser: Browser, texts: list[str]) -> None:
    answers: list[Answers] = [(place, {"": text}) for text in texts for place in (0, 1, 2, 4, 5)]
    same(key, browser, answers, [(text, "mm^2") for text in texts])


def test_both_markers_know_the_answers_number_in_another_unit(key: Key, browser: Browser, number_question: Any) -> None:
    asked = [
        number_question("0.0656", "0.0650", "0.0662", "in", plausible=["0.05", "0.08"]),
        number_question("55.7", "54.6", "56.8", "%"),
        number_question("2.569", "2.5", "2.64", "inH2O"),
        number_question("100.9", "98.9", "102.9", "kPa"),
        number_question("0", "-1", "1", "mm"),
        number_question("20", "19", "21", "degC"),
    ]
    texts = ["1.666", "65.6", "1.666 in", "0.0656 mm", "0.557", "640", "0.64", "1", "1.01", "1.5", "68", "293.15", "68 K", "7"]
    answers: list[Answers] = [(place, {"": text}) for place in range(len(asked)) for text in texts]
    same(msgspec.structs.replace(key, questions=tuple(asked)), browser, answers)


def test_both_markers_read_an_instrument_to_its_bounds(key: Key, browser: Browser) -> None:
    def reading(value: str, low: str, high: str, unit: str, slip: str) -> dict[str, Any]:
        answer = {"value": value, "low": low, "high": high, "unit": unit, "shown": value, "within": "as fine as the scale"}
        slips = [{"value": slip, "low": slip, "high": slip, "says": "Counted from the wrong end."}]
        asked = {
            "kind": "reading",
            "item": "i",
            "objective": "o.1",
            "circuit": "o",
            "points": "3",
            "stem": "?",
            "rule": "Read it.",
        }
        return asked | {"answer": answer, "slips": slips}

    asked = [
        reading("14.5", "14", "15", "inHg", "15.5"),  # a gauge, read to half a division
        reading("1.875", "1.859375", "1.890625", "in", "0.9375"),  # 1 7/8 in on a rule of 32nds, half a line either way
        reading("1.238", "1.237", "1.239", "in", "1.225"),  # a vernier
    ]
    texts = [
        "14",
        "13.999",
        "15",
        "15.001",
        "15,0 in Hg",
        "15.5",
        "49.1 kPa",
        "47.4 kPa",
        "1 7/8",
        "1 7/8 in",
        "1 55/64",
        "1 57/64 in",
    ]
    texts += [
        "1 29/32",
        "15/16",
        "47.625 mm",
        "48 mm",
        "1.237",
        "1.2369",
        "1.239 in",
        "1.2391",
        "31.4452 mm",
        "1.225",
        "",
        "14 in",
        "#30",
    ]
    answers: list[Answers] = [(place, {"": text}) for place in range(len(asked)) for text in texts]
    questions = msgspec.convert(asked, tuple[AnyQuestion, ...])
    right = [
        [text for text in texts if mark_question(question, {"": text}, key.units)[0].verdict == "right"] for question in questions
    ]
    # 1 inHg is 3.386389 kPa (conventional: 13595.1 kg/m3, 9.80665 m/s2, 25.4 mm), so 49.1 kPa is 14.499 and 47.4 kPa 13.997.
    assert right[0] == ["14", "15", "15,0 in Hg", "49.1 kPa"]
    assert right[1] == ["1 7/8", "1 7/8 in", "1 55/64", "1 57/64 in", "47.625 mm", "48 mm"]
    assert right[2] == ["1.237", "1.239 in", "31.4452 mm"]
    same(msgspec.structs.replace(key, questions=questions), browser, answers)


def test_letters_of_a_later_unicode_are_read_alike_by_old_and_new(key: Key, browser: Browser) -> None:
    texts = [
        "\U0001ccd6",
        "2.3 \U0001ccd6",
        "\U0001d7d0.\U0001d7d1 mm²",
        "👍 2.3",
        "b \U0001ccd6",
    ]  # an outlined A of Unicode 16; bold 2.3
    answers: list[Answers] = [(place, {"": text}) for text in texts for place in (0, 1, 2, 4, 5)]
    same(key, browser, answers, [(text, "mm^2") for text in texts])


def test_both_markers_follow_every_step_of_a_tree(key: Key, browser: Browser) -> None:
    a, b = ["name", "a"], 3.7
    steps: list[Any] = [
        *[[sign, a, b] for sign in "+-*/"],
        *[["**", a, power] for power in (0, 1, 2, 3, 8, 9, 0.5, 1.4, ["neg", 2], ["neg", 0.5])],
        *[[name, a] for name in ("neg", "sqrt", "exp", "log", "sin", "cos", "tan", "asin", "acos", "atan", "abs")],
        ["min", a, b, 1], ["max", a, b, 1], ["*", ["pi"], a],
        ["if", ["compare", 0, "<", a, "<=", 1], a, b], ["if", ["and", ["compare", a, ">", 0], ["compare", a, "!=", b]], a, b],
        ["if", ["or", ["compare", a, "==", 0], ["not", ["compare", a, ">=", 2]]], b, a], ["/", a, ["-", a, a]],
    ]  # fmt: skip
    answers: list[Answers] = []
    questions: list[AnyQuestion] = []
    for step in steps:
        for own in ("0.7", "-0.7", "2.5"):
            try:
                value = f"{evaluate(step, {'a': float(own)}):.6g}"
            except ValueError:
                value = "1"
            answers.append((len(questions), {"a": own, "b": value}))
        questions.append(_two_parts(step))
    tried = msgspec.structs.replace(key, questions=tuple(questions))
    same(tried, browser, answers)
    verdicts = [mark_question(tried.questions[place], given_, key.units)[1].verdict for place, given_ in answers]
    assert verdicts.count("followed") > len(verdicts) * 0.7


def _two_parts(tree: Any) -> AnyQuestion:
    def part(letter: str, follow: Any) -> dict[str, Any]:
        answer = {"value": "1e9", "low": "1e9", "high": "1e9", "unit": "1", "shown": "", "within": "0.1 %"}
        return {"kind": "numeric", "part": letter, "points": "1", "stem": "?", "answer": answer, "follow": follow}

    follow = {"tree": tree, "values": {}, "takes": {"a": "a"}, "within": "0.1 %"}
    case = {"kind": "case", "item": "i", "objective": "o.1", "circuit": "o", "points": "2", "stem": "?"}
    return msgspec.convert(case | {"parts": [part("a", None), part("b", follow)]}, AnyQuestion)


def test_both_markers_carry_offsets_and_amounts_alike(key: Key, browser: Browser, warming: Case) -> None:
    degrees = ["", "0", "20", "25 °C", "77 °F", "298.15 K", "-273.15", "60", "50", "10"]
    texts = [*degrees, "35", "35.5", "34.5", "35.51", "95 °F", "318.15 K", "15"]
    answers: list[Answers] = [(0, {"a": a, "b": b, "c": c}) for a in degrees for b in texts for c in ("", "45", "40", "113 °F")]
    same(msgspec.structs.replace(key, questions=(warming,)), browser, answers)


def test_both_markers_round_a_followed_value_alike(key: Key, browser: Browser) -> None:
    # 1/3 of the own value: what was written to 12 figures is on the bound of a tolerance of nothing, to 11 it is outside
    exact_third = ["/", ["name", "a"], 3]
    question = msgspec.to_builtins(_two_parts(exact_third))
    question["parts"][1]["follow"]["within"] = "0 %"
    tried = msgspec.structs.replace(key, questions=(msgspec.convert(question, AnyQuestion),))
    answers: list[Answers] = [
        (0, {"a": "2", "b": "0.666666666667"}),
        (0, {"a": "2", "b": "0.66666666667"}),
        (0, {"a": "1e-40", "b": "3.33333333333e-41"}),
    ]
    same(tried, browser, answers)
    assert [mark_question(tried.questions[0], g, key.units)[1].verdict for _, g in answers] == ["followed", "wrong", "followed"]
    assert FIGURES == 12
    assert figures(figures((2, 1), FIGURES), 1) == (2, 1)


def test_the_script_is_small_and_classic() -> None:
    text = script()
    assert len(text.encode()) < 28_000
    for word in ("eval(", "new Function", "import ", "export ", "fetch(", "document", "</", "?<=", "?<!"):
        assert word not in text


def test_every_sentence_is_said_by_both_markers_and_no_other() -> None:
    import re

    from grader.marking import outcome
    from grader.marking.outcome import sentences

    room = Path(outcome.__file__).parent
    python = "".join(path.read_text("utf-8") for path in room.glob("*.py"))
    browser = (room / "marker.js").read_text("utf-8")
    for name in sentences():
        assert re.search(rf'"{name}"', python), name
        assert re.search(rf"'{name}'", browser), name


ASSETS = Path(__file__).parents[2] / "grader" / "pages" / "assets"


def test_a_script_without_its_comments_still_reads_and_says_the_same(node: str) -> None:
    sources = {file.name: file.read_text("utf-8") for file in [*ASSETS.glob("*.js"), *ASSETS.parents[1].glob("marking/*.js")]}
    for name, source in sources.items():
        small = slim(source)
        assert "@param" not in small, name
        assert all(line.count("`") % 2 == 0 for line in source.splitlines()), f"{name}: a template goes over the end of a line"
        kept = [line.strip() for line in source.splitlines() if line.strip().startswith(("const ", "return ", "if ("))]
        assert kept, name
        assert [line for line in kept if line not in small and "/**" not in line] == [], name
    program = "for (const text of JSON.parse(require('fs').readFileSync(0, 'utf8'))) new Function(text);"
    small_ones = json.dumps([slim(source) for source in sources.values()])
    subprocess.run([node, "-e", program], input=small_ones.encode(), check=True)


def test_what_all_scripts_make_elements_with_is_written_once() -> None:
    sources = [file.read_text("utf-8") for file in ASSETS.glob("*.js")]
    assert len(sources) > 12
    for made in ("document.createElementNS(SVG", "function make(", "class: `practice-button"):
        assert sum(source.count(made) for source in sources) <= 1, made
