"""The search finds in a page made quick what the theme's own reader finds in the page as it stands, word by word."""

from __future__ import annotations

from pathlib import Path

import pytest
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
