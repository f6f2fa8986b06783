"""The fields of every course file, each with what it is for: `shapes` checks by them and makes the schemas from them."""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from grader.base.errors import UseError
from grader.base.quantities import Quantity, read_quantity, unit
from grader.circuits.drills import drill_inches
from grader.items.instruments.catalog import INSTRUMENTS
from grader.items.shapes import Either, Field, Listed, Named, OneOf, Record, Shape, Word
from grader.items.yamlfile import short
from grader.relations.tree import FUNCTIONS

TEXT_LIMIT = 4000
LARGEST = 1e30
ID = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")
OBJECTIVE = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*\.[1-9][0-9]?")
_URI = re.compile(r"[a-z][a-z0-9+.-]*:[^\s<>\"{}|\\^`]+")


def _text(text: str) -> str:
    if len(text) > TEXT_LIMIT:
        raise UseError(f"a text of {len(text):,} letters; keep it under {TEXT_LIMIT:,}")
    return text.strip()


def _pattern(pattern: re.Pattern[str], example: str, most: int = 80) -> Word:
    def read(text: str) -> str:
        if len(text) > most or not pattern.fullmatch(text):
            raise UseError(f"`{short(text)}` is not written as such names are; write it like `{example}`")
        return text

    return Word(f"a name like `{example}`", "bad-name", read, pattern=f"^(?:{pattern.pattern})$")


def read_number(text: str) -> Decimal:
    """
    A plain decimal number, not negative.

    >>> read_number("1.5")
    Decimal('1.5')
    """
    try:
        number = Decimal(text) if re.fullmatch(r"\d{1,6}(?:\.\d{1,6})?", text) else Decimal("NaN")
    except InvalidOperation as error:  # pragma: no cover: the pattern lets no such text pass
        raise UseError(f"`{short(text)}` is not a number") from error
    if number.is_nan():
        raise UseError(f"`{short(text)}` is not a plain number; write it as `2` or `1.5`")
    return number


def read_size(text: str) -> Quantity:
    """
    A quantity that a float can carry.

    >>> read_size("0.089 in").written
    '0.089'
    """
    found = read_quantity(text)
    try:
        sizes = float(found.number), found.si
    except OverflowError as error:
        raise UseError(f"`{short(text)}` is larger than anything that can be measured") from error
    if any(abs(size) > LARGEST for size in sizes):
        raise UseError(f"`{short(text)}` is larger than anything that can be measured")
    return found


def read_size_or_drill(text: str) -> Quantity:
    """
    A quantity that a float can carry, or the bore that a numbered drill makes.

    >>> read_size_or_drill("0.089 in").written, read_size_or_drill("#54").written
    ('0.089', '0.055')
    """
    if not text.startswith("#"):
        return read_size(text)
    inches = drill_inches(text)
    return Quantity(inches, Fraction(inches), unit("in"))


def read_whole(text: str) -> int:
    """
    A whole number from 0 to 9999.

    >>> read_whole("3")
    3
    """
    if not re.fullmatch(r"[0-9]{1,4}", text):
        raise UseError(f"`{short(text)}` is not a whole number; write it as `3`")
    return int(text)


def read_share(text: str) -> Fraction:
    """
    A share of a whole, 0 to 1, written in percent or as a plain number.

    >>> read_share("60 %"), read_share("0.6") == read_share("60 %")
    (Fraction(3, 5), True)
    """
    found = read_size(text)
    share = found.number * found.unit.factor
    if found.unit.name not in {"%", "1"} or not 0 <= share <= 1:
        raise UseError(f"`{short(text)}` is not a share from 0 % to 100 %; write it as `60 %`")
    return share


def read_range(text: str) -> tuple[Quantity, Quantity]:
    """
    A least and a greatest value: ``1 mm^2 to 5 mm^2``; one unit, behind the second, serves for both.

    >>> [end.shown for end in read_range("1 to 5 deg")]
    ['1°', '5°']
    """
    first, between, second = text.partition(" to ")
    if not between:
        raise UseError(f"`{short(text)}` is not a range; write it as `1 mm^2 to 5 mm^2`")
    high = read_size(second)
    low = read_size(first)
    if low.unit.name == "1" and high.unit.name != "1":
        low = Quantity(low.written, low.number, high.unit)
    if low.unit.kind != high.unit.kind:
        raise UseError(f"`{short(text)}` runs from a {low.unit.kind} to a {high.unit.kind}; give both ends in one kind of unit")
    if low.si >= high.si:
        raise UseError(f"`{short(text)}` does not rise; write the smaller value first")
    return low, high


def read_minutes(text: str) -> float:
    """
    A time in minutes; a number without a unit is minutes.

    >>> read_minutes("1.5 h"), read_minutes("2")
    (90.0, 2.0)
    """
    found = read_size(text)
    if found.unit.kind not in {"time", "ratio"} or found.unit.name == "%":
        raise UseError(f"`{short(text)}` is not a time; write it as `60 min`")
    minutes = float(found.number * found.unit.factor / 60) if found.unit.kind == "time" else float(found.number)
    if not 0 < minutes <= 1440:
        raise UseError(f"`{short(text)}` is not a time from 0 to 24 h; write it as `60 min`")
    return minutes


def read_years(text: str) -> float:
    """
    How long something is good, in years.

    >>> read_years("3 years"), read_years("18 months")
    (3.0, 1.5)
    """
    found = re.fullmatch(r"(\d{1,2}) (year|month)s?", text)
    if found is None or int(found[1]) == 0:
        raise UseError(f"`{short(text)}` is not a time in years or months; write it as `3 years`")
    return int(found[1]) / (1 if found[2] == "year" else 12)


def _uri(text: str) -> str:
    if len(text) > 200 or not _URI.fullmatch(text):
        raise UseError(f"`{short(text)}` is not a URI; write it as `https://school.example/`")
    return text


def _language(text: str) -> str:
    if not re.fullmatch(r"[a-z]{2,3}(?:-[A-Za-z0-9]{2,8})*", text):
        raise UseError(f"`{short(text)}` is not a language tag; write it as `en-GB`")
    return text


def _expression(text: str) -> str:
    if len(text) > 400:
        raise UseError(f"an expression of {len(text)} letters; part it with `let`")
    return text


# Words that expressions use for themselves.
RESERVED_NAMES = frozenset({"pi", "and", "or", "not", "if", "else", *FUNCTIONS})

TEXT = Word("a text", "bad-text", _text, ("string", "number"))
EXPRESSION = Word("an expression", "expression", _expression, ("string", "number"))
QUANTITY = Word("a number with its unit", "bad-quantity", read_size, ("string", "number"))
QUANTITY_OR_DRILL = Word("a number with its unit", "bad-quantity", read_size_or_drill, ("string", "number"))
UNIT = Word("a unit", "unknown-unit", unit, ("string", "number"))
NUMBER = Word("a plain number", "bad-number", read_number, ("number", "string"))
WHOLE = Word("a whole number", "bad-number", read_whole, ("integer", "string"))
SHARE = Word("a share", "bad-share", read_share, ("string", "number"))
RANGE = Word("a range", "bad-range", read_range)
MINUTES = Word("a time", "bad-time", read_minutes, ("string", "number"))
YEARS = Word("a time in years", "bad-time", read_years)
YES_NO = OneOf(("true", "false"), ("boolean",))
TEXTS = Listed(TEXT, 1)
LEVEL = OneOf(("R", "E", "C", "D", "P"))
BANKS = ("exam", "practice")
ITEM_ID = _pattern(ID, "power-open-area")
FILE_ID = _pattern(ID, "module-main-power")
CIRCUIT = _pattern(ID, "power", 40)
OBJECTIVE_ID = _pattern(OBJECTIVE, "power.1")
FIGURE_NAME = _pattern(ID, "rod-in-jet")
RELATION = _pattern(NAME, "open_area")
PART_NAME = _pattern(NAME, "depression")

GRID = Record(
    "a range of a given value",
    {
        "from": Field(QUANTITY, "the least value, as printed: 0.089 in", needed=True),
        "to": Field(QUANTITY, "the greatest value, in the same unit", needed=True),
        "step": Field(QUANTITY, "the distance between neighbours; it also says how many decimals are printed", needed=True),
    },
)
PICK = Record(
    "a choice of given values",
    {
        "pick": Field(
            Listed(QUANTITY_OR_DRILL, 1),
            "the values to draw from, as printed, all in one unit; or drills in quotes, '#54', which stand for their bores",
            needed=True,
        )
    },
)
SPECIMEN_ID = _pattern(re.compile(r"[A-Z][A-Za-z0-9]{0,7}-[1-9][0-9]{0,3}"), "T-1", 20)
FROM_SPECIMEN = Record(
    "a value of a specimen",
    {
        "specimen": Field(
            Either(SPECIMEN_ID, Listed(SPECIMEN_ID, 2, 20)),
            "the specimen, T-1, or a list to draw one from; all givens with the same list draw the same one. Alone it gives the "
            "specimen's name, to be printed",
            needed=True,
        ),
        "value": Field(
            TEXT,
            "a value of its sheet (main_jet; of a list with its place: rod_steps 3 diameter), or one computed at a `point`: "
            "vacuum, air, fuel, air_fuel, lambda, rod_lift, speed",
        ),
        "point": Field(TEXT, "the operating point of the sheet at which it is computed: heavy load"),
        "fault": Field(TEXT, "the fault that the carburetor then has, by its name in `grader curves --faults`"),
        "altitude": Field(TEXT, "how high it then is: 4000 ft; sea level if left out"),
        "figures": Field(WHOLE, "how many significant figures of it are printed, and used; 3 if left out"),
    },
)
GIVEN = Either(QUANTITY, records=(GRID, PICK, FROM_SPECIMEN))
LET = Either(
    EXPRESSION,
    records=(
        Record(
            "a value in between",
            {
                "value": Field(EXPRESSION, "the expression, over what is given and the lines above", needed=True),
                "unit": Field(UNIT, "the unit in which the working prints it"),
            },
        ),
    ),
)
WITHIN = "how far an answer may be off: a share (2 %) or an amount with its unit (0.5 mm)"


def _answer(within: Field) -> Record:
    return Record(
        "an answer",
        {
            "value": Field(EXPRESSION, "the expression that gives the number, over what is given", needed=True),
            "unit": Field(UNIT, "the unit of the answer: mm^2; 1 for a plain number", needed=True),
            "within": within,
            "plausible": Field(RANGE, "the least and the greatest value that such a part can have: 1 mm^2 to 5 mm^2"),
        },
    )


ANSWER = _answer(Field(QUANTITY, f"{WITHIN}; where an instrument is read, the scale's own if left out"))
"""The answer of an item: only a reading may leave `within` out, which `item_file` and the schema of its kind hold."""
PART_ANSWER = _answer(Field(QUANTITY, WITHIN, needed=True))
SLIP = Record(
    "a slip",
    {
        "value": Field(EXPRESSION, "the expression that the mistake computes", needed=True),
        "says": Field(TEXT, "what to tell whoever made the mistake", needed=True),
    },
)
OPTION = Either(
    TEXT,
    records=(
        Record(
            "an option",
            {
                "text": Field(TEXT, "the option as printed", needed=True),
                "right": Field(YES_NO, "true for a right option"),
                "says": Field(TEXT, "what to tell whoever took it"),
            },
        ),
        Record(
            "a computed option",
            {
                "value": Field(EXPRESSION, "the expression that gives the number printed", needed=True),
                "unit": Field(UNIT, "the unit it is printed in", needed=True),
                "figures": Field(WHOLE, "how many significant figures are printed; 3 if left out"),
                "right": Field(YES_NO, "true for a right option"),
                "says": Field(TEXT, "what to tell whoever took it"),
            },
        ),
    ),
)
ROW = Record(
    "a row",
    {
        "text": Field(TEXT, "what is to be matched", needed=True),
        "match": Field(TEXT, "what matches it", needed=True),
    },
)
FIGURE = Record(
    "a figure",
    {
        "name": Field(FIGURE_NAME, "the figure's file in lessons/figures, without .svg", needed=True),
        "alt": Field(TEXT, "what the figure shows, in words that do not give the answer away", needed=True),
    },
)
_SCALES = "; ".join(f"{kind}: {', '.join(one.scales)}" for kind, one in INSTRUMENTS.items())
INSTRUMENT = Record(
    "an instrument",
    {
        "kind": Field(OneOf(tuple(INSTRUMENTS)), "which instrument is drawn", needed=True),
        "scale": Field(TEXT, f"which of its scales is drawn ({_SCALES})", needed=True),
        "shows": Field(EXPRESSION, "what it shows, over what is given; the answer may be another value", needed=True),
    },
)

_ASKED: dict[str, Field] = {
    "points": Field(NUMBER, "what it is worth; 1 if left out"),
    "answer": Field(ANSWER, "the number wanted"),
    "slips": Field(Listed(SLIP, 1, 20), "known wrong ways to a number"),
    "options": Field(Listed(OPTION, 2, 8), "what to choose from; shuffled for each paper, computed ones sorted"),
    "keep_order": Field(YES_NO, "true where the options must stand as written"),
    "entries": Field(Listed(TEXT, 3, 10), "what to put in order, written in the right order"),
    "rows": Field(Listed(ROW, 2, 10), "what to match"),
    "extra": Field(TEXTS, "options that match no row"),
    "hint": Field(TEXT, "a nudge that practice shows on request; never printed on an examination paper"),
    "working": Field(TEXT, "the words before the worked answer"),
}


def _case(needed: str, allowed: str = "") -> tuple[frozenset[str], frozenset[str]]:
    return frozenset(needed.split()), frozenset(allowed.split())


_CASES = {
    "numeric": _case("answer", "slips points figure"),
    "choice": _case("options", "keep_order points figure"),
    "choices": _case("options", "keep_order points figure"),
    "order": _case("entries", "points figure"),
    "match": _case("rows", "extra points figure"),
    "reading": _case("instrument answer", "slips points"),
}
PART = Record(
    "a part",
    {
        "name": Field(PART_NAME, "a name by which later parts use this part's answer", needed=True),
        "kind": Field(OneOf(("numeric", "choice")), "how it is answered", needed=True),
        "stem": Field(TEXT, "what is asked", needed=True),
        **{name: _ASKED[name] for name in ("points", "answer", "slips", "options", "keep_order", "hint", "working")},
        "answer": Field(PART_ANSWER, "the number wanted"),
    },
    by="kind",
    cases={name: _CASES[name] for name in ("numeric", "choice")},
)
ITEM = Record(
    "an item",
    {
        "id": Field(ITEM_ID, "the item's name: circuit-what, never used again for another", needed=True),
        "objective": Field(OBJECTIVE_ID, "the objective it tests", needed=True),
        "kind": Field(OneOf((*_CASES, "case")), "how it is answered", needed=True),
        "stem": Field(
            TEXT, "what is asked; {name} prints a given value, {name:mm^2:3} a computed one in a unit, to 3 figures", needed=True
        ),
        "given": Field(Named(GIVEN, NAME, "names like `jet_bore`"), "the values that the stem states"),
        "let": Field(Named(LET, NAME, "names like `ring_area`"), "values in between, each over what stands above it"),
        "require": Field(
            Either(EXPRESSION, Listed(EXPRESSION, 1)), "what must hold; values that do not fulfil it are drawn again"
        ),
        "figure": Field(FIGURE, "a figure of the course"),
        "instrument": Field(INSTRUMENT, "the instrument that is read, drawn for each variant with what it shows"),
        **_ASKED,
        "parts": Field(Listed(PART, 2, 12), "the parts of a case; later parts may use the names of earlier ones"),
        "minutes": Field(MINUTES, "how long it should take; 2 if left out"),
        "difficulty": Field(SHARE, "the share of candidates expected to get it right; 60 % if left out"),
        "note": Field(TEXT, "for authors: sources, reasons; printed nowhere"),
        "waive": Field(
            Named(TEXT, ID, "names of faults, as findings print them in brackets"),
            "warnings that are meant, each with its reason",
        ),
    },
    by="kind",
    cases={**_CASES, "case": _case("parts", "figure")},
)
MOST_ITEMS = 2000
ITEMS: Shape = Listed(ITEM, 0, MOST_ITEMS)

BLUEPRINT = Record(
    "a blueprint",
    {
        "id": Field(FILE_ID, "the blueprint's name, the same as its file's", needed=True),
        "title": Field(TEXT, "what the paper is called", needed=True),
        "time": Field(MINUTES, "the working time", needed=True),
        "bank": Field(OneOf(BANKS), "exam, the default; practice for a quiz of open items, which earns no certificate"),
        "aids": Field(TEXTS, "what a candidate may use"),
        "formulas": Field(Listed(RELATION, 1), "relations for the paper's annex, by name"),
        "cautions": Field(TEXTS, "what must be minded where a bench or fuel is near"),
        "stations": Field(Listed(FILE_ID, 1, 20), "bench stations that belong to the sitting, by the names of their files"),
        "draw": Field(
            Listed(
                Record(
                    "a draw",
                    {
                        "objective": Field(OBJECTIVE_ID, "an objective to draw from"),
                        "circuit": Field(CIRCUIT, "a circuit to draw from"),
                        "level": Field(LEVEL, "only objectives of this level of the circuit"),
                        "kinds": Field(Listed(OneOf((*_CASES, "case")), 1, 7), "only items of these kinds; any if left out"),
                        "items": Field(WHOLE, "how many items", needed=True),
                    },
                ),
                1,
            ),
            "what the paper holds, in the order of the paper",
            needed=True,
        ),
        "pass": Field(
            Record(
                "a pass rule",
                {
                    "cut": Field(SHARE, "the share of all points that passes", needed=True),
                    "each_circuit": Field(SHARE, "the share that each circuit must reach"),
                    "each_station": Field(
                        SHARE,
                        "the share of its points that each station must reach, besides every critical step; "
                        "where it is left out, stations are assessed and do not count",
                    ),
                    "set_by": Field(TEXT, "how the cut was set: method, judges, date; kept with every decision"),
                },
            ),
            "who passes",
            needed=True,
        ),
        "certificate": Field(
            Record(
                "a certificate",
                {
                    "name": Field(TEXT, "what is certified", needed=True),
                    "description": Field(TEXT, "what its holder can do", needed=True),
                    "criteria": Field(TEXT, "how it is earned", needed=True),
                    "valid": Field(YEARS, "how long it is good: 3 years; without end if left out"),
                },
            ),
            "what a pass earns",
        ),
    },
)

COURSE = Record(
    "a course",
    {
        "title": Field(TEXT, "what the course is called", needed=True),
        "language": Field(Word("a language tag", "bad-name", _language), "the language it is written in: en-GB", needed=True),
        "school": Field(
            Record(
                "a school",
                {
                    "name": Field(TEXT, "the school's name", needed=True),
                    "id": Field(Word("a URI", "bad-uri", _uri), "a URI that stands for the school", needed=True),
                    "place": Field(TEXT, "where it is"),
                },
            ),
            "who teaches and examines",
            needed=True,
        ),
        "notice": Field(TEXT, "what every page says at its foot"),
    },
)

FRONT_MATTER = Record(
    "a lesson's head",
    {
        "title": Field(TEXT, "the lesson's title", needed=True),
        "circuit": Field(CIRCUIT, "the circuit, the same as the file's name; left out on a page that teaches none"),
        "order": Field(WHOLE, "the lesson's place in the course", needed=True),
        "objectives": Field(
            Named(
                Record(
                    "an objective",
                    {
                        "level": Field(LEVEL, "R recall, E explain, C compute, D diagnose, P practical", needed=True),
                        "says": Field(TEXT, "what the learner shall be able to do", needed=True),
                    },
                ),
                OBJECTIVE,
                "ids of objectives like `power.1`",
            ),
            "what the lesson teaches",
        ),
    },
)
