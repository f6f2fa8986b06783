"""Questions as a package of QTI 3.0: items, their pictures, a test that holds them, and the list of all files."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from xml.etree import ElementTree

from grader.base.errors import UseError
from grader.base.files import make_folder, write_atomic
from grader.exchange.qti import Element, QtiItem, as_bytes, figure_file, heading
from grader.items.figures import for_paper

MANIFEST = "imsmanifest.xml"
TEST = "test.xml"
_PACKAGE = "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1"


def package(items: Sequence[QtiItem], title: str, language: str) -> dict[str, bytes]:
    """
    The files of a package by their names.

    Parameters
    ----------
    items : sequence of QtiItem
        No two with one identifier.

    Raises
    ------
    UseError
        Two items have one identifier.
    """
    names = [item.identifier for item in items]
    if twice := {name for name in names if names.count(name) > 1}:
        raise UseError(f"two items are called {min(twice)!r}; give each its own identifier")
    files: dict[str, bytes] = {}
    for item in items:
        files[f"{item.identifier}.xml"] = item.xml
        if item.figure is not None:
            files[figure_file(item.identifier)] = for_paper(item.figure.svg).encode()
    files[TEST] = _test(items, title, language)
    files[MANIFEST] = _manifest(items)
    return files


def write_package(files: Mapping[str, bytes], output: Path) -> None:
    """
    A package into a file that ends in ``.zip``, else into a new or empty folder; the same files give the same bytes.

    Raises `UseError` where the folder holds something, or cannot be written.
    """
    if output.suffix.lower() == ".zip":
        write_atomic(output, _zipped(files))
        return
    if output.exists() and (not output.is_dir() or any(output.iterdir())):
        raise UseError(f"{output} is there already; name a new folder, or a file that ends in .zip")
    for name, data in files.items():
        write_atomic(make_folder((output / name).parent) / Path(name).name, data)


def _zipped(files: Mapping[str, bytes]) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), content, zipfile.ZIP_DEFLATED)
    return data.getvalue()


def _test(items: Sequence[QtiItem], title: str, language: str) -> bytes:
    root = Element("qti-assessment-test", heading("test", title, language))
    modes = {"identifier": "part", "navigation-mode": "nonlinear", "submission-mode": "simultaneous"}
    part = ElementTree.SubElement(root, "qti-test-part", modes)
    section = ElementTree.SubElement(part, "qti-assessment-section", {"identifier": "section", "title": title, "visible": "true"})
    for item in items:
        where = {"identifier": item.identifier, "href": f"{item.identifier}.xml"}
        ElementTree.SubElement(section, "qti-assessment-item-ref", where)
    return as_bytes(root)


def _manifest(items: Sequence[QtiItem]) -> bytes:
    root = Element("manifest", {"xmlns": _PACKAGE, "identifier": "package"})
    about = ElementTree.SubElement(root, "metadata")
    ElementTree.SubElement(about, "schema").text = "QTI Package"
    ElementTree.SubElement(about, "schemaversion").text = "3.0.0"
    ElementTree.SubElement(root, "organizations")
    resources = ElementTree.SubElement(root, "resources")
    test = _resource(resources, "resource-test", "imsqti_test_xmlv3p0", [TEST])
    for item in items:
        files = [f"{item.identifier}.xml"] + ([figure_file(item.identifier)] if item.figure is not None else [])
        _resource(resources, f"resource-{item.identifier}", "imsqti_item_xmlv3p0", files)
        ElementTree.SubElement(test, "dependency", {"identifierref": f"resource-{item.identifier}"})
    return as_bytes(root)


def _resource(resources: Element, identifier: str, kind: str, files: Sequence[str]) -> Element:
    made = ElementTree.SubElement(resources, "resource", {"identifier": identifier, "type": kind, "href": files[0]})
    for file in files:
        ElementTree.SubElement(made, "file", {"href": file})
    return made
