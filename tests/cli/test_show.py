"""`grader show`, as an author meets it."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from click.testing import CliRunner, Result
from lxml import html

from grader.base.errors import FindingsError, UseError
from grader.cli import group

ROOT = Path(__file__).parents[2]


def show(*arguments: str) -> Result:
    return CliRunner().invoke(group, ["show", "--course", str(ROOT), *arguments], standalone_mode=False)


def test_an_item_is_shown_with_key_bounds_slips_and_working() -> None:
    done = show("power-open-area", "--variants", "2")
    assert done.return_value == 0
    text = done.stdout.replace("\u202f", " ")
    assert text.startswith("power-open-area  (numeric, objective power.1,")
    assert re.search(r"^questions/practice/power.yaml:\d+$", text, re.M)
    assert len(re.findall(r"^variant \d$", text, re.M)) == 2
    assert len(re.findall(r"^  key: [\d.]+ mm², within 2 %: [\d.]+ to [\d.]+ mm²$", text, re.M)) == 2
    assert re.search(r"^  slip 1: [\d.]+ mm²   → \S", text, re.M)
    assert "working: The rod blocks the middle of the jet" in text


def test_the_same_variants_are_shown_at_each_look() -> None:
    assert show("power-open-area").stdout == show("power-open-area").stdout


def test_every_kind_of_item_can_be_shown() -> None:
    for item in ("power-lift-case", "power-load-sequence", "power-where-at-cruise"):
        done = show(item, "--variants", "1")
        assert done.return_value == 0
        assert "variant 1" in done.stdout


def test_a_page_stands_alone(tmp_path: Path) -> None:
    page = tmp_path / "item.html"
    done = show("power-open-area", "--html", str(page))
    assert (done.return_value, done.stdout) == (0, "")
    text = page.read_text(encoding="utf-8")
    document = html.fromstring(text)
    assert len(document.findall(".//section")) == 3
    assert document.get("lang") == "en"
    assert not document.findall(".//script")
    assert not re.search(r"(?:src|href)\s*=|@import|url\((?!#)", text)


def test_what_is_not_there_is_told_with_what_was_meant() -> None:
    error = show("power-open-are").exception
    assert isinstance(error, UseError)
    assert str(error) == "there is no item `power-open-are`; did you mean `power-open-area`?"


def test_an_item_with_a_fault_that_was_guessed_at_is_not_shown(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(ROOT / "questions", tmp_path / "questions")).parent
    shutil.copytree(ROOT / "lessons", folder / "lessons")
    bank = folder / "questions/practice/power.yaml"
    bank.write_text(bank.read_text("utf-8").replace("  objective: power.1", "  obective: power.1", 1), "utf-8")
    done = CliRunner().invoke(group, ["show", "--course", str(folder), "power-open-area"], standalone_mode=False)
    assert "did you mean `objective`?" in str(done.exception)


def test_a_station_is_shown_with_its_tolerances_and_critical_steps() -> None:
    done = show("float-level")
    assert done.return_value == 0
    text = done.stdout.replace("\u202f", " ")
    assert text.startswith("float-level  (station, objective float.8,")
    # questions/specimens/T-2.yaml: float_level 1/4 in within 1/32 in.
    assert "   measured: float_level, 1/4 in ± 1/32 in: 7/32 to 9/32 in\n" in text
    assert re.search(r"^   CRITICAL: \S", text, re.M)


def test_the_page_of_a_station_is_the_assessors_sheet_for_nobody(tmp_path: Path) -> None:
    done = show("float-level", "--html", str(tmp_path / "station.html"))
    assert done.return_value == 0
    page = html.document_fromstring((tmp_path / "station.html").read_bytes())
    assert page.xpath("//input[@id='candidate']")
    assert page.xpath("//input[@id='sitting']")
    assert len(page.xpath("//section[contains(@class, 'step')]")) == 10


def test_a_station_that_is_nearly_called_so_is_named() -> None:
    done = show("float-levle")
    assert isinstance(done.exception, UseError)
    assert "did you mean `float-level`?" in str(done.exception)


def test_a_station_that_cannot_be_read_shows_what_is_wrong(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "questions", tmp_path / "questions")
    shutil.copytree(ROOT / "lessons", tmp_path / "lessons")
    file = tmp_path / "questions/stations/float-level.yaml"
    file.write_text(file.read_text("utf-8").replace("minutes: 30", "minutes: soon"), "utf-8")
    done = CliRunner().invoke(group, ["show", "float-level", "--course", str(tmp_path)], standalone_mode=False)
    assert isinstance(done.exception, FindingsError)
    assert "`soon` is not" in str(done.exception)
