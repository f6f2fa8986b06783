from __future__ import annotations

import json
from pathlib import Path

import pytest

from grader.base.errors import FindingsError, UseError
from grader.pages.build import build_site


def texts(site: Path) -> str:
    endings = {".html", ".js", ".json", ".css", ".xml", ".svg", ".txt"}
    return "\n".join(path.read_text("utf-8") for path in sorted(site.rglob("*")) if path.suffix in endings)


def tree(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def edit(file: Path, old: str, new: str) -> None:
    text = file.read_text("utf-8")
    assert old in text
    file.write_text(text.replace(old, new), "utf-8")


def test_nothing_of_an_exam_item_stands_anywhere_in_the_site(site: Path) -> None:
    everything = texts(site)
    assert "power-ring-twice" in everything  # the search would find a practice item
    assert "power-never-published" not in everything
    assert "Only candidates may read this sentence" not in everything


def test_the_exam_folder_is_not_even_opened(course: Path, tmp_path: Path) -> None:
    (course / "questions/exam/power.yaml").write_text("{ not yaml at all", "utf-8")
    build_site(course, tmp_path / "site", variants=1)
    assert (tmp_path / "site/power.html").is_file()


def test_no_page_names_another_server(site: Path) -> None:
    pages = "\n".join(path.read_text("utf-8") for path in site.rglob("*.html"))
    addresses = [part.split('"')[0] for part in pages.split('="http')[1:]]
    assert [one for one in addresses if "w3.org" not in one] == []


def test_the_same_course_gives_the_same_site(site: Path, tmp_path: Path) -> None:
    build_site(Path(__file__).with_name("course"), tmp_path / "site", variants=8)
    assert tree(tmp_path / "site") == tree(site)


def test_everything_wrong_is_said_at_once_with_its_line_and_the_old_site_stays(course: Path, tmp_path: Path) -> None:
    output = tmp_path / "site"
    build_site(course, output, variants=1)
    before = tree(output)
    edit(course / "lessons/power.md", "[[open_area D=0.095 in, d=0.067 in as mm^2 to 3 figures]]", "[[open_aera D=1 in as mm^2]]")
    edit(course / "lessons/power.md", "name: ring\n", "name: rung\n")
    edit(course / "lessons/index.md", "(power.md)", "(powder.md)")
    edit(course / "questions/practice/power.yaml", "  hint: Both", "  hunt: Both")
    with pytest.raises(FindingsError) as error:
        build_site(course, output, variants=1)
    assert sorted(str(finding) for finding in error.value.findings) == [
        "lessons/index.md:6: the link `powder.md` leads nowhere; "
        "write a page of this folder, or an anchor that it has [broken-link]",
        "lessons/power.md:17: there is no figure `rung`; did you mean `ring`? [unknown-figure]",
        "lessons/power.md:26: there is no relation `open_aera`; did you mean `open_area`? [unknown-relation]",
        "questions/practice/power.yaml:10: `hunt` is not a field of an item; did you mean `hint`? [unknown-field]",
    ]
    assert tree(output) == before
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_a_link_that_leads_nowhere_is_a_finding_with_its_line(course: Path, tmp_path: Path) -> None:
    edit(course / "lessons/index.md", "(power.md)", "(power.md#power.9)")
    with pytest.raises(FindingsError) as error:
        build_site(course, tmp_path / "site", variants=1)
    assert str(error.value).startswith("lessons/index.md:6: the link `power.md#power.9` leads nowhere")


def test_a_folder_that_holds_something_else_is_never_cleared(course: Path, tmp_path: Path) -> None:
    output = tmp_path / "mine"
    output.mkdir()
    (output / "letter.txt").write_text("keep me", "utf-8")
    with pytest.raises(UseError, match="holds something else than a site"):
        build_site(course, output)
    assert (output / "letter.txt").read_text("utf-8") == "keep me"


@pytest.mark.parametrize("variants", [0, -1, 1001])
def test_a_senseless_number_of_variants_is_refused(variants: int, course: Path, tmp_path: Path) -> None:
    with pytest.raises(UseError, match="ask for 1 to 1000"):
        build_site(course, tmp_path / "site", variants=variants)


def test_a_folder_that_is_no_course_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UseError, match="is not a course"):
        build_site(tmp_path, tmp_path / "site")


def test_a_course_may_bring_its_own_configuration(course: Path, tmp_path: Path) -> None:
    from importlib.resources import files

    inherited = files("grader.pages").joinpath("site.yml")
    (course / "mkdocs.yml").write_text(f"INHERIT: {inherited}\nsite_name: Rods of our own\n", "utf-8")
    build_site(course, tmp_path / "site", variants=1)
    assert "Rods of our own" in (tmp_path / "site/index.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("config", "said"), [("plugins: [search]\nsite_name: x\n", "the plugin `grader` is missing"), ("site_name: [", "mkdocs.yml")]
)
def test_a_configuration_that_cannot_serve_is_refused_with_its_name(config: str, said: str, course: Path, tmp_path: Path) -> None:
    (course / "mkdocs.yml").write_text(config, "utf-8")
    with pytest.raises(UseError, match=said):
        build_site(course, tmp_path / "site", variants=1)


def test_the_notice_of_the_course_stands_below_every_page(site: Path) -> None:
    assert all("A notice that only the tests read." in page.read_text("utf-8") for page in site.glob("*.html"))


def test_the_lessons_stand_in_their_own_order_with_mixed_practice_last(site: Path) -> None:
    page = (site / "index.html").read_text("utf-8")
    contents = page[page.index('<nav class="md-nav md-nav--primary"') :]
    assert contents.index("power.html") < contents.index("practice.html")


def test_the_search_index_holds_the_lessons_words_but_no_practice(site: Path) -> None:
    index = json.loads((site / "search/search_index.json").read_text("utf-8"))
    words = " ".join(entry["text"] for entry in index["docs"])
    assert "Manifold vacuum holds the rods down" in words
    assert "The worked answer" not in words


def test_an_item_of_which_nothing_can_be_drawn_ends_the_build_beside_what_else_is_wrong(course: Path, tmp_path: Path) -> None:
    build_site(course, tmp_path / "site", variants=1)
    before = tree(tmp_path / "site")
    edit(course / "questions/practice/power.yaml", "require: rod_diameter < 0.8 * jet_bore", "require: rod_diameter > jet_bore")
    edit(course / "lessons/index.md", "(power.md)", "(powder.md)")
    with pytest.raises(FindingsError) as error:
        build_site(course, tmp_path / "site", variants=1)
    assert [finding.code for finding in error.value.findings] == ["broken-link", "require-unmet"]
    assert tree(tmp_path / "site") == before
