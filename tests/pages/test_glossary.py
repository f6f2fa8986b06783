"""Terms on the site: linked once a page and only in running text, leading there and back; shown by pointer, keyboard, finger."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from lxml import html as markup

from grader.base.errors import FindingsError
from grader.items.glossary import Finder, Term
from grader.pages.build import build_site
from grader.pages.glossary import Place, Uses, link_terms, set_glossary, with_anchors

TERMS = (
    Term(("jet",), "A hole of known bore.", (5,)),
    Term(("main jet",), 'The "jet" between bowl & well.', (8,)),
    Term(("vacuum",), "How far a pressure lies below <outside>.", (11,)),
)
FINDER = Finder(TERMS)


def linked(html: str, up: str = "", uses: Uses | None = None) -> str:
    return link_terms(html, FINDER, up, "Main", "main.html", uses or Uses())


def terms_in(html: str) -> list[str]:
    return re.findall(r'class="course-term" tabindex="-1"><a [^>]*>([^<]*)</a>', html)


def test_a_formula_in_a_heading_is_among_its_words() -> None:
    uses = Uses()
    linked(
        '<h2 id="a">Area <math><mi>A</mi><mo>&gt;</mo><mn>2</mn></math> of it<a class="headerlink">¶</a></h2><p>A jet.</p>',
        uses=uses,
    )
    assert list(uses.places["jet"]) == [Place("main.html#a", "Main", "Area A>2 of it")]


@pytest.mark.parametrize(
    ("html", "found"),
    [
        ("<p>Jets and a jet.</p>", ["Jets"]),
        ("<p>A main jet and a jet.</p>", ["main jet", "jet"]),
        ("<p>A <em>jet</em>, <strong>vacuum</strong>.</p>", ["jet", "vacuum"]),
        ("<ul><li>jet</li></ul><table><tr><td>vacuum</td></tr></table>", ["jet", "vacuum"]),
        ("<h2>The jet</h2><p>No more.</p>", []),
        ('<p><a href="x.html">a <em>jet</em></a></p>', []),
        ("<p><code>jet</code></p><pre><span>jet</span></pre>", []),
        ("<math><mtext>jet</mtext></math><svg><title>jet</title></svg>", []),
        ("<figure><figcaption>jet</figcaption></figure>", []),
        ('<course-practice data-items="jet"><p>A jet?</p></course-practice>', []),
        ("<course-explorer><p>A jet.</p></course-explorer>", []),
        ('<div class="course-relation"><div>a jet</div><p>jet</p></div><p>vacuum</p>', ["vacuum"]),
        ('<p class="admonition-title">Jet</p><p>jet</p>', ["jet"]),
        ('<table><tr><th>jet</th></tr></table><button>jet</button>', []),
        ('<p title="a jet">no</p><img alt="jet"><br>', []),
        ("<script>var jet;</script><style>.jet{}</style>", []),
        ("<script>['<math>', '</span>', 'jet']</script><p>jet</p><math><mi>A</mi></math><p>vacuum</p>", ["jet", "vacuum"]),
        ("<course-explorer><math/><script>'<math>'</script></course-explorer><p>jet</p><math></math>", ["jet"]),
        ("<p>a <math><mtext>vacuum</mtext></math> jet</p><math>jet", ["jet"]),
        ("<nav class='course-aims'><ul><li>jet</li></ul></nav>", []),
        ("<p>ajet jets' jet-black</p>", ["jets"]),
    ],
)  # fmt: skip
def test_a_term_is_linked_at_its_first_use_in_running_text_and_nowhere_else(html: str, found: list[str]) -> None:
    assert terms_in(linked(html)) == found
    plain = re.sub(r'<span class="course-term" tabindex="-1"><a [^>]*>([^<]*)</a></span>', r"\1", linked(html))
    assert plain == html  # and nothing else is changed


def test_a_term_that_is_the_name_of_a_sign_leaves_the_sign_whole() -> None:
    finder = Finder([Term(("amp",), "The unit of current.", (1,)), Term(("lt",), "Less.", (4,))])
    page = link_terms("<p>Nuts &amp; bolts, 1 &lt; 2, an amp; lt</p>", finder, "", "Main", "main.html", Uses())
    assert markup.fromstring(page).text_content() == "Nuts & bolts, 1 < 2, an amp; lt"
    assert page.count("course-term") == 2
    listed = '<dl><dt id="term-lt">lt</dt>\n<dd>Less &amp; no amp</dd></dl>'
    assert "Less &amp; no <a" in set_glossary(listed, finder, Uses())


def test_what_is_never_closed_stays_as_it_is() -> None:
    assert linked("<p>a</p><code>jet") == "<p>a</p><code>jet"


def test_a_link_leads_up_to_the_glossary_and_carries_the_definition_unharmed() -> None:
    html = linked("<p>main jet, vacuum</p>", up="../")
    links = markup.fromstring(html).findall(".//a")
    assert [link.get("href") for link in links] == ["../glossary.html#term-main-jet", "../glossary.html#term-vacuum"]
    assert [link.get("data-means") for link in links] == [TERMS[1].says, TERMS[2].says]


def test_every_section_that_uses_a_term_is_noted_also_where_it_is_not_linked() -> None:
    uses = Uses()
    html = (
        "<p>A jet.</p>"
        '<h2 id="main.1">The <em>main</em> jet<a class="headerlink" href="#main.1">&para;</a></h2><p>A jet and jets.</p>'
        '<h2 id="main.2">Bleeds &amp; wells</h2><p>None.</p><h3 id="b">More</h3><p>jet</p>'
    )
    linked(html, uses=uses)
    places = uses.places["jet"]
    assert {place.heading: count for place, count in places.items()} == {"": 1, "The main jet": 2, "More": 1}
    assert [place.uri for place in places] == ["main.html", "main.html#main.1", "main.html#b"]


def test_the_glossary_links_terms_within_definitions_and_leads_back() -> None:
    uses = Uses({"jet": {Place("main.html#main.1", "Main", "The jet"): 2}})
    uses.places["vacuum"] = {Place(f"idle.html#idle.{n}", "Idle", f"Part {n}"): 1 for n in range(3)}
    html = "".join(f'<dt id="{one.anchor}">{one.name}</dt>\n<dd>{one.name} is no other jet.</dd>' for one in TERMS)
    found = set_glossary(html, FINDER, uses)
    first, second, third = found.split("</dd>")[:3]
    assert "course-also" not in first  # not to itself
    assert '<a class="course-also" href="#term-jet">jet</a>' in second
    assert '<li>Main: <a href="main.html#main.1">The jet</a></li>' in first
    assert "course-uses" not in second
    assert "<summary>Used in 3 sections</summary>" in third
    assert third.count("<li>") == 1  # the sections of one page on one line


def test_anchors_are_put_on_terms_and_what_a_term_is_not_is_left_out() -> None:
    terms = [Term(("float", "foam float"), "It.", (9, 10), ("floats on",), (11,))]
    assert with_anchors("# F\n\nfloat\nfoam float\nnot: floats on\n:   It.", terms, 7).split("\n") == [
        "# F", "", "float {#term-float}", "foam float", ":   It.",
    ]  # fmt: skip


GLOSSARY = """---
title: Words
order: 9
---

rod
:   A stepped rod in a jet.

ring
:   The area that a rod leaves in a jet.

jet
not: jet black
:   A hole of known bore.
"""


@pytest.fixture(scope="module")
def words(built_once: Callable[..., Path]) -> Path:
    """The small course with a glossary, as a site."""
    return built_once("words", _build) / "site"


def _build(folder: Path) -> None:
    course = Path(shutil.copytree(Path(__file__).with_name("course"), folder / "course"))
    (course / "lessons/glossary.md").write_text(GLOSSARY, "utf-8")
    (course / "lessons/deep").mkdir()
    (course / "lessons/deep/more.md").write_text(
        "---\ntitle: More\norder: 8\n---\n\nA rod, by hand [so](../glossary.md#term-rod).\n", "utf-8"
    )
    build_site(course, folder / "site", variants=2)


def test_every_link_of_a_term_reaches_its_definition_and_every_way_back_its_section(words: Path) -> None:
    pages = {path.relative_to(words).as_posix(): markup.fromstring(path.read_bytes()) for path in words.rglob("*.html")}
    ids = {name: {one.get("id") for one in page.iter() if one.get("id")} for name, page in pages.items()}
    seen = 0
    for name, page in pages.items():
        for link in page.xpath(
            "//*[contains(@class, 'course-term') or contains(@class, 'course-uses')]//a | //a[@class='course-also']"
        ):
            seen += 1
            target, _, anchor = link.get("href").partition("#")
            where = (words / name).parent.joinpath(target).resolve().relative_to(words).as_posix() if target else name
            assert where in pages
            assert not anchor or anchor in ids[where]
    assert seen > 6


def test_a_page_links_each_term_once_and_practice_stays_free_of_them(words: Path) -> None:
    html = (words / "power.html").read_text("utf-8")
    assert sorted(set(terms_in(html))) == sorted(terms_in(html)) == ["jet", "ring", "rod"]
    practice = html[html.index("<course-practice") : html.index("</course-practice>")]
    assert "course-term" not in practice
    assert 'href="../glossary.html#term-rod"' in (words / "deep/more.html").read_text("utf-8")
    assert "course-term" not in (words / "packs/power.js").read_text("utf-8")


def test_what_a_term_is_not_does_not_stand_on_the_page(words: Path) -> None:
    assert "not: jet black" not in (words / "glossary.html").read_text("utf-8")


def test_definitions_do_not_swell_the_search(words: Path) -> None:
    index = (words / "search/search_index.js").read_text("utf-8")
    assert index.count("A hole of known bore.") == 1
    assert "Used in" not in index


def test_a_fault_of_the_glossary_ends_the_build(course: Path, tmp_path: Path) -> None:
    (course / "lessons/glossary.md").write_text(GLOSSARY.replace("known bore.", "known bore"), "utf-8")
    with pytest.raises(FindingsError) as caught:
        build_site(course, tmp_path / "site", variants=1)
    assert [str(finding) for finding in caught.value.findings] == [
        "lessons/glossary.md:14: the definition of `jet` does not end in a period; end it with one [no-period]"
    ]


@pytest.fixture
def phone(browser: Any) -> Iterator[Any]:
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True, java_script_enabled=False
    )
    yield context.new_page()
    context.close()


SHOWN = (
    "link => getComputedStyle(link, '::after').display != 'none' && getComputedStyle(link, '::after').content.includes('hole')"
)


@pytest.mark.browser
def test_a_finger_reads_the_meaning_first_and_follows_second_without_a_script(words: Path, phone: Any) -> None:
    phone.goto(f"{(words / 'power.html').as_uri()}")
    term = phone.locator(".course-term", has_text="jet").first
    link = term.locator("a")
    assert phone.evaluate("() => true")
    assert not link.evaluate(SHOWN)
    term.tap()
    phone.wait_for_timeout(100)
    assert link.evaluate(SHOWN)
    assert phone.url.endswith("power.html")
    term.tap()
    phone.wait_for_url("**/glossary.html#term-jet")


@pytest.mark.browser
def test_the_keyboard_and_the_pointer_show_the_meaning_within_the_screen(browser: Any, words: Path) -> None:
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.goto((words / "power.html").as_uri())
    term = page.locator(".course-term", has_text="jet").first
    link = term.locator("a")
    page.keyboard.press("Tab")
    link.focus()
    assert link.evaluate(SHOWN)
    link.blur()
    assert not link.evaluate(SHOWN)
    term.hover()
    assert link.evaluate(SHOWN)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.close()


@pytest.mark.browser
def test_escape_puts_a_meaning_away_until_one_comes_to_the_word_anew(browser: Any, words: Path) -> None:
    # WCAG 2.2, 1.4.13: what shows on hover or focus can be dismissed without moving either.
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.goto((words / "power.html").as_uri())
    term = page.locator(".course-term", has_text="jet").first
    link = term.locator("a")
    for come, go in [(link.focus, link.blur), (term.hover, lambda: page.mouse.move(0, 0))]:
        come()
        assert link.evaluate(SHOWN)
        page.keyboard.press("Escape")
        assert not link.evaluate(SHOWN)
        go()
        come()
        assert link.evaluate(SHOWN)
        go()
    page.close()
