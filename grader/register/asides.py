"""What was set aside and is still open. The register keeps every aside for ever; a person wants to see what is left to do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from grader.register.records import Aside, Marking
from grader.register.sources import Source
from grader.register.store import Register

MARKED_ALREADY = "marked-already"  # other answers than those that count


def open_asides(register: Register, sitting: str) -> tuple[Aside, ...]:
    """
    What was set aside in a sitting and still needs a person, in that order.

    Settled, and so left out, is what a later `grader mark` no longer found in the same file; what lay in a file that was gone
    from a folder when that folder was marked again; and what names candidates who have all been marked since. Other answers of
    somebody who is marked stay open until the paper is marked again under a reason, or the file is gone. A corrected key, or a
    mark awarded by hand, settles nothing that was handed in.
    """
    handed_in = (marking for marking in register.headings(sitting) if marking.cause == "answers")
    counts = {marking.candidate: marking for marking in handed_in}
    return tuple(aside for aside in register.unsettled(sitting).values() if not _answered(aside, counts))


def of_candidates(asides: Iterable[Aside]) -> dict[str, tuple[str, ...]]:
    """The files set aside by the candidate whom they name, each once."""
    found: dict[str, dict[str, None]] = {}
    for aside in asides:
        for candidate in aside.candidates:
            found.setdefault(candidate, {})[aside.file] = None
    return {candidate: tuple(files) for candidate, files in found.items()}


def _answered(aside: Aside, counts: Mapping[str, Marking]) -> bool:
    return bool(aside.candidates) and all(_since(aside, counts.get(candidate)) for candidate in aside.candidates)


def _since(aside: Aside, marking: Marking | None) -> bool:
    if marking is None or marking.when < aside.when:
        return False
    return bool(marking.reason) or aside.code != MARKED_ALREADY


def settle_gone(register: Register, sitting: str, paths: Iterable[Path], sources: Iterable[Source], when: str) -> None:
    """Settle what lay in files below some paths that are gone; not where a folder or an archive could not be opened."""
    found = {source.name: source.fault is not None for source in sources}
    shut = [name for name, fault in found.items() if fault]
    with register.act():
        for number, aside in register.unsettled(sitting).items():
            file = Path(aside.file)
            below = any(file.is_relative_to(path) for path in paths)
            if below and aside.file not in found and not any(file.is_relative_to(name) for name in shut):
                register.settle(number, "the file is gone", when)


def settle_mended(register: Register, before: Mapping[int, Aside], now: Iterable[Aside], when: str) -> None:
    """Settle what was set aside in a file before and is no longer found in it."""
    holds = {same(aside) for aside in now}
    for number, aside in before.items():
        if same(aside) not in holds:
            register.settle(number, "no longer so when the file was looked at again", when)


def same(aside: Aside) -> tuple[str, int, str, str]:
    """What makes two asides one: found again, it is not kept again."""
    return aside.file, aside.line, aside.code, aside.reason
