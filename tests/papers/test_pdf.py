from __future__ import annotations

import os
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2
import pytest
import zxingcpp

from grader.base.canon import digest
from grader.base.errors import UseError
from grader.base.printing import unprintable
from grader.marking.key import Figure, Option
from grader.papers.paper import Asked, Paper
from grader.papers.pdf import _question, paragraphs, set_paper
from tests.papers.conftest import FIGURE, STEM

pytestmark = pytest.mark.paper
Make = Callable[..., Paper]


def texts(pdf: bytes) -> list[str]:
    """The text of each page."""
    with pypdfium2.PdfDocument(pdf) as document:
        return [page.get_textpage().get_text_range() for page in document]


def flat(pdf: bytes) -> str:
    return " ".join(" ".join(texts(pdf)).split())


def tagged(pdf: bytes) -> Iterator[Any]:
    """Every element of the structure tree, in reading order."""

    def walk(node: Any) -> Iterator[Any]:
        if isinstance(node, pikepdf.Array):
            for below in list(node):
                yield from walk(below)
        elif isinstance(node, pikepdf.Dictionary):
            if "/S" in node:
                yield node
            if "/K" in node:
                yield from walk(node.K)

    with pikepdf.open(BytesIO(pdf)) as document:
        yield from walk(document.Root.StructTreeRoot.K)


@pytest.fixture(scope="module")
def _memo() -> dict[str, bytes]:
    return {}


@pytest.fixture
def pdf(make_paper: Make, _memo: dict[str, bytes]) -> bytes:
    return _memo.setdefault("pdf", set_paper(make_paper()))


def test_the_paper_is_tagged_named_and_has_a_language(pdf: bytes) -> None:
    with pikepdf.open(BytesIO(pdf)) as document:
        assert str(document.Root.Lang) == "en-GB"
        assert bool(document.Root.MarkInfo.Marked)
        assert bool(document.Root.ViewerPreferences.DisplayDocTitle)
        with document.open_metadata() as about:
            assert about["pdfuaid:part"] == "1"
            assert "Main, power and pump circuits" in about["dc:title"]


def test_headings_run_from_the_title_without_a_gap(pdf: bytes) -> None:
    levels = [int(str(node.S)[2:]) for node in tagged(pdf) if str(node.S) in {"/H1", "/H2", "/H3"}]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert levels.count(3) == 3 + 1  # the parts of the case, and the annex's formula


def test_every_figure_and_formula_has_a_text_that_gives_nothing_away(pdf: bytes) -> None:
    said = Counter(str(node.Alt) for node in tagged(pdf) if str(node.S) in {"/Figure", "/Formula"})
    assert said == {"QR code that reads 7M2KQ8D4XT": 1, "A rod in the bore of a jet": 2, "A = π/4 · (D² − d²)": 1, "A": 1}


def test_every_table_has_a_row_of_headers(pdf: bytes) -> None:
    kinds = Counter(str(node.S) for node in tagged(pdf))
    assert kinds["/Table"] == kinds["/THead"] == 1  # what is to be matched
    assert kinds["/TH"] == 3


def test_code_and_page_number_stand_on_every_page(pdf: bytes) -> None:
    pages = texts(pdf)
    for number, text in enumerate(pages, 1):
        assert "7M2KQ-8D4XT" in text
        assert f"page {number} of {len(pages)}" in text


def test_the_qr_code_reads_back_from_the_printed_page(pdf: bytes) -> None:
    # zxing-cpp is a reader of its own, built on nothing of ours. 72 dpi is a poor camera at arm's length.
    with pypdfium2.PdfDocument(pdf) as document:
        for dots in (72, 150):
            found = zxingcpp.read_barcodes(document[0].render(scale=dots / 72).to_numpy())
            assert [(code.text, str(code.format)) for code in found] == [("7M2KQ8D4XT", "QR Code")]


def test_the_cover_says_what_a_candidate_must_know(pdf: bytes) -> None:
    cover = " ".join(texts(pdf)[0].split())
    for words in (
        "Weirgate Workshop School",
        "Amina Okoye-Lindqvist",
        "c-014",
        "75 min",
        "25 % extra time included",
        "a pocket calculator",
        "No flame near fuel",
        "Handing in",
        "Digest of my answer file",
        "ba7816bf 8f01cfea 414140de 5dae2223 b00361a3 96177a9c b410ff61 f20015ad",
        "The key was fixed before the sitting",
    ):
        assert words in cover


def test_nothing_of_the_key_is_printed(pdf: bytes) -> None:
    with pikepdf.open(BytesIO(pdf)) as document:
        raw = b"".join(stream.read_bytes() for stream in document.objects if isinstance(stream, pikepdf.Stream))
    for word in ("SECRET", "7771.23", "7770.11", "8881.23", "6661", "9991.5"):
        assert word not in flat(pdf)
    for value in (b"SECRET", b"7771.23", b"8881.23"):
        assert value not in raw


def test_every_question_stands_with_number_points_and_unit(pdf: bytes) -> None:
    text = flat(pdf)
    for number in range(1, 9):
        assert f"Question {number}" in text
    assert "1.5 points" in text
    assert "Part 6b" in text
    assert "Answer mm²" in text
    assert "Answer, a plain number" in text


def test_the_rule_of_an_instrument_stands_above_its_answer_line(pdf: bytes) -> None:
    assert re.search(r"Read the gauge\. .*Read to half a line\. Answer inHg", flat(pdf))


@pytest.mark.parametrize(
    ("box", "wide", "large"), [("390 190", 12.8, 16.0), ("320 352", 7.7, 11.4), ("100 40", 3.3, 4.3), ("200 1200", 2.7, 2.7)]
)
def test_an_instrument_is_set_large_but_never_past_the_page(make_paper: Make, box: str, wide: float, large: float) -> None:
    figure = Figure(svg=f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {box}"><path d="M0 0 H9"/></svg>', alt="A dial")
    for print_size, width in ((False, wide), (True, large)):
        read, computed = (
            _question(Asked("1", kind, "1", "Stem", figure), make_paper(large=print_size))["figure"]["width"]
            for kind in ("reading", "numeric")
        )
        assert read == pytest.approx(width, abs=0.05)
        assert read >= computed


def test_a_stem_and_its_answer_line_stand_on_one_page(make_paper: Make) -> None:
    stem = "How long does the shot last where spring, jet and volume are those of the sheet and nothing leaks on the way? " * 3
    asked = tuple(Asked(str(n), "numeric", "1", f"Stem {n}. {stem}", unit="kPa") for n in range(1, 31))
    for page in texts(set_paper(make_paper(asked=asked)))[1:]:
        assert page.count("Stem ") == page.count("kPa")


def place(pdf: bytes, page: int, words: str) -> tuple[float, float]:
    """Where some words begin on a page: points from the left, points from the foot."""
    with pypdfium2.PdfDocument(pdf) as document:
        text = document[page].get_textpage()
        left, bottom, _, _ = text.get_charbox(text.get_text_range().index(words))
    return left, bottom


def test_short_options_stand_in_columns_and_long_ones_below_each_other(make_paper: Make) -> None:
    def options(*texts: str) -> tuple[Option, ...]:
        return tuple(Option(letter=letter, text=text) for letter, text in zip("abcdefg", texts, strict=False))

    long = "The discharge check leaks back into the well"
    asked = (
        Asked("1", "choice", "1", "Stem", options=options("Intake", "Discharge", "Neither", "Either")),
        Asked("2", "choice", "1", "Stem", options=options("Beside it", f"{long} while it should be shut", "Outside", "Inside")),
        Asked("3", "choice", "1", "Stem", options=options(*(f"Part {letter}" for letter in "ABCDEFG"))),
    )
    pdf = set_paper(make_paper(asked=asked))
    left, low = place(pdf, 1, "Intake")
    assert place(pdf, 1, "Discharge")[1] == pytest.approx(low, abs=3)
    assert place(pdf, 1, "Neither")[1] == pytest.approx(low, abs=3)  # read line by line: four in one
    assert place(pdf, 1, "Discharge")[0] > left + 60
    assert place(pdf, 1, "The discharge check")[0] == pytest.approx(place(pdf, 1, "Beside it")[0], abs=3)
    assert place(pdf, 1, "The discharge check")[1] < place(pdf, 1, "Beside it")[1] - 15
    assert place(pdf, 1, "Part E")[1] < place(pdf, 1, "Part D")[1] - 15  # seven: four and three, not six and one
    assert place(pdf, 1, "Part D")[1] == pytest.approx(place(pdf, 1, "Part A")[1], abs=3)


def test_a_figure_stands_beside_its_question_and_below_the_stem_in_large_print(make_paper: Make) -> None:
    asked = (Asked("1", "numeric", "1", STEM, FIGURE, unit="mm²"),)
    pdf = set_paper(make_paper(asked=asked))
    assert place(pdf, 1, "bore")[0] > 595 / 2
    assert place(pdf, 1, "bore")[1] > place(pdf, 1, "Answer")[1]
    large = set_paper(make_paper(asked=asked, large=True))
    assert place(large, 2, "bore")[1] < place(large, 2, "What area")[1]


def test_what_a_page_has_left_is_room_to_compute_but_not_without_end(make_paper: Make) -> None:
    def room(count: int) -> float:
        asked = tuple(Asked(str(n), "numeric", "1", f"Stem {n}.", unit="kPa") for n in range(1, count + 1))
        pdf = set_paper(make_paper(asked=asked))
        return (place(pdf, 1, "Stem 1.")[1] - place(pdf, 1, "kPa")[1]) / 28.35  # cm, with the line's own two

    assert 4.5 < room(1) < 7
    assert 2.2 < room(5) < room(1) - 1


def test_pages_are_filled_evenly_and_none_holds_the_end_alone(make_paper: Make) -> None:
    for count in (7, 8, 9, 13):
        asked = tuple(Asked(str(n), "numeric", "1", f"Stem {n}.", unit="kPa") for n in range(1, count + 1))
        held = [page.count("Stem ") for page in texts(set_paper(make_paper(asked=asked, formulas=())))[1:]]
        assert sum(held) == count
        assert max(held) - min(held) <= 1


def test_a_stem_longer_than_a_page_is_broken_and_loses_nothing(make_paper: Make) -> None:
    stem = " ".join(f"word{n}" for n in range(1500))
    text = flat(set_paper(make_paper(asked=(Asked("1", "numeric", "1", stem, unit="kPa"),))))
    assert all(f"word{n} " in text for n in range(1499))


@pytest.mark.parametrize(
    "name", ["#panic()", "$x$", '"] #read("/etc/hostname")', "*bold* _it_ `raw`", "\\u{41}", "<label> @ref", "// no"]
)
def test_a_name_is_text_and_never_source(make_paper: Make, name: str) -> None:
    pdf = set_paper(make_paper(name=name, candidate="c-1", title=name, cautions=(name,), aids=(name,), school=name))
    assert "".join(flat(pdf).split()).count("".join(name.split())) >= 4


@pytest.mark.parametrize("name", ["Zoë Ōta", "Łukasz Żak", "Ἀθηνᾶ", "Жук", "O'Brien", "Nuñez-Íñigo"])
def test_names_in_the_scripts_of_the_fonts_are_printed_whole(make_paper: Make, name: str) -> None:
    assert name in flat(set_paper(make_paper(name=name)))
    assert unprintable(name) == ""


def test_a_sign_no_font_has_is_replaced_where_all_can_see_it_and_the_id_stays(make_paper: Make) -> None:
    cover = texts(set_paper(make_paper(name="李 Ming 明 Żak")))[0]
    assert "\ufffd Ming \ufffd Żak" in cover
    assert "c-014" in cover
    assert "A sign of this name that no font here has is printed as \ufffd" in cover
    assert "\ufffd" not in texts(set_paper(make_paper()))[0]


def test_a_sign_no_font_has_is_refused_where_the_course_wrote_it(make_paper: Make) -> None:
    with pytest.raises(UseError, match=r"the paper of c-014 cannot be set: .*李"):
        set_paper(make_paper(title="李"))


def test_a_name_of_120_letters_does_not_leave_the_page(make_paper: Make) -> None:
    for name in ("Maximiliana-" * 10, "a" * 120):
        with pypdfium2.PdfDocument(set_paper(make_paper(name=name))) as document:
            page = document[0]
            boxes = [page.get_textpage().get_charbox(n) for n in range(page.get_textpage().count_chars())]
        assert max(right for _, _, right, _ in boxes) <= 595 - 60  # the right margin, 2.3 cm


def test_large_print_is_large_and_shrinks_nothing(make_paper: Make) -> None:
    pdf = set_paper(make_paper(large=True))
    assert len(texts(pdf)) > len(texts(set_paper(make_paper())))
    with pypdfium2.PdfDocument(pdf) as document:
        words = document[2].get_textpage()
        place = words.get_text_range().index("A step of")
        left, bottom, _, top = words.get_charbox(place)
    assert left > 50
    assert top - bottom > 11  # a capital of 18 pt type is about 11.9 pt high, of 11 pt type 7.2


@pytest.mark.parametrize("rules", [0, 3, 9])
def test_the_cover_stays_on_its_page(make_paper: Make, rules: int) -> None:
    cautions = ("A caution that needs the whole width of a line and then some of the next one to be said in full.",) * rules
    pages = texts(set_paper(make_paper(cautions=cautions)))
    assert "Sealed key" in pages[0]
    assert "Question 1" in pages[1]


def test_the_same_paper_gives_the_same_bytes_in_any_process(make_paper: Make, tmp_path: Path) -> None:
    program = (
        "import sys, pathlib, msgspec; from grader.papers.paper import Paper; from grader.papers.pdf import set_paper; "
        "from grader.base.canon import digest; "
        "print(digest(set_paper(msgspec.json.decode(sys.stdin.buffer.read(), type=Paper))))"
    )
    import msgspec

    paper = make_paper()
    found = {
        subprocess.run(
            [sys.executable, "-c", program],
            input=msgspec.json.encode(paper),
            capture_output=True,
            check=True,
            cwd=tmp_path,
            env=os.environ | {"PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(Path.cwd())},
        ).stdout.strip()
        for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo"))
    }
    assert found == {digest(set_paper(paper)).encode()}


def test_a_figure_that_is_no_svg_is_refused(make_paper: Make) -> None:
    asked = (Asked("1", "numeric", "1", "Stem", Figure(svg="<b/>", alt="A jet"), unit="mm"),)
    with pytest.raises(UseError, match="viewBox"):
        set_paper(make_paper(asked=asked))


def test_the_template_imports_and_reads_nothing() -> None:
    source = Path("grader/papers/paper.typ").read_text()
    assert "@preview" not in source
    assert "read(" not in source
    assert source.count("eval(") == 1  # the annex's mathematics, from our own typesetter


def test_a_single_line_break_is_a_space_and_an_empty_line_a_paragraph() -> None:
    assert paragraphs("One\nline.\n \nAnother.\n") == ["One line.", "Another."]


# Tags of BCP 47 whose second part is a script, a region in figures, or a variant: typst takes a region of two letters only.
@pytest.mark.parametrize("language", ["de", "sr-Latn", "zh-Hans-CN", "es-419", "de-1996"])
def test_a_paper_is_set_in_whatever_language_a_course_may_have(make_paper: Make, language: str) -> None:
    assert "Amina" in flat(set_paper(make_paper(language=language)))
