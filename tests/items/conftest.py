"""A course of another subject, with relations of its own: nothing in the room under test may know what is taught."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path

import pytest

from grader.items.course import Course, load_course
from grader.relations.relation import Relation, relation

HERE = Path(__file__).parent


@pytest.fixture(scope="session")
def toy_relations() -> Mapping[str, Relation]:
    """What a course on watering computes with."""
    cylinder_volume = relation(
        "V = pi/4 * D**2 * h",
        name="cylinder_volume",
        V=("L", "content of the tank"),
        D=("m", "bore of the tank"),
        h=("m", "depth of the water"),
        valid="0 <= D and 0 <= h",
        example="V(D=1, h=1) = 785.4",
        source="plane geometry: area of a circle times a height",
    )
    fill_time = relation(
        "t = V / Q",
        name="fill_time",
        t=("min", "time to fill"),
        V=("L", "content"),
        Q=("L/min", "flow"),
        valid="0 <= V and 0 < Q",
        example="t(V=100, Q=10) = 10",
        source="definition of flow",
    )
    return {"cylinder_volume": cylinder_volume, "fill_time": fill_time}


@pytest.fixture(scope="session")
def toy_folder() -> Path:
    """Where the course on watering lies."""
    return HERE / "toy"


@pytest.fixture(scope="session")
def toy(toy_folder: Path, toy_relations: Mapping[str, Relation]) -> Course:
    """The course on watering."""
    return load_course(toy_folder, toy_relations)


@pytest.fixture
def copy(toy_folder: Path, tmp_path: Path) -> Path:
    """A copy of the course on watering, to be spoilt."""
    return Path(shutil.copytree(toy_folder, tmp_path / "course"))
