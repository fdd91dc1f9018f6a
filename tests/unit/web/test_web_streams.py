"""Devices offered on the page: to paired devices, and only those that were described."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from tests.unit.web.conftest import HERE, THERE
from ventwright.actions.record import Ledger
from ventwright.actions.streams import open_streams
from ventwright.quantities import UserError
from ventwright.wiring import build_app

DEVICE = """\
schema = "ventwright-device-1"
id = "loft"
name = "Loft probe"
link = "ble"
advertised_name = "Loft"
[[channels]]
id = "t"
name = "extract air"
characteristic = "temperature"
station = "ETA"
"""


@pytest.fixture
def device(tmp_path: Path) -> Path:
    path = tmp_path / "loft.toml"
    path.write_text(DEVICE, encoding="utf-8")
    return path


@pytest.fixture
def here(ledger: Ledger, device: Path) -> Iterator[TestClient]:
    app = build_app(ledger, hosts=("ladder.test",), streams=open_streams([device]))
    yield TestClient(app, base_url=HERE, client=("127.0.0.1", 50000))


def test_channels_are_listed_with_what_they_measure(here: TestClient) -> None:
    assert here.get("/api/streams").json() == [
        {
            "device": "loft",
            "channel": "t",
            "label": "Loft probe: extract air",
            "dimension": "temperature",
            "unit_of_measure": "°C",
            "station": "ETA",
        }
    ]


def test_without_devices_the_list_is_empty(ledger: Ledger) -> None:
    app = build_app(ledger)
    client = TestClient(app, base_url=HERE, client=("127.0.0.1", 50000))
    assert client.get("/api/streams").json() == []


@pytest.mark.parametrize("place", ["loft/humidity", "attic/t"])
def test_what_was_not_described_is_not_found(here: TestClient, place: str) -> None:
    answer = here.get(f"/api/streams/{place}/events")
    assert answer.status_code == 404
    assert set(answer.json()) == {"code", "message", "problems"}


@pytest.mark.parametrize("place", ["", "/loft/t/events"])
def test_a_device_that_is_not_paired_hears_nothing(here: TestClient, place: str) -> None:
    phone = TestClient(here.app, base_url=THERE, client=("192.168.1.20", 50000))
    assert phone.get(f"/api/streams{place}").status_code == 401


def test_two_devices_may_not_share_an_id(device: Path) -> None:
    with pytest.raises(UserError, match="'loft' already"):
        open_streams([device, device])
