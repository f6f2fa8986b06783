"""The browser's marker as one classic script: `marker.js` with the sentences of `says.json` put in, without its comments."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path

from grader.marking.outcome import sentences

_PLACE = "/* says.json */ {}"
_COMMENT = re.compile(r"/\*\*.*?\*/|^ *// [^\n]*$", re.DOTALL | re.MULTILINE)
_LEADING = re.compile(r"\n\s*")


@cache
def script() -> str:
    """
    The complete script, ready for a file of its own or for ``<script>`` in a page; it defines ``graderMarker``.

    >>> "graderMarker" in script() and "</" not in script()
    True
    """
    source = Path(__file__).with_name("marker.js").read_text("utf-8")
    if source.count(_PLACE) != 1:
        raise AssertionError(f"marker.js must hold {_PLACE!r} once")
    small = _LEADING.sub("\n", _COMMENT.sub("", source)).lstrip()
    return small.replace(_PLACE, json.dumps(dict(sentences()), ensure_ascii=False))
