"""What must fit together over a course: objectives taught, practised, examined; ids used once; blueprints that can be filled."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from grader.base.errors import UseError
from grader.base.files import read_capped
from grader.base.findings import Finding
from grader.items.course import Course
from grader.items.figures import check_figure
from grader.items.model import Blueprint, DrawRule, Item, Lesson, Objective
from grader.items.shapes import nearest

LEAST_ITEMS = 2
WAITS = "waits"
"""The code of what cannot be judged before the file it names can be read; `checks` counts these and prints none."""
FIGURE_LIMIT = 512 * 1024


def check_whole(course: Course) -> Iterator[Finding]:
    """Everything that only shows when the whole course is looked at."""
    yield from _lessons(course)
    yield from _repeated_ids(course)
    for item in course.items.values():
        yield from _item(item, course)
    if course.exam or course.blueprints:
        for objective in course.objectives.values():
            yield from _covered(objective, course)
    for blueprint in course.blueprints.values():
        yield from _blueprint(blueprint, course)
    yield from _figures(course)


def waiting(file: str) -> Finding:
    """A check that waits until a file can be read."""
    return Finding(file, 0, WAITS, "cannot be read", "mend it first")


def _lessons(course: Course) -> Iterator[Finding]:
    orders: dict[int, str] = {}
    objectives: dict[str, str] = {}
    for lesson in course.lessons:
        stem = lesson.file.rpartition("/")[2].removesuffix(".md")
        if stem != lesson.circuit:
            what = f"the lesson's circuit is `{lesson.circuit}`, its file `{stem}.md`"
            yield Finding(lesson.file, 1, "wrong-circuit", what, "give both one name")
        if lesson.order in orders:
            what = f"the place {lesson.order} in the course is taken by {orders[lesson.order]}"
            yield Finding(lesson.file, 1, "repeated-order", what, "give the lesson another `order`")
        orders.setdefault(lesson.order, lesson.file)
        for objective in lesson.objectives:
            yield from _objective(objective, lesson, objectives)


def _objective(objective: Objective, lesson: Lesson, seen: dict[str, str]) -> Iterator[Finding]:
    if objective.id in seen:
        what = f"the objective {objective.id} stands already in {seen[objective.id]}"
        yield Finding(lesson.file, objective.line, "repeated-objective", what, "keep one of the two")
    seen.setdefault(objective.id, lesson.file)
    if objective.id.rpartition(".")[0] != lesson.circuit:
        what = f"the objective {objective.id} does not start with the circuit `{lesson.circuit}`"
        yield Finding(lesson.file, objective.line, "foreign-objective", what, f"call it {lesson.circuit}.N")
    if objective.id not in lesson.anchors:
        what = f"the objective {objective.id} is not taught: no heading has its anchor"
        mend = f"write `## … {{#{objective.id}}}` over its section"
        yield Finding(lesson.file, objective.line, "not-taught", what, mend)


def _repeated_ids(course: Course) -> Iterator[Finding]:
    for name, ((first, at), *others) in course.ids.items():
        for file, line in others:
            what = f"the id `{name}` stands already in {first}:{at}"
            yield Finding(file, line, "repeated-id", what, "give one of the two another", path=name)


def _item(item: Item, course: Course) -> Iterator[Finding]:
    if not item.id.startswith(f"{item.circuit}-"):
        what = f"the id `{item.id}` does not start with the circuit `{item.circuit}`"
        yield Finding(item.file, item.lines["id"], "foreign-id", what, f"call it {item.circuit}-…", path=item.id)
    objective = course.objectives.get(item.objective)
    line = item.lines["objective"]
    unread = course.waits(item.objective.rpartition(".")[0], "lessons")
    if objective is None and unread:
        yield waiting(unread)
    elif objective is None:
        near = nearest(item.objective, course.objectives)
        mend = f"did you mean {near}?" if near else "name one that stands in the head of a lesson"
        yield Finding(item.file, line, "unknown-objective", f"{item.id}: no lesson teaches {item.objective}", mend, path=item.id)
    elif objective.circuit != item.circuit:
        what = f"{item.id}: {item.objective} belongs to {objective.circuit}, the file to {item.circuit}"
        yield Finding(item.file, line, "foreign-objective", what, "move the item to its circuit's file", path=item.id)
    if item.figure is not None and item.figure.name not in course.figures:
        near = nearest(item.figure.name, course.figures)
        mend = f"did you mean `{near}`?" if near else f"put {item.figure.name}.svg into lessons/figures"
        what = f"{item.id}: there is no figure `{item.figure.name}`"
        yield Finding(item.file, item.figure.line, "unknown-figure", what, mend, path=item.id)


def counted(course: Course, bank: str, objective: str) -> int:
    """How many items of a bank test an objective, those included that could not be read whole."""
    items = course.practice if bank == "practice" else course.exam
    whole = sum(1 for item in items if item.objective == objective)
    return whole + sum(1 for where, _, what in course.broken if where == bank and what == objective)


def _covered(objective: Objective, course: Course) -> Iterator[Finding]:
    if objective.level == "P":  # shown at the bench, not on paper
        return
    lesson = next(lesson for lesson in course.lessons if objective in lesson.objectives)
    for bank, code, done in (("practice", "not-practised", "practised"), ("exam", "not-examined", "examined")):
        count = counted(course, bank, objective.id)
        unread = course.waits(objective.circuit, f"questions/{bank}")
        if unread:
            yield waiting(unread)
        elif count < LEAST_ITEMS:
            items = "one item" if count == 1 else f"{count} items"
            what = f"the objective {objective.id} is {done} by {items}"
            mend = f"write at least {LEAST_ITEMS} into questions/{bank}/{objective.circuit}.yaml"
            yield Finding(lesson.file, objective.line, code, what, mend)
        elif objective.level == "C" and not any(
            _computed(item) for item in _items(course, bank) if item.objective == objective.id
        ):
            what = f"{objective.id} asks to compute, and no {bank} item for it has a computed answer"
            mend = f"write one into questions/{bank}/{objective.circuit}.yaml"
            yield Finding(lesson.file, objective.line, "not-computed", what, mend, "warning")


def _items(course: Course, bank: str) -> Sequence[Item]:
    return course.practice if bank == "practice" else course.exam


def _computed(item: Item) -> bool:
    return any(part.answer is not None or any(option.value for option in part.options) for part in item.parts)


def _blueprint(blueprint: Blueprint, course: Course) -> Iterator[Finding]:
    for rule in blueprint.draw:
        unread = _unread(rule, course)
        if unread:
            yield waiting(unread)
        elif rule.objective and rule.objective not in course.objectives:
            near = nearest(rule.objective, course.objectives)
            mend = f"did you mean {near}?" if near else "name one that stands in the head of a lesson"
            yield Finding(blueprint.file, rule.line, "unknown-objective", f"no lesson teaches {rule.objective}", mend)
        elif rule.circuit and rule.circuit not in course.circuits:
            near = nearest(rule.circuit, course.circuits)
            mend = f"did you mean {near}?" if near else f"the circuits are {', '.join(course.circuits)}"
            yield Finding(blueprint.file, rule.line, "unknown-circuit", f"no lesson teaches the circuit {rule.circuit}", mend)
    for name in blueprint.formulas:
        if name not in course.relations:
            near = nearest(name, course.relations)
            mend = f"did you mean `{near}`?" if near else "name a relation as `grader compute` lists them"
            line = blueprint.lines.get("formulas", blueprint.line)
            yield Finding(blueprint.file, line, "unknown-relation", f"there is no relation `{name}`", mend)
    yield from _filled(blueprint, course)
    if not any(_unread(rule, course) for rule in blueprint.draw):
        yield from _time(blueprint, course)
    for rule in blueprint.draw if blueprint.bank == "exam" else ():  # a quiz decides nothing; its papers may differ in weight
        yield from _unequal_points(rule, course)


def _unread(rule: DrawRule, course: Course) -> str:
    """The file of a draw's circuit that could not be read, or nothing."""
    return course.waits(rule.circuit or rule.objective.rpartition(".")[0], "lessons", f"questions/{rule.bank}")


def _unequal_points(rule: DrawRule, course: Course) -> Iterator[Finding]:
    """Whichever items a draw takes, the paper must be worth the same: of those that differ, the rarer are named."""
    items = course.eligible(rule)
    usual = Counter(item.points for item in items).most_common(1)
    for item in items:
        if item.points != usual[0][0]:
            what = f"`{item.id}` is worth {item.points.normalize():f}, others of this draw {usual[0][0].normalize():f}"
            mend = f"write `points: {usual[0][0].normalize():f}`"
            if item.kind == "case":
                mend = f"give its parts points that come to {usual[0][0].normalize():f}"
            yield Finding(item.file, item.lines.get("points", item.line), "unequal-points", what, mend, path=item.id)


def _filled(blueprint: Blueprint, course: Course) -> Iterator[Finding]:
    """A blueprint is filled by items that differ; a draw that finds too few is named."""
    taken: dict[str, tuple[int, int]] = {}
    for number, rule in enumerate(blueprint.draw):
        if rule.objective not in {"", *course.objectives} or rule.circuit not in {"", *course.circuits}:
            continue  # told already
        if _unread(rule, course):
            continue
        found = sum(1 for place in range(rule.items) if _seat((number, place), blueprint.draw, course, taken, set()))
        if found < rule.items:
            have = len(course.eligible(rule))
            wanted = "1 item" if rule.items == 1 else f"{rule.items} items"
            what = f"the draw wants {wanted} for {rule}, the {rule.bank} bank has {have}"
            if have >= rule.items:
                what = f"the draw wants {wanted} for {rule}; other draws leave it {found} of {have}"
            yield Finding(blueprint.file, rule.line, "not-enough-items", what, f"write more {rule.bank} items, or draw fewer")


def _seat(
    want: tuple[int, int],
    rules: Sequence[DrawRule],
    course: Course,
    taken: dict[str, tuple[int, int]],
    tried: set[str],
) -> bool:
    """Find an item for one wanted place, moving earlier choices where that helps (augmenting paths)."""
    for item in course.eligible(rules[want[0]]):
        if item.id in tried:
            continue
        tried.add(item.id)
        if item.id not in taken or _seat(taken[item.id], rules, course, taken, tried):
            taken[item.id] = want
            return True
    return False


def _time(blueprint: Blueprint, course: Course) -> Iterator[Finding]:
    """The time an average paper should take, by its items' own minutes."""
    expected = 0.0
    for rule in blueprint.draw:
        items = course.eligible(rule)
        if items:
            expected += rule.items * sum(item.minutes for item in items) / len(items)
    if expected > blueprint.minutes:
        what = f"the items drawn should take {expected:.0f} min, the paper allows {blueprint.minutes:.0f} min"
        line = blueprint.lines.get("time", blueprint.line)
        yield Finding(blueprint.file, line, "short-time", what, "allow more time, or draw fewer items", "warning")


def _figures(course: Course) -> Iterator[Finding]:
    for name, path in course.figures.items():
        file = f"lessons/figures/{name}.svg"
        try:
            text = read_capped(path, FIGURE_LIMIT).decode("utf-8-sig")
        except UseError as error:
            what, _, mend = str(error).removeprefix(f"{path}: ").partition("; ")
            yield Finding(file, 0, "unreadable-file", what, mend)
        except UnicodeDecodeError:
            yield Finding(file, 0, "not-utf-8", "the text is not UTF-8", "save the file as UTF-8")
        else:
            yield from check_figure(file, text)
