"""Files: read with a cap, written whole or not at all, never outside the folder they belong to."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from grader.base.errors import UseError

# Names that one of the common systems keeps for itself, whatever their ending.
RESERVED = frozenset({"con", "prn", "aux", "nul", *(f"{p}{i}" for p in ("com", "lpt") for i in range(1, 10))})


def read_capped(path: Path, limit: int) -> bytes:
    """
    The bytes of a file that holds no more than `limit` of them.

    Raises `UseError` where the file is larger, missing, or not a plain file.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     file = Path(folder, "a.json")
    ...     write_atomic(file, b"{}")
    ...     read_capped(file, 10)
    b'{}'
    """
    try:
        if not path.exists():
            raise UseError(f"{path}: no such file; check the name")
        if not path.is_file():  # a pipe could keep the program waiting for ever
            raise UseError(f"{path}: a folder, a pipe or a device; name a plain file")
        with path.open("rb") as stream:
            data = stream.read(limit + 1)
    except OSError as error:
        raise UseError(f"{path}: cannot be read ({error.strerror}); check its permissions") from error
    if len(data) > limit:
        raise UseError(f"{path}: larger than {limit:,} bytes; nothing this program reads is that large")
    return data


def write_atomic(path: Path, data: bytes | str, *, synced: bool = True) -> None:
    """
    Write a file whole or not at all: to a neighbour first, synced, then renamed over the name.

    Not `synced` it is as whole where the program is killed, but a power cut may lose it: only for what can be made again.

    Raises `UseError` where the folder is missing, full or read-only; nothing is left half-made.
    """
    content = data.encode() if isinstance(data, str) else data
    neighbour = path.with_name(f".{path.name[:80]}.{secrets.token_hex(4)}.part")
    try:
        try:
            with neighbour.open("xb") as stream:
                stream.write(content)
                if synced:
                    stream.flush()
                    os.fsync(stream.fileno())
            neighbour.replace(path)
        finally:
            neighbour.unlink(missing_ok=True)
    except OSError as error:
        raise UseError(f"{path}: cannot be written ({error.strerror}); check the folder, its space and permissions") from error


def make_folder(path: Path, *, private: bool = False) -> Path:
    """
    The folder, made with its parents where it was missing; `UseError` where it cannot be.

    One that is made `private` is its owner's alone; one that stands keeps the permissions that somebody gave it.
    """
    try:
        path.mkdir(mode=0o700 if private else 0o777, parents=True, exist_ok=True)
    except FileExistsError as error:
        raise UseError(f"{path}: the folder cannot be made, a file has that name; name another") from error
    except OSError as error:
        raise UseError(f"{path}: the folder cannot be made ({error.strerror}); check its parent's permissions") from error
    return path


def plain_name(name: str) -> bool:
    """
    Whether a name can stand as a file's name on any system, and leads nowhere else.

    >>> [plain_name(name) for name in ("c-01", "../x", "con", "", "a/b", ".hidden", "x" * 81)]
    [True, False, False, False, False, False, False]
    """
    stem = name.split(".", 1)[0].lower()
    legal = all(letter.isalnum() or letter in "-_." for letter in name)
    return 0 < len(name) <= 80 and legal and name[0] not in ".-" and name[-1] != "." and stem not in RESERVED


def contained(root: Path, *parts: str) -> Path:
    """
    The path below `root`, refused where it would lead out of it (also through a link).

    >>> contained(Path("/srv/course"), "lessons", "../../etc/passwd")
    Traceback (most recent call last):
    ...
    grader.base.errors.UseError: lessons/../../etc/passwd leads out of /srv/course; name a file inside it
    """
    path = root.joinpath(*parts)
    try:
        inside = path.resolve().is_relative_to(root.resolve())
    except (RuntimeError, OSError) as error:  # links that lead round in a circle
        raise UseError(f"{'/'.join(parts)}: a link that leads back to itself; put the file itself there") from error
    if not inside:
        raise UseError(f"{'/'.join(parts)} leads out of {root}; name a file inside it")
    return path
