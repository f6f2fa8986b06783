"""
What only shows over a bank: right options that give themselves away by place or length, items that tell another's answer, items
that ask the same twice.

The rules are of the same kind and source as those in `grader.items.wording`.
"""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from grader.base.findings import Finding
from grader.items.model import Item, Part
from grader.items.sampling import sampled
from grader.items.wording import plain_words

LEAST_CHOICES = 8
LEAST_PLACED = 12
CHANCE = 0.01
FEWEST = 3
TELLING_WORDS = 3
SIMILAR = 0.5
_COMMON = 60  # a run of words met in more items than this is a way of speaking
_DRAWN = 200


def check_bank(items: Sequence[Item]) -> Iterator[Finding]:
    """Everything that shows only when a bank's items are looked at together. What concerns one item has its id as path."""
    yield from _longest(items)
    yield from _placed(items)
    yield from _tells(items)
    yield from _similar(items)


def _choices(items: Sequence[Item]) -> list[tuple[Item, Part]]:
    return [(item, part) for item in items for part in item.parts if part.kind == "choice" and part.options]


def _longest(items: Sequence[Item]) -> Iterator[Finding]:
    written = [(item, part) for item, part in _choices(items) if part.options[0].value is None]
    longest = [item for item, part in written if _right_is_longest(part)]
    if len(written) >= LEAST_CHOICES and 2 * len(longest) > len(written):
        what = f"in {len(longest)} of {len(written)} choices of the bank the right option is the longest"
        yield Finding(written[0][0].file, 0, "longest-keys", what, "cut right options, or say as much in wrong ones", "warning")


def _right_is_longest(part: Part) -> bool:
    right = max((len(option.text) for option in part.options if option.right), default=0)
    return right > max((len(option.text) for option in part.options if not option.right), default=0)


def places_of(item: Item, part: Part) -> list[float]:
    """
    The chance of each place, a first, to hold the right option when the item is drawn.

    Written options are shuffled for each paper, so that each place is as likely; with `keep_order` they stand as written.
    Computed ones are sorted, rising or falling as drawn.
    """
    count = len(part.options)
    right = next(place for place, option in enumerate(part.options) if option.right)
    if part.options[0].value is None:
        return [float(place == right) for place in range(count)] if part.keep_order else [1 / count] * count
    sample = sampled(item, _DRAWN if item.given else 1)
    values = np.array(sample.parts[item.parts.index(part)].options)[:, sample.good]
    if not values.size:
        return [1 / count] * count
    below = np.count_nonzero(values < values[right], axis=0)
    rising = np.bincount(below, minlength=count) / values.shape[1]
    return [float(share) for share in (rising + rising[::-1]) / 2]


def _placed(items: Sequence[Item]) -> Iterator[Finding]:
    """
    Whether right options stand in each place about as often as they should: chi-square over what is drawn, p < 0.01.

    Runs of one letter are not looked at: places are drawn for each paper, and a paper that avoided runs would tell something.
    """
    found = [(item, part, places_of(item, part)) for item, part in _choices(items)]
    fixed = [each for each in found if each[1].keep_order or each[1].options[0].value is not None]
    for chosen, what in ((found, "choices of the bank"), (fixed, "choices whose options are not shuffled")):
        if len(chosen) < LEAST_PLACED:
            continue
        most = max(len(places) for _, _, places in chosen)
        have = [sum(places[letter] for _, _, places in chosen if letter < len(places)) for letter in range(most)]
        want = [sum(1 / len(places) for _, _, places in chosen if letter < len(places)) for letter in range(most)]
        if chance(have, want) < CHANCE:
            counts = ", ".join(f"{letter} {round(count)}" for letter, count in zip("abcdefgh", have, strict=False))
            told = f"the right options of {len(chosen)} {what} stand unevenly: {counts}"
            mend = "let the right option stand in other places: shuffle, or add wrong numbers on the other side of it"
            yield Finding(chosen[0][0].file, 0, "key-places", told, mend, "warning")
            return


def chance(have: Sequence[float], want: Sequence[float]) -> float:
    """
    How likely counts differ so much from those wanted, or more: chi-square, places with fewer than three wanted joined.

    >>> round(chance([10, 30, 20, 20], [20, 20, 20, 20]), 4)
    0.0186
    """
    joined = [[0.0, 0.0]]
    for counted, wanted in zip(have, want, strict=True):
        if joined[-1][1] >= FEWEST:
            joined.append([0.0, 0.0])
        joined[-1][0] += counted
        joined[-1][1] += wanted
    if len(joined) > 1 and joined[-1][1] < FEWEST:
        last = joined.pop()
        joined[-1] = [joined[-1][0] + last[0], joined[-1][1] + last[1]]
    freedom = len(joined) - 1
    if freedom < 1:
        return 1.0
    return _beyond(sum((counted - wanted) ** 2 / wanted for counted, wanted in joined), freedom)


def _beyond(value: float, freedom: int) -> float:
    """The chi-square distribution's tail: from one or two degrees of freedom up by steps of two (integration by parts)."""
    half = value / 2
    tail = math.erfc(math.sqrt(half)) if freedom % 2 else math.exp(-half)
    for step in range(1 if freedom % 2 else 2, freedom, 2):
        tail += half ** (step / 2) * math.exp(-half) / math.gamma(step / 2 + 1)
    return tail


def _asked(item: Item) -> str:
    """Everything of an item that a candidate reads before answering, but its options."""
    alternative = item.figure.alt if item.figure else ""
    return " ".join(plain_words(" ".join((item.stem, *(part.stem for part in item.parts if part.name), alternative))))


def _tells(items: Sequence[Item]) -> Iterator[Finding]:
    """Items stand on one paper: the right option of one may not be read in another's text, nor in a later part of its own."""
    texts = {item.id: f" {_asked(item)} " for item in items}
    for item in items:
        for place, part in enumerate(item.parts):
            for key in _written_keys(part):
                for other in items:
                    if other.id != item.id and f" {key} " in texts[other.id]:
                        what = f"its text holds `{key}`, the right answer of {item.id}"
                        yield _told(other, other.lines.get("stem", other.line), "tells-another", what)
                for later in item.parts[place + 1 :]:
                    if f" {key} " in f" {' '.join(plain_words(later.stem))} ":
                        what = f"the part `{later.name}` holds `{key}`, the right answer of `{part.name}`"
                        yield _told(item, later.lines.get("stem", later.line), "tells-another", what)


def _told(item: Item, line: int, code: str, message: str) -> Finding:
    mend = "say it in other words, or ask something else"
    return Finding(item.file, line, code, f"{item.id}: {message}", mend, "warning", item.id)


def _written_keys(part: Part) -> Iterator[str]:
    """Right options long enough that their words are not met by chance."""
    for option in part.options:
        words = plain_words(option.text)
        if option.right and len(words) >= TELLING_WORDS:
            yield " ".join(words)


def _similar(items: Sequence[Item]) -> Iterator[Finding]:
    """Two items that ask the same in nearly the same words: half of their runs of three words are common."""
    runs = {item.id: _runs(_asked(item)) for item in items}
    by_id = {item.id: item for item in items}
    having: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for name, found in runs.items():
        for run in found:
            having[run].append(name)
    shared: Counter[tuple[str, str]] = Counter()
    for names in having.values():
        if 1 < len(names) <= _COMMON:
            shared.update(combinations(names, 2))
    for (first, second), count in shared.items():
        share = count / len(runs[first] | runs[second])
        if share > SIMILAR and _options(by_id[first]) == _options(by_id[second]):
            item = by_id[second]
            what = f"it asks nearly what {first} asks: {round(100 * share)} % of the words in a row are the same"
            yield _told(item, item.lines.get("stem", item.line), "similar-stems", what)


def _runs(text: str) -> frozenset[tuple[str, ...]]:
    words = re.sub(r"\{[^}]*\}", "{}", text).split()
    return frozenset(zip(words, words[1:], words[2:], strict=False))


def _options(item: Item) -> set[str]:
    return {option.text for part in item.parts for option in part.options}
