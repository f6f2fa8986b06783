"""What is kept on the device: five boxes, days on which questions are due, a file to take along; whatever was stored there."""

from __future__ import annotations

import json
import re
import subprocess
import zlib
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.pages.study import SOURCE

pytestmark = pytest.mark.browser  # Node comes with the browser's driver

SCRIPT = Path(__file__).parents[2] / "grader" / "pages" / "assets" / "progress.js"
KEY, ASIDE = "course-progress", "course-progress-aside"
DAY = date(2026, 11, 25)

# Acts on a browser of our own: a store of text that can be full or shut, a clock that is set, tabs that share the store.
DRIVER = """
(0, eval)(require('fs').readFileSync(process.argv[1], 'utf8'));
const { make, DAYS, FIRM } = globalThis.graderProgress;
function run(acts) {
  const kept = new Map(), said = [];
  let moment = new Date(2026, 10, 25, 12), full = false, shut = false;
  const keep = {
    getItem: (name) => { if (shut) throw new Error('shut'); return kept.has(name) ? kept.get(name) : null; },
    setItem: (name, text) => { if (full || shut) throw new Error('full'); kept.set(name, text); },
    removeItem: (name) => { if (shut) throw new Error('shut'); kept.delete(name); },
  };
  const tabs = [make(keep, () => moment), make(keep, () => moment), make(null, () => moment)];
  let tab = tabs[0];
  const plain = () => { const all = tab.read(); return { ...all, items: Object.fromEntries(all.items) }; };
  for (const [act, ...more] of acts) {
    let answer = null;
    if (act === 'at') moment = new Date(more[0], more[1] - 1, more[2], more[3] ?? 12, more[4] ?? 0);
    else if (act === 'tab') tab = tabs[more[0]];
    else if (act === 'full') full = true;
    else if (act === 'shut') shut = true;
    else if (act === 'put') kept.set(...more);
    else if (act === 'get') answer = kept.get(more[0]) ?? null;
    else if (act === 'read') answer = plain();
    else if (act === 'states') answer = more[0].map(tab.states());
    else if (act === 'order') answer = tab.order(more[0], (one) => one);
    else if (act === 'constants') answer = { DAYS, FIRM };
    else answer = tab[act](...more) ?? null;
    said.push(answer);
  }
  return said;
}
require('readline').createInterface({ input: process.stdin }).on('line', (line) => {
  let said;
  try { said = run(JSON.parse(line)); } catch (error) { said = { thrown: String(error.stack) }; }
  process.stdout.write(JSON.stringify(said) + '\\n');
});
"""

Acts = Callable[..., list[Any]]


@pytest.fixture(scope="module")
def acts(node: str) -> Iterator[Acts]:
    """Does acts in a browser without history; what each answered."""
    with subprocess.Popen([node, "-e", DRIVER, str(SCRIPT)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as running:
        assert running.stdin is not None
        assert running.stdout is not None
        into, out = running.stdin, running.stdout

        def do(*some: Any) -> list[Any]:
            into.write(json.dumps(some) + "\n")
            into.flush()
            said = json.loads(out.readline())
            assert isinstance(said, list), said["thrown"]
            return said

        yield do
        into.close()


def at(day: date) -> list[Any]:
    return ["at", day.year, day.month, day.day]


ITEMS = ("power-ring", "idle-signal", "constructor", "a", "float-2")
GOOD = ("right", "followed")
BAD = ("wrong", "slip", "part")
OPEN = ("unit", "unreadable", "blank")

# Answers: days since the last one, the question, the verdict.
history = st.lists(
    st.tuples(
        st.sampled_from([0, 0, 0, 1, 1, 2, 3, 5, 8, 14, 15, 40]), st.sampled_from(ITEMS), st.sampled_from(GOOD * 3 + BAD + OPEN)
    ),
    max_size=25,
)


def told(answers: list[tuple[int, str, str]], start: date = DAY) -> list[list[Any]]:
    """The acts that give these answers."""
    found, day = list[list[Any]](), start
    for gap, item, verdict in answers:
        day += timedelta(gap)
        found += [at(day), ["note", item, verdict]]
    return found


def shelved(answers: list[tuple[int, str, str]]) -> dict[str, tuple[int, date]]:
    """
    The boxes a second time, as on paper: box and day due of each question.

    Leitner's rule: right, one box on; not right, back to the first. The rests are the depths of his compartments, 1, 2, 5, 8
    and 14 cm, as an encyclopedia's article on the method gives them (the book not seen), counted as days.
    """
    rests = (1, 2, 5, 8, 14)
    found, day = dict[str, tuple[int, date]](), DAY
    for gap, item, verdict in answers:
        day += timedelta(gap)
        box, due = found.get(item, (1, day))
        if verdict in BAD:
            box = 1
        elif verdict in GOOD and due <= day:
            box = min(box + 1, 5)
        else:
            continue
        found[item] = (box, day + timedelta(rests[box - 1]))
    return found


@given(history)
@settings(max_examples=150, deadline=None)
def test_every_question_stands_where_paper_cards_would(acts: Acts, answers: list[tuple[int, str, str]]) -> None:
    items = acts(*told(answers), ["read"])[-1]["items"]
    assert {name: (one["box"], date.fromisoformat(one["due"])) for name, one in items.items()} == shelved(answers)
    assert all(1 <= one["box"] <= 5 and one["firm"] == (one["box"] >= 3) for one in items.values())


def test_a_question_moves_on_once_a_day_and_a_wrong_answer_puts_it_back(acts: Acts) -> None:
    def box(*answers: tuple[int, str]) -> tuple[int, str]:
        one = acts(*told([(gap, "a", verdict) for gap, verdict in answers]), ["read"])[-1]["items"]["a"]
        return one["box"], one["due"]

    assert box((0, "right")) == (2, "2026-11-27")
    assert box((0, "right"), (0, "right"), (1, "right")) == (2, "2026-11-27")
    assert box((0, "right"), (2, "right")) == (3, "2026-12-02")
    assert box((0, "right"), (2, "right"), (5, "right"), (8, "right"), (14, "right")) == (5, "2027-01-07")
    assert box((0, "right"), (2, "right"), (5, "slip")) == (1, "2026-12-03")
    assert box((0, "wrong"), (0, "right")) == (1, "2026-11-26")
    assert box((0, "wrong"), (1, "right")) == (2, "2026-11-28")


def test_a_verdict_that_leaves_the_question_open_is_no_answer(acts: Acts) -> None:
    assert acts(*[["note", "a", verdict] for verdict in OPEN], ["read"])[-1]["items"] == {}


def test_the_page_says_the_rests_that_are_used(acts: Acts) -> None:
    constants = acts(["constants"])[0]
    rows = re.findall(r"^\| (\d) \| (\d+) days? \| (\w+) \|$", SOURCE, re.MULTILINE)
    assert [int(days) for _, days, _ in rows] == constants["DAYS"] == [1, 2, 5, 8, 14]
    assert [word for *_, word in rows] == ["learning"] * (constants["FIRM"] - 1) + ["known"] * (6 - constants["FIRM"])


def test_a_day_is_the_one_on_the_wall(acts: Acts) -> None:
    late = acts(["at", 2026, 11, 25, 23, 59], ["note", "a", "right"], ["read"])[-1]
    early = acts(["at", 2026, 11, 25, 0, 1], ["note", "a", "right"], ["read"])[-1]
    assert late == early
    assert late["today"] == "2026-11-25"


# ------------------------------------------------------------------ order


@given(history, st.permutations([*ITEMS, "never-asked"]), st.integers(0, 20))
@settings(max_examples=80, deadline=None)
def test_what_is_due_comes_first_then_what_is_new_then_the_rest(
    acts: Acts, answers: list[tuple[int, str, str]], asked: list[str], later: int
) -> None:
    day = DAY + timedelta(sum(gap for gap, *_ in answers) + later)
    states, order = acts(*told(answers), at(day), ["states", asked], ["order", asked])[-2:]
    ranks = dict(zip(asked, ({"due": 0, "new": 1}.get(state, 2) for state in states), strict=True))
    assert order == sorted(asked, key=ranks.__getitem__)  # Python's sort is stable, so this holds the order within a rank too
    due = {name for name, (_, when) in shelved(answers).items() if when <= day}
    assert {name for name, state in zip(asked, states, strict=True) if state == "due"} == due


def test_a_clock_that_ran_ahead_hides_no_question(acts: Acts) -> None:
    state = acts(at(date(2099, 1, 1)), ["note", "a", "right"], at(DAY), ["states", ["a"]])[-1]
    assert state == ["due"]
    again = acts(at(date(2099, 1, 1)), ["note", "a", "right"], at(DAY), ["note", "a", "right"], ["read"])[-1]
    assert again["items"]["a"]["due"] == "2026-11-30"


def test_a_flight_that_takes_a_day_back_makes_nothing_due(acts: Acts) -> None:
    assert acts(["note", "a", "right"], at(DAY - timedelta(1)), ["states", ["a"]])[-1] == ["right"]


# ------------------------------------------------------------------ a file to take along


@given(history)
@settings(max_examples=60, deadline=None)
def test_a_saved_file_taken_in_elsewhere_is_the_same_again(acts: Acts, answers: list[tuple[int, str, str]]) -> None:
    before, text = acts(*told(answers), at(DAY), ["read"], ["exported"])[-2:]
    for way in ("merge", "replace"):
        wrong, after, again = acts(["imported", text, way], ["read"], ["exported"])
        assert wrong == ""
        assert (after, again) == (before, text)
        assert acts(*told(answers), at(DAY), ["imported", text, way], ["read"])[-1] == before


def test_the_check_sum_is_that_of_the_common_standard(acts: Acts) -> None:
    # CRC-32 as in ISO 3309, gzip and PNG; zlib computes it here, not we.
    text = acts(["note", "power-ring", "right"], ["note", "idle-signal", "slip"], ["exported"])[-1]
    said = json.loads(text)
    assert said["check"] == f"{zlib.crc32(json.dumps(said['items'], separators=(',', ':')).encode()):08x}"
    assert list(said["items"]) == ["idle-signal", "power-ring"]
    assert set(said["items"]["power-ring"]) == {"box", "seen", "due", "last"}


@given(history, history, history, st.integers(0, 30))
@settings(max_examples=60, deadline=None)
def test_files_merge_to_the_same_in_any_order_and_the_later_answer_counts(
    acts: Acts, one: list[tuple[int, str, str]], two: list[tuple[int, str, str]], three: list[tuple[int, str, str]], later: int
) -> None:
    texts = [
        acts(*told(answers, DAY + timedelta(shift)), ["exported"])[-1] for answers, shift in ((one, 0), (two, later), (three, 3))
    ]
    merged = [
        acts(*[["imported", texts[place], "merge"] for place in order], ["exported"])[-1]
        for order in ((0, 1, 2), (2, 1, 0), (1, 0, 2), (0, 1, 2, 0, 1))
    ]
    assert len(set(merged)) == 1
    seen = [json.loads(text)["items"] for text in texts]
    for name, entry in json.loads(merged[0])["items"].items():
        assert entry["seen"] == max(items[name]["seen"] for items in seen if name in items)


@pytest.mark.parametrize(
    ("one", "two", "left"),
    [
        # the later day counts
        ([(0, "right")], [(1, "wrong")], {"box": 1, "seen": "2026-11-26", "due": "2026-11-27", "last": "not right"}),
        ([(0, "wrong")], [(1, "right")], {"box": 2, "seen": "2026-11-26", "due": "2026-11-28", "last": "right"}),
        # of one day: the lower box, then the earlier day due, then the answer that was not right
        ([(2, "right")], [(0, "right"), (2, "right")], {"box": 2, "seen": "2026-11-27", "due": "2026-11-29", "last": "right"}),
        (
            [(0, "right"), (2, "right"), (4, "right")],
            [(6, "right")],
            {"box": 2, "seen": "2026-12-01", "due": "2026-12-03", "last": "right"},
        ),
        ([(1, "right")], [(0, "right"), (1, "right")], {"box": 2, "seen": "2026-11-26", "due": "2026-11-27", "last": "right"}),
        (
            [(0, "wrong"), (0, "right")],
            [(0, "wrong")],
            {"box": 1, "seen": "2026-11-25", "due": "2026-11-26", "last": "not right"},
        ),
    ],
)
def test_of_two_answers_the_later_counts_and_of_one_day_the_one_that_asks_for_more_work(
    acts: Acts, one: list[tuple[int, str]], two: list[tuple[int, str]], left: dict[str, Any]
) -> None:
    texts = [acts(*told([(gap, "a", verdict) for gap, verdict in answers]), ["exported"])[-1] for answers in (one, two)]
    for order in (texts, texts[::-1]):
        assert json.loads(acts(*[["imported", text, "merge"] for text in order], ["exported"])[-1])["items"] == {"a": left}


HERE: list[list[Any]] = [["note", "power-ring", "right"], ["note", "idle-signal", "wrong"]]


@given(
    place=st.integers(0, 10_000),
    letter=st.sampled_from('0123456789abrx-"{}:, '),
    way=st.sampled_from(["cut", "gone", "other", "more"]),
)
@settings(max_examples=200, deadline=None)
def test_a_file_damaged_in_one_letter_is_refused_or_says_the_same(acts: Acts, place: int, letter: str, way: str) -> None:
    text = acts(*HERE, ["exported"])[-1].rstrip()
    at_ = place % len(text)
    damaged = {
        "cut": text[:at_],
        "gone": text[:at_] + text[at_ + 1 :],
        "other": text[:at_] + letter + text[at_ + 1 :],
        "more": text[:at_] + letter + text[at_:],
    }[way]
    wrong, after = acts(["imported", damaged, "replace"], ["read"])
    if wrong == "":
        assert json.loads(damaged)["items"] == json.loads(text)["items"]
    else:
        assert after["items"] == {}
        assert "; " in wrong or "again" in wrong  # says how to mend it


plain = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False)
    | st.text(max_size=8)
    | st.sampled_from(["2026-11-25", "right"]),
    lambda below: (
        st.lists(below, max_size=3)
        | st.dictionaries(
            st.sampled_from(["form", "check", "items", "a", "box", "seen", "due", "last", "__proto__"]), below, max_size=5
        )
    ),
    max_leaves=10,
)
entry = st.fixed_dictionaries(
    {
        "box": st.integers(-1, 7) | st.just(2.5) | st.just("2"),
        "seen": st.sampled_from(["2026-11-25", "2026-02-30", "25.11.2026", "1969-01-01", "", None]),
        "due": st.sampled_from(["2026-11-27", "2026-13-01", 20783]),
        "last": st.sampled_from(["right", "not right", "wrong", None]),
    }
)
like_ours = st.fixed_dictionaries(
    {
        "form": st.sampled_from(["grader-progress-1", "grader-progress-2", "grader-pack-2", None]),
        "items": st.dictionaries(st.sampled_from(["a", "A", "__proto__", "power-ring", "x" * 101]), entry | plain, max_size=3)
        | plain,
    }
)
foreign = (plain | like_ours).map(lambda value: json.dumps(value, ensure_ascii=False)) | st.text(max_size=30)


@given(foreign, st.sampled_from(["merge", "replace"]))
@settings(max_examples=150, deadline=None)
def test_a_foreign_file_is_refused_and_nothing_is_lost(acts: Acts, text: str, way: str) -> None:
    before, looked, wrong, after = acts(*HERE, ["exported"], ["looked", text], ["imported", text, way], ["exported"])[-4:]
    assert wrong != ""  # none has a check sum that fits
    assert looked["wrong"] == wrong
    assert after == before


def one_entry(text: str) -> str:
    return f'{{"form": "grader-progress-1", "items": {{"a": {text}}}}}'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "It is cut off, or not a file of progress; choose the one that was saved on this page, whole."),
        ("[]", "It is not a file of progress; choose the one that was saved on this page."),
        ('{"form": "grader-progress-2"}', "It was saved by another version of the course; open that version, or get the newest."),
        ('{"form": "grader-progress-1"}', "It is damaged: its questions are missing. Save it again where it came from."),
        (
            one_entry('{"box": 6, "seen": "2026-11-25", "due": "2026-11-26", "last": "right"}'),
            'It is damaged at "a": its box is 6, and there are boxes 1 to 5. Save it again where it came from.',
        ),
        (
            one_entry('{"box": 2, "seen": "2026-02-30", "due": "2026-11-26", "last": "right"}'),
            'It is damaged at "a": "2026-02-30" is no day on which it was answered. Save it again where it came from.',
        ),
        (
            one_entry('{"box": 2, "seen": "2026-11-25", "due": "2026-11-26", "last": "right"}'),
            "It is damaged: its check sum does not fit what it says. Save it again where it came from.",
        ),
        (
            '{"form": "grader-progress-1", "items": {"a": null}}',
            'It is damaged at "a": it is no entry. Save it again where it came from.',
        ),
        (
            '{"form": "grader-progress-1", "items": {"Power_Ring": {}}}',
            'It is damaged at "Power_Ring": that is no name of a question. Save it again where it came from.',
        ),
        (" " * 2_000_001, "It is too long for a file of progress; choose the one that was saved on this page."),
    ],
)
def test_a_refusal_says_what_is_wrong_and_what_to_do(acts: Acts, text: str, said: str) -> None:
    assert acts(["imported", text, "merge"])[0] == said


def test_a_file_takes_the_place_of_what_was_here(acts: Acts) -> None:
    text = acts(["note", "main-jet", "right"], ["exported"])[-1]
    replaced, merged = (acts(*HERE, ["imported", text, way], ["read"])[-1]["items"] for way in ("replace", "merge"))
    assert set(replaced) == {"main-jet"}
    assert set(merged) == {"main-jet", "power-ring", "idle-signal"}


def test_a_file_that_an_editor_saved_with_a_mark_in_front_is_taken(acts: Acts) -> None:
    text = acts(*HERE, ["exported"])[-1]
    wrong, after = acts(["imported", "\ufeff" + text.replace("\n", "\r\n"), "merge"], ["exported"])
    assert (wrong, after) == ("", text)


# ------------------------------------------------------------------ the browser's store


@given(foreign)
@settings(max_examples=150, deadline=None)
def test_whatever_stood_in_the_store_is_kept_aside_and_the_work_goes_on(acts: Acts, text: str) -> None:
    first, _, after, aside, kept = acts(
        ["put", KEY, text], ["read"], ["note", "main-jet", "right"], ["read"], ["aside"], ["get", KEY]
    )[1:]
    assert after["items"]["main-jet"]["box"] == 2
    assert set(first["items"]) <= set(after["items"])
    assert all(1 <= one["box"] <= 5 for one in after["items"].values())
    if first["trouble"] == "newer":
        assert (aside, kept) == ("", text)
    elif text:
        assert first["trouble"] == "damaged"
        assert aside == text
        assert json.loads(kept)["form"] == "grader-progress-1"


def test_of_a_damaged_store_the_whole_entries_go_on(acts: Acts) -> None:
    text = acts(*HERE, ["exported"])[-1].replace('"box": 1', '"box": 9')
    found = acts(["put", KEY, text], ["read"])[1]
    assert found["trouble"] == "damaged"
    assert set(found["items"]) == {"power-ring"}


@given(history, st.lists(st.booleans(), min_size=25, max_size=25))
@settings(max_examples=60, deadline=None)
def test_two_tabs_write_as_one(acts: Acts, answers: list[tuple[int, str, str]], turns: list[bool]) -> None:
    both, day = list[list[Any]](), DAY
    for (gap, item, verdict), turn in zip(answers, turns, strict=False):
        day += timedelta(gap)
        both += [at(day), ["tab", int(turn)], ["note", item, verdict]]
    one, two = acts(*both, ["tab", 0], ["read"], ["tab", 1], ["read"])[-3::2]
    assert one == two == acts(*told(answers), ["read"])[-1]


@pytest.mark.parametrize("fault", [["full"], ["shut"], ["tab", 2]])
def test_where_the_browser_keeps_nothing_the_page_remembers_and_says_so(acts: Acts, fault: list[Any]) -> None:
    found, text = acts(fault, *HERE, ["read"], ["exported"])[-2:]
    assert found["trouble"] == "not kept"
    assert {name: one["box"] for name, one in found["items"].items()} == {"power-ring": 2, "idle-signal": 1}
    assert text == acts(*HERE, ["exported"])[-1]
    assert acts(fault, *HERE, ["erase"], ["read"])[-1]["items"] == {}


def test_erased_is_erased(acts: Acts) -> None:
    found = acts(["put", KEY, "spoilt"], *HERE, ["erase"], ["read"], ["get", KEY], ["get", ASIDE])[-3:]
    assert found[0]["items"] == {}
    assert found[1:] == [None, None]


def test_nothing_is_kept_but_box_days_and_whether_it_was_right(acts: Acts) -> None:
    said = json.loads(acts(*HERE, ["get", KEY])[-1])
    assert said == {
        "form": "grader-progress-1",
        "check": said["check"],
        "items": {
            "idle-signal": {"box": 1, "seen": "2026-11-25", "due": "2026-11-26", "last": "not right"},
            "power-ring": {"box": 2, "seen": "2026-11-25", "due": "2026-11-27", "last": "right"},
        },
    }
