"""What there is stands in the documentation, and what the documentation says is there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from grader.cli import COMMANDS, group

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example(command: str) -> None:
    shown = CliRunner().invoke(group, [command, "--help"])
    assert shown.exit_code == 0
    assert f"grader {command}" in shown.output.replace("group", "grader")
    assert len(shown.output.splitlines()) > 6


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_stands_in_the_readme(command: str) -> None:
    assert f"grader {command}" in README


def test_the_readme_calls_the_commands_that_ci_runs() -> None:
    assert "make demo" in README
    assert "make test" in README
    assert re.search(r"^make test$", (ROOT / ".ci" / "run").read_text(), re.M)


@pytest.mark.parametrize("room", sorted(p.name for p in (ROOT / "grader").iterdir() if (p / "__init__.py").exists()))
def test_every_room_has_its_line_and_its_sentence(room: str) -> None:
    assert f"`{room}`" in DEVELOPERS
    assert (ROOT / "grader" / room / "__init__.py").read_text("utf-8").startswith('"""')


def test_what_the_documents_link_to_is_there() -> None:
    for name, text in (("README.md", README), ("DEVELOPERS.md", DEVELOPERS)):
        for target in re.findall(r"\]\((?!https?:)([^)#]+)", text):
            assert (ROOT / target).exists(), f"{name} links to {target}"
