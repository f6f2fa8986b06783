"""A key made by hand, as a paper of the power circuit would carry it, and a short way to ask for a number."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from grader.marking.key import Case, Key, Numeric, read_key, unit_entries

# A rod step of 0.067 in in a jet of 0.095 in: 2.413 and 1.7018 mm; pi/4*(5.822569 - 2.89612324) = 2.298425 mm² (plane geometry).
# The whole jet: pi/4*5.822569 = 4.573035 mm². A disc of the difference of the diameters, 0.7112 mm: 0.397258 mm².
OPEN_AREA = {
    "kind": "numeric",
    "item": "power-open-area",
    "objective": "power.1",
    "circuit": "power",
    "number": "1",
    "points": "2",
    "stem": "A step of 0.067 in stands in a jet of 0.095 in. What area is left for fuel?",
    "answer": {"value": "2.298425", "low": "2.2525", "high": "2.3444", "unit": "mm^2", "shown": "2.298 mm²", "within": "2 %"},
    "slips": [
        {"value": "4.573035", "low": "4.4816", "high": "4.6645", "says": "That is the whole jet. Take away the rod's own area."},
        {"value": "0.397258", "low": "0.3893", "high": "0.4052", "says": "Subtract areas, not diameters."},
    ],
    "plausible": ["1", "5"],
}

CHOICE = {
    "kind": "choice",
    "item": "power-why",
    "objective": "power.2",
    "circuit": "power",
    "number": "2",
    "points": "1",
    "stem": "The rod's spring is cut short. When does the mixture become rich?",
    "options": [
        {"letter": "a", "text": "At a lower vacuum than before"},
        {"letter": "b", "text": "Never", "says": "The rod still lifts, only later."},
        {"letter": "c", "text": "At a higher vacuum than before"},
    ],
    "right": "a",
}

CHOICES = {
    "kind": "choices",
    "item": "power-signs",
    "objective": "power.3",
    "circuit": "power",
    "number": "3",
    "points": "3",
    "stem": "What points to a power circuit that stays open?",
    "options": [
        {"letter": "a", "text": "Black smoke at cruise"},
        {"letter": "b", "text": "A cold engine that starts well", "says": "That is the choke's work."},
        {"letter": "c", "text": "Sooty plugs"},
        {"letter": "d", "text": "High fuel use"},
    ],
    "right": ["a", "c", "d"],
}

# Flow through that jet: 0.8 * A * sqrt(2 * 740 kg/m³ * 3000 Pa) = 0.8 * 2.298425e-6 * 2107.131 = 3.874462e-3 kg/s (Bernoulli).
# Air 56 g/s over fuel 3.874462 g/s = 14.45362.
FLOW = ["*", ["*", 0.8, ["name", "open_area"]], ["sqrt", ["*", ["*", 2, ["name", "density"]], ["name", "depression"]]]]
CASE = {
    "kind": "case",
    "item": "power-jet-flow",
    "objective": "power.1",
    "circuit": "power",
    "number": "4",
    "points": "6",
    "stem": "3 kPa draw gasoline of 740 kg/m³ through a jet of 0.095 in round a step of 0.067 in. The engine takes 56 g/s.",
    "parts": [
        {
            "kind": "numeric",
            "part": "a",
            "points": "1",
            "stem": "What area is left for fuel?",
            "answer": OPEN_AREA["answer"],
            "slips": OPEN_AREA["slips"],
            "plausible": ["1", "5"],
        },
        {
            "kind": "numeric",
            "part": "b",
            "points": "2",
            "stem": "What mass of fuel passes?",
            "answer": {
                "value": "3.874462",
                "low": "3.797",
                "high": "3.952",
                "unit": "g/s",
                "shown": "3.874 g/s",
                "within": "2 %",
            },
            "slips": [
                {
                    "value": "2.739658",
                    "low": "2.6848",
                    "high": "2.7945",
                    "says": "Twice the pressure stands under the root.",
                    "tree": [
                        "*",
                        ["*", 0.8, ["name", "open_area"]],
                        ["sqrt", ["*", ["name", "density"], ["name", "depression"]]],
                    ],
                }
            ],
            "follow": {
                "tree": FLOW,
                "values": {"density": 740.0, "depression": 3000.0},
                "takes": {"open_area": "a"},
                "within": "2 %",
            },
        },
        {
            "kind": "choice",
            "part": "c",
            "points": "1",
            "stem": "The step is worn thinner. The mixture becomes …",
            "options": [
                {"letter": "a", "text": "richer"},
                {"letter": "b", "text": "leaner", "says": "A thinner step leaves more area."},
            ],
            "right": "a",
        },
        {
            "kind": "numeric",
            "part": "d",
            "points": "2",
            "stem": "What is the ratio of air to fuel?",
            "answer": {"value": "14.45362", "low": "14.1645", "high": "14.7427", "unit": "1", "shown": "14.45", "within": "2 %"},
            "follow": {
                "tree": ["/", ["name", "air_flow"], ["name", "fuel_flow"]],
                "values": {"air_flow": 0.056},
                "takes": {"fuel_flow": "b"},
                "within": "2 %",
            },
        },
    ],
}

ORDER = {
    "kind": "order",
    "item": "power-order",
    "objective": "power.4",
    "circuit": "power",
    "number": "5",
    "points": "2",
    "stem": "Put in order, from the air horn down.",
    "entries": [{"letter": letter, "text": f"entry {letter}"} for letter in "abcde"],
    "right": ["a", "b", "c", "d", "e"],
}

MATCH = {
    "kind": "match",
    "item": "power-match",
    "objective": "power.4",
    "circuit": "power",
    "number": "6",
    "points": "3",
    "stem": "Which part does what?",
    "rows": [{"number": "1", "text": "spring"}, {"number": "2", "text": "rod"}, {"number": "3", "text": "piston"}],
    "options": [{"letter": letter, "text": f"work {letter}"} for letter in "abcd"],
    "right": {"1": "c", "2": "a", "3": "b"},
}

TEMPERATURE = {
    "kind": "reading",
    "item": "power-thermometer",
    "objective": "power.5",
    "circuit": "power",
    "number": "7",
    "points": "1",
    "stem": "Read the thermometer.",
    "rule": "Read to the nearest line; an answer within 1 °F is right.",
    "answer": {"value": "72", "low": "71", "high": "73", "unit": "degF", "shown": "72 °F", "within": "1 dF"},
}

QUESTIONS = [OPEN_AREA, CHOICE, CHOICES, CASE, ORDER, MATCH, TEMPERATURE]

PERFECT = {
    "1": "2.30 mm²",
    "2": "a",
    "3": "a c d",
    "4a": "2.298 mm2",
    "4b": "3,87 g/s",
    "4c": "(A)",
    "4d": "14.5:1",
    "5": "abcde",
    "6": "1-c 2-a 3-b",
    "7": "72°",
}


@pytest.fixture(scope="session")
def key() -> Key:
    """The key of paper 7M2KQ8D4XV."""
    return read_key(
        msgspec.json.encode(
            {
                "form": "grader-key-1",
                "sitting": "spring-1",
                "paper": "7M2KQ8D4XV",
                "candidate": "c-01",
                "blueprint": "module-power",
                "bank": "0" * 64,
                "nonce": "1" * 64,
                "units": unit_entries(),
                "questions": QUESTIONS,
            }
        )
    )


@pytest.fixture(scope="session")
def perfect() -> dict[str, str]:
    """What somebody writes who knows it all."""
    return dict(PERFECT)


@pytest.fixture(scope="session")
def warming() -> Case:
    """A case with offsets and an absolute tolerance: bowl at 20 °C, ten kelvin warmer, then the same again."""

    def part(letter: str, value: str, low: str, high: str, slips: Any = (), take: str = "") -> dict[str, Any]:
        answer = {"value": value, "low": low, "high": high, "unit": "degC", "shown": "", "within": "0.5 degC"}
        tree = ["+", ["name", "before"], 10]
        follow = {"tree": tree, "values": {}, "takes": {"before": take}, "within": "0.5 degC"} if take else None
        about = {"kind": "numeric", "part": letter, "points": "1", "stem": "?", "answer": answer}
        return about | {"slips": slips, "follow": follow}

    slips = [
        {"value": "50", "low": "49", "high": "51", "says": "a slip from the key's value"},
        {"value": "10", "low": "10", "high": "10", "says": "a slip from the own value", "tree": ["-", ["name", "before"], 10]},
    ]
    parts = [part("a", "20", "19", "21"), part("b", "30", "29.5", "30.5", slips, "a"), part("c", "40", "39.5", "40.5", (), "b")]
    about = {"kind": "case", "item": "i", "objective": "o.1", "circuit": "o", "points": "3", "stem": "?"}
    return msgspec.convert(about | {"parts": parts}, Case)


@pytest.fixture(scope="session")
def number_question() -> Any:
    """A question that asks for one number: ``number_question("19.4", "19.012", "19.788", "mm")``."""

    def asked(value: str, low: str, high: str, unit: str, slips: Any = (), plausible: Any = None, points: str = "1") -> Numeric:
        answer = {"value": value, "low": low, "high": high, "unit": unit, "shown": value, "within": "2 %"}
        fields = {"kind": "numeric", "item": "i", "objective": "o.1", "circuit": "o", "points": points, "stem": "?"}
        return msgspec.convert(fields | {"answer": answer, "slips": slips, "plausible": plausible}, Numeric)

    return asked
