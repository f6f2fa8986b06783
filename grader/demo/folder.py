"""The folder a demonstration runs in: emptied only where an earlier demonstration made it."""

from __future__ import annotations

import shutil
from pathlib import Path

from grader.base.errors import UseError
from grader.base.files import make_folder, write_atomic

MARK = ".demonstration"


def fresh(folder: Path) -> Path:
    """
    The folder, new and empty but for the sign that it is a demonstration's.

    Raises `UseError` where something else stands there: nothing of it is touched.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as place:
    ...     Path(place, "work.txt").touch()
    ...     fresh(Path(place, "demo")).name
    ...     fresh(Path(place, "demo")).name
    'demo'
    'demo'
    """
    if folder.exists() and not (folder / MARK).is_file() and (not folder.is_dir() or any(folder.iterdir())):
        raise UseError(f"{folder}: not empty, and no demonstration made it; name another folder")
    if folder.exists():
        shutil.rmtree(folder)
    make_folder(folder)
    write_atomic(folder / MARK, "Made by `grader demo`, which empties this folder when it is run again.\n")
    return folder
