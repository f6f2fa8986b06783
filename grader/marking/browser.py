"""Scripts as they go to a browser: the marker with its sentences and the table of drills put in; any script without comments."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path

from grader.base.drills import DRILL_INCHES
from grader.marking.outcome import sentences

_PLACE = "/* says.json */ {}"
_DRILLS = "/* drills */ {}"
_COMMENT = re.compile(r"/\*\*.*?\*/|^ *// [^\n]*$", re.DOTALL | re.MULTILINE)
_LEADING = re.compile(r"\n\s*")


def slim(source: str) -> str:
    """
    A script without what only its developers read: documentation, notes of types, comments on lines of their own, indentation.

    Every statement stays on its line as it was written. A template of several lines would lose its indentation: write none.

    >>> slim("/** Adds. */\\nfunction add(/** @type {number} */ a) {\\n  // one more\\n  return a + 1;\\n}\\n")
    'function add( a) {\\nreturn a + 1;\\n}\\n'
    """
    return _LEADING.sub("\n", _COMMENT.sub("", source)).lstrip()


@cache
def script() -> str:
    """
    The complete script, ready for a file of its own or for ``<script>`` in a page; it defines ``graderMarker``.

    >>> "graderMarker" in script() and "</" not in script()
    True
    """
    source = Path(__file__).with_name("marker.js").read_text("utf-8")
    put_in = {_PLACE: dict(sentences()), _DRILLS: {str(number): inches for number, inches in DRILL_INCHES.items()}}
    small = slim(source)
    for place, table in put_in.items():
        if source.count(place) != 1:
            raise AssertionError(f"marker.js must hold {place!r} once")
        small = small.replace(place, json.dumps(table, ensure_ascii=False, separators=(",", ":")))
    return small
