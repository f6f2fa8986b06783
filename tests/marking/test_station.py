"""Files of bench stations, as assessors' sheets save them and as people write them."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.marking.reading import read_file
from grader.marking.station import StationSheet

SAVED = b"""{
  "sitting": "spring-1",
  "candidate": "c-01",
  "assessor": "T. Assessor",
  "station": "curb-idle",
  "steps": {
    "1": "done",
    "2": "not done"
  },
  "readings": {
    "4": "700 rpm"
  },
  "remarks": "Slow with the leads."
}
"""
READ = StationSheet(
    "spring-1",
    "c-01",
    "T. Assessor",
    "curb-idle",
    {"1": "done", "2": "not done"},
    {"4": "700 rpm"},
    "Slow with the leads.",
    "curb-idle-c-01.json",
)


def test_a_file_is_read_as_the_sheet_saves_it() -> None:
    reading = read_file("curb-idle-c-01.json", SAVED)
    assert (reading.stations, reading.sheets, reading.asides) == ((READ,), (), ())


def test_yaml_is_read_the_same_way() -> None:
    text = (
        "sitting: spring-1\ncandidate: c-01\nassessor: T. Assessor\nstation: curb-idle\nsteps: {1: done, 2: not done}\n"
        "readings:\n  4: 700 rpm\nremarks: Slow with the leads.\n"
    )
    (found,) = read_file("curb-idle-c-01.yaml", text.encode()).stations
    assert found == replace(READ, file="curb-idle-c-01.yaml")


def test_readings_and_remarks_may_be_left_out_and_an_empty_reading_is_none() -> None:
    fields = json.loads(SAVED)
    del fields["remarks"]
    fields["readings"] = {"4": " "}
    (found,) = read_file("a.json", json.dumps(fields).encode()).stations
    assert (found.readings, found.remarks) == ({}, "")


@pytest.mark.parametrize(
    ("change", "code", "message"),
    [
        ({"steps": {"1": "yes"}}, "bad-step", 'step 1 is "yes"'),
        ({"steps": {"1": "Done"}}, "bad-step", 'step 1 is "Done"'),
        ({"steps": {"one": "done"}}, "bad-step", '"one" is no number of a step'),
        ({"steps": {"01": "done"}}, "bad-step", '"01" is no number of a step'),
        ({"steps": "done"}, "not-a-sheet", "`steps` is a text"),
        ({"steps": {"1": True}}, "not-a-sheet", "step 1 is true without quotes"),
        ({"steps": ["done"]}, "not-a-sheet", "`steps` is a list"),
        ({"readings": {"4": 700}}, "not-a-sheet", "reading 4 is a number without quotes"),
        ({"readings": {"4": "7" * 101}}, "long-answer", "the reading of step 4 has 101 characters"),
        ({"readings": {"4": "\ud800"}}, "not-a-sheet", "half a character stands in it"),
        ({"remarks": "r" * 4001}, "not-a-sheet", "`remarks` has 4,001 characters"),
        ({"assessor": " "}, "not-a-sheet", "the assessor is empty"),
        ({"assessor": "T. Ass\u202eessor"}, "not-a-sheet", "the assessor has a letter that cannot be seen"),
        ({"candidate": "c" * 201}, "not-a-sheet", "`candidate` has 201 characters"),
        ({"candidate": {"id": "c-01"}}, "not-a-sheet", "`candidate` is a group"),
        ({"marks": "12"}, "not-a-sheet", "`marks` does not belong in a station's file"),
        ({"steps": {str(n): "done" for n in range(1, 102)}}, "too-many", "more than 100 steps"),
    ],
)
def test_what_is_wrong_with_a_station_file_is_said(change: dict[str, object], code: str, message: str) -> None:
    reading = read_file("a.json", json.dumps(json.loads(SAVED) | change).encode())
    assert reading.stations == ()
    assert (code, message) in [(aside.code, aside.message) for aside in reading.asides]


def test_every_fault_is_said_at_once_and_a_missing_name_is_one() -> None:
    reading = read_file("a.json", b'{"station": "curb-idle", "steps": {"1": "yes", "x": "done"}}')
    assert [aside.message for aside in reading.asides] == [
        "the sitting is missing",
        "the candidate is missing",
        "the assessor is missing",
        '"x" is no number of a step',
        'step 1 is "yes"',
    ]


def test_a_step_ticked_twice_is_refused() -> None:
    text = SAVED.replace(b'"2": "not done"', b'"1": "not done"')
    (aside,) = read_file("a.json", text).asides
    assert (aside.line, aside.code) == (8, "repeated-key")


@settings(max_examples=60, deadline=None)
@given(st.recursive(st.text(max_size=5) | st.integers() | st.none(), lambda inner: st.dictionaries(st.text(max_size=3), inner)))
def test_whatever_stands_under_a_name_there_is_a_sheet_or_a_reason(value: object) -> None:
    for name in ("steps", "readings", "assessor", "remarks"):
        reading = read_file("a.json", json.dumps(json.loads(SAVED) | {name: value}).encode())
        assert len(reading.stations) + bool(reading.asides) == 1
