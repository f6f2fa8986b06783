"""A build that takes what an earlier one kept gives the site of a build that keeps nothing, whatever was changed in between."""

from __future__ import annotations

import shutil
import subprocess
import sys
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from grader.circuits.catalog import relations
from grader.items.course import load_practice
from grader.pages import drawn, kept, plugin
from grader.pages.build import build_site, kept_in
from grader.pages.drawn import Draws
from grader.pages.kept import Kept
from grader.relations.relation import relation

ROOT = Path(__file__).parents[2]
SMALL = Path(__file__).with_name("course")

FROM_A_SHEET = """
- id: power-sheet
  objective: power.1
  kind: numeric
  given:
    carburetor: {specimen: T-1}
    main_jet: {specimen: T-1, value: main_jet}
    rod: {pick: [0.063 in, 0.067 in]}
  stem: On {carburetor} a rod of {rod} stands in the jet of {main_jet}. What area is left?
  answer: {value: "open_area(main_jet, rod)", unit: mm^2, within: 2 %}
"""
BLOCKS = """
```specimen
T-1
```

```explorer
relation: open_area
D: 0.089 in to 0.101 in step 0.001 in, 0.095 in
d: 0.063 in to 0.073 in step 0.001 in, 0.067 in
unit: mm^2
```
"""


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A course that takes values from a sheet, and beside it what a first build of it kept."""
    folder = tmp_path_factory.mktemp("kept")
    course = Path(shutil.copytree(SMALL, folder / "course"))
    (course / "questions/specimens").mkdir()
    shutil.copy(ROOT / "questions/specimens/T-1.yaml", course / "questions/specimens")
    with (course / "questions/practice/power.yaml").open("a", encoding="utf-8") as bank:
        bank.write(FROM_A_SHEET)
    (course / "lessons/T-1.md").write_text(f"---\ntitle: T-1\norder: 9\n---\n{BLOCKS}", "utf-8")
    build_site(course, folder / "first", 2, folder / "cache")
    return folder


def tree(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def edit(course: Path, file: str, old: str, new: str) -> None:
    text = (course / file).read_text("utf-8")
    assert old in text
    (course / file).write_text(text.replace(old, new), "utf-8")


CHANGES: Mapping[str, tuple[tuple[str, str, str], ...]] = {  # two at a time that have nothing to do with each other
    "an item's slip, a specimen's value": (
        ("questions/practice/power.yaml", "That is the whole jet. Take", "Whole! Take"),
        ("questions/specimens/T-1.yaml", "main_jet: 0.093 in", "main_jet: 0.092 in"),
    ),
    "a figure, a lesson's sentence": (
        ("lessons/figures/ring.svg", "<title>", "<title>New: "),
        ("lessons/power.md", "Manifold vacuum holds", "The vacuum holds"),
    ),
}


@pytest.mark.parametrize("change", CHANGES)
def test_what_was_changed_is_made_anew_and_the_site_is_that_of_a_first_build(change: str, base: Path, tmp_path: Path) -> None:
    course = Path(shutil.copytree(base / "course", tmp_path / "course"))
    cache = Path(shutil.copytree(base / "cache", tmp_path / "cache"))
    for file, old, new in CHANGES[change]:
        edit(course, file, old, new)
    build_site(course, tmp_path / "again", 2, cache)
    build_site(course, tmp_path / "anew", 2)
    assert tree(tmp_path / "again") == tree(tmp_path / "anew")
    assert tree(tmp_path / "again") != tree(base / "first")


def test_with_nothing_changed_nothing_is_made_and_the_site_is_the_same(
    base: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stores = list[Kept]()

    class Watched(Kept):
        def __init__(self, folder: Path | None) -> None:
            super().__init__(folder)
            stores.append(self)

    monkeypatch.setattr(plugin, "Kept", Watched)
    build_site(base / "course", tmp_path / "again", 2, base / "cache")
    assert tree(tmp_path / "again") == tree(base / "first")
    assert [store.made for store in stores] == [{}]


def altered(formula: str) -> Mapping[str, Any]:
    """All relations, the open area stated by another formula."""
    made = relation(
        formula,
        name="open_area",
        A=("mm^2", "open area of the jet round the rod"),
        D=("mm", "bore of the jet"),
        d=("mm", "diameter of the rod step in the jet"),
        valid="0 <= d < D",
        example={"pi/4": "A(D=2.41, d=1.70) = 2.292", "pi/2": "A(D=2.41, d=1.70) = 4.584"}[formula[4:8]],
        source="plane geometry: circle less circle",
    )
    return {**relations(), "open_area": made}


def draws(course: Path, store: Kept, count: int = 3, using: Mapping[str, Any] | None = None) -> Draws:
    made = Draws(load_practice(course, using), store, count)
    made.start()
    made.finish()
    return made


def test_a_relation_stated_otherwise_gives_other_numbers(base: Path, tmp_path: Path) -> None:
    store = Kept(tmp_path)
    right = draws(base / "course", store, using=altered("A = pi/4 * (D**2 - d**2)")).entries
    wrong = draws(base / "course", store, using=altered("A = pi/2 * (D**2 - d**2)")).entries
    assert wrong == draws(base / "course", Kept(None), using=altered("A = pi/2 * (D**2 - d**2)")).entries
    assert all(wrong[name] != right[name] for name in ("power-ring", "power-ring-twice", "power-sheet"))


def test_another_number_of_variants_is_drawn_anew(base: Path, tmp_path: Path) -> None:
    store = Kept(tmp_path)
    three, five = draws(base / "course", store, 3).entries, draws(base / "course", store, 5).entries
    assert '"count":3' in three["power-ring"]
    assert '"count":5' in five["power-ring"]


def test_only_the_item_that_was_changed_is_drawn_again_wherever_its_lines_stand_now(base: Path, tmp_path: Path) -> None:
    course = Path(shutil.copytree(base / "course", tmp_path / "course"))
    store = Kept(tmp_path / "cache")
    draws(course, store)
    edit(course, "questions/practice/power.yaml", "  hint: Both outlines", "  note: a line more\n  hint: Two outlines")
    again = Kept(tmp_path / "cache")
    assert "Two outlines" in draws(course, again).entries["power-ring"]
    assert again.made == {"item": 1}


def test_a_sheet_s_value_draws_only_the_items_that_take_it(base: Path, tmp_path: Path) -> None:
    course = Path(shutil.copytree(base / "course", tmp_path / "course"))
    draws(course, Kept(tmp_path / "cache"))
    edit(course, "questions/specimens/T-1.yaml", "main_jet: 0.093 in", "main_jet: 0.092 in")
    again = Kept(tmp_path / "cache")
    assert "0.092" in draws(course, again).entries["power-sheet"]
    assert again.made == {"item": 1}


def test_a_bank_written_after_it_was_read_is_drawn_and_nothing_of_it_is_kept(base: Path, tmp_path: Path) -> None:
    course = Path(shutil.copytree(base / "course", tmp_path / "course"))
    read = load_practice(course)
    edit(course, "questions/practice/power.yaml", "That is the whole jet. Take", "Whole! Take")
    store = Kept(tmp_path / "cache")
    made = Draws(read, store, 3)
    made.start()
    made.finish()
    assert "That is the whole jet. Take" in made.entries["power-ring"]
    assert store.made == {}


IN_A_PROCESS_OF_ITS_OWN = """
import sys
from pathlib import Path
from grader.items.course import load_practice
from grader.pages import drawn
from grader.pages.kept import Kept

drawn.MANY, drawn._processors = 1, lambda: 2
course, folder, act = sys.argv[1:]
made = drawn.Draws(load_practice(Path(course)), Kept(Path(folder)), 3)
if act == "fails":
    made._draw_from_the_end = lambda: sys.nothing
made.start()
if act == "waits":
    import os
    os.waitpid(made._copy, 0)
    made._copy = None
made.finish()
print(sum(made.kept.made.values()), len(made.entries), *made.findings)
"""


@pytest.mark.parametrize(("act", "drawn_here"), [("waits", False), ("fails", True)])
def test_a_copy_of_the_process_draws_and_where_it_fails_nothing_is_lost(
    act: str, drawn_here: bool, base: Path, tmp_path: Path
) -> None:
    told = [str(base / "course"), str(tmp_path / "kept"), act]
    done = subprocess.run([sys.executable, "-c", IN_A_PROCESS_OF_ITS_OWN, *told], capture_output=True, text=True, check=True)
    items = len(load_practice(base / "course").practice)
    assert (done.stdout.split(), done.stderr) == ([str(items if drawn_here else 0), str(items)], "")
    assert draws(base / "course", Kept(tmp_path / "kept")).entries == draws(base / "course", Kept(None)).entries


def test_beside_another_thread_no_copy_is_made(base: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drawn, "MANY", 1)
    monkeypatch.setattr(drawn, "_processors", lambda: 2)
    monkeypatch.setattr(drawn, "_copy", lambda _: pytest.fail("a copy was made"))
    end = threading.Event()
    other = threading.Thread(target=end.wait)
    other.start()
    try:
        alone = draws(base / "course", Kept(None))
    finally:
        end.set()
        other.join()
    assert set(alone.entries) == {item.id for item in load_practice(base / "course").practice}


def test_the_program_s_own_change_makes_all_anew(base: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    count = len(draws(base / "course", Kept(tmp_path)).entries)
    monkeypatch.setattr(kept, "program", lambda: "another")
    again = Kept(tmp_path)
    draws(base / "course", again)
    assert again.made == {"item": count}


def test_a_course_keeps_it_in_a_folder_of_its_own_that_goes_with_what_was_built() -> None:
    assert kept_in(Path("course")) == Path("course/build/cache")
