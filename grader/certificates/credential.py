"""
What a certificate says: an Open Badges 3.0 credential, which is a W3C Verifiable Credential.

The holder is named in plain. A salted hash would hide nothing: the salt stands in the same file and a name is soon guessed; and
whoever is shown a certificate must see whose it is. Nothing else about the person goes in: no e-mail, no candidate number.

A certificate says what was examined, by whom, and by which rule it was passed. It claims no accreditation, and conforming to no
scheme; this program cannot know of any.

Source: the required properties of the Open Badges 3.0 data model, as listed in the tests' schema; identity objects from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from grader.certificates import status

CONTEXTS = ("https://www.w3.org/ns/credentials/v2", "https://purl.imsglobal.org/spec/ob/v3p0/context-3.0.3.json")
TYPES = ("VerifiableCredential", "OpenBadgeCredential")


@dataclass(frozen=True, slots=True)
class School:
    """The school that examines: `id` is a URI, `place` where it is."""

    name: str
    id: str
    place: str = ""


@dataclass(frozen=True, slots=True)
class Result:
    """A result that is certified: `name` is what it is of, `percent` a decimal in text."""

    id: str
    name: str
    percent: str


@dataclass(frozen=True, slots=True)
class Achievement:
    """What was passed: `id` is the blueprint's, `criteria` says what had to be shown and by which rule."""

    id: str
    name: str
    description: str
    criteria: str


@dataclass(frozen=True, slots=True)
class Facts:
    """
    All that a certificate says.

    `number` is the certificate's, `place` its place in the status list. Days are ``2031-05-12``; `last_day` is the last one on
    which it is valid, "" where it does not end. `examiner` is who decided.
    """

    number: str
    place: int
    school: School
    holder: str
    achievement: Achievement
    results: tuple[Result, ...]
    examined: str
    issued: str
    last_day: str
    examiner: str


def below(school: str, path: str) -> str:
    """
    An address below a school's id.

    >>> below("https://weirgate.example", "issuer/")
    'https://weirgate.example/issuer/'
    """
    return f"{school.removesuffix('/')}/{path}"


def status_address(school: str) -> str:
    """
    Where a school publishes its status list.

    >>> status_address("https://weirgate.example/")
    'https://weirgate.example/issuer/status.json'
    """
    return below(school, "issuer/status.json")


def credential(facts: Facts) -> dict[str, Any]:
    """The certificate as a credential, not yet signed."""
    school = facts.school
    said: dict[str, Any] = {
        "@context": list(CONTEXTS),
        "id": below(school.id, f"certificates/{facts.number}"),
        "type": list(TYPES),
        "name": facts.achievement.name,
        "issuer": {"id": school.id, "type": ["Profile"], "name": school.name},
        "validFrom": f"{facts.issued}T00:00:00Z",
        "awardedDate": f"{facts.examined}T00:00:00Z",
        "credentialSubject": {
            "type": ["AchievementSubject"],
            "identifier": [{"type": "IdentityObject", "hashed": False, "identityType": "name", "identityHash": facts.holder}],
            "achievement": _achievement(facts),
            "result": [
                {"type": ["Result"], "resultDescription": _result_id(facts, result), "value": result.percent}
                for result in facts.results
            ],
        },
        "credentialStatus": status.entry(status_address(school.id), facts.place),
    }
    if facts.last_day:
        said["validUntil"] = f"{facts.last_day}T23:59:59Z"
    if facts.examiner:
        said["credentialSubject"]["narrative"] = f"Decided by {facts.examiner} on the marks."
    return said


def _achievement(facts: Facts) -> dict[str, Any]:
    return {
        "id": below(facts.school.id, f"achievements/{facts.achievement.id}"),
        "type": ["Achievement"],
        "name": facts.achievement.name,
        "description": facts.achievement.description,
        "criteria": {"narrative": facts.achievement.criteria},
        "resultDescription": [
            {
                "id": _result_id(facts, result),
                "type": ["ResultDescription"],
                "name": result.name,
                "resultType": "Percent",
                "valueMin": "0",
                "valueMax": "100",
            }
            for result in facts.results
        ],
    }


def _result_id(facts: Facts, result: Result) -> str:
    return below(facts.school.id, f"achievements/{facts.achievement.id}#{result.id}")


def holder_of(said: Mapping[str, Any]) -> str:
    """
    The holder's name in a credential of this form; "" where it gives none in plain.

    >>> holder_of({"credentialSubject": {"identifier": [{"identityType": "name", "hashed": False, "identityHash": "A. Hollin"}]}})
    'A. Hollin'
    """
    subject = said.get("credentialSubject")
    identities = subject.get("identifier") if isinstance(subject, dict) else None
    for identity in identities if isinstance(identities, list) else ():
        if isinstance(identity, dict) and identity.get("identityType") == "name" and identity.get("hashed") is False:
            return str(identity.get("identityHash", ""))
    return ""
