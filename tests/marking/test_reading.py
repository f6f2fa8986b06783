"""Answer files from strangers."""

from __future__ import annotations

import io
import json
import zipfile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.findings import Finding
from grader.marking.reading import SHEET_LIMIT, TABLE_LIMIT, Reading, Sheet, read_file

ANSWERS = {"1": "19.4 mm²", "2": "b", "4a": '1 1/4"'}
SHEET = {"paper": "7M2KQ8D4XV", "candidate": "c-01", "answers": ANSWERS}
AS_JSON = json.dumps(SHEET, ensure_ascii=False).encode()
AS_YAML = 'paper: 7M2KQ8D4XV\ncandidate: c-01\nanswers:\n  1: 19.4 mm²\n  2: b\n  4a: 1 1/4"\n'.encode()
TABLE = 'paper,candidate,1,2,4a\n7M2KQ8D4XV,c-01,19.4 mm²,b,"1 1/4"""\n'


def one(reading: Reading) -> Sheet:
    assert reading.asides == ()
    (sheet,) = reading.sheets
    return sheet


def aside(name: str, data: bytes) -> Finding:
    reading = read_file(name, data)
    assert reading.sheets == ()
    (finding,) = reading.asides
    return finding


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("c.json", AS_JSON),
        ("c.JSON", b"\xef\xbb\xbf" + AS_JSON),
        ("c.json", json.dumps(SHEET).encode("utf-16")),
        ("c.txt", AS_JSON),
        ("c", b"\n\n" + AS_JSON),
        ("c.yaml", AS_YAML),
        ("c.yml", AS_YAML.replace(b"\n", b"\r\n")),
        ("c.txt", AS_YAML),
        ("c.yaml", AS_JSON),
        ("c.csv", TABLE.encode()),
        ("c.csv", b"\xef\xbb\xbf" + TABLE.encode()),
        ("c.csv", TABLE.replace("\n", "\r\n").encode("utf-16")),
        ("c.csv", TABLE.replace("\n", "\r").encode()),
        ("c.csv", TABLE.replace(",", ";").encode()),
        ("c.tsv", TABLE.replace(",", "\t").encode()),
        ("c.txt", TABLE.replace(",", "\t").encode("utf-16-be").join([b"\xfe\xff", b""])),
        ("c.csv", b"sep=;\r\n" + TABLE.replace(",", ";").encode()),
        ("c.csv", (TABLE.replace("\n", ",,\n") + ",,,,,,\n\n").encode()),
        ("c.csv", TABLE.replace("19.4 mm²", '"=""19.4 mm²"""').encode()),
        ("c.csv", TABLE.replace("paper,candidate,1,2,4a", "Paper,Candidate,Q1,2),4 A").encode()),
    ],
)
def test_every_form_gives_the_same_sheet(name: str, data: bytes) -> None:
    sheet = one(read_file(name, data))
    assert (sheet.paper, sheet.candidate, dict(sheet.answers), sheet.file) == ("7M2KQ8D4XV", "c-01", ANSWERS, name)


def test_scalars_stay_as_they_were_written() -> None:
    # YAML 1.1 would read these as truth values, 61, 8, a date, a float, nothing
    texts = ["no", "off", "1:01", "010", "2031-05-12", "1e3", "~", "1_000", "0x10", ".5", "null"]
    body = "".join(f"  {i}: {text}\n" for i, text in enumerate(texts, start=1))
    sheet = one(read_file("c.yaml", f"paper: 0123456789\ncandidate: 007\nanswers:\n{body}".encode()))
    assert list(sheet.answers.values()) == texts
    assert (sheet.paper, sheet.candidate) == ("0123456789", "007")


def test_a_table_keeps_the_line_of_each_candidate() -> None:
    reading = read_file("class.csv", b"paper,candidate,1\n\nAAAAAAAAAA,c-1,x\n,,\nBBBBBBBBBB,c-2,y\n")
    assert [(s.paper, s.candidate, s.line, dict(s.answers)) for s in reading.sheets] == [
        ("AAAAAAAAAA", "c-1", 3, {"1": "x"}),
        ("BBBBBBBBBB", "c-2", 5, {"1": "y"}),
    ]


def test_one_bad_row_leaves_the_others() -> None:
    rows = [
        "paper,candidate,1,2",
        "AAAAAAAAAA,c-1,x,y,z",
        "BBBBBBBBBB,,x,y",
        "CCCCCCCCCC,c-3,x",
        f"DDDDDDDDDD,c-4,{'x' * 5000},y",
        "EEEEEEEEEE,c-5,x,y",
    ]
    reading = read_file("class.csv", "\n".join(rows).encode())
    assert [s.candidate for s in reading.sheets] == ["c-3", "c-5"]
    assert [(f.line, f.code) for f in reading.asides] == [(2, "too-many-cells"), (3, "not-a-sheet"), (5, "long-answer")]


def test_a_row_that_cannot_be_read_leaves_the_others() -> None:
    rows = ["paper,candidate,1", 'A,c-1,"x" y', "B,c-2,x", f"C,c-3,{'x' * 200_000}", "D,c-4,x", 'E,c-5,"x\ny"', 'F,c-6,"x']
    reading = read_file("class.csv", "\n".join(rows).encode())
    assert [(s.candidate, s.line) for s in reading.sheets] == [("c-2", 3), ("c-4", 5), ("c-5", 6)]
    assert [(f.line, f.code) for f in reading.asides] == [(2, "not-a-table"), (4, "not-a-table"), (8, "not-a-table")]


def test_a_cell_under_no_heading_sets_its_row_aside() -> None:
    # a comma in 19,4 that is in no quotes moves what follows into the empty columns that a spreadsheet adds
    reading = read_file("class.csv", b"paper,candidate,1,2,,\nA,c-1,19,4,b,\nB,c-2,19.4,b,,\n")
    assert [(s.candidate, dict(s.answers)) for s in reading.sheets] == [("c-2", {"1": "19.4", "2": "b"})]
    assert [str(f).partition(";")[0] for f in reading.asides] == ["class.csv:2: 5 cells under 4 headings"]


@pytest.mark.parametrize(
    ("cell", "answer"),
    [
        ('"=""5/32"""', "5/32"),
        ('="5/32"', "5/32"),
        ("'5/32", "5/32"),
        ("'-4", "-4"),
        ("'=b", "=b"),
        ("' 3", "' 3"),
        ('"1 1/4"""', '1 1/4"'),
        ('1 1/4"', '1 1/4"'),
        ('"19,4 mm²"', "19,4 mm²"),
        ("\u00a0b ", "b"),
        ('"a\nb"', "a\nb"),
    ],
)
def test_what_a_spreadsheet_puts_round_a_cell_is_taken_off(cell: str, answer: str) -> None:
    sheet = one(read_file("c.csv", f"paper,candidate,1\nA,c,{cell}\n".encode()))
    assert sheet.answers["1"] == answer


def test_blank_lines_before_the_heading_do_not_hide_the_separator() -> None:
    for before in ("\n\n", ";;;\n", "   \n", "sep=;\n\n"):
        sheet = one(read_file("c.csv", f"{before}paper;candidate;1\nA;c;1,5\n".encode()))
        assert dict(sheet.answers) == {"1": "1,5"}


def test_columns_of_the_roster_are_passed_over_and_others_are_told() -> None:
    reading = read_file("class.csv", b"name,paper,candidate,group,1,remarks\nM. Okoye,AAAAAAAAAA,c-1,A,x,late\n")
    assert dict(reading.sheets[0].answers) == {"1": "x"}
    assert [str(f) for f in reading.asides] == [
        "class.csv:1: column `remarks` is no question; its answers are not read; "
        "head it with the question's number if they should be [unknown-column]"
    ]


BOMB = b"a: &a [x, x]\nb: &b [*a, *a]\npaper: *b\n"

REFUSED = [
    ("c.json", b"", 0, "empty-file", "the file is empty"),
    ("c.json", b" \r\n\0", 0, "empty-file", "the file is empty"),
    ("c.json", b"{", 1, "not-json", "not JSON (Expecting property name"),
    ("c.json", AS_JSON[:-30], 1, "not-json", "not JSON"),
    ("c.json", b'{\n"paper": x}', 2, "not-json", "column 10"),
    ("c.json", b"[]", 1, "not-a-sheet", "not an answer file: a list alone"),
    ("c.json", b"null", 1, "not-a-sheet", "not an answer file: null alone"),
    (
        "float-level-c-1.json",
        b'{"sitting": "s", "candidate": "c", "station": "float-level", "steps": {"1": "done"}}',
        1,
        "not-a-sheet",
        "the assessor is missing",
    ),
    ("c.json", b'{"paper": "A", "candidate": "c"}', 1, "not-a-sheet", "not an answer file: answers missing"),
    ("c.json", b'{"paper": "A", "candidate": "c", "answers": {"1": 2.30}}', 1, "not-a-sheet", "answer 1 is a number"),
    ("c.json", b'{"paper": "A", "candidate": "c", "answers": {"1": null}}', 1, "not-a-sheet", "answer 1 is null"),
    ("c.json", b'{"paper": "A", "candidate": "c", "answers": {}, "mark": "20"}', 1, "not-a-sheet", "`mark` does not belong here"),
    ("c.json", b'{"paper": "A", "paper": "B", "answers": {}}', 1, "repeated-key", 'the key "paper" stands twice'),
    ("c.json", b'{"paper": "A", "answers": {"1": "a", "1": "b"}}', 1, "repeated-key", 'the key "1" stands twice'),
    ("c.json", b'{"paper": "A", "candidate": "c", "answers": {"1": "a", "01": "b"}}', 1, "repeated-key", "number 1 is"),
    ("c.json", b'{"paper": "A",\n "answers": {"1": "a",\n "1": "b"}}', 3, "repeated-key", 'the key "1" stands twice'),
    ("c.json", b'{"paper": "", "candidate": "c", "answers": {}}', 1, "not-a-sheet", "the paper is empty"),
    ("c.json", b'{"paper": "A", "candidate": " ", "answers": {}}', 1, "not-a-sheet", "the candidate is empty"),
    ("c.json", b'{"paper": NaN}', 1, "not-json", "NaN is not a JSON number"),
    ("c.json", b'{"paper": ' + b"9" * 10_000 + b"}", 1, "not-a-sheet", "`paper` is a number without quotes"),
    ("c.json", b"[" * 100_000, 1, "not-json", "nested too deep"),
    ("c.json", b'{"paper": "\\ud800", "candidate": "c", "answers": {}}', 1, "not-a-sheet", "not an answer file"),
    ("c.json", AS_JSON + b" " * SHEET_LIMIT, 0, "too-large", "larger than 262,144 bytes"),
    ("c.csv", b"x" * (TABLE_LIMIT + 1), 0, "too-large", "larger than 33,554,432 bytes"),
    ("c.json", b"\xff\xd8\xff\xe0\x00\x10JFIF", 0, "not-text", "a picture, which cannot be marked"),
    ("c.csv", TABLE.encode("cp1252"), 2, "not-text", "not UTF-8"),
    ("c.json", AS_JSON.decode().encode("utf-32"), 1, "not-text", "not a text file"),
    ("c.json", b"PK\x03\x04\x00\x00\x00", 0, "not-text", "a zip archive by another name"),
    ("c.yaml", BOMB, 1, "yaml-alias", "an anchor or an alias"),
    ("c.yaml", b"paper: &p A\ncandidate: *p\n", 1, "yaml-alias", "an anchor or an alias"),
    ("c.yaml", b"paper: A\ncandidate: !!python/name:os.system x\n", 2, "yaml-tag", "a tag"),
    ("c.yaml", b"paper: !!str A\n", 1, "yaml-tag", "a tag"),
    ("c.yaml", b"paper: A\npaper: B\n", 2, "repeated-key", "`paper` stands twice"),
    ("c.yaml", b"paper: A\ncandidate: c\nanswers:\n  1: a\n  1: b\n", 5, "repeated-key", "`1` stands twice"),
    ("c.yaml", b"paper: A\ncandidate: c\nanswers:\n  1: [a, b]\n", 4, "too-deep", "a list or a mapping"),
    ("c.yaml", b"paper: A\ncandidate: c\nanswers:\n  1: {a: b}\n", 4, "too-deep", "a list or a mapping"),
    ("c.yaml", b"- a\n", 1, "too-deep", "a list or a mapping"),
    ("c.yaml", b"[" * 50_000, 1, "not-yaml", "exceeded max"),
    ("c.yaml", b"just a text", 1, "not-a-sheet", "a text alone"),
    ("c.yaml", b"paper: A\ncandidate: c\n", 1, "not-a-sheet", "answers missing"),
    ("c.yaml", b"paper: A\nanswers: none\n", 2, "not-a-sheet", "`answers` does not belong here"),
    ("c.yaml", b"paper: A\ncandidate: c\nanswers: {}\nmark: 20\n", 4, "not-a-sheet", "`mark` does not belong here"),
    ("c.yaml", AS_YAML + b"---\n" + AS_YAML, 7, "not-a-sheet", "more than one document"),
    ("c.yaml", b"paper: A\n  candidate: c\n", 2, "not-yaml", "not YAML"),
    ("c.yaml", b"paper: 'A\n", 2, "not-yaml", "not YAML"),
    ("c.csv", b"candidate,1,2\nc-1,x,y\n", 1, "not-a-table", "no column `paper`"),
    ("c.csv", b"paper,1,2\nc-1,x,y\n", 1, "not-a-table", "no column `candidate`"),
    ("c.csv", b"paper,candidate,1,Q1\nA,c,x,y\n", 1, "repeated-key", "column `1` stands twice"),
    ("c.csv", b'paper,candidate,1\n"A,c,x\nB,d,y\n', 2, "not-a-table", "lines 2 to 3 cannot be read"),
    ("c.csv", ("paper,candidate," + ",".join(map(str, range(1, 600)))).encode(), 1, "too-many", "more than 500 columns"),
    ("c.csv", b"\n\n\n,,\n", 1, "not-a-table", "no heading"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "data", "line", "code", "message"), REFUSED)
def test_what_cannot_be_read_is_set_aside_with_its_reason(name: str, data: bytes, line: int, code: str, message: str) -> None:
    found = aside(name, data)
    assert (found.line, found.code, found.file) == (line, code, name)
    assert message in found.message
    assert found.mend


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (
            b'{"paper": "A", "candidate": "c", "answers": {"1": 1.50}}',
            'c.json:1: answer 1 is a number without quotes; write "1.50"',
        ),
        (
            b'{"paper": "A", "candidate": "c",\n"answers": {"1": "1",\n"4a": true}}',
            'c.json:3: answer 4a is true without quotes; write "true"',
        ),
        (
            b'{"paper": 7, "candidate": 8, "answers": {"1": 2, "2": [3]}}',
            'c.json:1: `paper` is a number without quotes, and no text either: `candidate`, answer 1, answer 2; write "7"',
        ),
        (b'{"paper": "A", "candidate": "c", "answers": ["b"]}', "c.json:1: `answers` is a list; write one text in quotes"),
        (b'{"paper": {}, "candidate": "c", "answers": {}}', "c.json:1: `paper` is a group; write one text in quotes"),
        (
            b'{"paper": "A", "candidate": "c", "answers": {"1": null}}',
            'c.json:1: answer 1 is null; write "" where there is no answer',
        ),
    ],
)
def test_what_is_no_text_is_told_in_plain_words(data: bytes, said: str) -> None:
    assert str(aside("c.json", data)) == f"{said} [not-a-sheet]"


def _packed(name: str, data: bytes = b"<x/>") -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr(name, data)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("name", "data", "what", "mend"),
    [
        ("scan.pdf", b"%PDF-1.7\n%plain text so far", "a PDF", "type the answers in"),
        ("photo.png", b"\x89PNG\r\n\x1a\n", "a picture", "type the answers in"),
        ("photo.heic", b"\0\0\0\x18ftypheic", "a picture", "type the answers in"),
        ("photo.webp", b"RIFF\x10\0\0\0WEBPVP8 ", "a picture", "type the answers in"),
        ("class.xlsx", _packed("xl/workbook.xml"), "a workbook", "save the table as CSV UTF-8"),
        ("class.ods", _packed("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"), "a workbook", "save the table"),
        ("class.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a workbook or document in an old form", "save its table as CSV"),
        ("answers.docx", _packed("word/document.xml"), "a word processor's document", "type the answers in"),
        ("answers", _packed("c-01.json"), "a zip archive by another name", "end its name in .zip"),
    ],
)
def test_a_file_that_holds_no_text_is_called_what_it_is(name: str, data: bytes, what: str, mend: str) -> None:
    # The first bytes are those of the formats' specifications (PDF, PNG, HEIF, WebP, ZIP), from memory; zipfile packs the rest.
    found = aside(name, data)
    assert (found.line, found.code, found.message) == (0, "not-text", f"{what}, which cannot be marked")
    assert found.mend.startswith(mend)


def test_too_many_answers_are_refused() -> None:
    answers = {str(i): "x" for i in range(1, 600)}
    assert aside("c.json", json.dumps(SHEET | {"answers": answers}).encode()).code == "too-many"
    body = "".join(f"  {i}: x\n" for i in range(1, 600))
    assert aside("c.yaml", f"paper: A\ncandidate: c\nanswers:\n{body}".encode()).code == "too-many"


def test_what_a_terminal_would_choke_on_is_not_repeated() -> None:
    reading = read_file("c.csv", b"paper,candidate,1,\x1b[2J\xc2\x9b\nA,c,x,y\n")
    assert reading.asides[0].message == "column `?[2J?` is no question"


def test_a_heading_alone_holds_nobody() -> None:
    assert read_file("c.csv", b"paper,candidate,1\n") == Reading()


@given(name=st.sampled_from(["a.json", "a.yaml", "a.csv", "a.txt", "a"]), data=st.binary(max_size=300))
@settings(max_examples=300, deadline=None)
def test_any_bytes_give_sheets_or_a_reason(name: str, data: bytes) -> None:
    reading = read_file(name, data)
    assert reading.sheets or reading.asides or name.endswith(("csv", "txt", "a"))
    assert all(f.message and f.mend and f.line >= 0 for f in reading.asides)


@given(
    name=st.sampled_from(["a.json", "a.yaml", "a.csv", "a"]),
    whole=st.sampled_from([AS_JSON, AS_YAML, TABLE.encode(), BOMB, json.dumps(SHEET).encode("utf-16")]),
    place=st.integers(0, 200),
    what=st.one_of(
        st.binary(max_size=4),
        st.sampled_from([b"\n", b'"', b"{", b"[", b"&a ", b"*a", b"!!", b":", b",", b"\r", b"\0", b"---\n", b"\xff"]),
    ),
    length=st.integers(0, 5),
)  # fmt: skip
@settings(max_examples=400, deadline=None)
def test_a_sheet_broken_anywhere_never_raises(name: str, whole: bytes, place: int, what: bytes, length: int) -> None:
    reading = read_file(name, whole[:place] + what + whole[place + length :])
    for sheet in reading.sheets:
        assert sheet.paper
        assert all(isinstance(text, str) for text in sheet.answers.values())


@given(texts=st.dictionaries(st.integers(1, 99).map(str), st.text(max_size=30), max_size=20))
@settings(max_examples=100, deadline=None)
def test_what_json_carries_comes_back_as_it_was(texts: dict[str, str]) -> None:
    sheet = one(read_file("c.json", json.dumps(SHEET | {"answers": texts}).encode()))
    assert dict(sheet.answers) == texts
