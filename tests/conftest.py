"""For every test: sockets shut but for this machine's own; and the browser, whose absence fails a test and never skips it."""

from __future__ import annotations

import importlib.util
import socket
from collections.abc import Iterator
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
