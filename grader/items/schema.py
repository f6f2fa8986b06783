"""
The JSON Schemas in `questions/schema/`, made from the same statement of fields that the loader checks by.

An editor that speaks YAML completes and checks by them where a file's first line names one. After a change to
`grader.items.fields`: ``python -c "from grader.items.schema import write; write('questions/schema')"``.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from grader.base.files import write_atomic
from grader.items import fields, specimen_file, station_file
from grader.items.shapes import schema

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def schemas() -> dict[str, dict[str, Any]]:
    """
    Every schema by its file's name.

    >>> sorted(schemas())
    ['blueprint.schema.json', 'course.schema.json', 'items.schema.json', 'specimen.schema.json', 'station.schema.json']
    """
    shapes = {
        "items": ("A bank of questions", "The questions of one circuit, in practice or in the examination.", fields.ITEMS),
        "blueprint": ("A blueprint", "The plan of a paper: what it draws, how long it takes, who passes.", fields.BLUEPRINT),
        "course": ("A course", "Title, language and school.", fields.COURSE),
        "station": ("A station", "A task at the bench that an assessor watches and signs.", station_file.STATION),
        "specimen": ("A specification sheet", "A training carburetor, in the trade's units.", specimen_file.SPECIMEN),
    }
    found = {
        f"{name}.schema.json": {"$schema": DRAFT, "title": title, "description": says, **schema(shape)}
        for name, (title, says, shape) in shapes.items()
    }
    _with_tolerance(found["items.schema.json"]["items"])
    return found


def _with_tolerance(item: dict[str, Any]) -> None:
    """Only a reading may leave `within` out of its answer."""
    for case in item["allOf"]:
        if case["if"]["properties"]["kind"]["const"] == "numeric":
            case["then"]["properties"]["answer"] = {"required": ["within"]}


def printed(found: dict[str, Any]) -> str:
    """A schema as its file holds it."""
    return json.dumps(found, indent=2, ensure_ascii=False) + "\n"


def write(folder: Path | str) -> None:
    """Write every schema into a folder."""
    for name, found in schemas().items():
        write_atomic(Path(folder, name), printed(found))
