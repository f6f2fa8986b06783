"""A roster as an office makes it."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.errors import FindingsError, UseError
from grader.items.roster import read_roster, roster_of

GOOD = "candidate,name,group,email,extra_time,print\nc-01,Ada Quill,A,ada@school.example,25 %,large\nc-02,Ben Rook,A,,,\n"


def test_a_roster_is_read_in_its_order() -> None:
    people, findings = roster_of("class.csv", GOOD.encode())
    assert findings == []
    assert [(p.candidate, p.name, p.group, p.extra_time, p.print, p.line) for p in people] == [
        ("c-01", "Ada Quill", "A", 0.25, "large", 2),
        ("c-02", "Ben Rook", "A", 0.0, "", 3),
    ]


@pytest.mark.parametrize(
    "data",
    [
        GOOD.replace(",", ";").encode(),
        b"\xef\xbb\xbf" + GOOD.encode(),
        GOOD.replace("\n", "\r\n").encode(),
        GOOD.replace("candidate,name", "Candidate, Name").encode(),
        (GOOD + "\n,,,,,\n").encode(),
        GOOD.replace("Ada Quill", '"Ada Quill"').encode(),
    ],
)
def test_separator_mark_line_ends_and_empty_lines_change_nothing(data: bytes) -> None:
    assert roster_of("class.csv", data) == roster_of("class.csv", GOOD.encode())


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("c-01,A\nc-01,B", '3: candidate "c-01" stands already on line 2; keep one of the two [duplicate-candidate]'),
        ("c-01,A\nC-01,B", '3: candidate "C-01" stands already on line 2; keep one of the two [duplicate-candidate]'),
        (",A", "2: the candidate's id is empty; write the candidate's id [empty-candidate]"),
        ("c-01,", "2: the name is empty; write the candidate's name [empty-name]"),
        ("c-01", "2: the line has 1 values, the header 2; put a value that holds the separator in quotes [wrong-count]"),
        (
            "c-01,Quill, Ada",
            "2: the line has 3 values, the header 2; put a value that holds the separator in quotes [wrong-count]",
        ),
        (f"c-01,{'x' * 121}", "2: the name has 121 letters; keep it to 120 [too-long]"),
        (
            'c-01,"A\nB"',
            "2: the name holds a letter that cannot be seen; take it out; a value stands on one line [unseen-letter]",
        ),
        ('c-01,"A', "2: not CSV: unexpected end of data; close the quotes, and double a quote inside quotes [not-csv]"),
        ("c-01,\x00", "2: a NUL stands in the line; take it out [unseen-letter]"),
    ],
)
def test_a_fault_stands_on_its_line(text: str, line: str) -> None:
    _, findings = roster_of("class.csv", f"candidate,name\n{text}".encode())
    assert [str(finding) for finding in findings] == [f"class.csv:{line}"]


@pytest.mark.parametrize("candidate", ["../x", "a/b", "a\\b", ".hidden", "con", "x" * 41, "a b", "*", "=cmd"])
def test_an_id_that_could_lead_elsewhere_is_refused(candidate: str) -> None:
    people, findings = roster_of("class.csv", f"candidate,name\n{candidate},A".encode())
    assert people == ()
    assert {finding.code for finding in findings} <= {"bad-candidate", "too-long"}
    assert findings


@pytest.mark.parametrize(
    "sign", ["\u202e", "\u2066", "\u200b", "\u2028", "\x85", "\x9b", "\xad", "\u3164", "\ufeff", "\U000e0041"]
)
def test_a_letter_that_cannot_be_seen_stands_in_no_name(sign: str) -> None:
    people, findings = roster_of("class.csv", f"candidate,name\nc-01,A{sign}B".encode())
    assert (people, [finding.code for finding in findings]) == ((), ["unseen-letter"])


@pytest.mark.parametrize("name", ["Łukasz Ñandú Ōta", "Nguyễn Thị Hằng", "e\u0301", "می\u200cلاد", "क्\u200dष", "A\u00a0B"])
def test_names_of_the_world_are_kept_as_written(name: str) -> None:
    people, findings = roster_of("class.csv", f"candidate,name\nc-01,{name}".encode())
    assert ([person.name for person in people], findings) == ([name], [])


@pytest.mark.parametrize(
    ("one", "other"), [("A", "\uff21"), ("2", "\u00b2"), ("k", "\u212a"), ("ss", "\u00df"), ("\uac01", "\u1100\u1161\u11a8")]
)
def test_ids_that_look_alike_are_one(one: str, other: str) -> None:
    _, findings = roster_of("class.csv", f"candidate,name\n{one},A\n{other},B".encode())
    assert [(finding.line, finding.code) for finding in findings] == [(3, "duplicate-candidate")]


def test_a_finding_moves_no_cursor() -> None:
    _, findings = roster_of("class.csv", "candidate,name\n\x1b[2J\u202e,A".encode())
    assert all("\x1b" not in str(finding) and "\u202e" not in str(finding) for finding in findings)
    assert any("\\x1b[2J\\u202e" in str(finding) for finding in findings)


@pytest.mark.parametrize("extra", ["quarter", "150 %", "-5 %", "25 mm", "25"])
def test_extra_time_is_a_share(extra: str) -> None:
    _, findings = roster_of("class.csv", f"candidate,name,extra_time\nc-01,A,{extra}".encode())
    assert [finding.code for finding in findings] == ["bad-share"]


def test_print_is_large_or_nothing() -> None:
    _, findings = roster_of("class.csv", b"candidate,name,print\nc-01,A,huge\nc-02,B,Large")
    assert [(finding.code, finding.line) for finding in findings] == [("unknown-word", 2)]


@pytest.mark.parametrize("name", ["=cmd|' /C calc'!A0", "+1", "@x", "-2"])
def test_what_looks_like_a_formula_is_kept_as_text_and_warned_of(name: str, tmp_path: Path) -> None:
    file = tmp_path / "class.csv"
    file.write_text(f'candidate,name\nc-01,"{name}"\n')
    people, findings = roster_of("class.csv", file.read_bytes())
    assert people[0].name == name
    assert [(finding.code, finding.level) for finding in findings] == [("formula-like", "warning")]
    assert read_roster(file) == people


@pytest.mark.parametrize(
    ("header", "codes"),
    [
        ("candidate", {"missing-column"}),
        ("candidat,name", {"unknown-column"}),
        ("candidate,name,name", {"repeated-column"}),
        ("candidate,name,shoe", {"unknown-column"}),
        ("c-01,Ada", {"unknown-column", "missing-column"}),
    ],
)
def test_a_header_that_does_not_fit_is_refused(header: str, codes: set[str]) -> None:
    people, findings = roster_of("class.csv", f"{header}\nc-01,A\n".encode())
    assert people == ()
    assert {finding.code for finding in findings} == codes


@pytest.mark.parametrize("data", [b"", b"\n\n", b"candidate,name\n", b"\xff\xfe", b"x" * 3_000_000])
def test_nothing_to_read_is_told(data: bytes) -> None:
    people, findings = roster_of("class.csv", data)
    assert people == ()
    assert len(findings) >= 1


def test_every_mistake_is_raised_at_once(tmp_path: Path) -> None:
    file = tmp_path / "class.csv"
    file.write_text("candidate,name\n,A\nc-02,\nc-02,B\n")
    with pytest.raises(FindingsError) as raised:
        read_roster(file)
    assert [(finding.line, finding.code) for finding in raised.value.findings] == [(2, "empty-candidate"), (3, "empty-name")]
    with pytest.raises(UseError):
        read_roster(tmp_path / "none.csv")


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=200) | st.text(alphabet='candidate,name;"\n\r=c1', max_size=120).map(str.encode))
def test_no_bytes_end_in_anything_but_people_or_findings(data: bytes) -> None:
    people, findings = roster_of("class.csv", data)
    assert people or findings


def test_a_finding_names_the_roster_as_it_was_named(tmp_path: Path) -> None:
    path = tmp_path / "class.csv"
    path.write_text("candidate,name\nc-01,A\nc-01,B\n", "utf-8")
    with pytest.raises(FindingsError) as caught:
        read_roster(path)
    assert str(caught.value).startswith(f"{path}:3: ")


def test_a_candidate_keeps_the_file_and_line_that_a_later_fault_is_told_with(tmp_path: Path) -> None:
    file = tmp_path / "class.csv"
    file.write_text("candidate,name\nc-01,Ada Weir\n")
    (person,) = read_roster(file)
    assert (person.file, person.line) == (str(file), 2)
