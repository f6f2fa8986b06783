"""The contracts between rooms hold, and each of them can fail."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

# contract's id in pyproject.toml: (file, the one import that breaks it)
BREAKS = {
    "rooms": ("base/canon.py", "import grader.items.course"),
    "marks": ("marking/mark.py", "import numpy"),
    "site": ("pages/packs.py", "import grader.register.store"),
    "circuits": ("circuits/pump.py", "import grader.circuits.power"),
    "offline": ("items/course.py", "import socket"),
    "cycles": ("base/files.py", "import grader.cli"),
}


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()", "--no-cache"]
    return subprocess.run(
        command, cwd=folder, env={"PYTHONPATH": str(folder), "PATH": "/usr/bin:/bin"}, capture_output=True, text=True, check=False
    )


def contracts() -> dict[str, str]:
    text = (ROOT / "pyproject.toml").read_text()
    return dict(re.findall(r'\[\[tool\.importlinter\.contracts\]\]\nid = "(\w+)"\nname = "([^"]+)"', text))


def test_every_contract_is_broken_once_here() -> None:
    assert set(contracts()) == set(BREAKS)


def test_the_rooms_keep_their_contracts() -> None:
    found = lint(ROOT)
    assert found.returncode == 0, found.stdout


@pytest.mark.parametrize("contract", sorted(BREAKS))
def test_a_bad_import_breaks_its_contract(contract: str, tmp_path: Path) -> None:
    shutil.copytree(ROOT / "grader", tmp_path / "grader", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    file, line = BREAKS[contract]
    with (tmp_path / "grader" / file).open("a") as stream:
        stream.write(f"\n{line}\n")
    found = lint(tmp_path)
    assert found.returncode == 1
    assert re.search(rf"{re.escape(contracts()[contract])}.*BROKEN", found.stdout), found.stdout


def test_marking_loads_nothing_that_marks_could_depend_on() -> None:
    # The linter does not see importlib, nor what a parent's __init__ loads: so look at what is there after marking.
    code = (
        "import sys; import grader.marking.mark, grader.marking.reading; "
        "print([m for m in ('numpy', 'pint', 'random', 'sqlite3', 'mkdocs', 'typst') if m in sys.modules])"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
