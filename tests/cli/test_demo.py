"""The whole job, end to end, by the commands a person would type."""

from __future__ import annotations

import csv
import json
import re
import subprocess
import sys
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest

from grader.base.canon import digest
from grader.register.store import Register

ROOT = Path(__file__).parent.parent.parent
pytestmark = pytest.mark.paper


def grader(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "grader", *arguments], cwd=ROOT, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "demo"
    found = grader("demo", str(folder))
    assert found.returncode == 0, found.stdout + found.stderr
    assert "Open first:" in found.stdout
    return folder


def rows(file: Path) -> list[dict[str, str]]:
    with file.open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def test_every_candidate_has_a_paper_and_a_sheet(demo: Path) -> None:
    sitting = demo / "sittings" / "demo"
    papers = {path.stem for path in (sitting / "papers").glob("*.pdf")}
    assert len(papers) == 24
    assert {path.stem for path in (sitting / "sheets").glob("*.html")} == papers


def test_the_good_are_marked_and_each_bad_file_has_its_reason(demo: Path) -> None:
    with Register(demo / "register.sqlite", existing=True) as register:
        asides = register.asides("demo")
        marked = register.marks("demo")
    assert len(marked) == 18  # 24, less five with a bad file only, less one with two files that contradict each other
    assert len({aside.file for aside in asides}) == 8
    assert len({aside.code for aside in asides}) == 7
    assert all(aside.reason for aside in asides)


def test_results_are_those_of_the_marks(demo: Path) -> None:
    results = rows(demo / "sittings" / "demo" / "results" / "results.csv")
    marks = rows(demo / "sittings" / "demo" / "results" / "marks.csv")
    assert len(results) == 24
    for result in results:
        own = [float(mark["mark"]) for mark in marks if mark["candidate"] == result["candidate"]]
        assert float(result["mark"] or 0) == pytest.approx(sum(own))
    assert {result["decision"] for result in results} == {"pass", "fail", "not examined"}


def test_only_those_who_passed_have_a_certificate_and_each_is_good(demo: Path) -> None:
    results = rows(demo / "sittings" / "demo" / "results" / "results.csv")
    certificates = sorted((demo / "sittings" / "demo" / "certificates").glob("*.json"))
    assert len(certificates) == sum(result["decision"] == "pass" for result in results)
    assert len(certificates) == len(list((demo / "sittings" / "demo" / "certificates").glob("*.pdf")))
    for certificate in certificates[:3]:
        assert grader("verify", str(certificate), "--issuer", str(demo / "issuer")).returncode == 0


def test_an_altered_certificate_is_not_good(demo: Path) -> None:
    found = grader("verify", str(demo / "altered.json"), "--issuer", str(demo / "issuer"), "--json")
    assert found.returncode == 1
    assert json.loads(found.stdout)["state"] == "altered"


def test_a_revoked_certificate_is_said_to_be_revoked(demo: Path) -> None:
    certificate = sorted((demo / "sittings" / "demo" / "certificates").glob("*.json"))[-1]
    assert grader("revoke", certificate.stem, "--reason", "issued in error", "--in", str(demo)).returncode == 0
    found = grader("verify", str(certificate), "--issuer", str(demo / "issuer"))
    assert found.returncode == 1
    assert "revoked" in found.stdout
    assert "issued in error" not in found.stdout  # the reason is the school's business


def test_no_exam_item_key_or_name_stands_where_apprentices_look(demo: Path) -> None:
    with Register(demo / "register.sqlite", existing=True) as register:
        keys = register.open_keys("demo", "a test", "2031-05-12T09:30:00Z")
        names = [paper.name for paper in register.papers("demo")]
    exam = {
        line.split("id:")[1].strip()
        for file in (ROOT / "questions" / "exam").glob("*.yaml")
        for line in file.read_text("utf-8").splitlines()
        if line.startswith("- id:")
    }
    assert exam
    pages = [path for path in (demo / "site").rglob("*") if path.suffix in {".html", ".js", ".json", ".css", ".txt", ".xml"}]
    assert pages
    secrets = [*exam, *names, *keys, *(digest(key) for key in keys.values())]
    for page in pages:
        text = page.read_text("utf-8")
        near = [secret for secret in secrets if secret in text]  # the quick look first: the pages are long
        assert [secret for secret in near if re.search(rf"(?<![\w-]){re.escape(secret)}(?![\w-])", text)] == []


def test_every_page_of_the_sitting_is_html(demo: Path, nu: Callable[[Iterable[Path]], list[str]]) -> None:
    sitting = demo / "sittings" / "demo"
    folders = [sitting / name for name in ("sheets", "stations", "results")]
    assert sum(len(list(folder.rglob("*.html"))) for folder in folders) > 40
    assert nu(folders) == []


def test_every_paper_prints_the_digest_of_its_key(demo: Path) -> None:
    manifest = rows(demo / "sittings" / "demo" / "manifest.csv")
    with Register(demo / "register.sqlite", existing=True) as register:
        keys = register.open_keys("demo", "a test", "2031-05-12T09:30:00Z")
    assert {row["paper"]: row["digest"] for row in manifest} == {code: digest(key) for code, key in keys.items()}


def test_the_demonstration_leaves_other_folders_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("")
    found = grader("demo", str(tmp_path))
    assert found.returncode == 2
    assert "no demonstration made it" in found.stderr
    assert "Traceback" not in found.stderr
