"""Where answer files come from: files, folders, zip archives; each opened only when it is read, and never beyond the limits."""

from __future__ import annotations

import io
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from grader.base.errors import UseError
from grader.base.files import read_capped
from grader.base.findings import Finding
from grader.marking.reading import TABLE_LIMIT, printable

MEMBERS_LIMIT = 20_000
ARCHIVE_LIMIT = 1 << 29  # bytes of an archive, and of all that it says it holds
DIRECTORY_LIMIT = MEMBERS_LIMIT * 256  # bytes of an archive's own list of what it holds: it is read whole
FILES_LIMIT = 200_000


@dataclass(frozen=True, slots=True)
class Source:
    """One file: its name as a person would find it again, and where it is read from; or why it cannot be."""

    name: str
    path: Path
    member: str = ""
    fault: Finding | None = None

    def read(self) -> bytes:
        """Its bytes; `UseError` where it cannot be read or is larger than `TABLE_LIMIT`."""
        if not self.member:
            return read_capped(self.path, TABLE_LIMIT)
        try:
            about = self.path.stat()
            with _opened(self.path, (about.st_ino, about.st_size, about.st_mtime_ns)).open(self.member) as stream:
                data = stream.read(TABLE_LIMIT + 1)
        except _BROKEN as error:
            raise UseError(f"cannot be unpacked ({type(error).__name__}); hand in the file itself") from error
        if len(data) > TABLE_LIMIT:
            raise UseError(f"larger than {TABLE_LIMIT:,} bytes unpacked; hand in the answers alone")
        return data


# What a broken archive makes zipfile raise.
_BROKEN = (OSError, EOFError, RuntimeError, ValueError, KeyError, NotImplementedError, zlib.error, zipfile.BadZipFile)


@lru_cache(maxsize=1)
def _opened(path: Path, _as_it_is: tuple[int, ...]) -> zipfile.ZipFile:
    """An archive, kept open while its members are read one after the other: its list is as long as they are many."""
    return zipfile.ZipFile(path)


class _Shallow(io.FileIO):
    """An archive of which no more than a list of `DIRECTORY_LIMIT` bytes is read."""

    def read(self, size: int | None = -1, /) -> bytes:
        wanted = DIRECTORY_LIMIT if size is None or size < 0 else size  # -1: the end of the file, 65 kB at most
        if wanted > DIRECTORY_LIMIT:
            raise _TooLargeError
        return super().read(wanted) or b""


class _TooLargeError(Exception):
    """An archive beyond the limits."""


def gathered(paths: Iterable[Path]) -> tuple[Source, ...]:
    """
    Every file that some paths lead to, each once, by name: so that the order they were given in does not matter.

    Hidden files are left out; links inside a folder are set aside, for they may lead anywhere. `UseError` where a path leads
    nowhere, or all of them to no file at all.
    """
    starts = sorted(set(paths), key=str)
    missing = [printable(str(path)) for path in starts if not path.exists()]
    if missing:
        raise UseError(f"{', '.join(missing)}: no such file or folder; check the name")
    found: dict[tuple[str, str], Source] = {}
    for path in starts:
        for source in _below(path):
            found.setdefault((str(source.path.absolute()), source.member), source)
            if len(found) >= FILES_LIMIT:
                raise UseError(f"more than {FILES_LIMIT:,} files; mark them in several turns")
    if not found:
        raise UseError(f"{', '.join(printable(str(path)) for path in starts)}: no file there; name where the answer files are")
    return tuple(sorted(found.values(), key=lambda source: source.name))


def _below(start: Path) -> Iterator[Source]:
    """The files under a path, folder by folder; not by recursion, for a stranger's folders may be nested deep."""
    waiting = [start]
    while waiting:
        path = waiting.pop()
        try:
            if path != start and path.is_symlink():
                yield _faulty(path, str(path), "link", "a link, which may lead anywhere", "hand in the file itself")
            elif path.is_dir():
                waiting.extend(inner for inner in path.iterdir() if not inner.name.startswith("."))
            elif path.suffix.lower() == ".zip" and path.is_file():
                yield from _members(path)
            else:
                yield Source(printable(str(path)), path)
        except OSError as error:
            message = f"cannot be opened ({error.strerror})"
            yield _faulty(path, str(path), "cannot-be-read", message, "check its name and its permissions")


def _members(path: Path) -> Iterator[Source]:
    try:
        members = _listed(path)
    except _BROKEN:
        yield _faulty(path, str(path), "broken-archive", "not a zip archive, or a broken one", "pack it again")
        return
    except _TooLargeError:
        message = f"an archive of more than {MEMBERS_LIMIT:,} files or {ARCHIVE_LIMIT:,} bytes"
        yield _faulty(path, str(path), "too-large", message, "pack the answer files alone")
        return
    named = Counter(info.filename for info in members)
    for info in members:
        name = f"{path}/{info.filename}"
        base = info.filename.rpartition("/")[2]
        if base.startswith(".") or info.filename.startswith("__MACOSX/"):  # what a computer adds by itself
            continue
        if named[info.filename] > 1:  # by its name only one of them would be read
            yield _faulty(path, name, "repeated-name", "two files of one name in the archive", "rename one of the two")
        elif info.flag_bits & 1:
            yield _faulty(path, name, "locked-archive", "locked with a password", "pack it again without one")
        elif base.lower().endswith(".zip"):
            yield _faulty(path, name, "archive-in-archive", "an archive within an archive", "hand in the inner one itself")
        else:
            yield Source(printable(name), path, info.filename)


def _listed(path: Path) -> list[zipfile.ZipInfo]:
    """The files of an archive; `_TooLargeError` before anything large is read."""
    if path.stat().st_size > ARCHIVE_LIMIT:
        raise _TooLargeError
    with _Shallow(path) as file, zipfile.ZipFile(file) as archive:
        members = [info for info in archive.infolist() if not info.is_dir()]
    if len(members) > MEMBERS_LIMIT or sum(info.file_size for info in members) > ARCHIVE_LIMIT:
        raise _TooLargeError
    return members


def _faulty(path: Path, name: str, code: str, message: str, mend: str) -> Source:
    return Source(printable(name), path, member=name, fault=Finding(printable(name), 0, code, message, mend))
