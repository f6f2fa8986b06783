"""
Who passes, certificates for those who did, and revoking one: the acts, on the register, with person and date.

The rule is in `grader.register.rule`. A decision keeps the rule, the evidence, who decided and when; a certificate is kept in the
register first and its files are written from there, so that an interruption loses nothing: run the command again.
"""

from __future__ import annotations

import re
import secrets
from calendar import monthrange
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date as Day
from fractions import Fraction
from pathlib import Path
from typing import Any

from grader.base.canon import canonical
from grader.base.codes import paper_code
from grader.base.errors import UseError
from grader.base.files import contained, make_folder, read_capped, write_atomic
from grader.certificates import issuer, proof, status
from grader.certificates.credential import Achievement, Facts, Result, School, credential, status_address
from grader.certificates.keys import NAME as KEY_NAME
from grader.certificates.keys import IssuerKey, load_key, make_key
from grader.certificates.pdf import certificate_pdf
from grader.certificates.renewal import renew_key, retired_keys, signing_keys
from grader.register.records import Certificate, Decision, Event, Marking, Paper, Revocation, Sitting
from grader.register.rule import FAIL, NOT_EXAMINED, PASS, Rule, judged, rule_of
from grader.register.stations import OPEN, Bench, benches
from grader.register.store import Register

KEY_FOLDER, PUBLIC_FOLDER = "issuer-key", "issuer"


def decide_sitting(register: Register, sitting: str, person: str, date: str) -> tuple[Decision, ...]:
    """
    Decide on every candidate of a sitting, by its blueprint's rule.

    Parameters
    ----------
    register : Register
        Where marks are read and decisions kept.
    sitting : str
        The sitting's name.
    person : str
        Who decides.
    date : str
        The day, ``2031-05-14``.

    Returns
    -------
    tuple of Decision
        The decision that now counts for each candidate, in the order of the papers. One that would say the same as the last on
        the same evidence is not made again.

    Raises
    ------
    UseError
        No such sitting, no pass rule, no person, or no such day.
    """
    if not person.strip():
        raise UseError("a decision names who made it; give a person")
    _day(date)
    held = register.sitting(sitting)
    rule = rule_of(held.blueprint)
    with register.act():
        before = register.decisions(sitting)
        seen = _Seen(held, rule, register.marks(sitting), benches(register, sitting))
        made = [_decision(seen, paper, person, date) for paper in register.papers(sitting)]
        for decision in made:
            if not _same(decision, before.get(decision.candidate)):
                register.decide(decision)
    return tuple(register.decisions(sitting).values())


@dataclass(frozen=True, slots=True)
class _Seen:
    """What decisions rest on: the sitting, its rule, the marking that counts for each paper, everybody at every station."""

    held: Sitting
    rule: Rule
    marked: Mapping[str, Marking]
    benches: Mapping[str, tuple[Bench, ...]]


def _decision(seen: _Seen, paper: Paper, person: str, date: str) -> Decision:
    marking, evidence = seen.marked.get(paper.code), dict[str, Any]()
    if marking is None:
        decided, evidence = NOT_EXAMINED, {"reason": "no answer file was marked"}
    else:
        decided, evidence = judged(seen.rule, marking.marks)
        if seen.rule.each_station is not None:
            decided = _at_stations(seen.rule.each_station, decided, evidence, seen.benches.get(paper.candidate, ()), seen.held)
    evidence = {"paper": paper.code, **evidence, **_basis(seen, paper)}
    return Decision(seen.held.name, paper.candidate, decided, seen.rule.as_json(), evidence, person, date)


def _at_stations(least: Fraction, decided: str, evidence: dict[str, Any], found: tuple[Bench, ...], held: Sitting) -> str:
    """The decision with the stations counted, their part of the evidence added: one failed fails, one open leaves it open."""
    outcomes = {bench.station.station: bench.outcome(least) for bench in found}
    evidence["stations"] = {
        bench.station.station: bench.least.as_json(least) | {"outcome": outcomes[bench.station.station]} for bench in found
    }
    unsealed = [str(name) for name in held.blueprint.get("stations", ()) if name not in outcomes]
    failed = [bench.short_of(least) for bench in found if bench.outcome(least) == FAIL]
    waiting = [bench.short_of(least) for bench in found if bench.outcome(least) == OPEN]
    waiting += [f"{name} was not sealed into the sitting" for name in unsealed]
    evidence["short_of"] += failed
    if failed or decided == FAIL:
        return FAIL
    if waiting:
        evidence["reason"] = "; ".join(waiting)
        return NOT_EXAMINED
    return decided


def _basis(seen: _Seen, paper: Paper) -> dict[str, Any]:
    """Which marking and, where stations count, which assessments and awards a decision rests on."""
    marking = seen.marked.get(paper.code)
    found: dict[str, Any] = {}
    if marking is not None:
        found = {"answer_file": marking.file, "marked": marking.when, "marking": marking.id}
    if seen.rule.each_station is not None:
        at = seen.benches.get(paper.candidate, ())
        found["assessments"] = [one.id for bench in at for one in bench.assessments]
        found["awards"] = [step.award.id for bench in at for step in bench.steps if step.award]
    return found


def _same(new: Decision, old: Decision | None) -> bool:
    if old is None:
        return False
    evidence = new.evidence
    if "marking" not in old.evidence:  # a decision from before markings were told apart by their numbers
        evidence = {name: value for name, value in evidence.items() if name != "marking"}
    return (new.decision, new.rule, evidence) == (old.decision, old.rule, old.evidence)


def to_revoke(register: Register, sitting: str) -> tuple[Certificate, ...]:
    """Certificates that are good, though the decision that counts is no longer a pass: a person has to look at them."""
    decided = register.decisions(sitting)
    return tuple(
        certificate
        for certificate in register.certificates(sitting)
        if certificate.revoked is None and decided[certificate.candidate].decision != PASS
    )


# Certificates.


@dataclass(frozen=True, slots=True)
class Office:
    """
    The issuing school's desk: the folder that holds the register, and the key's passphrase.

    `issuer-key/` holds the secret key, `issuer/` what is published, `sittings/NAME/certificates/` what is handed out.
    """

    folder: Path
    passphrase: str = ""

    @property
    def secrets(self) -> Path:
        """Where the key is, and the list of those that are retired."""
        return self.folder / KEY_FOLDER

    @property
    def public(self) -> Path:
        """Where the issuer's document and the status list are."""
        return self.folder / PUBLIC_FOLDER

    def certificates(self, sitting: str) -> Path:
        """Where a sitting's certificates are."""
        return contained(self.folder, "sittings", sitting, "certificates")

    def key(self, *, new: bool = False) -> IssuerKey:
        """
        The issuer's key; made where there is none and `new` allows it.

        Raises `UseError` where the key is gone but something published was signed with it.
        """
        folder = self.secrets
        if (folder / KEY_NAME).exists():
            return load_key(folder, self.passphrase)
        if not new or (self.public / "issuer.json").exists():
            raise UseError(f"{folder / KEY_NAME}: the issuer's key is missing; restore it from a copy")
        return make_key(folder, self.passphrase)


@dataclass(frozen=True, slots=True)
class Certified:
    """What certifying did: certificates new and old, and what needs a person."""

    new: tuple[Certificate, ...]
    standing: tuple[Certificate, ...]
    troubles: tuple[str, ...] = ()


def certify_sitting(
    register: Register, sitting: str, office: Office, person: str, now: str, *, again: Collection[str] = ()
) -> Certified:
    """
    Issue a certificate to everyone who passed and never had one; write all files that are missing; publish the status list.

    Parameters
    ----------
    register, sitting, office
        The register; the sitting's name; the desk.
    person : str
        Who issues.
    now : str
        The instant in UTC, ``2031-05-14T08:00:00Z``.
    again : collection of str
        Candidates whose certificate was revoked and who shall have a new one.

    Returns
    -------
    Certified
        Interrupted and run again, it goes on where it was: the register says who has one, and files are written from it.

    Raises
    ------
    UseError
        No such sitting, nobody was decided on, no certificate in the blueprint, no key, or a folder that can't be written.
    """
    held = register.sitting(sitting)
    _day(now[:10])
    decided = register.decisions(sitting)
    if not decided:
        raise UseError(f"nobody of sitting {sitting!r} was decided on; run `grader decide {sitting}` first")
    _known(again, decided, sitting)
    with register.act():
        key = office.key(new=not register.certificates())
        waiting = undecided(register, sitting)
        settled = {candidate: decision for candidate, decision in decided.items() if candidate not in waiting}
        new, troubles = _issue_all(register, held, settled, key, now, again)
        if new:
            register.note(Event(person, now, f"issued certificates of sitting {sitting}: {len(new)}"))
    publish(register, office, key, _school(held), now)
    standing = tuple(certificate for certificate in register.certificates(sitting) if certificate.revoked is None)
    troubles += [f"{who}: {what}; run `grader decide {sitting}`" for who, what in waiting.items()]
    troubles += _write_files(office, held, standing)
    troubles += [
        f"{one.candidate}: certificate {one.id} no longer holds, its key was stolen; grader revoke {one.id}"
        f' --reason "the key was stolen", then grader certify {sitting} --again {one.candidate}'
        for one in _fallen(standing, office, key)
    ]
    troubles += [
        f"{certificate.candidate}: has certificate {certificate.id}, but the decision that counts is no pass; revoke it"
        for certificate in to_revoke(register, sitting)
    ]
    return Certified(tuple(new), standing, tuple(troubles))


def _known(candidates: Collection[str], decided: Mapping[str, Decision], sitting: str) -> None:
    for candidate in candidates:
        if candidate not in decided:
            raise UseError(f"no candidate {candidate!r} in sitting {sitting!r}; check the number")


def undecided(register: Register, sitting: str) -> dict[str, str]:
    """
    Whose marks nobody has decided on yet, by candidate: never, or not since they were marked or assessed again.

    Their decision, where there is one, rests on what counted then; none of them is issued a certificate.
    """
    held = register.sitting(sitting)
    seen = _Seen(held, rule_of(held.blueprint), register.marks(sitting), benches(register, sitting))
    decided = register.decisions(sitting)
    found: dict[str, str] = {}
    for paper in register.papers(sitting):
        decision, now = decided.get(paper.candidate), _basis(seen, paper)
        if decision is None:
            if paper.code in seen.marked:
                found[paper.candidate] = "marked, not decided"
        elif now != {name: decision.evidence.get(name, now[name] if name == "marking" else None) for name in now}:
            again = any(now.get(name) != decision.evidence.get(name) for name in ("answer_file", "marked", "marking"))
            found[paper.candidate] = f"{'marked' if again else 'assessed'} again, not decided since"
    return found


def _issue_all(
    register: Register, held: Sitting, decided: Mapping[str, Decision], key: IssuerKey, now: str, again: Collection[str]
) -> tuple[list[Certificate], list[str]]:
    new, troubles = [], []
    last = {certificate.candidate: certificate for certificate in register.certificates(held.name)}
    taken = register.certificates()
    numbers, places = {one.id for one in taken}, {one.index for one in taken}
    for paper in register.papers(held.name):
        decision, before = decided.get(paper.candidate), last.get(paper.candidate)
        if decision is None or decision.decision != PASS or (before and before.revoked is None) or not paper.name:
            continue  # nobody's name is left where a candidate's data were taken out
        if before and paper.candidate not in again:
            troubles.append(
                f"{paper.candidate}: certificate {before.id} was revoked; for a new one add --again {paper.candidate}"
            )
            continue
        facts = _facts(held, paper, decision, _number(paper, numbers), _place(places), now[:10])
        data = canonical(proof.signed(credential(facts), key, now))
        certificate = Certificate(facts.number, held.name, paper.candidate, data, facts.place, now)
        register.keep_certificate(certificate)
        new.append(certificate)
    return new, troubles


def _number(paper: Paper, taken: set[str]) -> str:
    number = paper_code(secrets.token_bytes(32), paper.sitting, paper.candidate)
    while number in taken:
        number = paper_code(secrets.token_bytes(32), paper.sitting, paper.candidate)
    taken.add(number)
    return number


def _place(taken: set[int]) -> int:
    """A drawn place in the status list, not the next one: neighbours must not tell who was certified together."""
    if len(taken) >= status.PLACES:
        raise UseError(f"the status list's {status.PLACES:,} places are all taken; a second list is needed")
    place = secrets.randbelow(status.PLACES)
    while place in taken:
        place = secrets.randbelow(status.PLACES)
    taken.add(place)
    return place


def _facts(held: Sitting, paper: Paper, decision: Decision, number: str, place: int, today: str) -> Facts:
    text = held.blueprint.get("certificate")
    if not isinstance(text, Mapping):
        raise UseError(f"the blueprint of sitting {held.name!r} names no certificate (`certificate: {{name: ...}}`)")
    evidence = decision.evidence
    return Facts(
        number=number,
        place=place,
        school=_school(held),
        holder=paper.name,
        achievement=Achievement(
            id=str(held.blueprint["id"]),
            name=str(text["name"]),
            description=str(text["description"]),
            criteria=f"{text['criteria']} {rule_of(held.blueprint).in_words()}",
        ),
        results=(
            Result("whole", "Whole paper", evidence["percent"]),
            *(
                Result(f"circuit-{name}", f"{name.capitalize()} circuit", share["percent"])
                for name, share in evidence["circuits"].items()
            ),
            *(
                Result(f"station-{name}", f"At the bench: {name}", share["percent"])
                for name, share in evidence.get("stations", {}).items()
            ),
        ),
        examined=held.held,
        issued=today,
        last_day=last_day(today, str(text.get("valid", ""))),
        examiner=decision.person,
    )


def _school(held: Sitting) -> School:
    return School(str(held.school["name"]), str(held.school["id"]), str(held.school.get("place", "")))


def last_day(first: str, valid: str) -> str:
    """
    The last day of a time that starts on a day: the same day of the month, or the month's last.

    >>> last_day("2031-05-14", "3 years"), last_day("2031-08-31", "18 months"), last_day("2031-05-14", "")
    ('2034-05-14', '2033-02-28', '')
    """
    if not valid:
        return ""
    found = re.fullmatch(r"(\d{1,2}) (year|month)s?", valid)
    if found is None or int(found[1]) == 0:
        raise UseError(f"`{valid[:40]}` is not a time in years or months; write it as `3 years`")
    day = _day(first)
    months = day.month - 1 + int(found[1]) * (12 if found[2] == "year" else 1)
    year, month = day.year + months // 12, months % 12 + 1
    return Day(year, month, min(day.day, monthrange(year, month)[1])).isoformat()


def _day(text: str) -> Day:
    try:
        if re.fullmatch(r"\d{4}-\d\d-\d\d", text):
            return Day.fromisoformat(text)
    except ValueError:
        pass
    raise UseError(f"`{text[:40]}` is not a day; write it as 2031-05-14")


def _write_files(office: Office, held: Sitting, certificates: Collection[Certificate]) -> list[str]:
    """Write what is missing or was changed; say which page could not be set."""
    folder, troubles = make_folder(office.certificates(held.name)), []
    for certificate in filter(lambda one: one.data, certificates):  # empty where its holder's data were taken out
        file, page = folder / f"{certificate.id}.json", folder / f"{certificate.id}.pdf"
        if not file.exists() or file.read_bytes() != certificate.data:
            write_atomic(file, certificate.data)
        if page.exists():
            continue
        try:
            write_atomic(page, certificate_pdf(certificate.data, proof.public_of(certificate.data), place=_school(held).place))
        except UseError as error:
            troubles.append(f"{certificate.candidate}: {file.name} is issued and good, but has no page to print: {error}")
    return troubles


def publish(register: Register, office: Office, key: IssuerKey, school: School, now: str) -> None:
    """
    Write `issuer/`: the issuer's document, its profile, and the status list of all certificates, signed anew.

    Raises `UseError` where the folder belongs to another school, or can't be written.
    """
    folder = make_folder(office.public)
    document = folder / "issuer.json"
    if document.exists():
        before = issuer.read_issuer(read_capped(document, 1 << 20))
        if before.id != school.id:
            raise UseError(f"{document}: belongs to {before.id}, the sitting to {school.id}; one folder issues for one school")
    write_atomic(document, canonical(issuer.document(school.id, signing_keys(key, retired_keys(office.secrets)))))
    write_atomic(folder / "profile.json", canonical(issuer.profile(school.id, school.name, key.public)))
    with register.act():  # nobody else may revoke between reading who is revoked and writing it: an older list would win
        revoked = [certificate.index for certificate in register.certificates() if certificate.revoked]
        listed = status.status_list(school.id, status_address(school.id), revoked, now)
        write_atomic(folder / "status.json", canonical(proof.signed(listed, key, now)))


def renew_issuer_key(
    register: Register, office: Office, reason: str, person: str, now: str, *, stolen: bool
) -> tuple[Certificate, ...]:
    """
    A new key for the issuer, and `issuer/` written with it.

    Returns
    -------
    tuple of Certificate
        With `stolen`, the certificates that no longer hold, because a key signed them that is no longer trusted.

    Raises
    ------
    UseError
        No key yet, no certificate yet, or the passphrase does not open the key.
    """
    issued = register.certificates()
    if not issued:
        raise UseError("no certificate was issued yet, so there is no key to renew; the first one makes it")
    key = renew_key(office.secrets, office.passphrase, now[:10], reason, stolen=stolen)
    register.note(Event(person, now, f"renewed the issuer's key{' that was stolen' if stolen else ''}: {reason}"))
    publish(register, office, key, _school(register.sitting(issued[0].sitting)), now)
    return _fallen(issued, office, key)


def _fallen(issued: Collection[Certificate], office: Office, key: IssuerKey) -> tuple[Certificate, ...]:
    """Certificates that stand in the register, but were signed with a key that is no longer trusted."""
    trusted = {f"did:key:{one}#{one}" for one in signing_keys(key, retired_keys(office.secrets))}
    return tuple(one for one in issued if one.data and one.revoked is None and proof.method_of(one.data) not in trusted)


def revoke_certificate(register: Register, number: str, reason: str, person: str, now: str, office: Office) -> Certificate:
    """
    Revoke a certificate and publish the status list that says so.

    Parameters
    ----------
    register, office
        The register; the desk.
    number : str
        The certificate's id.
    reason, person : str
        Why, and who.
    now : str
        The instant in UTC, ``2031-05-14T08:00:00Z``.

    Raises
    ------
    UseError
        No such certificate, no reason, no key; or it is revoked already (the list is published anew all the same).
    """
    held = register.sitting(register.certificate(number).sitting)
    key = office.key()
    try:
        with register.act():
            register.revoke(number, Revocation(reason, person, now[:10]))
            register.note(Event(person, now, f"revoked certificate {number}: {reason}"))
    finally:
        publish(register, office, key, _school(held), now)
    return register.certificate(number)
