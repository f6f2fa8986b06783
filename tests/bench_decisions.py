"""`make bench`: what statistics, reports and certificates cost over the bare calls that they cannot do without."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from grader.base.canon import canonical, digest
from grader.certificates import issuer, proof, status
from grader.certificates.credential import Achievement, Facts, School, credential, status_address
from grader.certificates.keys import IssuerKey, signature_is_good
from grader.certificates.multibase import read_base58btc
from grader.certificates.verify import verify
from grader.items.course import Course
from grader.register.records import AnswerFile
from grader.register.store import Register
from grader.reports.report import report_page
from grader.reports.view import look_at
from grader.stats.rasch import estimate
from tests.bench_ratio import ratio
from tests.reports.simulated import follows, sitting

WHEN = "2031-05-12T09:30:00Z"


def estimating_difficulties(_course: Course) -> tuple[float, str, str]:
    """The Rasch model by conditional likelihood, with standard errors."""
    chance = np.random.default_rng(20310512)
    hard, able = np.linspace(-2, 2, 100), chance.normal(0, 1, 100_000)
    marks = (chance.random((100_000, 100)) < 1 / (1 + np.exp(hard - able[:, None]))).astype(np.float64)

    def counting() -> object:
        return marks.sum(axis=0), np.bincount(marks.sum(axis=1).astype(np.intp))

    return (
        ratio(lambda: estimate(marks), counting),
        "100 difficulties with errors from 1e5 candidates",
        "one pass of counting in NumPy",
    )


def reporting(_course: Course) -> tuple[float, str, str]:
    """The examiner's report of a large sitting."""
    items = {f"item-{n}": follows(float(difficulty)) for n, difficulty in enumerate(np.linspace(-2, 2, 30))}
    with tempfile.TemporaryDirectory() as folder, Register(Path(folder) / "register.sqlite") as register:
        _sat(register, items)
        found = ratio(
            lambda: report_page(look_at(register, "bench", "bench", WHEN), {}, {}),
            lambda: register.marks("bench"),
        )
    return found, "the report of 400 candidates, 30 items each, keys opened", "reading their marks from the register"


def _sat(register: Register, items: dict[str, Callable[..., str]]) -> None:
    view = sitting("bench", 400, items, 5)
    keys = {sat.paper.code: sat.key.encoded() for sat in view.candidates}
    held = replace(view.sitting, blueprint={"title": "Bench", "pass": {"cut": "50 %"}})
    papers = [(replace(sat.paper, key_digest=digest(keys[sat.paper.code])), keys[sat.paper.code]) for sat in view.candidates]
    register.hold_sitting(held, papers)
    for sat in view.marked:
        file = AnswerFile("bench", f"{sat.paper.candidate}.json", sat.paper.candidate.encode(), WHEN)
        if sat.marking is not None:
            register.keep_answer_file(file, [replace(sat.marking, file=file.digest)])


def verifying(_course: Course) -> tuple[float, str, str]:
    """A certificate checked, its status list too."""
    key, school = IssuerKey(bytes(range(32))), School("Weirgate Workshop School", "https://weirgate.example/", "Weirgate")
    facts = Facts(
        "7M2KQ8D4XT", 7, school, "Ottoline Marwick", Achievement("pump", "Pump", "Sets it.", "A paper."), (),
        "2031-05-12", "2031-05-14", "2034-05-14", "T. Examiner",
    )  # fmt: skip
    data = canonical(proof.signed(credential(facts), key, WHEN))
    listed = canonical(proof.signed(status.status_list(school.id, status_address(school.id), [], WHEN), key, WHEN))
    trusted = issuer.read_issuer(canonical(issuer.document(school.id, [key.multikey])))
    now = datetime(2032, 1, 1, tzinfo=UTC)
    said = proof.proof_of(credential(facts) | {"proof": proof.signed(credential(facts), key, WHEN)["proof"]})
    signature, message = read_base58btc(said["proofValue"]), proof.hashed(credential(facts), said)

    def ours() -> None:
        if not verify(data, [trusted], listed, now).is_good:
            raise AssertionError("the bench's certificate is not good")

    found = ratio(ours, lambda: signature_is_good(key.public, signature, message), (20, 200))
    return found, "a certificate and its status list: two signatures, every field", "one bare Ed25519 verification"


DECISION_MEASURES = (estimating_difficulties, reporting, verifying)
