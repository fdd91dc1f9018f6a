"""The guard in conftest really stops a test that reaches out."""

from __future__ import annotations

import socket
import time

import pytest


@pytest.mark.parametrize("host", ["192.0.2.1", "2001:db8::1", "10.0.0.1"])
def test_connection_to_another_machine_is_refused(host: str) -> None:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as client, pytest.raises(RuntimeError, match="no network"):
        client.connect((host, 9))


def test_looking_up_a_name_is_refused() -> None:
    with pytest.raises(RuntimeError, match="no network"):
        socket.create_connection(("example.invalid", 80))


def test_loopback_is_allowed() -> None:
    with (
        socket.create_server(("127.0.0.1", 0)) as server,
        socket.create_connection(server.getsockname()) as client,
    ):
        assert client.getpeername() == server.getsockname()


def test_time_zone_is_awkward() -> None:
    assert time.localtime(1_735_700_000).tm_gmtoff == 13.75 * 3600
