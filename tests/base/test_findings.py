"""A finding as it is printed and as JSON."""

from __future__ import annotations

from grader.base.findings import Finding


def test_a_finding_on_a_whole_file_is_printed_without_a_line_and_keeps_0_in_json() -> None:
    whole = Finding("a.yml", 0, "wrong-ending", "ends in .yml", "call it a.yaml", "warning")
    assert str(whole) == "a.yml: warning: ends in .yml; call it a.yaml [wrong-ending]"
    assert whole.as_json()["line"] == 0
    assert str(Finding("a.yaml", 3, "tab", "a tab", "use spaces")) == "a.yaml:3: a tab; use spaces [tab]"
