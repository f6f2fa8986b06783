from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from grader.items.model import Fence
from grader.pages.lessons import Fault, Page, put_blocks, set_page

DEMO = """Text with [[one]] and `[[two]]`.

```relation
open_area
```

```python
print("[[three]]")
```

Last [[four]]."""


def numbered(text: str) -> str:
    return f"<{text}>"


def set_all(markdown: str, first: int = 1) -> tuple[str, Page, list[Fence], list[str]]:
    page, blocks, numbers = Page("lessons/a.md", "p0"), list[Fence](), list[str]()

    def block(fence: Fence, _: Page) -> str:
        blocks.append(fence)
        return "<div>block</div>"

    def number(text: str) -> str:
        numbers.append(text)
        return numbered(text)

    return set_page(markdown, first, page, block, number), page, blocks, numbers


def test_our_blocks_leave_the_markdown_and_come_back_as_html() -> None:
    text, page, blocks, _ = set_all(DEMO)
    assert "open_area" not in text
    assert [(fence.word, fence.line, fence.lines) for fence in blocks] == [("relation", 3, ("open_area",))]
    (name,) = page.blocks
    assert put_blocks(f"<p>{name}</p>", page) == "<div>block</div>"


def test_numbers_are_computed_in_text_but_not_in_code() -> None:
    text, _, _, numbers = set_all(DEMO)
    assert numbers == ["one", "four"]
    assert "`[[two]]`" in text
    assert 'print("[[three]]")' in text


def test_a_computed_number_cannot_bring_markup_with_it() -> None:
    text, *_ = set_all("[[a]]")
    assert text == "&lt;a&gt;"


def test_every_fault_is_collected_with_its_own_line() -> None:
    def refuse(*_: object) -> str:
        raise Fault("unknown-relation", "there is no relation `x`", "did you mean `y`?")

    page = Page("lessons/power.md", "p0")
    set_page("[[x]]\n\n```relation\nx\n```\n\nand [[x]]", 9, page, refuse, refuse)
    assert [str(finding) for finding in page.findings] == [
        f"lessons/power.md:{line}: there is no relation `x`; did you mean `y`? [unknown-relation]" for line in (9, 11, 15)
    ]


def test_a_block_that_is_not_closed_is_a_finding() -> None:
    _, page, blocks, _ = set_all("text\n\n```worked\nrelation: open_area\n", 5)
    assert blocks == []
    assert [str(finding) for finding in page.findings] == [
        "lessons/a.md:7: the `worked` block is not closed; end it with a line of three backticks [open-fence]"
    ]


def test_a_block_inside_a_list_keeps_its_place() -> None:
    text, page, _, _ = set_all("- first\n\n    ```figure\n    name: ring\n    ```\n\n- second")
    (name,) = page.blocks
    assert f"\n    {name}\n" in text


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.sampled_from(["", "text", "```", "````", "~~~", "```relation", "```python", "[[x]]", "`[[x]]`", "    [[", "]]"]),
        max_size=12,
    )
)
def test_no_text_stops_the_reading_and_plain_lines_are_never_lost(lines: list[str]) -> None:
    text, _, blocks, _ = set_all("\n".join(lines))
    if not blocks and "```relation" not in lines:
        assert text.count("text") >= lines.count("text")


def test_what_is_not_ours_passes_unchanged() -> None:
    plain = "# Title\n\n```yaml\nrelation: x\n```\n\n| a | b |\n|---|---|\n"
    assert set_all(plain)[0] == plain


@pytest.mark.parametrize("word", ["relation", "worked", "figure", "practice"])
def test_all_four_words_are_ours(word: str) -> None:
    assert [fence.word for fence in set_all(f"```{word}\nx\n```")[2]] == [word]
