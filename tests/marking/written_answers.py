"""The hand-made ways to write an answer, from their file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import yaml


@dataclass(frozen=True, slots=True)
class Written:
    """What was written where a unit was asked for, and the reading it must have: a number and a unit, or why there is none."""

    topic: str
    text: str
    asked: str
    reading: str
    note: str


def written_answers() -> list[Written]:
    """Every line of the file, in its order."""
    topics = yaml.load(Path(__file__).with_name("written_answers.yaml").read_text("utf-8"), yaml.BaseLoader)  # noqa: S506
    return [Written(topic, *row) for topic, rows in topics.items() for row in rows]
