"""
Whether a certificate is good, from its bytes, the issuer's document and the status list. Pure: no network, no clock, no file.

Nothing in the certificate is believed before the signature of a key that the issuer's document names has been checked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any, Literal

from grader.base.canon import canonical, read_json
from grader.base.errors import UseError
from grader.certificates import proof, status
from grader.certificates.credential import CONTEXTS, TYPES, holder_of
from grader.certificates.issuer import Issuer

State = Literal[
    "good", "expired", "not yet valid", "revoked", "altered", "unknown issuer", "status unknown", "unreadable"
]  # "status unknown": the signature is good, but no status list says whether it was revoked
LIMIT = 1024 * 1024  # bytes of a certificate or of a status list
_INSTANT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)")
_PLACE = re.compile(r"0|[1-9][0-9]{0,8}")


@dataclass(frozen=True, slots=True)
class Certified:
    """What a certificate whose signature is good says, in short."""

    id: str
    holder: str
    achievement: str
    issuer: str
    valid_from: str
    valid_until: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """
    What was found: the state, the reasons in sentences, and what is certified (None unless the signature is good).

    >>> Verdict("altered", ("why",)).is_good
    False
    """

    state: State
    reasons: tuple[str, ...]
    certified: Certified | None = None
    status_of: str = ""

    @property
    def is_good(self) -> bool:
        """Whether the certificate may be relied on."""
        return self.state == "good"

    def as_json(self) -> dict[str, Any]:
        """The verdict as `grader verify --json` prints it."""
        certified = asdict(self.certified) if self.certified else None
        return {"state": self.state, "reasons": list(self.reasons), "certified": certified, "status_list_of": self.status_of}


@dataclass(frozen=True, slots=True)
class _NotGood(Exception):
    state: State
    reasons: tuple[str, ...]
    certified: Certified | None = field(default=None)


def verify(data: bytes, issuers: Iterable[Issuer], status_list: bytes | None, now: datetime) -> Verdict:
    """
    Whether a certificate is good.

    Parameters
    ----------
    data : bytes
        The certificate's file. Its bytes must be those that were issued: canonical JSON (RFC 8785), nothing before or after.
    issuers : iterable of Issuer
        The issuers that are trusted.
    status_list : bytes or None
        The issuer's status list, or None where there is none at hand: then the best verdict is "status unknown".
    now : datetime
        With a time zone.

    Returns
    -------
    Verdict
        The gravest state that holds: altered before revoked before expired.

    Raises
    ------
    UseError
        `now` has no time zone.
    """
    if now.tzinfo is None:
        raise UseError("the instant has no time zone; give one, such as UTC")
    known = tuple(issuers)
    try:
        said = _read(data)
        issuer = _signer(said, known)
        _as_issued(said, data)
        certified, since, until = _certified(said)
    except _NotGood as fault:
        return Verdict(fault.state, tuple(map(printable, fault.reasons)))
    state, reasons, status_of = _status(said, issuer, status_list, now)
    if state == "good" or state == "status unknown":
        state, reasons = _in_time(state, reasons, since, until, now)
    return Verdict(state, tuple(map(printable, reasons)), certified, status_of)


def printable(text: str) -> str:
    """
    A text from a stranger's file as it may be shown: what would move a terminal's cursor or hide words is spelt out.

    >>> printable("c-01\\x1b[2J, Ōta")
    'c-01\\\\x1b[2J, Ōta'
    """
    return "".join(sign if sign.isprintable() else sign.encode("unicode_escape").decode() for sign in text)


def _read(data: bytes) -> dict[str, Any]:
    if len(data) > LIMIT:
        raise _NotGood("unreadable", (f"it is larger than {LIMIT:,} bytes; no certificate is",))
    if data.startswith(b"%PDF"):
        raise _NotGood("unreadable", ("it is the page to hang up; check the signed file, which is attached to it",))
    try:
        said = read_json(data)
        canonical(said)  # numbers beyond what JSON carries exactly, lone surrogates
    except UseError as error:
        raise _NotGood("unreadable", (f"it cannot be read: {error}",)) from error
    if not isinstance(said, dict) or not isinstance(said.get("@context"), list) or not isinstance(said.get("type"), list):
        raise _NotGood("unreadable", ("it is not a certificate: a credential has `@context` and `type`",))
    return said


def _signer(said: Mapping[str, Any], known: tuple[Issuer, ...]) -> Issuer:
    try:
        method = proof.proof_of(said)["verificationMethod"]
    except UseError as error:
        state: State = "altered" if "proof" not in said else "unreadable"
        raise _NotGood(state, (str(error),)) from error
    for issuer in known:
        if method in issuer.keys:
            if not proof.is_signed_by(said, issuer.keys[method]):
                raise _NotGood("altered", ("what it says is not what was signed: something was changed after it was issued",))
            if _issuer_id(said) != issuer.id:
                named = _issuer_id(said)
                raise _NotGood("unknown issuer", (f"it names the issuer {named!r}, but a key of {issuer.id!r} signed it",))
            return issuer
    names = ", ".join(issuer.id for issuer in known) or "none"
    raise _NotGood("unknown issuer", (f"it was signed with a key that no trusted issuer has; trusted: {names}",))


def _issuer_id(said: Mapping[str, Any]) -> object:
    issuer = said.get("issuer")
    return issuer.get("id") if isinstance(issuer, dict) else issuer


def _as_issued(said: Mapping[str, Any], data: bytes) -> None:
    if canonical(said) != data:
        why = "what it says is what was signed, but the file was written anew since (spacing, order or line ends)"
        raise _NotGood("altered", (f"{why}; ask for the file as it was issued",))


def _certified(said: Mapping[str, Any]) -> tuple[Certified, datetime, datetime | None]:
    if said["@context"] != list(CONTEXTS) or not set(TYPES) <= {kind for kind in said["type"] if isinstance(kind, str)}:
        raise _NotGood("unreadable", ("the issuer signed it, but it is another document, not a certificate",))
    subject = said.get("credentialSubject")
    achievement = subject.get("achievement") if isinstance(subject, dict) else None
    if not isinstance(achievement, dict):
        raise _NotGood("unreadable", ("the issuer signed it, but it certifies no achievement",))
    since, until = _instant(said, "validFrom"), _instant(said, "validUntil") if "validUntil" in said else None
    certified = Certified(
        id=str(said.get("id", "")),
        holder=holder_of(said),
        achievement=str(achievement.get("name", "")),
        issuer=str(_issuer_id(said)),
        valid_from=said["validFrom"],
        valid_until=said.get("validUntil", ""),
    )
    return certified, since, until


def _instant(said: Mapping[str, Any], name: str) -> datetime:
    text = said.get(name)
    try:
        if isinstance(text, str) and _INSTANT.fullmatch(text):
            return datetime.fromisoformat(text)
    except ValueError:
        pass
    raise _NotGood("unreadable", (f"its `{name}` is {str(text)[:40]!r}; an instant is written 2031-05-12T00:00:00Z",))


def _status(said: Mapping[str, Any], issuer: Issuer, data: bytes | None, now: datetime) -> tuple[State, tuple[str, ...], str]:
    entry = said.get("credentialStatus")
    if entry is None:
        return "good", ("the issuer's signature is good", "it cannot be revoked: it names no status list"), ""
    if data is None:
        return "status unknown", ("the issuer's signature is good, but no status list says whether it was revoked",), ""
    try:
        since, revoked = _revoked(entry, issuer, data, now)
    except UseError as error:
        return "status unknown", (f"the issuer's signature is good, but the status list is of no use: {error}",), ""
    if revoked:
        return "revoked", (f"the issuer has revoked it; so says the status list of {since}",), since
    return "good", ("the issuer's signature is good", f"it is not revoked; so says the status list of {since}"), since


def _revoked(entry: Any, issuer: Issuer, data: bytes, now: datetime) -> tuple[str, bool]:
    if (
        not isinstance(entry, dict)
        or entry.get("type") != "BitstringStatusListEntry"
        or entry.get("statusPurpose") != status.PURPOSE
    ):
        raise UseError("the certificate's status entry is of a kind this program does not know")
    place = entry.get("statusListIndex")
    if not isinstance(place, str) or not _PLACE.fullmatch(place):
        raise UseError("the certificate's place in the list is not a whole number")
    if len(data) > LIMIT:
        raise UseError(f"it is larger than {LIMIT:,} bytes")
    said = read_json(data)
    if not isinstance(said, dict):
        raise UseError("it is not a status list")
    method = proof.proof_of(said)["verificationMethod"]
    if method not in issuer.keys or _issuer_id(said) != issuer.id or not proof.is_signed_by(said, issuer.keys[method]):
        raise UseError("the issuer did not sign it, or it was changed since")
    try:
        since = _instant(said, "validFrom")
    except _NotGood as fault:
        raise UseError(fault.reasons[0]) from fault
    if since > now:
        raise UseError(f"it is of {said['validFrom']}, which is yet to come; check this machine's clock")
    return said["validFrom"], status.is_set(status.bits_of(said, str(entry.get("statusListCredential"))), int(place))


def _in_time(
    state: State, reasons: tuple[str, ...], since: datetime, until: datetime | None, now: datetime
) -> tuple[State, tuple[str, ...]]:
    if now < since:
        return "not yet valid", (f"it is valid from {since.isoformat()}", *reasons)
    if until is not None and now > until:
        return "expired", (f"it was valid until {until.isoformat()}; the signature is good, nothing was changed", *reasons)
    return state, reasons
