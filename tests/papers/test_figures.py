from __future__ import annotations

import pytest

from grader.base.errors import UseError
from grader.papers.figures import bare, figure_width, on_screen


def test_the_lesson_s_own_words_are_taken_out_of_a_figure() -> None:
    drawing = '<svg viewBox="0 0 9 9"><title>Stuck</title>\n<desc>The\nball</desc><!-- b --><g/></svg>'
    assert bare(drawing) == '<svg viewBox="0 0 9 9">\n<g/></svg>'


def test_words_of_all_figures_stand_at_one_height() -> None:
    assert figure_width('<svg viewBox="0 0 380 436">', 0.32, 16) == pytest.approx(380 * 0.32 / 14, abs=1e-3)


def test_a_figure_never_grows_past_the_page_in_either_direction() -> None:
    assert figure_width('<svg viewBox="0 0 4000 400">', 0.32, 16) == 16
    assert figure_width('<svg viewBox="0 0 400 4000">', 0.32, 16) == 1.6


def test_a_figure_may_be_held_lower_than_it_is_wide() -> None:
    assert figure_width('<svg viewBox="0 0 400 4000">', 0.32, 16, 8) == 0.8
    assert figure_width('<svg viewBox="0 0 400 100">', 0.32, 16, 8) == pytest.approx(400 * 0.32 / 14, abs=1e-3)


def test_a_figure_without_a_viewbox_is_refused() -> None:
    with pytest.raises(UseError, match="viewBox"):
        figure_width("<svg>", 0.32, 16)


def test_the_same_figure_can_stand_on_a_sheet_twice() -> None:
    drawing = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><pattern id="a"/><path fill="url(#a)"/></svg>'
    assert 'id="q1-a"' in on_screen(drawing, "q1")
    assert "url(#q2-a)" in on_screen(drawing, "q2")
