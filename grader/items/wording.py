"""
How questions are worded: what a program can look for of the trade's rules of item writing.

The rules are those of Haladyna, Downing and Rodriguez (Applied Measurement in Education 15(3), 2002, 309-334), in our own words;
whether a stem is fair, important and at the right level only people can say. A warning that is meant is waived in the item, with
its reason.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from math import isclose

from grader.base.findings import Finding, Level
from grader.items.model import Item, OptionText, Part

STEM_WORDS = 60
LONGER = 1.3
SAME_WORDS = 3
_LEAST_LENGTH = 12  # letters of difference below which nobody sees that an option is longer

_ALL = re.compile(
    r"\b(?:all|each|any) of (?:the )?(?:above|these|them|those)\b|\b(?:both|either) (?:\(?[a-h]\)?) (?:and|or) \(?[a-h]\)?\b",
    re.I,
)
_NONE = re.compile(r"\b(?:none|neither|no one) of (?:the )?(?:above|these|them|those)\b", re.I)
_NEGATIVE = re.compile(
    r"\b(?:not|except|never|cannot|can't|isn't|doesn't|don't|won't)\b|\bno\b(?!\.)|"
    r"\bleast (?:likely|probable|suitable|useful|important|affected)\b",
    re.I,
)
_ABSOLUTE = re.compile(r"\b(?:always|never|only|all|every|must|none|completely)\b", re.I)
_ARTICLE = re.compile(r"\b(?:a|an|is|are)\s*:?\s*$", re.I)
_NUMBER = re.compile(r"^\s*[-+−]?(?P<number>\d+(?:\.\d+)?)\s*(?P<unit>[^\d\s.,;:(]\S*)?$")
_SPAN = re.compile(r"^\D*(?P<low>\d+(?:\.\d+)?)[^\d.]*?(?: to |–|-| and )\s*(?P<high>\d+(?:\.\d+)?)\D*$")
_COUNTS = {"one": 1, "two": 2, "both": 2, "three": 3, "four": 4, "five": 5}
_WORD = re.compile(r"[A-Za-zÀ-ÿ]{5,}")


def check_wording(item: Item) -> Iterator[Finding]:
    """Everything in an item's wording that a rule speaks against."""
    rules = _Rules(item)
    yield from rules.stem()
    for part in item.parts:
        stem = part.stem if part.name else item.stem
        if part.name:
            yield from rules.asks_one_thing(part.stem, part.lines.get("stem", part.line))
        yield from rules.alternative(stem, part)
        if part.kind in {"choice", "choices"} and part.options:
            yield from rules.question(stem, part)
            yield from rules.options(stem, part)
            yield from rules.counted(stem, part)


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
        yield from self.beginnings(part, written)
        yield from self.alike(part, written)
        yield from self.spans(written)
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

    def beginnings(self, part: Part, options: list[OptionText]) -> Iterator[Finding]:
        """Words that every option begins with belong into the stem; a right option that begins unlike all others stands out."""
        line = part.lines.get("options", part.line)
        first = [plain_words(option.text)[:SAME_WORDS] for option in options]
        if len(options) > 1 and len(first[0]) == SAME_WORDS and all(words == first[0] for words in first):
            what = f"every option begins with `{' '.join(first[0])}`"
            yield self.finding(line, "repeated-words", what, "move the words into the stem")
        right = [option for option in options if option.right]
        wrong = {_beginning(option.text) for option in options if not option.right}
        if part.kind == "choice" and len(right) == 1 and len(options) > 2 and len(wrong) == 1:
            begins, others = _beginning(right[0].text), wrong.pop()
            if begins != others:
                what = f"the right option begins with {begins}, every other with {others}"
                yield self.finding(right[0].line, "odd-option", what, "let a wrong one begin so too, or all alike")

    def spans(self, options: list[OptionText]) -> Iterator[Finding]:
        """Ranges of numbers that lie over each other: a value in both would make two options right."""
        found = [(option, _SPAN.match(option.text)) for option in options]
        if not all(span for _, span in found):
            return
        ends = sorted((float(span["low"]), float(span["high"]), option.line, option.text) for option, span in found if span)
        for before, after in pairwise(ends):
            if after[0] < before[1]:
                what = f"`{after[3]}` lies partly over `{before[3]}`"
                yield self.finding(after[2], "overlapping-options", what, "let each begin where the one before ends")

    def counted(self, stem: str, part: Part) -> Iterator[Finding]:
        """`Which two …` and three right options: one of the two is a slip of the author."""
        asked = re.search(r"\b(?:which|what|name|tick|choose|mark|pick) (?:the )?(one|two|both|three|four|five)\b", stem, re.I)
        right = sum(1 for option in part.options if option.right)
        if part.kind == "choices" and asked and _COUNTS[asked[1].casefold()] != right:
            line = part.lines.get("options", part.line)
            what = f"the stem asks for {asked[1]}, and {right} options are right"
            yield self.finding(line, "wrong-number-asked", what, "mend the stem or the options", "error")

    def alternative(self, stem: str, part: Part) -> Iterator[Finding]:
        """A figure's text alternative says what there is to see, and not what is asked: a listener would have the answer."""
        figure = self.item.figure
        if figure is None:
            return
        said = set(_long_words(figure.alt))
        wrong = {word for option in part.options if not option.right for word in _long_words(option.text)}
        for option in part.options:
            telling = set(_long_words(option.text)) - wrong - set(_long_words(stem))
            if option.right and telling and telling <= said:
                what = f"the figure's text alternative says `{' '.join(sorted(telling))}`, as the right option alone does"
                yield self.finding(figure.line, "alternative-tells", what, "say what is seen without the answer")
        if part.answer is not None and not self.item.given and not part.answer.value.expression.names:
            value = part.answer.unit.from_si(part.answer.value.expression.evaluate({}))
            if any(isclose(value, float(number), rel_tol=1e-3) for number in re.findall(r"\d+(?:\.\d+)?", figure.alt)):
                what = "the figure's text alternative holds the number that is asked"
                yield self.finding(figure.line, "alternative-tells", what, "say what is seen without the answer")

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
        elif len({len(found["number"].partition(".")[2]) for found in numbers if found}) > 1:
            yield self.finding(line, "mixed-options", "the options have different decimals", "print all to the same decimal")
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


def plain_words(text: str) -> list[str]:
    """
    The words of a text, small letters only.

    >>> plain_words("The plate's edge: shut.")
    ['the', "plate's", 'edge', 'shut']
    """
    return [word.casefold() for word in re.findall(r"[\w{}'-]+", text)]


def _long_words(text: str) -> list[str]:
    return [word for word in plain_words(text) if len(word) > 3]


_BEGINNINGS = {
    **dict.fromkeys(("a", "an", "the", "one"), "an article"),
    **dict.fromkeys(("it", "they", "he", "you"), "a pronoun"),
    **dict.fromkeys(("because", "since", "so", "as"), "a reason"),
    **dict.fromkeys(("yes", "no"), "yes or no"),
    "to": "`to`",
}


def _beginning(text: str) -> str:
    """What kind of word a text begins with, as far as that shows."""
    first = (plain_words(text) or [""])[0]
    if first[:1].isdigit():
        return "a number"
    return _BEGINNINGS.get(first, "a word of another kind")


def _stands_out(word: str, text: str) -> bool:
    return word.isupper() or re.search(rf"[*_]{re.escape(word)}[*_]", text) is not None


def _signs(text: str) -> str:
    """The signs that tell texts apart when letters do not: `+5` and `-5`, `<` and `>`."""
    return re.sub(r"[^-+−<>=≤≥/×·]", "", text)
