"""
Bench stations in the register: sealed as they were when the sitting was held, and what assessors saw held against that.

A station's sheet is sealed into the sitting as a key is: steps, which of them are critical, what a reading may be. In ten years a
reading is judged by what lay on the bench that day.

Assessors tick; nothing here ticks for them. What a tick cannot settle by itself stays open until a person settles it:

- two assessors ticked a step differently (*disputed*);
- a step is ticked done, and its reading lies outside the sheet's range, cannot be read, or is missing (*doubtful*);
- nobody ticked it (*open*).

Such a step can go either way, so a station has a least and a greatest share; where both come to the same, it is settled.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import msgspec

from grader.base.canon import canonical
from grader.base.errors import UseError
from grader.items.course import Course
from grader.items.grid import decimals_of
from grader.items.station_file import Measure, Station
from grader.marking.key import Answer, Numeric, Struct, UnitEntry, unit_entries
from grader.marking.mark import mark_question
from grader.marking.station import DONE, NOT_DONE
from grader.register.records import Assessment, Award, Sitting
from grader.register.rule import FAIL, PASS, Share, percent, rounded
from grader.register.store import Register

FORM = "grader-station-1"
OPEN = "open"  # what is not yet settled: neither passed nor failed

Stands = Literal["", "inside", "outside", "unread", "missing"]
State = Literal["done", "not done", "open", "disputed", "doubtful"]


class SealedStep(Struct, frozen=True, kw_only=True):
    """A step as the assessor's sheet prints it; `answer` holds what a reading is held against, `range` that in print."""

    number: str
    text: str
    points: str
    critical: bool = False
    reason: str = ""
    sees: str = ""
    measures: str = ""
    answer: Answer | None = None
    range: str = ""


class SealedStation(Struct, frozen=True, kw_only=True):
    """A station as it was sealed into a sitting; `units` are those that readings are read in."""

    form: str
    sitting: str
    station: str
    title: str
    objective: str
    steps: tuple[SealedStep, ...]
    done: tuple[str, ...]
    units: dict[str, UnitEntry]
    specimen: str = ""

    def encoded(self) -> bytes:
        """The station's canonical bytes."""
        return canonical(msgspec.to_builtins(self))

    @property
    def circuit(self) -> str:
        """The circuit of its objective."""
        return self.objective.rpartition(".")[0]

    def step(self, number: str) -> SealedStep | None:
        """The step of that number; None where there is none."""
        return next((step for step in self.steps if step.number == number), None)


def sealed(station: Station, sitting: str) -> SealedStation:
    """
    A station of the course in the form in which a sitting keeps it.

    >>> from grader.items.station_file import Step
    >>> steps = (Step(1, "Measure it.", 1, "The rule stands upright.", critical=True, reason="It floods."),)
    >>> one = Station("a", "a.yaml", 1, "Measure", "tank.2", 5.0, ("a rule",), ("a tank",), steps, ("Written down.",))
    >>> read_sealed(sealed(one, "spring").encoded()).steps[0].critical
    True
    """
    steps = tuple(
        SealedStep(
            number=str(step.number),
            text=step.text,
            points=f"{step.points:f}",
            critical=step.critical,
            reason=step.reason,
            sees=step.sees,
            measures=step.measure.says if step.measure else "",
            answer=_answer(step.measure) if step.measure else None,
            range=step.measure.range if step.measure else "",
        )
        for step in station.steps
    )
    return SealedStation(
        form=FORM,
        sitting=sitting,
        station=station.id,
        title=station.title,
        objective=station.objective,
        steps=steps,
        done=station.done,
        units=unit_entries(),
        specimen=station.specimen,
    )


def _answer(measure: Measure) -> Answer:
    value, low, high = (decimals_of(end.number) for end in (measure.value, measure.least, measure.greatest))
    return Answer(
        value=f"{value:f}" if value is not None else str(float(measure.value.number)),
        low=f"{low:f}",
        high=f"{high:f}",
        unit=measure.unit.name,
        shown=measure.value.shown,
        within=measure.within,
    )


def read_sealed(data: bytes) -> SealedStation:
    """A sealed station from its bytes, every field checked; `UseError` where it is none of this form."""
    try:
        station = msgspec.json.decode(data, type=SealedStation)
    except (msgspec.MsgspecError, UnicodeDecodeError) as error:
        raise UseError(f"not a sealed station: {error}") from error
    if station.form != FORM:
        raise UseError(f"a station of the form {station.form!r}; this program reads {FORM!r}")
    return station


def seal_stations(register: Register, sitting: Sitting, course: Course) -> None:
    """
    Seal the stations that a sitting's blueprint names, as the course has them now; what is sealed already must be the same.

    Raises `UseError` where the course has changed a station since it was sealed.
    """
    names = tuple(str(name) for name in sitting.blueprint.get("stations", ()))
    before = register.stations(sitting.name)
    with register.act():
        for name in names:
            data = sealed(course.stations[name], sitting.name).encoded()
            if before.setdefault(name, data) != data:
                raise UseError(
                    f"station {name!r} was sealed into sitting {sitting.name!r} with other steps or ranges than it has now; "
                    "give back what it was held with, or give the new sitting another name"
                )
            register.seal_station(sitting.name, name, data)


def sealed_stations(register: Register, sitting: str) -> dict[str, SealedStation]:
    """The stations of a sitting by name, as they were sealed, in the blueprint's order."""
    found = register.stations(sitting)
    order = [str(name) for name in register.sitting(sitting).blueprint.get("stations", ())]
    return {name: read_sealed(found[name]) for name in sorted(found, key=lambda name: order.index(name))}


# What was seen at a station.


@dataclass(frozen=True, slots=True)
class Tick:
    """What one assessor put down for a step: the tick ("" for none), the reading, and how that stands to the range."""

    assessor: str
    tick: str
    reading: str = ""
    stands: Stands = ""

    @property
    def doubtful(self) -> bool:
        """Whether it is ticked done though the reading does not bear it out."""
        return self.tick == DONE and self.stands in ("outside", "unread", "missing")


@dataclass(frozen=True, slots=True)
class StepSeen:
    """A step with what every assessor put down for it, and what it comes to."""

    step: SealedStep
    ticks: tuple[Tick, ...]
    award: Award | None = None

    @property
    def state(self) -> State:
        """Done or not done, where that is settled; else why it is not."""
        if self.award:
            return "done" if self.award.award == DONE else "not done"
        ticked = {tick.tick for tick in self.ticks if tick.tick}
        if not ticked:
            return "open"
        if len(ticked) > 1:
            return "disputed"
        if any(tick.doubtful for tick in self.ticks):
            return "doubtful"
        return "done" if DONE in ticked else "not done"

    @property
    def settled(self) -> bool:
        """Whether a person has still to look at it."""
        return self.state in (DONE, NOT_DONE)

    @property
    def flag(self) -> str:
        """What a person has to look at, in words; empty where nothing."""
        match self.state:
            case "open":
                return f"step {self.step.number} is not ticked"
            case "disputed":
                said = "; ".join(f"{tick.assessor}: {tick.tick}" for tick in self.ticks if tick.tick)
                return f"step {self.step.number} is ticked differently ({said})"
            case "doubtful":
                return "; ".join(_doubt(self.step, tick) for tick in self.ticks if tick.doubtful)
        return ""


def _doubt(step: SealedStep, tick: Tick) -> str:
    ticked = f"step {step.number} is ticked done by {tick.assessor}"
    if tick.stands == "missing":
        return f"{ticked} without a reading"
    if tick.stands == "unread":
        return f"{ticked}, and the reading {tick.reading!r} cannot be read in {step.range}"
    return f"{ticked}, and the reading {tick.reading!r} lies outside {step.range}"


@dataclass(frozen=True, slots=True)
class Bench:
    """One candidate at one station: every step as it was seen; `assessments` are those that count, one an assessor."""

    station: SealedStation
    candidate: str
    steps: tuple[StepSeen, ...]
    assessments: tuple[Assessment, ...] = ()

    @property
    def seen(self) -> bool:
        """Whether anybody has assessed it."""
        return bool(self.assessments)

    @property
    def least(self) -> Share:
        """The share of the points with every step not settled counted as not done."""
        return self._share({DONE})

    @property
    def most(self) -> Share:
        """The share of the points with every step not settled counted as done."""
        return self._share({DONE, "open", "disputed", "doubtful"})

    def _share(self, counted: set[str]) -> Share:
        points = [(Fraction(step.step.points), step.state in counted) for step in self.steps]
        return Share(sum((p for p, earned in points if earned), Fraction(0)), sum((p for p, _ in points), Fraction(0)))

    @property
    def failed_critical(self) -> tuple[SealedStep, ...]:
        """The critical steps that were not done: any of them fails the station."""
        return tuple(one.step for one in self.steps if one.step.critical and one.state == NOT_DONE)

    @property
    def flags(self) -> tuple[str, ...]:
        """What a person has to settle; nothing before anybody has assessed it."""
        return tuple(step.flag for step in self.steps if step.flag) if self.seen else ()

    def outcome(self, least: Fraction) -> str:
        """`pass`, `fail` or `open` by the rule: every critical step done, and at least that share of the points."""
        if not self.seen:
            return OPEN
        if self.failed_critical or not self.most.reaches(least):
            return FAIL
        critical = all(one.state == DONE for one in self.steps if one.step.critical)
        return PASS if critical and self.least.reaches(least) else OPEN

    def short_of(self, least: Fraction) -> str:
        """Why it is failed or open, in words; empty where it is passed."""
        name = self.station.station
        match self.outcome(least):
            case "pass":
                return ""
            case "fail" if self.failed_critical:
                return f"{_numbers(self.failed_critical)} at {name} not done"
            case "fail":
                return f"{rounded(self.most, least)} % at {name}, below {percent(least)} %"
        return f"{name} is not settled: {'; '.join(self.flags)}" if self.seen else f"{name} not assessed"


def _numbers(steps: Iterable[SealedStep]) -> str:
    numbers = [step.number for step in steps]
    return f"critical step {numbers[0]}" if len(numbers) == 1 else f"critical steps {', '.join(numbers)}"


def seen_at(station: SealedStation, candidate: str, assessments: Iterable[Assessment], awards: Mapping[str, Award]) -> Bench:
    """
    What a candidate's assessments at a station come to.

    Parameters
    ----------
    station, candidate
        Which station, and who.
    assessments : iterable of Assessment
        All of theirs at that station, the oldest first; of each assessor the last one counts.
    awards : mapping
        What an examiner settled by hand, by the step's number.
    """
    counting = {same_name(one.assessor): one for one in assessments}
    steps = tuple(
        StepSeen(step, tuple(_tick(step, one, station.units) for one in counting.values()), awards.get(step.number))
        for step in station.steps
    )
    return Bench(station, candidate, steps, tuple(counting.values()))


def _tick(step: SealedStep, assessment: Assessment, units: Mapping[str, UnitEntry]) -> Tick:
    tick, reading = assessment.steps.get(step.number, ""), assessment.readings.get(step.number, "")
    return Tick(assessment.assessor, tick, reading, stands(step, reading, units))


def stands(step: SealedStep, reading: str, units: Mapping[str, UnitEntry]) -> Stands:
    """How a reading stands to the sheet's range; both ends are inside. Empty where nothing is measured."""
    if step.answer is None:
        return ""
    if not reading.strip():
        return "missing"
    question = Numeric(item="", objective="", circuit="", points="1", stem="", answer=step.answer)
    (found,) = mark_question(question, {"": reading}, units)  # the marker's own reader, as on the assessor's sheet
    if found.verdict in ("unit", "unreadable", "blank"):
        return "unread"
    return "inside" if found.verdict == "right" else "outside"


def flags_of(register: Register, sitting: str, assessments: Iterable[Assessment]) -> tuple[str, ...]:
    """What a person has to settle at the stations that some assessments are about, each with candidate and station."""
    places = {(one.candidate, one.station) for one in assessments}
    if not places:
        return ()
    return tuple(
        f"{bench.candidate} at {bench.station.station}: {flag}"
        for at in benches(register, sitting).values()
        for bench in at
        if (bench.candidate, bench.station.station) in places
        for flag in bench.flags
    )


def same_name(assessor: str) -> str:
    """
    What makes two ways to write an assessor's name one.

    >>> same_name("T.  Assessor") == same_name("t. assessor ")
    True
    """
    return " ".join(unicodedata.normalize("NFKC", assessor).casefold().split())


def benches(register: Register, sitting: str) -> dict[str, tuple[Bench, ...]]:
    """Every candidate of a sitting at every station of it, in the roster's and the blueprint's order; empty where it has none."""
    stations = sealed_stations(register, sitting)
    if not stations:
        return {}
    assessments: dict[tuple[str, str], list[Assessment]] = {}
    for one in register.assessments(sitting):
        assessments.setdefault((one.candidate, one.station), []).append(one)
    awards: dict[tuple[str, str], dict[str, Award]] = {}
    for award in register.awards(sitting):
        station, _, step = award.number.rpartition("/")
        awards.setdefault((award.candidate, station), {})[step] = award
    return {
        paper.candidate: tuple(
            seen_at(station, paper.candidate, assessments.get(where, ()), awards.get(where, {}))
            for name, station in stations.items()
            for where in [(paper.candidate, name)]
        )
        for paper in register.papers(sitting)
    }
