"""Blueprints (`questions/blueprints/NAME.yaml`) and the course's own file (`questions/course.yaml`): text to model."""

from __future__ import annotations

from grader.base.findings import Finding
from grader.items import fields
from grader.items.model import Bank, Blueprint, CertificateText, CourseFile, DrawRule, PassRule, School
from grader.items.shapes import Report, entries_of, fields_of, shaped, text_of, texts_of
from grader.items.yamlfile import Fields, read_yaml


def read_blueprint(file: str, data: bytes, findings: list[Finding]) -> Blueprint | None:
    """
    A blueprint from its bytes, or None where it cannot be used; every fault is added to `findings`.

    >>> text = b"{id: a, title: A, time: 1 h, draw: [{objective: power.1, items: 2}], pass: {cut: 60 %}}"
    >>> found = read_blueprint("a.yaml", text, [])
    >>> found.minutes, str(found.draw[0]), float(found.pass_rule.cut)
    (60.0, 'objective power.1', 0.6)
    """
    root = read_yaml(file, data, findings)
    report = Report(file, findings)
    node = None if root is None else shaped(root, fields.BLUEPRINT, report)
    passing = fields_of(node, "pass") if isinstance(node, Fields) else None
    if not isinstance(node, Fields) or passing is None:
        return None
    bank: Bank = "practice" if text_of(node, "bank") == "practice" else "exam"
    rules = [_rule(entry, bank, report) for entry in entries_of(node, "draw") if isinstance(entry, Fields)]
    if bank == "practice" and "certificate" in node.nodes:
        what = "practice items are open to everyone, and the blueprint promises a certificate"
        report.note(node.lines["certificate"], "open-certificate", what, "take the certificate out, or draw from `bank: exam`")
    if "each_station" in passing.nodes and "stations" not in node.nodes:
        what = "the pass rule asks for a share at each station, and the blueprint names none"
        report.note(passing.lines["each_station"], "idle-rule", what, "name `stations`, or take `each_station` out")
    found = Blueprint(
        id=text_of(node, "id"),
        file=file,
        line=node.line,
        title=text_of(node, "title"),
        minutes=fields.read_minutes(text_of(node, "time")),
        draw=tuple(rules),
        pass_rule=PassRule(
            fields.read_share(text_of(passing, "cut")),
            fields.read_share(text_of(passing, "each_circuit", "0 %")),
            fields.read_share(text_of(passing, "each_station")) if "each_station" in passing.nodes else None,
            text_of(passing, "set_by"),
        ),
        aids=texts_of(node, "aids"),
        formulas=texts_of(node, "formulas"),
        cautions=texts_of(node, "cautions"),
        certificate=_certificate(node),
        stations=texts_of(node, "stations"),
        lines=node.lines,
    )
    return found if report.sound else None


def _rule(entry: Fields, bank: Bank, report: Report) -> DrawRule:
    rule = DrawRule(
        fields.read_whole(text_of(entry, "items")),
        entry.line,
        text_of(entry, "objective"),
        text_of(entry, "circuit"),
        text_of(entry, "level"),
        bank,
        texts_of(entry, "kinds"),
    )
    if bool(rule.objective) == bool(rule.circuit):
        what = "both an objective and a circuit" if rule.objective else "neither an objective nor a circuit"
        report.note(entry.line, "bad-draw", f"the draw names {what}", "name one of the two")
    if rule.objective and rule.level:
        report.note(
            entry.line, "bad-draw", "the draw names an objective and a level", "take the level out, an objective has only one"
        )
    if not 1 <= rule.items <= 200:
        report.note(entry.line, "bad-number", f"draws {rule.items} items", "write 1 to 200")
    return rule


def _certificate(node: Fields) -> CertificateText | None:
    below = fields_of(node, "certificate")
    if below is None:
        return None
    years = fields.read_years(text_of(below, "valid")) if "valid" in below.nodes else 0.0
    return CertificateText(text_of(below, "name"), text_of(below, "description"), text_of(below, "criteria"), years)


def read_course(file: str, data: bytes, findings: list[Finding]) -> CourseFile | None:
    """
    The course's own file from its bytes, or None where it cannot be used; every fault is added to `findings`.

    >>> text = b"{title: Rods, language: en-GB, school: {name: A, id: 'https://a.example/'}}"
    >>> read_course("course.yaml", text, []).school.id
    'https://a.example/'
    """
    root = read_yaml(file, data, findings)
    report = Report(file, findings)
    node = None if root is None else shaped(root, fields.COURSE, report)
    school = fields_of(node, "school") if isinstance(node, Fields) else None
    if not isinstance(node, Fields) or school is None:
        return None
    about = School(text_of(school, "name"), text_of(school, "id"), text_of(school, "place"))
    return CourseFile(text_of(node, "title"), text_of(node, "language"), about, text_of(node, "notice"))
