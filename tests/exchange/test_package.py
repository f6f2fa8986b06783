"""A package: every file listed, every reference there, the same bytes each time."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest
from lxml import etree

from grader.base.errors import UseError
from grader.exchange.package import MANIFEST, TEST, package, write_package
from grader.exchange.qti import QtiItem, name_of, qti_item
from grader.items.course import load_course
from grader.items.variants import draw_question

ROOT = Path(__file__).parent.parent.parent


@pytest.fixture(scope="module")
def items() -> list[QtiItem]:
    course = load_course(ROOT)
    wanted = [item for item in course.practice if item.circuit == "pump"]
    return [qti_item(draw_question(item, b"demo", "1", course.figures), name_of(item.id), "en-GB") for item in wanted]


def test_every_file_is_listed_and_every_reference_is_there(items: list[QtiItem]) -> None:
    files = package(items, "Pump", "en-GB")
    listed = {one.get("href") for one in etree.fromstring(files[MANIFEST]).iter() if one.tag.endswith("}file")}
    assert listed == set(files) - {MANIFEST}
    refs = [one.get("href") for one in etree.fromstring(files[TEST]).iter() if one.tag.endswith("item-ref")]
    assert refs == [f"{item.identifier}.xml" for item in items]
    for item in items:
        pictures = [one.get("src") for one in etree.fromstring(item.xml).iter() if one.tag.endswith("}img")]
        assert all(picture in files for picture in pictures)
        assert len(pictures) == (item.figure is not None)
    assert any(name.endswith(".svg") for name in files)


def test_a_package_is_written_to_a_zip_or_a_new_folder_and_never_over_one(items: list[QtiItem], tmp_path: Path) -> None:
    files = package(items, "Pump", "en-GB")
    write_package(files, tmp_path / "one.zip")
    write_package(files, tmp_path / "two.zip")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    with zipfile.ZipFile(tmp_path / "one.zip") as archive:
        assert {name: archive.read(name) for name in archive.namelist()} == files
    write_package(files, tmp_path / "folder")
    assert (tmp_path / "folder" / TEST).read_bytes() == files[TEST]
    with pytest.raises(UseError, match="is there already"):
        write_package(files, tmp_path / "folder")


def test_two_items_of_one_name_are_refused(items: list[QtiItem]) -> None:
    with pytest.raises(UseError, match="two items are called"):
        package([items[0], items[0]], "Pump", "en-GB")
