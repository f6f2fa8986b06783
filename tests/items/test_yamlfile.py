"""YAML is read as written, with a line for everything."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.base.findings import Finding
from grader.items.yamlfile import SIZE_LIMIT, Fields, Listing, Scalar, read_yaml


def read(text: str | bytes) -> tuple[object, list[Finding]]:
    findings: list[Finding] = []
    node = read_yaml("a.yaml", text.encode() if isinstance(text, str) else text, findings)
    return node, findings


# What YAML 1.1 makes of plain text: the language's own type repository (yaml.org/type), as PyYAML's SafeLoader does it.
@pytest.mark.parametrize(
    "text", ["12:1", "no", "off", "010", "1e3", "1_000", "2001-02-03", "~", "null", ".inf", "0x1F", "<<", "="]
)
def test_a_scalar_stays_as_it_was_written(text: str) -> None:
    node, findings = read(f"value: {text}")
    assert isinstance(node, Fields)
    assert node.nodes["value"] == Scalar(text, 1)
    assert findings == []


def test_every_node_has_its_line() -> None:
    node, _ = read("# head\na:\n  - x\n  - y: |\n      two\n      lines\nb: 'z'\n")
    assert isinstance(node, Fields)
    listing = node.nodes["a"]
    assert isinstance(listing, Listing)
    assert [entry.line for entry in listing.entries] == [3, 4]
    assert dict(node.lines) == {"a": 2, "b": 7}


def test_of_two_equal_names_the_first_is_kept() -> None:
    node, findings = read("a: first\na: second\n")
    assert isinstance(node, Fields)
    assert (node.nodes["a"], [finding.line for finding in findings]) == (Scalar("first", 1), [2])


def test_windows_line_ends_and_a_byte_order_mark_change_nothing() -> None:
    node, findings = read(b"\xef\xbb\xbfa: 1\r\nb: two\r\n")
    assert isinstance(node, Fields)
    assert (node.nodes["b"], findings) == (Scalar("two", 2), [])


def test_lines_count_from_where_the_text_stands_in_its_file() -> None:
    findings: list[Finding] = []
    read_yaml("a.md", b"a: 1\na: 2", findings, first_line=2)
    assert [str(finding) for finding in findings] == [
        "a.md:3: `a` stands already on line 2; keep one of the two [repeated-field]"
    ]


@pytest.mark.parametrize(
    ("data", "code", "line"),
    [
        (b"a: \xff", "not-utf-8", 1),
        (b"a: 1\nb: \xe9t\xe9", "not-utf-8", 2),
        (b"a: 1\nb: 2\x00", "unseen-letter", 2),
        ("a: 1\u2028b: 2".encode(), "unseen-letter", 1),
        ("a: 1".encode("utf-16"), "not-utf-8", 1),
        (b"x" * (SIZE_LIMIT + 1), "too-large", 0),
        (b"a: 1\n? [b, c]\n: 2", "name-expected", 2),
        (b"a: [1, 2\nb: 3", "not-yaml", 2),
        (b"a: 'x", "not-yaml", 1),
        (b"a: %x", "not-yaml", 1),
        (b"%YAML 9.9\n---\na: 1", "not-yaml", 1),
        (b'a: "\\q"', "not-yaml", 1),
    ],
)
def test_what_cannot_be_read_gives_its_reason_and_line(data: bytes, code: str, line: int) -> None:
    _, findings = read(data)
    assert [(finding.code, finding.line) for finding in findings] == [(code, line)]
    assert findings[0].mend


def test_a_loop_of_aliases_is_refused_and_ends() -> None:
    _, findings = read("a: &x [*x, *x]")
    assert {finding.code for finding in findings} == {"anchor", "alias"}


def test_nesting_without_end_is_refused_and_ends() -> None:
    for opening in ("[", "{a: "):
        _, findings = read(opening * 50_000)
        assert [finding.line for finding in findings] == [1]
        assert findings[0].code in {"too-deep", "not-yaml"}  # which of the two sees it first is the parser's affair


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=80) | st.text(alphabet="ab: -[]{}&*!|>'\"#\n \t?,%@", max_size=60))
def test_no_text_ends_in_anything_but_nodes_or_findings(text: str) -> None:
    node, findings = read(text.encode("utf-8", "surrogatepass"))
    assert node is not None or findings or not text.strip() or text.lstrip().startswith(("#", "---", "...", "\ufeff", "%"))
    for finding in findings:
        assert 0 <= finding.line <= text.count("\n") + text.count("\r") + 1
