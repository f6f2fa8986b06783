"""
How questions are worded: what a program can look for of the trade's rules of item writing.

The rules are those of Haladyna, Downing and Rodriguez (Applied Measurement in Education 15(3), 2002, 309-334), in our own words;
whether a stem is fair, important and at the right level only people can say. A warning that is meant is waived in the item, with
its reason.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from grader.base.findings import Finding, Level
from grader.items.model import Item, OptionText, Part

STEM_WORDS = 60
LONGER = 1.3
_LEAST_LENGTH = 12  # letters of difference below which nobody sees that an option is longer

_ALL = re.compile(
    r"\b(?:all|each|any) of (?:the )?(?:above|these|them|those)\b|\b(?:both|either) (?:\(?[a-h]\)?) (?:and|or) \(?[a-h]\)?\b",
    re.I,
)
_NONE = re.compile(r"\b(?:none|neither|no one) of (?:the )?(?:above|these|them|those)\b", re.I)
_NEGATIVE = re.compile(
    r"\b(?:not|except|never|cannot|can't|isn't|doesn't|don't|won't)\b|\bno\b(?!\.)|\bleast (?:likely|probable|suitable)\b",
    re.I,
)
_ABSOLUTE = re.compile(r"\b(?:always|never|only|all|every|must|none|completely)\b", re.I)
_ARTICLE = re.compile(r"\b(?:a|an|is|are)\s*:?\s*$", re.I)
_NUMBER = re.compile(r"^\s*[-+−]?(?P<number>\d+(?:\.\d+)?)\s*(?P<unit>[^\d\s].*)?$")
_WORD = re.compile(r"[A-Za-zÀ-ÿ]{5,}")


def check_wording(item: Item) -> Iterator[Finding]:
    """Everything in an item's wording that a rule speaks against."""
    rules = _Rules(item)
    yield from rules.stem()
    for part in item.parts:
        stem = part.stem if part.name else item.stem
        if part.name:
            yield from rules.asks_one_thing(part.stem, part.lines.get("stem", part.line))
        if part.kind in {"choice", "choices"} and part.options:
            yield from rules.question(stem, part)
            yield from rules.options(stem, part)


class _Rules:
    """The rules, each a method of a few lines, on one item."""

    def __init__(self, item: Item) -> None:
        self.item = item

    def finding(self, line: int, code: str, message: str, mend: str, level: Level = "warning") -> Finding:
        return Finding(self.item.file, line, code, f"{self.item.id}: {message}", mend, level, self.item.id)

    def stem(self) -> Iterator[Finding]:
        line = self.item.lines.get("stem", self.item.line)
        words = len(self.item.stem.split())
        if words > STEM_WORDS and self.item.kind != "case":
            mend = "say it shorter, or make it a case"
            yield self.finding(line, "long-stem", f"the stem has {words} words", mend)
        yield from self.asks_one_thing(self.item.stem, line)

    def asks_one_thing(self, stem: str, line: int) -> Iterator[Finding]:
        if stem.count("?") > 1:
            mend = "ask one thing; make the other an item of its own, or a case"
            yield self.finding(line, "two-questions", f"the stem asks {stem.count('?')} questions", mend)

    def question(self, stem: str, part: Part) -> Iterator[Finding]:
        """The sentence that asks: positive, or its negative word stands out; nothing at its end that gives the answer away."""
        line = part.lines.get("stem", part.line)
        asking = re.split(r"(?<=[.;:!?])\s+", stem.strip())[-1]
        negatives = _NEGATIVE.findall(asking)
        if len(negatives) > 1:
            mend = "ask positively"
            yield self.finding(
                line, "double-negative", f"the question holds two negatives: {', '.join(negatives)}", mend, "error"
            )
        elif negatives and not _stands_out(negatives[0], asking):
            mend = f"ask positively, or write {negatives[0].upper()}"
            yield self.finding(line, "negative-stem", f"the question turns on `{negatives[0]}`, which is easily overread", mend)
        if _ARTICLE.search(stem):
            mend = "end the stem with a question, so that no option fits its grammar better"
            yield self.finding(line, "grammar-cue", "the stem ends in a word that the options must agree with", mend)

    def options(self, stem: str, part: Part) -> Iterator[Finding]:
        written = [option for option in part.options if option.value is None]
        for option in written:
            yield from self.phrase(option)
        yield from self.duplicates(written)
        if not written:
            return
        yield from self.lengths(part, written)
        yield from self.alike(part, written)
        yield from self.cues(stem, part, written)

    def phrase(self, option: OptionText) -> Iterator[Finding]:
        if _ALL.search(option.text):
            mend = "make the kind `choices`, and let each be ticked"
            yield self.finding(option.line, "all-of-the-above", f"the option `{option.text}` joins others", mend, "error")
        if _NONE.search(option.text):
            mend = "write another wrong option"
            yield self.finding(
                option.line, "none-of-the-above", f"the option `{option.text}` tells nothing about its reader", mend
            )

    def duplicates(self, options: list[OptionText]) -> Iterator[Finding]:
        seen: dict[str, OptionText] = {}
        for option in options:
            plain = re.sub(r"[\W_]+", " ", option.text).strip().casefold()
            key = plain if plain else option.text
            if key in seen and _signs(option.text) == _signs(seen[key].text):
                what = f"the option `{option.text}` stands already on line {seen[key].line}"
                yield self.finding(option.line, "duplicate-option", what, "write another", "error")
            seen.setdefault(key, option)

    def lengths(self, part: Part, options: list[OptionText]) -> Iterator[Finding]:
        right = [len(option.text) for option in options if option.right]
        wrong = [len(option.text) for option in options if not option.right]
        if part.kind == "choice" and right and wrong:
            longest, next_longest = right[0], max(wrong)
            if longest > LONGER * next_longest and longest - next_longest > _LEAST_LENGTH:
                what = f"the right option has {longest} letters, the next longest {next_longest}"
                line = next(option.line for option in options if option.right)
                yield self.finding(line, "longest-key", what, "cut it, or say as much in the others")

    def alike(self, part: Part, options: list[OptionText]) -> Iterator[Finding]:
        line = part.lines.get("options", part.line)
        stops = {option.text.endswith(".") for option in options}
        if len(stops) > 1:
            mend = "end all of them alike"
            yield self.finding(line, "mixed-options", "some options end with a stop and some do not", mend)
        numbers = [_NUMBER.match(option.text) for option in options]
        if not all(numbers):
            return
        values = [float(found["number"]) for found in numbers if found]
        units = {(found["unit"] or "").strip() for found in numbers if found}
        if len(units) > 1:
            yield self.finding(line, "mixed-options", f"the options come in {', '.join(sorted(units))}", "give them one unit")
        elif not part.keep_order and len(values) > 1:
            mend = "write them as `value`, which are sorted, or in order with `keep_order: true`"
            yield self.finding(line, "unsorted-options", "numbers are shuffled", mend)
        elif values not in (sorted(values), sorted(values, reverse=True)):
            yield self.finding(line, "unsorted-options", "numbers do not stand in order", "sort them")

    def cues(self, stem: str, part: Part, options: list[OptionText]) -> Iterator[Finding]:
        if part.kind != "choice":
            return
        right = next((option for option in options if option.right), None)
        wrong = [option for option in options if not option.right]
        if right is None or not wrong:
            return
        words = {word.casefold() for word in _WORD.findall(stem)} & {word.casefold() for word in _WORD.findall(right.text)}
        words -= {word.casefold() for option in wrong for word in _WORD.findall(option.text)}
        if words:
            what = f"`{min(words)}` stands in the stem and in the right option alone"
            yield self.finding(right.line, "word-cue", what, "use the word in a wrong option too, or nowhere")
        absolute = [option for option in wrong if _ABSOLUTE.search(option.text)]
        if absolute and len(absolute) == len(wrong) and not _ABSOLUTE.search(right.text):
            what = "every wrong option holds an absolute word, the right one none"
            yield self.finding(absolute[0].line, "absolute-cue", what, "take such words out, or use them in the right option too")


def _stands_out(word: str, text: str) -> bool:
    return word.isupper() or re.search(rf"[*_]{re.escape(word)}[*_]", text) is not None


def _signs(text: str) -> str:
    """The signs that tell texts apart when letters do not: `+5` and `-5`, `<` and `>`."""
    return re.sub(r"[^-+−<>=≤≥/×·]", "", text)


def check_bank(items: list[Item]) -> Iterator[Finding]:
    """What only shows over a bank's choice items: whether the right option gives itself away by its length."""
    choices = [
        item for item in items if item.kind == "choice" and item.parts[0].options and item.parts[0].options[0].value is None
    ]
    longest = [item for item in choices if _right_is_longest(item.parts[0])]
    if len(choices) >= 8 and 2 * len(longest) > len(choices):
        what = f"in {len(longest)} of {len(choices)} choice items of the bank the right option is the longest"
        yield Finding(choices[0].file, 0, "longest-keys", what, "cut right options, or say as much in wrong ones", "warning")


def _right_is_longest(part: Part) -> bool:
    right = max((len(option.text) for option in part.options if option.right), default=0)
    return right > max((len(option.text) for option in part.options if not option.right), default=0)
