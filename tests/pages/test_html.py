"""The course's pages as HTML, as written and as their scripts leave them; read by the Nu HTML checker where it is at hand."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pytest

Nu = Callable[[Iterable[Path]], list[str]]

# Asks each question of a page's practice in turn, answers it somehow, and keeps what then stands there.
ANSWERS_ALL = """() => [...document.querySelectorAll('course-practice[data-ready]')].slice(0, 1).flatMap((box) => {
  const places = Math.max(1, box.querySelectorAll('.practice-list button').length);
  return [...Array(places).keys()].map((place) => {
    box.querySelectorAll('.practice-list button')[place]?.click();
    for (let form; (form = box.querySelector('form:not([data-answered])'));) {
      form.dataset.answered = 'yes';
      for (const one of form.querySelectorAll('input[type=text]')) one.value = '1';
      for (const one of form.querySelectorAll('input:is([type=radio], [type=checkbox])')) { one.click(); break; }
      for (const one of form.querySelectorAll('select')) one.selectedIndex = 1;
      form.requestSubmit();
      [...box.querySelectorAll('.practice-part button')].find((one) => one.textContent.startsWith('Go on'))?.click();
    }
    const verdicts = [...box.querySelectorAll('.practice-verdict')].map((one) => one.dataset.verdict);
    return [box.lastElementChild.innerHTML, verdicts];
  });
})"""
HEAD = '<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>Answered</title></head>'
PAGE = HEAD + "<body><h1>Answered</h1><h2>All</h2>{}</body></html>"


def test_every_page_is_html_as_it_is_written(whole: Path, nu: Nu, tmp_path: Path) -> None:
    spoilt = tmp_path / "spoilt.html"
    spoilt.write_text((whole / "index.html").read_text("utf-8").replace("<h1", '<p id="__drawer"></p><h1'), "utf-8")
    found = nu([whole, spoilt])
    assert [line for line in found if not line.startswith("spoilt.html")] == []
    assert "Duplicate ID “__drawer”" in found[0]  # the checker was heard


@pytest.mark.browser
def test_every_page_is_html_as_its_scripts_leave_it(whole: Path, nu: Nu, browser: Any, tmp_path: Path) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    verdicts: list[str] = []
    for file in sorted(whole.glob("*.html")):
        page.goto(file.as_uri())
        text = page.evaluate("document.documentElement.outerHTML")
        (tmp_path / file.name).write_text(f"<!doctype html>\n{text}", "utf-8")
        if file.name == "practice.html":  # it has every question of the course
            answered = page.evaluate(ANSWERS_ALL)
            verdicts = [one for _, said in answered for one in said]
            (tmp_path / "answered.html").write_text(PAGE.format("\n".join(shown for shown, _ in answered)), "utf-8")
    context.close()
    assert len(verdicts) > 250
    assert {"right", "wrong", "part"} <= set(verdicts)
    assert nu([tmp_path]) == []
