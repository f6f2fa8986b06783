"""The small course that only these tests use, built once a session; and its folder served on this machine."""

from __future__ import annotations

import fcntl
import functools
import http.server
import os
import shutil
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

COURSE = Path(__file__).with_name("course")


BuiltOnce = Callable[[str, Callable[[Path], object]], Path]


@pytest.fixture(scope="session")
def built_once(tmp_path_factory: pytest.TempPathFactory) -> BuiltOnce:
    """
    Gives a folder by its name, filled once a session by whichever of the processes that share the tests asks first.

    The folder is for reading: a test that changes what stands in it builds its own.
    """
    own = tmp_path_factory.getbasetemp()
    shared = own.parent if "PYTEST_XDIST_WORKER" in os.environ else own

    def folder(name: str, fill: Callable[[Path], object]) -> Path:
        place, done = shared / f"{name}-once", shared / f"{name}-once.done"
        with (shared / f"{name}-once.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)  # let go when the file is closed, or its process is gone
            if not done.exists():
                shutil.rmtree(place, ignore_errors=True)
                place.mkdir()
                fill(place)
                done.touch()
        return place

    return folder


@pytest.fixture(scope="session")
def site(built_once: BuiltOnce) -> Path:
    """The course as a site of eight variants an item."""
    from grader.pages.build import build_site

    return built_once("site", lambda folder: build_site(COURSE, folder / "site", variants=8)) / "site"


@pytest.fixture
def course(tmp_path: Path) -> Path:
    """A copy of the course that a test may spoil."""
    return Path(shutil.copytree(COURSE, tmp_path / "course"))


class Quiet(http.server.SimpleHTTPRequestHandler):
    """Serves a folder and says nothing."""

    def log_message(self, *_: object) -> None:
        """Keep the terminal for the tests."""


@pytest.fixture(scope="session")
def served(site: Path) -> Iterator[str]:
    """The address at which the site is served."""
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=str(site)))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture(scope="session")
def whole(built_once: BuiltOnce) -> Path:
    """The course's own site, of one variant an item."""
    from grader.pages.build import build_site

    return built_once("whole", lambda folder: build_site(COURSE.parents[2], folder / "site", variants=1)) / "site"
