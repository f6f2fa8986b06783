"""A certificate of a school of our own, its issuer and its status list. The key is a test key: bytes 0 to 31."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from grader.base.canon import canonical
from grader.certificates import issuer as issuers
from grader.certificates import proof, status
from grader.certificates.credential import Achievement, Facts, Result, School, credential, status_address
from grader.certificates.issuer import Issuer
from grader.certificates.keys import IssuerKey

SIGNED = "2031-05-14T08:00:00Z"
SCHOOL = School("Weirgate Workshop School", "https://weirgate.example/", "Weirgate")


@pytest.fixture(scope="session")
def key() -> IssuerKey:
    return IssuerKey(bytes(range(32)))


@pytest.fixture(scope="session")
def facts() -> Facts:
    return Facts(
        number="7M2KQ8D4XT",
        place=94567,
        school=SCHOOL,
        holder="Ottoline Marwick",
        achievement=Achievement(
            "module-main-power-pump",
            "Main, power and pump circuits",
            "Computes and checks the main jet, the stepped rod and the accelerator pump.",
            "A written paper of 60 minutes. To pass: 60 % of all marks, and 40 % of the marks in each circuit.",
        ),
        results=(Result("whole", "Whole paper", "78.1"), Result("circuit-main", "Main circuit", "81.3")),
        examined="2031-05-12",
        issued="2031-05-14",
        last_day="2034-05-14",
        examiner="T. Examiner",
    )


@pytest.fixture(scope="session")
def said(facts: Facts) -> dict[str, Any]:
    """The certificate before it is signed."""
    return credential(facts)


@pytest.fixture(scope="session")
def sign(key: IssuerKey) -> Callable[..., bytes]:
    """Signs any document with the school's key, or another, and gives its file."""

    def signed(document: dict[str, Any], by: IssuerKey = key) -> bytes:
        return canonical(proof.signed(document, by, SIGNED))

    return signed


@pytest.fixture(scope="session")
def certificate(sign: Callable[..., bytes], said: dict[str, Any]) -> bytes:
    return sign(said)


@pytest.fixture(scope="session")
def issuer(key: IssuerKey) -> Issuer:
    return issuers.read_issuer(canonical(issuers.document(SCHOOL.id, [key.multikey])))


@pytest.fixture(scope="session")
def listed(sign: Callable[..., bytes]) -> Callable[..., bytes]:
    """The status list's file, with some places revoked."""

    def made(*revoked: int, since: str = SIGNED) -> bytes:
        return sign(status.status_list(SCHOOL.id, status_address(SCHOOL.id), revoked, since))

    return made
