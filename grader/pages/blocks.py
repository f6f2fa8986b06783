"""A block of ours as an earlier build set it: its HTML, and what it brought to its page besides."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import astuple
from typing import Any

from grader.items.model import Fence
from grader.pages.kept import Kept
from grader.pages.lessons import Heading, Page
from grader.pages.origins import Origins


def kept_block(fence: Fence, page: Page, kept: Kept, origins: Origins, set_block: Callable[[], str]) -> str:
    """
    The block's HTML, kept from an earlier build or set now. What it adds to the page's lists is added either way.

    `Fault` where it cannot be set; what is wrong is never kept.
    """
    name = origins.block(fence, page)
    found = None if name is None else kept.find(name)
    if found is not None:
        return _put(json.loads(found), page)
    explored, benches, headings = len(page.explored), len(page.benches), len(page.headings)
    html = set_block()
    added: dict[str, Any] = {
        "explored": page.explored[explored:],
        "benches": page.benches[benches:],
        "headings": [astuple(heading) for heading in page.headings[headings:]],
    }
    del page.explored[explored:], page.benches[benches:]  # a name says what stood before the block
    if name is not None and origins.block(fence, page) == name:  # a figure may have been written meanwhile
        kept.keep(name, json.dumps({"html": html, **added}), "block")
    page.explored += added["explored"]
    page.benches += added["benches"]
    return html


def _put(found: dict[str, Any], page: Page) -> str:
    page.explored += found["explored"]
    page.benches += found["benches"]
    page.headings += [Heading(*heading) for heading in found["headings"]]
    return str(found["html"])
