from __future__ import annotations

import socket

import pytest


def test_a_test_cannot_reach_another_machine() -> None:
    with socket.socket() as there, pytest.raises(AssertionError, match="nothing leaves this machine"):
        there.connect(("192.0.2.1", 80))  # RFC 5737: an address for documentation


def test_a_test_cannot_ask_for_an_address() -> None:
    with pytest.raises(AssertionError, match="nothing leaves this machine"):
        socket.getaddrinfo("weirgate.example", 443)


def test_this_machine_itself_can_be_reached() -> None:
    with socket.socket() as here, socket.socket() as there:
        here.bind(("127.0.0.1", 0))
        here.listen()
        there.connect(here.getsockname())
        assert there.getpeername() == here.getsockname()
