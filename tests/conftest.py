"""For every test: sockets shut but for this machine's own; and the browser, whose absence fails a test and never skips it."""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
import socket
import subprocess
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

LOOPBACK = ("127.0.0.1", "::1", "localhost")


class NetworkTouched(AssertionError):
    """A test tried to leave this machine."""


@pytest.fixture(autouse=True)
def only_loopback(monkeypatch: pytest.MonkeyPatch) -> None:
    """Refuse every connection that is not to this machine itself."""
    connect = socket.socket.connect
    connect_ex = socket.socket.connect_ex

    def guard(there: socket.socket, address: Any) -> None:
        if there.family == getattr(socket, "AF_UNIX", None):
            return
        if not isinstance(address, tuple) or address[0] not in LOOPBACK:
            raise NetworkTouched(f"a test reached for {address}; nothing leaves this machine")

    def guarded_connect(there: socket.socket, address: Any) -> None:
        guard(there, address)
        connect(there, address)

    def guarded_connect_ex(there: socket.socket, address: Any) -> int:
        guard(there, address)
        return connect_ex(there, address)

    look_up = socket.getaddrinfo

    def guarded_look_up(host: Any, *rest: Any, **more: Any) -> Any:
        if host not in (None, "", *LOOPBACK):
            raise NetworkTouched(f"a test asked for the address of {host}; nothing leaves this machine")
        return look_up(host, *rest, **more)

    monkeypatch.setattr(socket, "getaddrinfo", guarded_look_up)
    monkeypatch.setattr(socket.socket, "connect", guarded_connect)
    monkeypatch.setattr(socket.socket, "connect_ex", guarded_connect_ex)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """The system's Chromium, one for the session."""
    place = Path(__file__).with_name("chromium.py")
    spec = importlib.util.spec_from_file_location("tests_chromium", place)
    assert spec is not None
    assert spec.loader is not None
    finder = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(finder)
    path = finder.chromium()
    if path is None:
        pytest.fail("no Chromium in PATH; run tests/chromium.py, it installs one or says what to install")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        # No sandbox: in a container run by root it does not start. The pages under test are our own.
        arguments = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
        found = play.chromium.launch(executable_path=path, args=arguments)
        yield found
        found.close()


@pytest.fixture(scope="session")
def node() -> str:
    """A JavaScript engine without a page: the Node that playwright carries, so that the machine need not have one."""
    from playwright._impl._driver import compute_driver_executable

    return str(compute_driver_executable()[0])


NU_FOLDER = "GRADER_NU_CHECKER"

# What the Nu HTML checker says that is no fault of a page of ours, each with its reason.
NU_SAYS = {
    "Attribute “autocomplete” is only allowed when the input type is “color”, “date”, “datetime-local”, “email”, “hidden”, "
    "“month”, “number”, “password”, “range”, “search”, “tel”, “text”, “time”, “url”, or “week”.": "the theme's two switches for "
    "contents and search; browsers pass over it",
    "CSS: “paint-order”: Property “paint-order” doesn't exist.": "SVG 2, 13.8, has it; the checker's list of properties is older",
    "CSS: “math-style”: Property “math-style” doesn't exist.": "MathML Core, 4.6, has it; likewise",
    "Inline script violates Content Security Policy (meta tag): blocked by “script-src” directive (missing “‘unsafe-inline’” or "
    "nonce/hash).": "it says so of data, which no policy is about, and of a text that ends its last line; the browser runs them, "
    "and tests/papers/test_sheet.py compares each digest",
    "Inline style violates Content Security Policy (meta tag): blocked by “style-src” directive (missing “‘unsafe-inline’” or "
    "nonce/hash).": "likewise",
}


@pytest.fixture(scope="session")
def nu() -> Callable[[Iterable[Path]], list[str]]:
    """
    What the Nu HTML checker finds in files or folders of pages, one line each; nothing of that is the network's.

    Where Java or the checker is missing the test is skipped. To have it: `npm install --prefix FOLDER vnu-jar`, then name the
    folder in the environment, `GRADER_NU_CHECKER=FOLDER`.
    """
    java, folder = shutil.which("java"), os.environ.get(NU_FOLDER)
    if java is None:
        pytest.skip("no Java in PATH; the Nu HTML checker needs one")
    if not folder:
        pytest.skip(f"{NU_FOLDER} names no folder; npm install --prefix FOLDER vnu-jar, then set it to FOLDER")
    checker = next(Path(folder).rglob("vnu.jar"), None)
    if checker is None:
        pytest.fail(f"{NU_FOLDER}={folder} holds no vnu.jar; npm install --prefix {folder} vnu-jar")

    def check(pages: Iterable[Path]) -> list[str]:
        command = [java, "-Xss16m", "-jar", str(checker), "--format", "json", "--exit-zero-always", "--skip-non-html"]
        done = subprocess.run([*command, *map(str, pages)], capture_output=True, text=True, check=True)
        said = json.loads(done.stderr)["messages"]
        return [
            f"{Path(one['url']).name}:{one.get('lastLine', 0)}: {one['message']} {one.get('extract', '')[:120]!r}"
            for one in said
            if one["message"] not in NU_SAYS
        ]

    return check
