"""The search finds in a page made quick what the theme's own reader finds in the page as it stands, word by word."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from material.plugins.search.plugin import Parser  # type: ignore[import-untyped]

from grader.circuits.catalog import relations
from grader.items.formula_numbers import FormulaNumbers
from grader.pages.formulas import formula_html
from grader.pages.searched import apart, flattened, without_excluded

PAGES = {
    "a formula": "<p>So <math alttext='a'><mrow><mi>a</mi><mo>&gt;</mo><mn>2</mn><mtext> or </mtext></mrow></math>.</p>",
    "a formula in a heading": '<h2 id="a">Area <math><msub><mi>A</mi><mi>t</mi></msub></math></h2><p>Told.</p>',
    "a drawing": "<svg>\n<title>Jet</title>\n<path d='M0 0'/>\n<circle r='1'/><line/>\n<text>rod <tspan>in</tspan></text></svg>",
    "strokes side by side": "<svg><path/><path/><text>one</text> <path/><text>two</text></svg>",
    "an exclusion": "<p>Jet.</p><div data-search-exclude><p>9</p></div><p>Rod.</p>",
}


def found(html: str) -> list[tuple[str, str, str | None]]:
    parser = Parser()
    parser.feed(html)
    parser.close()
    return [("".join(one.title), "".join(one.text), one.id) for one in parser.data]


@pytest.mark.parametrize("page", PAGES)
def test_the_theme_reads_a_flattened_page_as_it_reads_the_page(page: str) -> None:
    assert found(flattened(without_excluded(PAGES[page]))) == found(PAGES[page])


TEXTS = ("jet", "one rod", " bore ", "&amp;", " ", "\n", "\n\n", "a\nb", "<wbr>", "<br>", "<!-- no -->", "<b-x>y</b-x>")
TAGS = ["p", "li", "ul", "div", "a", "code", "b", "em", "span", "strong", "table", "tbody", "thead", "tr", "td", "th"]
HTML = st.recursive(
    st.sampled_from(TEXTS),
    lambda inside: st.builds(
        lambda tag, parts: f"<{tag}>{''.join(parts)}</{tag}>", st.sampled_from(TAGS), st.lists(inside, max_size=5)
    ),
    max_leaves=20,
)


@settings(max_examples=300, deadline=None)
@given(pages=st.lists(HTML, max_size=8), heading=st.booleans())
def test_tables_and_inline_tags_hold_words_apart_as_they_did(pages: list[str], heading: bool) -> None:
    html = ('<h2 id="a">Jets <b>and</b>\n<span>rods</span></h2>' if heading else "<p>Jets.</p>") + "".join(pages)
    assert found(flattened(html)) == found(html)


@pytest.mark.parametrize(
    "html",
    [
        "<p>a</p><pre>one\n<span>two</span>\n\n<b>three</b></pre>",
        '<h2 id="a">A</h2><table><tr><td><h3 id="b">B</h3>in</td></tr></table><p>out</p>',
        "<p>a</p><span data-search-exclude>no<span>no</span></span><p>b</p>",
    ],
)
def test_tags_stay_where_they_count(html: str) -> None:
    assert flattened(html) == html
    assert found(flattened(html)) == found(html)


def test_the_pages_of_a_site_are_read_as_they_stand(site: Path) -> None:
    for file in site.glob("*.html"):
        text = file.read_text("utf-8")
        article = text[text.index("<article") : text.index("</article>")]
        assert found(flattened(article)) == found(article), file.name


def test_words_of_neighbouring_cells_captions_and_summaries_are_words_apart() -> None:
    block = formula_html(relations()["open_area"], FormulaNumbers(relations(), {}))
    drawn = "<figure><svg><text>seat</text></svg><figcaption>The needle.</figcaption></figure><table><caption>Jets</caption>"
    for html, words in {
        block: "and an example Symbol Meaning Unit A open area of the jet round the rod mm² D bore of the jet",
        f"{drawn}<tr><td>one</td></tr></table><table><caption>Rods</caption></table>": "seat The needle. Jets one Rods",
    }.items():
        ((_, text, _),) = [section for section in found(f'<h2 id="a">A</h2>{apart(html)}') if words in section[1]]
        assert words in text
