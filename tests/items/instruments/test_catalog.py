"""What holds for every instrument: its scales, its refusals, its drawing on phone and paper."""

from __future__ import annotations

import io
import math
from fractions import Fraction
from typing import Any

import pint
import pytest

from grader.base.errors import UseError
from grader.base.quantities import unit
from grader.items.figures import check_figure, for_page, for_paper
from grader.items.instruments.catalog import INSTRUMENTS
from grader.items.instruments.instrument import Instrument, Scale, file_of
from tests.items.instruments.drawn import Drawn
from tests.items.test_figures import CROSSINGS, SHEET

PHONE = 328
"""Width of a figure in a practice card on a phone 390 px wide, px."""

PAIRS = [(one, scale) for one in INSTRUMENTS.values() for scale in one.scales.values()]
every_scale = pytest.mark.parametrize(
    ("instrument", "scale"), PAIRS, ids=[f"{one.kind}, {scale.name}".replace(" ", "-") for one, scale in PAIRS]
)


every_one = pytest.mark.parametrize("scale", [scale for _, scale in PAIRS], ids=lambda scale: scale.name.replace(" ", "-"))


def grid(scale: Scale) -> list[Fraction]:
    """Every reading of a scale."""
    steps = int((scale.greatest - scale.least) / scale.resolution)
    return list(scale.readings) or [scale.least + n * scale.resolution for n in range(steps + 1)]


def some(scale: Scale, count: int) -> list[Fraction]:
    """Readings spread over a scale, its ends among them."""
    every = grid(scale)
    return [every[round(n * (len(every) - 1) / (count - 1))] for n in range(count)]


def test_the_instruments_of_the_trade_are_there_by_their_own_names() -> None:
    assert set(INSTRUMENTS) == {
        "vacuum gauge",
        "steel rule",
        "vernier caliper",
        "dial gauge",
        "graduate",
        "ohmmeter",
        "angle gauge",
        "drill shanks",
        "tachometer",
    }
    assert all(kind == one.kind for kind, one in INSTRUMENTS.items())
    assert all(name == scale.name for one in INSTRUMENTS.values() for name, scale in one.scales.items())


@every_scale
def test_a_scale_is_divided_evenly_and_read_no_finer_than_half_a_division(instrument: Instrument, scale: Scale) -> None:
    assert scale.least < scale.greatest
    assert scale.division / scale.resolution in (1, 2)
    assert 0 < scale.within <= scale.resolution, "an answer a step and more away is wrong"
    assert scale.says[0].islower()
    assert not scale.says.endswith(".")
    if not scale.readings:
        assert (scale.greatest - scale.least) % scale.division == 0
    assert instrument.says


def test_the_unit_of_every_scale_is_of_the_kind_that_pint_says() -> None:
    names = {
        "inHg": "inHg",
        "kPa": "kPa",
        "in": "inch",
        "mm": "mm",
        "cm^3": "cm**3",
        "ohm": "ohm",
        "deg": "degree",
        "rev/min": "1/min",
    }
    registry = pint.get_application_registry()
    for _, scale in PAIRS:
        factor = registry.Quantity(1, names[scale.unit]).to_base_units().magnitude
        assert float(unit(scale.unit).factor) == pytest.approx(factor, rel=1e-6)


@every_one
def test_a_reading_that_came_through_si_is_still_on_the_scale_and_its_grid(scale: Scale) -> None:
    measure = unit(scale.unit)
    for reading in grid(scale):
        back = measure.from_si(measure.to_si(reading))
        assert scale.readable(back), reading
        assert scale.nearest(back) == reading


@every_one
def test_what_lies_between_the_readings_is_not_on_the_grid(scale: Scale) -> None:
    one, other = some(scale, 5)[2], grid(scale)[grid(scale).index(some(scale, 5)[2]) + 1]
    between = float(one + other) / 2
    assert scale.holds(between)
    assert not scale.readable(between)


@every_scale
def test_off_the_scale_is_refused_with_instrument_scale_value_and_range(instrument: Instrument, scale: Scale) -> None:
    step = float(scale.resolution)
    for wrong in (float(scale.least) - step, float(scale.greatest) + step, math.nan, math.inf, -math.inf):
        with pytest.raises(UseError) as told:
            instrument.draw(scale, wrong)
        ends = f"{float(scale.least):g} to {float(scale.greatest):g} {scale.unit}"
        assert str(told.value) == (
            f"{instrument.kind}, scale `{scale.name}`: {wrong:.9g} {scale.unit} is not on it; it goes from {ends}"
        )
        assert not scale.holds(wrong)
        assert not scale.readable(wrong)


@every_scale
def test_every_drawing_is_a_figure_without_findings(instrument: Instrument, scale: Scale) -> None:
    for reading in some(scale, 9):
        svg = instrument.draw(scale, float(reading))
        assert [str(finding) for finding in check_figure(file_of(instrument.kind), svg)] == []
        assert len(svg) < 24_000, "a paper carries one for each candidate"


@every_scale
def test_the_same_reading_gives_the_same_bytes_and_another_reading_another_drawing(instrument: Instrument, scale: Scale) -> None:
    readings = grid(scale)[:: max(1, len(grid(scale)) // 200)]
    drawings = [instrument.draw(scale, float(reading)) for reading in readings]
    assert drawings == [instrument.draw(scale, float(reading)) for reading in readings]
    assert len(set(drawings)) == len(readings)


@every_scale
def test_title_and_description_are_the_same_whatever_it_reads(instrument: Instrument, scale: Scale) -> None:
    said = {Drawn(instrument.draw(scale, float(reading))).said for reading in some(scale, 9)}
    assert len(said) == 1
    title, desc = said.pop()
    assert 3 <= len(title) <= 80
    assert len(desc.split()) >= 20
    assert not desc.endswith(("  ", " ."))


@every_scale
def test_lines_stand_far_enough_apart_on_a_phone(instrument: Instrument, scale: Scale) -> None:
    """Lines next to each other that a technician must tell apart stand 3.5 px apart or more; common practice, no source."""
    if instrument.kind == "drill shanks":
        return
    drawn = Drawn(instrument.draw(scale, float(some(scale, 5)[2])))
    shown = max(drawn.width, PHONE)
    starts = [line[0] for line in drawn.lines()]
    if instrument.kind == "ohmmeter":  # beyond the figure 10 the lines crowd, and nothing is asked there
        starts = [start for start in starts if start[0] >= 194]
    if instrument.kind in ("vernier caliper", "graduate"):  # read on the enlarged piece
        starts = [start for start in starts if (start[1] > 180 if instrument.kind == "vernier caliper" else start[0] > 200)]
    gaps = [math.dist(one, other) for i, one in enumerate(starts) for other in starts[i + 1 :]]
    assert min(gap for gap in gaps if gap > 2) * PHONE / shown >= 3.5


DRAWN = """() => {
  const svg = document.querySelector('svg'), box = svg.getBBox(), view = svg.viewBox.baseVal;
  return [box.x, box.y, box.x + box.width, box.y + box.height, view.width, view.height];
}"""


@pytest.mark.browser
@every_scale
def test_no_words_collide_and_nothing_leaves_the_picture_on_a_phone(browser: Any, instrument: Instrument, scale: Scale) -> None:
    page = browser.new_page(viewport={"width": 390, "height": 844})
    for reading in some(scale, 5):
        figure = for_page(instrument.draw(scale, float(reading)), "q1")
        page.set_content(f"<style>{SHEET} body {{ margin: 31px }}</style>{figure}")
        assert page.evaluate(CROSSINGS) == [], reading
        left, top, right, foot, width, height = page.evaluate(DRAWN)
        assert 0 <= left < right <= width, reading
        assert 0 <= top < foot <= height, reading
    page.close()


@pytest.mark.paper
def test_every_instrument_sets_on_a_paper_without_a_warning_and_in_greys() -> None:
    import numpy as np
    import pypdfium2
    import typst

    drawings = {f"n{place}": for_paper(one.draw(scale, float(some(scale, 3)[1]))) for place, (one, scale) in enumerate(PAIRS)}
    pictures = ", ".join(f'image(bytes(sys.inputs.at("{name}")), format: "svg", width: 7cm, alt: "scale")' for name in drawings)
    source = (
        '#set document(title: "Scales", date: none)\n#set text(lang: "en", region: "GB")\n#set page(height: auto)\n'
        f"= Scales\n#grid(columns: 2, {pictures})"
    )
    pdf, warnings = typst.compile_with_warnings(
        source.encode(),
        sys_inputs=drawings,
        font_paths=typst.Fonts(include_system_fonts=False),
        ignore_system_fonts=True,
        pdf_standards="ua-1",
        timestamp=0,
    )
    assert warnings == []
    document = pypdfium2.PdfDocument(io.BytesIO(pdf))
    picture = np.asarray(document[0].render(scale=1).to_pil().convert("RGB")).astype(int)
    assert (picture.max(axis=2) - picture.min(axis=2)).max() <= 2, "colour on a paper"
    assert (picture.min(axis=2) < 128).mean() > 0.01, "an empty paper"
    document.close()
