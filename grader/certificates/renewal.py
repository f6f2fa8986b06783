"""
A new key for the issuer: what the old one signed stays good, unless the old one was stolen.

    issuer-key/retired.json     the public halves of keys that sign no more, with date and reason; no secret

Only public halves are kept of a retired key: to check what it signed nothing else is needed, and a secret that signs nothing can
only be stolen.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

from grader.base.canon import canonical, read_json
from grader.base.errors import UseError
from grader.base.files import read_capped, write_atomic
from grader.certificates.keys import NAME, IssuerKey, load_key, make_key
from grader.certificates.multibase import read_multikey

RETIRED = "retired.json"
LIMIT = 1 << 20


@dataclass(frozen=True, slots=True)
class Retired:
    """
    A key that signs no more.

    Parameters
    ----------
    publicKeyMultibase : str
    when : str
        The day it was retired, ``2031-05-14``.
    trusted : bool
        Whether what it signed is still good; not where its secret was stolen.
    reason : str
    """

    publicKeyMultibase: str
    when: str
    trusted: bool
    reason: str


def retired_keys(folder: Path) -> tuple[Retired, ...]:
    """
    The keys of a folder that sign no more, the newest first.

    Raises `UseError` where the list is damaged.
    """
    path = folder / RETIRED
    if not path.exists():
        return ()
    try:
        found = tuple(Retired(**one) for one in read_json(read_capped(path, LIMIT)))
        for one in found:
            read_multikey(one.publicKeyMultibase)
    except (TypeError, UseError) as error:
        raise UseError(f"{path}: not a list of retired keys; restore it from a copy") from error
    return found


def signing_keys(key: IssuerKey, retired: Iterable[Retired]) -> list[str]:
    """The public keys that a verifier shall trust, the one that signs now first."""
    return [key.multikey, *(one.publicKeyMultibase for one in retired if one.trusted and one.publicKeyMultibase != key.multikey)]


def renew_key(folder: Path, passphrase: str, when: str, reason: str, *, stolen: bool) -> IssuerKey:
    """
    Retire the key of a folder and make a new one, sealed with the same passphrase.

    Killed at any moment and run again, it goes on where it was: first the list says that the key is retired, then its secret
    goes, then the new one is made.

    Raises
    ------
    UseError
        There is no key to retire, or the passphrase does not open it.
    """
    retired = retired_keys(folder)
    if (folder / NAME).exists():
        old = load_key(folder, passphrase).multikey
        if old not in {one.publicKeyMultibase for one in retired}:
            listed = (Retired(old, when, trusted=not stolen, reason=reason), *retired)
            write_atomic(folder / RETIRED, canonical([asdict(one) for one in listed]))
        (folder / NAME).unlink()
    elif not retired:
        raise UseError(f"{folder / NAME}: there is no key yet; the first certificate makes one")
    return make_key(folder, passphrase)
