"""The small course that only these tests use, built once a session; and its folder served on this machine."""

from __future__ import annotations

import functools
import http.server
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

COURSE = Path(__file__).with_name("course")


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The course as a site of eight variants an item."""
    from grader.pages.build import build_site

    folder = tmp_path_factory.mktemp("pages") / "site"
    build_site(COURSE, folder, variants=8)
    return folder


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
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The course's own site, of one variant an item."""
    from grader.pages.build import build_site

    folder = tmp_path_factory.mktemp("whole") / "site"
    build_site(COURSE.parents[2], folder, variants=1)
    return folder
