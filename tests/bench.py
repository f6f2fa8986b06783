"""
`make bench`: each figure as a ratio to its floor, measured in the same run, into build/bench.json.

A ratio says what our code costs over the bare library call it cannot do without. Each figure is the median of several rounds.
"""

from __future__ import annotations

import json
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import msgspec

ROOT = Path(__file__).parent.parent
ROUNDS = 5


def seconds(act: Callable[[], object], times: int = 1) -> float:
    """The median time of one act over some rounds. [s]"""
    found = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        for _ in range(times):
            act()
        found.append((time.perf_counter() - start) / times)
    return statistics.median(found)


def start_up() -> tuple[float, float, str, str]:
    """`grader --version` over a bare click program."""
    bare = "import click\n@click.group()\n@click.version_option('1')\ndef g(): pass\ng(['--version'])"
    ours = seconds(lambda: subprocess.run([sys.executable, "-m", "grader", "--version"], capture_output=True, check=True))
    floor = seconds(lambda: subprocess.run([sys.executable, "-c", bare], capture_output=True, check=True))
    return ours, floor, "grader --version, a fresh process", "a click group of one file, a fresh process"


def relation_on_arrays() -> tuple[float, float, str, str]:
    """A relation on a million variants over the same formula written by hand in NumPy."""
    import numpy as np

    from grader.circuits.power import open_area

    bore, rod = np.linspace(0.002, 0.003, 1_000_000), np.linspace(0.001, 0.0019, 1_000_000)
    ours = seconds(lambda: open_area(bore, rod))
    floor = seconds(lambda: np.pi / 4 * (bore * bore - rod * rod))
    return ours, floor, "open_area on 1e6 variants, range check included", "the same formula by hand in NumPy, no check"


def marking() -> tuple[float, float, str, str]:
    """Marking a file of answers over strict decoding of it and one pattern and one float() an answer."""
    from grader.demo.simulated import Person, answers
    from grader.items.course import load_course
    from grader.marking.key import unit_entries
    from grader.marking.mark import mark
    from grader.papers.assembly import assemble
    from grader.papers.seal import seal

    key, person = _a_key(load_course, assemble, seal), Person("x-1", 0.5)
    given = answers(person, key)
    file = json.dumps({"paper": key.paper, "candidate": "x-1", "answers": given}, ensure_ascii=False).encode()
    number = re.compile(r"[-+]?[\d.]+")

    class File(msgspec.Struct):
        paper: str
        candidate: str
        answers: dict[str, str]

    def bare() -> None:
        for text in msgspec.json.decode(file, type=File).answers.values():
            found = number.search(text)
            float(found[0]) if found and found[0].count(".") < 2 and found[0] not in ".-+" else None

    assert unit_entries()
    ours, floor = seconds(lambda: mark(key, given), 50), seconds(bare, 500)
    return (
        ours,
        floor,
        f"marking {len(given)} answers, slips and follow-through among them",
        "msgspec decoding, a pattern and a float() an answer",
    )


def _a_key(load_course: Callable, assemble: Callable, seal: Callable) -> object:  # type: ignore[type-arg]
    raise NotImplementedError


def main() -> None:
    """Measure everything, print it, write it down."""
    figures = {}
    for measure in (start_up, relation_on_arrays, marking):
        ours, floor, what, over = measure()
        figures[measure.__name__] = {"ratio": round(ours / floor, 3), "of": what, "over": over, "better": "lower"}
        print(f"{measure.__name__:20} {ours / floor:7.2f}   {what}\n{'':20} {'':7}   over {over}")
    folder = ROOT / "build"
    folder.mkdir(exist_ok=True)
    (folder / "bench.json").write_text(json.dumps(figures, indent=1) + "\n")
    print(f"written to {folder.relative_to(ROOT)}/bench.json")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory():
        main()
