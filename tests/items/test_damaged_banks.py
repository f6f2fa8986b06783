"""
More than a hundred damaged courses, all made from the real one: never a traceback, every error at once with its file and line,
in bounded time and memory. Each goes through the command line as an author would meet it.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import resource
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path

import pytest

from grader.cli import run

ROOT = Path(__file__).parents[2]
SECONDS = 20.0
MEMORY = 1 << 30
CIRCUIT = "pump"
LESSON = f"lessons/{CIRCUIT}.md"
PRACTICE = f"questions/practice/{CIRCUIT}.yaml"
EXAM = f"questions/exam/{CIRCUIT}.yaml"
SHEET = "questions/specimens/T-2.yaml"
PLAN = "questions/blueprints/trial.yaml"
SCHOOL = "questions/course.yaml"
STATION = "questions/stations/pump-shot.yaml"
YAMLS = (PRACTICE, EXAM, SHEET, PLAN, SCHOOL, STATION)
TEXTS = (LESSON, *YAMLS)

Found = set[tuple[str, str]]


@dataclass(frozen=True)
class Damage:
    """One way to spoil a course, and what must be found of it: file and fault."""

    name: str
    spoil: Callable[[Path], object]
    expected: tuple[tuple[str, str], ...] = ()
    any_error: bool = True


def pick(name: str, size: int) -> int:
    """A number below `size`, the same in every run."""
    return int.from_bytes(blake2b(name.encode(), digest_size=8).digest(), "big") % size


def write(file: str, change: Callable[[bytes], bytes]) -> Callable[[Path], None]:
    def spoil(folder: Path) -> None:
        path = folder / file
        path.write_bytes(change(path.read_bytes()))

    return spoil


def instead(file: str, make: Callable[[Path], object]) -> Callable[[Path], None]:
    """Something else where the file stood."""

    def spoil(folder: Path) -> None:
        (folder / file).unlink()
        make(folder / file)

    return spoil


def replaced(file: str, old: str, new: str) -> Callable[[Path], None]:
    def change(data: bytes) -> bytes:
        assert old.encode() in data, f"{old} does not stand in {file}"
        return data.replace(old.encode(), new.encode(), 1)

    return write(file, change)


def row(file: str, number: int) -> str:
    return (ROOT / file).read_text("utf-8").split("\n")[number]


def after(file: str, start: str, text: str) -> Callable[[Path], None]:
    """Text put below the first line that begins so."""

    def change(data: bytes) -> bytes:
        lines = data.decode().split("\n")
        place = next(number for number, line in enumerate(lines) if line.startswith(start))
        return "\n".join([*lines[: place + 1], text, *lines[place + 1 :]]).encode()

    return write(file, change)


def link_out(path: Path) -> None:
    secret = path.parents[3] / "secret.yaml"
    secret.write_text("secret: 1\n")
    path.symlink_to(secret)


def link_to_itself(path: Path) -> None:
    path.symlink_to(path.name)


def first_part(sevenths: int) -> Callable[[bytes], bytes]:
    return lambda data: data[: len(data) * sevenths // 7]


def with_line(line: bytes) -> Callable[[bytes], bytes]:
    """The file with a line put at its beginning, in a lesson into its head."""

    def change(data: bytes) -> bytes:
        head = b"---\n" if data.startswith(b"---\n") else b""
        return head + line + b"\n" + data[len(head) :]

    return change


def cuts() -> Iterator[Damage]:
    for file in TEXTS:
        for share in (2, 5):
            yield Damage(f"cut {file} at {share}/7", write(file, first_part(share)), any_error=False)


def whole_files() -> Iterator[Damage]:
    for file in (LESSON, EXAM, SHEET, STATION):
        yield Damage(f"empty {file}", write(file, lambda _: b""), ((file, "no-head" if file == LESSON else "empty-file"),))
        yield Damage(f"NUL in {file}", write(file, with_line(b"title: a\0b")), ((file, "unseen-letter"),))
        yield Damage(f"tab in {file}", write(file, with_line(b"\ttitle: a")), ((file, "tab"),))
        yield Damage(f"Latin 1 in {file}", write(file, with_line("# 20 °C".encode("latin-1"))), ((file, "not-utf-8"),))
        yield Damage(f"UTF-16 in {file}", write(file, lambda data: data.decode().encode("utf-16")), ((file, "not-utf-8"),))
        yield Damage(f"{file} is a folder", instead(file, Path.mkdir), ((file, "unreadable-file"),))
        yield Damage(f"{file} leads out", instead(file, link_out), ((file, "unreadable-file"),))
        yield Damage(f"{file} leads to itself", instead(file, link_to_itself), ((file, "unreadable-file"),))
        yield Damage(f"{file} is a pipe", instead(file, os.mkfifo), ((file, "unreadable-file"),))


VALUES = (
    "[1, 2]", "{a: b}", "~", "", "true", "2026-11-25", ".nan", "-1", "1e400", '"\\0"', "💧" * 9, "x" * 5000, "0x10", "{", "&a b",
    "*a", "!!python/object:os.system x", "%", "|", "'",
)  # fmt: skip
"""What stands in place of a value: another shape, another type, numbers past all measure, the beginnings of YAML's own signs."""


def wrong_values() -> Iterator[Damage]:
    for number, value in enumerate(VALUES):
        file = YAMLS[number % len(YAMLS)]
        lines = (BLUEPRINT if file == PLAN else (ROOT / file).read_text("utf-8")).split("\n")
        fields = [place for place, line in enumerate(lines) if re.match(r"\s*(?:- )?[a-z_]+: \S", line) and "note:" not in line]
        place = fields[pick(f"{file} {number}", len(fields))]
        lines[place] = lines[place][: lines[place].index(": ") + 2] + value
        text = "\n".join(lines).encode()
        yield Damage(f"value {number} on line {place + 1} of {file}", write(file, _always(text)), any_error=False)


def _always(data: bytes) -> Callable[[bytes], bytes]:
    return lambda _: data


def swapped() -> Iterator[Damage]:
    def swap(first: str, second: str) -> Callable[[Path], None]:
        def spoil(folder: Path) -> None:
            one, two = (folder / first).read_bytes(), (folder / second).read_bytes()
            (folder / first).write_bytes(two)
            (folder / second).write_bytes(one)

        return spoil

    yield Damage("the lesson and its bank changed places", swap(LESSON, EXAM), ((LESSON, "no-head"),))
    yield Damage("a bank and a blueprint changed places", swap(EXAM, PLAN), ((EXAM, "wrong-shape"), (PLAN, "wrong-shape")))
    yield Damage(
        "a sheet and a station changed places", swap(SHEET, STATION), ((SHEET, "unknown-field"), (STATION, "unknown-field"))
    )
    yield Damage(
        "the school's file holds a bank", write(SCHOOL, lambda _: (ROOT / EXAM).read_bytes()), ((SCHOOL, "wrong-shape"),)
    )
    yield Damage(
        "the exam bank is the practice bank", write(EXAM, lambda _: (ROOT / PRACTICE).read_bytes()), ((EXAM, "repeated-id"),)
    )
    yield Damage("a bank stands twice in its file", write(EXAM, lambda data: data + b"\n" + data), ((EXAM, "repeated-id"),))
    yield Damage("a second document", write(EXAM, lambda data: data + b"\n---\n" + data), ((EXAM, "second-document"),))


ITEM = """- id: pump-ITEM
  objective: pump.1
  kind: numeric
  given: {bore: {from: 0.50 in, to: 0.80 in, step: 0.01 in}}
  stem: What is the area of a cylinder of {bore}, in square inches?
  answer: {value: "disc_area(bore)", unit: in^2, within: 2 %}
"""


def added(text: str, file: str = EXAM) -> Callable[[Path], None]:
    return write(file, lambda data: data.rstrip() + b"\n\n" + text.replace("pump-ITEM", "pump-zz").encode())


def cycles() -> Iterator[Damage]:
    let = ITEM.replace("  stem:", '  let: {one: "two", two: "three", three: "one"}\n  stem:')
    yield Damage("values in between go round", added(let), ((EXAM, "unknown-name"),))
    own = ITEM.replace("  stem:", '  let: {one: "2 * one"}\n  stem:')
    yield Damage("a value in between needs itself", added(own), ((EXAM, "unknown-name"),))
    case = """- id: pump-zz
  objective: pump.1
  kind: case
  stem: Go round.
  parts:
    - {name: one, kind: numeric, stem: One, answer: {value: two, unit: 1, within: 1 %}}
    - {name: two, kind: numeric, stem: Two, answer: {value: one, unit: 1, within: 1 %}}
"""
    yield Damage("parts of a case go round", added(case), ((EXAM, "unknown-name"),))
    never = ITEM.replace("  stem:", "  require: bore < 0 * bore\n  stem:")
    yield Damage("nothing fulfils what is required", added(never), ((EXAM, "require-unmet"),))
    huge = ITEM.replace("step: 0.01 in", "step: 0.0000001 in")
    yield Damage("three million values of one given", added(huge), ((EXAM, "bad-grid"),))
    many = "given: {" + ", ".join(f"v{n}: {{from: 1 in, to: 1000 in, step: 1 in}}" for n in range(30)) + "}"
    wide = ITEM.replace("given: {bore: {from: 0.50 in, to: 0.80 in, step: 0.01 in}}", many).replace("{bore}", "{v1}")
    yield Damage(
        "a thousand to the thirtieth variants", added(wide.replace("disc_area(bore)", "disc_area(v1)")), ((EXAM, "not-stated"),)
    )


BOMB = "- a: &a [x, x]\n" + "".join(
    f"- {c}: &{c} [{', '.join([f'*{p}'] * 9)}]\n" for p, c in zip("abcdefghi", "bcdefghij", strict=True)
)


def bombs() -> Iterator[Damage]:
    yield Damage("aliases that explode", write(EXAM, lambda _: BOMB.encode()), ((EXAM, "alias"), (EXAM, "anchor")))
    yield Damage("a list that holds itself", write(EXAM, lambda _: b"- &x [*x]\n"), ((EXAM, "alias"), (EXAM, "anchor")))
    yield Damage("lists a hundred thousand deep", write(EXAM, lambda _: b"[" * 100_000), ((EXAM, "not-yaml"),))
    yield Damage("fields a hundred thousand deep", write(EXAM, lambda _: b"{a: " * 100_000), ((EXAM, "too-deep"),))
    yield Damage(
        "fifty million bytes", write(EXAM, lambda data: data * (50_000_000 // len(data) + 1)), ((EXAM, "unreadable-file"),)
    )
    yield Damage(
        "fifty million bytes of lesson", write(LESSON, lambda data: data + b"x" * 50_000_000), ((LESSON, "unreadable-file"),)
    )
    yield Damage("a line of two million letters", write(EXAM, lambda data: data + b"# " + b"x" * 1_900_000), any_error=False)
    yield Damage(
        "a hundred thousand names",
        write(EXAM, lambda _: b"".join(b"n%d: 1\n" % n for n in range(100_000))),
        ((EXAM, "wrong-shape"),),
    )
    yield Damage("one name twenty thousand times", write(EXAM, lambda _: b"n: 1\n" * 20_000), ((EXAM, "repeated-field"),))
    yield Damage("ten thousand items", write(EXAM, lambda _: b"- id: pump-x\n" * 10_000), ((EXAM, "wrong-count"),))
    deep = ITEM.replace("disc_area(bore)", "(" * 180 + "bore" + ")" * 180)
    yield Damage("brackets in an expression without end", added(deep), ((EXAM, "expression"),))
    power = ITEM.replace("disc_area(bore)", "9**9**9**9 * bore**2")
    yield Damage("a power past all measure", added(power), ((EXAM, "expression"),))
    code = ITEM.replace("disc_area(bore)", "__import__('os').system('id')")
    yield Damage("Python in an expression", added(code), ((EXAM, "expression"),))
    signs = ITEM.replace("What is", "{" * 1500 + "What is")
    yield Damage("braces without end", added(signs), any_error=True)


SVG = "lessons/figures/pump-circuit.svg"
XML = (
    '<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa">'
    + "".join(f'<!ENTITY {c} "{f"&{p};" * 10}">' for p, c in zip("abcdefgh", "bcdefghi", strict=True))
    + ']><svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><title>&i;</title></svg>'
)
OUTSIDE = '<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]><svg xmlns="http://www.w3.org/2000/svg"><title>&a;</title></svg>'


def neighbours() -> Iterator[Damage]:
    """What stands beside the banks, and what they refer to."""
    yield Damage("no figures", lambda folder: shutil.rmtree(folder / "lessons/figures"), ((LESSON, "unknown-figure"),))
    yield Damage("a figure cut short", write(SVG, lambda data: data[: len(data) // 2]), any_error=True)
    yield Damage("a figure whose entities explode", write(SVG, lambda _: XML.encode()), any_error=True)
    yield Damage("a figure that fetches a file", write(SVG, lambda _: OUTSIDE.encode()), any_error=True)
    yield Damage("a figure leads out", instead(SVG, link_out), ((SVG, "unreadable-file"),))
    yield Damage(
        "a figure's name leads out",
        replaced(LESSON, "name: pump-circuit", "name: ../../../etc/passwd"),
        ((LESSON, "unknown-figure"),),
    )
    yield Damage("a fence left open", write(LESSON, lambda data: data + b"\n```worked\nrelation: disc_area\n"), any_error=True)
    yield Damage(
        "a number left open", write(LESSON, lambda data: data + b"\n[[disc_area D=1 mm as mm^2\n"), ((LESSON, "open-inline"),)
    )
    yield Damage(
        "an objective twice in a head",
        replaced(LESSON, "objectives:", "objectives:\n  pump.1: {level: C, says: Again}"),
        ((LESSON, "repeated-field"),),
    )
    yield Damage("no head", replaced(LESSON, "---", "***"), ((LESSON, "no-head"),))
    yield Damage(
        "a lesson that calls itself another", replaced(LESSON, "circuit: pump", "circuit: choke"), ((LESSON, "wrong-circuit"),)
    )
    yield Damage(
        "a copy of the lesson",
        lambda folder: shutil.copy(folder / LESSON, folder / "lessons/choke.md"),
        (("lessons/pump.md", "repeated-order"),),
    )
    yield Damage(
        "a blueprint that wants what is not there", replaced(PLAN, "items: 1", "items: 99"), ((PLAN, "not-enough-items"),)
    )
    yield Damage(
        "a file that ends in .yml",
        lambda folder: shutil.copy(folder / EXAM, folder / "questions/exam/pump.yml"),
        (("questions/exam/pump.yml", "wrong-ending"),),
    )
    yield Damage("no school", lambda folder: (folder / SCHOOL).unlink(), ((SCHOOL, "missing-file"),))
    yield Damage("a name with a line in it", lambda folder: (folder / "questions/exam/a\nb.yaml").write_text("x"), any_error=True)
    yield Damage(
        "half a letter in a name",
        lambda folder: Path(os.fsdecode(os.fsencode(folder) + b"/questions/exam/\xff.yaml")).write_text("x"),
        any_error=True,
    )
    yield Damage(
        "a bank for a circuit that nobody teaches",
        lambda folder: shutil.copy(folder / EXAM, folder / "questions/exam/nose.yaml"),
        any_error=True,
    )


DAMAGES = [*cuts(), *whole_files()]
BLUEPRINT = """# yaml-language-server: $schema=../schema/blueprint.schema.json
id: trial
title: The pump
time: 60 min
draw:
  - {objective: pump.1, items: 1}
  - {circuit: pump, level: D, items: 1}
pass: {cut: 60 %}
"""
DAMAGES += [*wrong_values(), *swapped(), *cycles(), *bombs(), *neighbours()]


@pytest.fixture(scope="session")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One circuit cut out of the real course, with a blueprint of its own; links to other circuits taken out."""
    folder = tmp_path_factory.mktemp("sound") / "course"
    used = {
        f"lessons/figures/{name}.svg" for file in (LESSON, PRACTICE, EXAM) for name in _figures((ROOT / file).read_text("utf-8"))
    }
    for file in {LESSON, PRACTICE, EXAM, SHEET, SCHOOL, STATION, "questions/specimens/T-1.yaml", *used}:
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / file, folder / file)
    (folder / PLAN).parent.mkdir()
    (folder / PLAN).write_text(BLUEPRINT, "utf-8")
    lesson = folder / LESSON
    lesson.write_text(re.sub(r"\[([^\]]*)\]\([a-z][\w-]*\.md[^)]*\)", r"\1", lesson.read_text("utf-8")), "utf-8")
    return folder


def _figures(text: str) -> list[str]:
    return [name for name in re.findall(r"\bname: ([a-z][a-z0-9-]*)", text) if (ROOT / f"lessons/figures/{name}.svg").exists()]


@pytest.fixture
def course(sound: Path, tmp_path: Path) -> Path:
    """A copy of it, to be spoilt."""
    return Path(shutil.copytree(sound, tmp_path / "course"))


def checked(folder: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, list[dict[str, str | int]]]:
    """What `grader check` gives: exit status and findings."""
    status = run(["check", str(folder), "--variants", "20", "--json"])
    shown = capsys.readouterr()
    assert "Traceback" not in shown.out + shown.err
    return status, json.loads(shown.out)["findings"]


@pytest.fixture(scope="session")
def as_sound(sound: Path) -> tuple[int, list[dict[str, str | int]]]:
    """What `grader check` gives of the course before it is spoilt."""
    shown = io.StringIO()
    with contextlib.redirect_stdout(shown), contextlib.redirect_stderr(io.StringIO()):
        status = run(["check", str(sound), "--variants", "20", "--json"])
    return status, json.loads(shown.getvalue())["findings"]


def test_the_course_that_is_spoilt_is_sound(as_sound: tuple[int, list[dict[str, str | int]]]) -> None:
    status, findings = as_sound
    assert [finding for finding in findings if finding["level"] == "error"] == []
    assert status == 0


def test_there_are_more_than_a_hundred() -> None:
    assert len(DAMAGES) > 100
    assert len({damage.name for damage in DAMAGES}) == len(DAMAGES)


@pytest.mark.parametrize("damage", DAMAGES, ids=lambda damage: damage.name)
def test_a_damaged_course_gives_findings_and_no_traceback(
    damage: Damage, course: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    damage.spoil(course)
    start = time.perf_counter()
    status, findings = checked(course, capsys)
    assert time.perf_counter() - start < SECONDS
    errors = [finding for finding in findings if finding["level"] == "error"]
    assert status == (1 if errors else 0)
    found: Found = {(str(finding["file"]), str(finding["code"])) for finding in findings}
    assert set(damage.expected) <= found
    assert errors or not (damage.any_error or damage.expected)
    lines = {file: _lines(course / file) for file in {str(finding["file"]) for finding in findings}}
    for finding in findings:
        assert finding["message"]
        assert finding["mend"]
        assert len(str(finding["message"])) < 800, finding
        last = lines[str(finding["file"])]
        assert last is None or 0 <= int(finding["line"]) <= last, finding


def _lines(path: Path) -> int | None:
    """How many lines a file has that can be read."""
    if not path.is_file() or path.stat().st_size > 4_000_000:
        return None
    return path.read_bytes().count(b"\n") + 1


@pytest.mark.parametrize("file", [LESSON, EXAM, SHEET, STATION])
@pytest.mark.parametrize("change", ["BOM", "CRLF", "no line at the end"])
def test_what_editors_do_to_a_file_changes_nothing(
    file: str,
    change: str,
    course: Path,
    as_sound: tuple[int, list[dict[str, str | int]]],
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = course / file
    data = path.read_bytes()
    change_to = {"BOM": b"\xef\xbb\xbf" + data, "CRLF": data.replace(b"\n", b"\r\n"), "no line at the end": data.rstrip(b"\n")}
    path.write_bytes(change_to[change])
    assert checked(course, capsys) == as_sound


def test_all_faults_of_many_files_are_told_at_once(course: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spoil: list[tuple[Callable[[Path], object], tuple[str, str]]] = [
        (replaced(PRACTICE, "objective: ", "obective: "), (PRACTICE, "unknown-field")),
        (replaced(PRACTICE, "kind: numeric", "kind: numerik"), (PRACTICE, "unknown-word")),
        (added(ITEM.replace("disc_area", "disk_area")), (EXAM, "expression")),
        (replaced(EXAM, "minutes: ", "minutes: about "), (EXAM, "bad-time")),
        (replaced(PLAN, "cut: 60 %", "cut: 160 %"), (PLAN, "bad-share")),
        (replaced(SCHOOL, "school:", "shool:"), (SCHOOL, "unknown-field")),
        (replaced(STATION, "minutes: ", "minutes: minus "), (STATION, "bad-time")),
        (replaced(LESSON, "{#pump.2}", "{#pump.22}"), (LESSON, "not-taught")),
        (write(LESSON, lambda data: data + b"\n[nowhere](nowhere.md)\n[[disc_area D=1 kg as mm^2]]\n"), (LESSON, "broken-link")),
        (write(SVG, lambda data: data[:-9]), (SVG, "")),
    ]
    for one, _ in spoil:
        one(course)
    _, findings = checked(course, capsys)
    found = {(finding["file"], finding["code"]) for finding in findings}
    files = {finding["file"] for finding in findings}
    assert {each for _, each in spoil if each[1]} - found == set()
    assert SVG in files


@pytest.mark.parametrize("file", TEXTS)
def test_a_file_that_may_not_be_read_is_told(
    file: str, course: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = Path.open

    def refuse(path: Path, *arguments: object, **named: object) -> object:
        if path.name == Path(file).name and path.parent.name == Path(file).parent.name:
            raise PermissionError(13, "Permission denied", str(path))
        return opened(path, *arguments, **named)  # type: ignore[call-overload]

    monkeypatch.setattr(Path, "open", refuse)  # permissions do not hold back the one who may do everything
    status, findings = checked(course, capsys)
    assert status == 1
    told = [finding for finding in findings if (finding["file"], finding["code"]) == (file, "unreadable-file")]
    assert [finding["mend"] for finding in told] == ["check its permissions"]


@pytest.mark.parametrize("gone", ["lessons", "questions"])
def test_a_folder_that_is_no_course_is_wrong_use(gone: str, course: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.rmtree(course / gone)
    (course / gone).write_text("a file where a folder is expected")
    assert run(["check", str(course)]) == 2
    assert "is not a course" in capsys.readouterr().err


def _bounded() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))


@pytest.mark.parametrize(
    "name",
    [
        "aliases that explode", "fifty million bytes", "a hundred thousand names", "three million values of one given",
        "a thousand to the thirtieth variants", "a figure whose entities explode", "half a letter in a name",
        "a name with a line in it",
    ],
)  # fmt: skip
def test_the_command_itself_stays_within_time_and_memory(name: str, course: Path) -> None:
    next(damage for damage in DAMAGES if damage.name == name).spoil(course)
    done = subprocess.run(
        [sys.executable, "-m", "grader", "check", str(course)],
        capture_output=True, cwd=ROOT, check=False, timeout=SECONDS, preexec_fn=_bounded,
    )  # fmt: skip
    assert done.returncode == 1
    assert b"Traceback" not in done.stderr
    lines = done.stdout.decode("utf-8", "backslashreplace").splitlines()
    assert lines
    for line in lines:
        assert re.fullmatch(r".+: .+; .+ \[[a-z0-9-]+\]", line), line
