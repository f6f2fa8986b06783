"""
What an earlier build computed, kept for the next one: texts by the digest of everything they come from.

    build/cache/.gitignore            says `*`: a course under version control does not take the folder in
    build/cache/3f/3f9c…              the digest of its name and the text below it, a line end, the text

A text is asked for by what it comes from, never by where it stands or when it was written. So no entry can be stale: where
anything it comes from has changed, it has another name, and is made. An entry that is damaged in any way does not have the
digest it begins with, and is made again. Entries are written beside their place and renamed into it: two builds at once, or one
that is stopped, leave whole entries only. They hold text and never code; the folder may be deleted at any time.
"""

from __future__ import annotations

import hashlib
import os
import re
import secrets
import shutil
import sys
import tempfile
from collections.abc import Callable
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import grader

LARGEST = 96 * 1024 * 1024
"""Bytes that are kept; past it, what was written first goes until a half is left."""
NAME = 40
LIBRARIES = ("msgspec", "numpy", "mkdocs", "mkdocs-material", "Markdown", "pymdown-extensions")

Source = str | bytes

_OURS = re.compile(rf"[0-9a-f]{{{NAME}}}|\.[0-9a-f]{{16}}\.part")


def name_of(*sources: Source) -> str:
    """
    The name of what comes from these sources, and from this program: another order or another parting is another name.

    >>> name_of("ab", "c") == name_of("ab", b"c"), name_of("ab", "c") == name_of("a", "bc")
    (True, False)
    """
    found = hashlib.sha256(program().encode())
    for source in sources:
        data = source.encode() if isinstance(source, str) else source
        found.update(b"%d:" % len(data))
        found.update(data)
    return found.hexdigest()[:NAME]


@lru_cache(maxsize=1)
def program() -> str:
    """The digest of this program: every file of it, the libraries it computes with, and the machine's kind."""
    folder = Path(grader.__file__).parent
    found = hashlib.sha256(repr((sys.version, sys.platform, [_version(name) for name in LIBRARIES])).encode())
    for file in sorted(path for path in folder.rglob("*") if path.is_file() and path.suffix != ".pyc"):
        data = file.read_bytes()
        found.update(f"{file.relative_to(folder).as_posix()} {len(data)}:".encode())
        found.update(data)
    return found.hexdigest()


def _version(library: str) -> str:
    try:
        return version(library)
    except PackageNotFoundError:
        return ""


class Kept:
    """
    Texts kept in a folder; without one, in a temporary folder for as long as the build lasts.

    Parameters
    ----------
    folder : Path or None
        Made where it is missing. Where it cannot be written, everything is made anew and nothing is kept.

    Examples
    --------
    >>> with Kept(None) as kept:
    ...     name = name_of("a jet")
    ...     kept.find(name) is None, kept.text(name, lambda: "drawn"), kept.text(name, lambda: "drawn again")
    (True, 'drawn', 'drawn')
    """

    def __init__(self, folder: Path | None) -> None:
        self.temporary = folder is None
        self.folder = Path(tempfile.mkdtemp(prefix="grader-kept-")) if folder is None else folder
        self.own: dict[str, str] | None = {} if self.temporary else None  # what nobody else will ask for
        self.made: dict[str, int] = {}  # how often each kind of text had to be made

    def __enter__(self) -> Kept:
        """For a build."""
        return self

    def __exit__(self, *_: object) -> None:
        """The build is over."""
        self.close()

    def close(self) -> None:
        """Take away what is too much; all of it where the folder is a temporary one."""
        if self.temporary:
            shutil.rmtree(self.folder, ignore_errors=True)
        else:
            _trim(self.folder, LARGEST)

    def share(self) -> None:
        """From now on write every text into the folder: another process looks for it there."""
        self.own = None

    def text(self, name: str, make: Callable[[], str], kind: str = "") -> str:
        """The text of that name; where it is not kept it is made, and kept. `kind` counts what was made."""
        found = self.find(name)
        if found is None:
            found = make()
            self.keep(name, found, kind)
        return found

    def find(self, name: str) -> str | None:
        """The text of that name, or None where it is not kept whole."""
        if self.own is not None and name in self.own:
            return self.own[name]
        try:
            digest, _, data = self._place(name).read_bytes().partition(b"\n")
            return data.decode() if digest == _digest(name, data) else None
        except (OSError, UnicodeDecodeError):
            return None

    def keep(self, name: str, text: str, kind: str = "") -> None:
        """Keep a text that was made; where it cannot be written it is made again next time."""
        self.made[kind] = self.made.get(kind, 0) + 1
        if self.own is not None:
            self.own[name] = text
            return
        place, data = self._place(name), text.encode()
        part = place.with_name(f".{secrets.token_hex(8)}.part")
        try:
            if not place.parent.is_dir():
                place.parent.mkdir(parents=True, exist_ok=True)
                (self.folder / ".gitignore").write_bytes(b"*\n")
            try:
                part.write_bytes(_digest(name, data) + b"\n" + data)  # not synced: one that is torn is known by its digest
                part.replace(place)
            finally:
                part.unlink(missing_ok=True)
        except OSError:  # a full disk or a folder that is read only costs time, not the site
            pass

    def _place(self, name: str) -> Path:
        return self.folder / name[:2] / name


def _digest(name: str, data: bytes) -> bytes:
    return hashlib.sha256(name.encode() + data).hexdigest().encode()


def _trim(folder: Path, largest: int) -> None:
    """Take away the entries that were written first, where there are more bytes than `largest`."""
    found = []
    try:
        for below in os.scandir(folder):
            if below.is_dir(follow_symlinks=False) and len(below.name) == 2:
                ours = [entry for entry in os.scandir(below.path) if _OURS.fullmatch(entry.name)]
                found += [(entry.stat().st_mtime_ns, entry.stat().st_size, entry.path) for entry in ours]
        size = sum(one[1] for one in found)
        for _, bytes_, path in sorted(found) if size > largest else ():
            if size <= largest // 2:
                break
            Path(path).unlink(missing_ok=True)
            size -= bytes_
    except OSError:  # another build takes away the same
        pass
