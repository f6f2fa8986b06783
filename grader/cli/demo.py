"""`grader demo`: the whole job once, by the same commands that anyone would use."""

from __future__ import annotations

import time
from pathlib import Path

import click

SITTING = "demo"
BLUEPRINT = "module-main-power-pump"
EXAMINER = "the demonstration"


@click.command(epilog="Example: grader demo build/demo")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False), default=Path("build/demo"))
@click.option("--course", type=click.Path(path_type=Path), default=Path(), help="The course's folder; here if left out.")
def command(folder: Path, course: Path) -> int:
    """
    Run the whole job once on an invented class of 24: site, papers, answer files, marks, reports, certificates.

    The answer files are written by a simulated class, and said to be; eight of the 24 cannot be marked, on purpose. Everything
    lands in FOLDER, which a later run empties first.
    """
    from grader.base.errors import UseError
    from grader.demo.folder import fresh
    from grader.items.course import load_course

    began = time.monotonic()
    if BLUEPRINT not in load_course(course).blueprints:
        raise UseError(
            f"{course}: the demonstration needs the course with the blueprint {BLUEPRINT}; name its folder with --course"
        )
    fresh(folder)
    troubles = _run(folder, course)
    _tell(folder, time.monotonic() - began)
    for trouble in troubles:
        click.echo(f"not as it should be: {trouble}", err=True)
    return 1 if troubles else 0


def _run(folder: Path, course: Path) -> list[str]:
    """Each step as a person would type it; what did not end as it should."""
    from grader.base.files import make_folder, write_atomic
    from grader.demo.roster import roster_csv

    here, among = ["--in", str(folder)], ["--course", str(course)]
    examiner = ["--by", EXAMINER]
    write_atomic(folder / "class.csv", roster_csv())
    steps = [
        _step("Lessons, banks and blueprints are checked", 0, "check", str(course)),
        _step("One relation, in the trade's units", 0, "compute", "open_area", "D=0.095 in", "d=0.067 in", "--unit", "mm^2"),
        _step("The site is built", 0, "site", "--output", str(folder / "site"), *among),
        _step(
            "A sitting is held: papers, answer sheets, sealed keys",
            0, "paper", BLUEPRINT, "--roster", str(folder / "class.csv"), "--sitting", SITTING, *here, *among,
        ),
    ]  # fmt: skip
    click.secho("\nThe simulated class writes its answer files; eight of them cannot be marked, on purpose", bold=True)
    returned = make_folder(folder / "returned")
    bad = _hand_in(folder, returned)
    steps += [
        _step(
            "The pile is marked, and what is bad is set aside (exit status 1: it needs a person)",
            1, "mark", SITTING, str(returned), *here, *examiner,
        ),
        _step(
            "Marked again: only what is new, and nothing is; the bad ones still need a person",
            1, "mark", SITTING, str(returned), *here, *examiner,
        ),
        _step(
            "Decided by the blueprint's rule (exit status 1: some are not examined, though a file of theirs was set aside)",
            1, "decide", SITTING, *here, *examiner,
        ),
        _step("Certificates for those who passed", 0, "certify", SITTING, *here, *examiner),
        _step("Reports for the examiner, feedback for each candidate", 0, "report", SITTING, *here, *among, *examiner),
        _step(
            "What the sitting says of its questions; with so few people none is called bad",
            0, "review", SITTING, "--html", str(folder / "sittings" / SITTING / "results" / "review.html"), *here, *examiner,
        ),
        _step(
            "An open quiz for the next lesson, and its worked key",
            0, "quiz", "pump", "--items", "4", "--copies", "2", "--word", "demo", "--output", str(folder / "quiz"), *among,
        ),
    ]  # fmt: skip
    certificates = sorted((folder / "sittings" / SITTING / "certificates").glob("*.json"))
    steps.append(None if certificates else "no certificate was issued")
    if certificates:
        altered = _with_one_byte_changed(certificates[0], folder / "altered.json")
        issuer = ["--issuer", str(folder / "issuer")]
        steps += [
            _step("A certificate is checked, offline", 0, "verify", str(certificates[0]), *issuer),
            _step("The same with one byte changed (exit status 1: not good)", 1, "verify", str(altered), *issuer),
        ]
    return [*filter(None, steps), *_all_set_aside(folder, bad)]


def _step(what: str, expected: int, *arguments: str) -> str | None:
    """Run a command in this process; None where it ended as expected."""
    from grader.cli import run

    click.secho(f"\n{what}", bold=True)
    click.secho("$ grader " + " ".join(f'"{a}"' if " " in a else a for a in arguments), dim=True)
    status = run(list(arguments))
    return None if status == expected else f"grader {arguments[0]} ended with {status}, not {expected}"


def _hand_in(folder: Path, returned: Path) -> int:
    """The class's answer files, written out; how many of them are bad."""
    from grader.base.files import write_atomic
    from grader.cli.options import REGISTER, instant
    from grader.demo.simulated import BAD, Person, pile, skill_of
    from grader.marking.key import read_key
    from grader.register.store import Register

    with Register(folder / REGISTER, existing=True) as register:
        opened = register.open_keys(SITTING, "the simulated class", instant(), "to answer")
        keys = {paper.candidate: read_key(opened[paper.code]) for paper in register.papers(SITTING)}
    people = {name: Person(name, skill_of(place, len(keys))) for place, name in enumerate(keys)}
    files = pile(keys, people)
    for name, data in files.items():
        write_atomic(returned / name, data)
    click.echo(f"{len(files)} files in {returned}")
    return BAD


def _with_one_byte_changed(certificate: Path, altered: Path) -> Path:
    """A copy of a certificate in which one digit of a result is another."""
    from grader.base.files import write_atomic

    data = bytearray(certificate.read_bytes())
    place = data.index(b'"value":"') + len(b'"value":"')
    data[place] = ord("9") if data[place] != ord("9") else ord("8")
    write_atomic(altered, bytes(data))
    return altered


def _all_set_aside(folder: Path, bad: int) -> list[str]:
    from grader.cli.options import REGISTER
    from grader.register.store import Register

    with Register(folder / REGISTER, existing=True) as register:
        aside = {one.file for one in register.asides(SITTING)}
        marked = len(register.marks(SITTING))
    troubles = [] if len(aside) == bad else [f"{len(aside)} files were set aside, not {bad}"]
    return troubles if marked else [*troubles, "nothing was marked"]


def _tell(folder: Path, seconds: float) -> None:
    sitting = folder / "sittings" / SITTING
    paper = next(iter(sorted((sitting / "papers").glob("*.pdf"))), sitting / "papers")
    sheet = next(iter(sorted((sitting / "sheets").glob("*.html"))), sitting / "sheets")
    feedback = next(iter(sorted((sitting / "results" / "feedback").glob("*.html"))), sitting / "results")
    hung = next(iter(sorted((sitting / "certificates").glob("*.pdf"))), sitting / "certificates")
    click.secho(f"\nDone in {seconds:.0f} s. Open first:", bold=True)
    for what, where in (
        ("the site, as an apprentice", folder / "site" / "index.html"),
        ("the report, as the examiner", sitting / "results" / "report.html"),
        ("a paper, as a candidate", paper),
        ("its answer sheet", sheet),
        ("feedback on one", feedback),
        ("a certificate", hung),
    ):
        click.echo(f"  {what:32}{where}")
    click.secho("Then:", bold=True)
    for what, where in (
        ("the answer files as handed in", folder / "returned"),
        ("results, marks, the item report", sitting / "results"),
        ("an open quiz with its key", folder / "quiz"),
        ("the register, with the keys", folder / "register.sqlite"),
        ("to be published", folder / "issuer"),
    ):
        click.echo(f"  {what:32}{where}")
