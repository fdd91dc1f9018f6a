"""The application in process, on a record with the invented house."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from ventwright.actions.record import Ledger, open_ledger
from ventwright.wiring import build_app, fill_demo

TOKEN = "a-pairing-code-for-tests"
HERE = "http://127.0.0.1:8470"
THERE = "http://ladder.test:8470"


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    with open_ledger(f"sqlite:///{tmp_path / 'record.db'}") as ledger:
        fill_demo(ledger)
        yield ledger


@pytest.fixture
def app(ledger: Ledger) -> FastAPI:
    return build_app(ledger, hosts=("ladder.test",), pairing_token=TOKEN)


@pytest.fixture
def here(app: FastAPI) -> TestClient:
    """Browse on the machine that serves."""
    return TestClient(
        app, base_url=HERE, client=("127.0.0.1", 50000), raise_server_exceptions=False
    )


@pytest.fixture
def phone(app: FastAPI) -> TestClient:
    """A device on the network, not paired yet."""
    return TestClient(
        app,
        base_url=THERE,
        client=("192.168.1.20", 50000),
        follow_redirects=False,
        raise_server_exceptions=False,
    )
