"""An invented house and visit with one of everything that an entry can hold."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from ventwright.actions.record import Ledger
from ventwright.exchange import read_house, read_visit
from ventwright.house import House, Visit
from ventwright.store import open_store

EXAMPLES = Path(__file__).parents[3] / "examples"
JPEG = b"\xff\xd8\xff\xe0" + bytes(range(256)) * 8
PNG = b"\x89PNG\r\n\x1a\n" + b"drawn" * 40
DAY = date(2026, 2, 11)


class Clock:
    """A clock that goes one second with each look."""

    def __init__(self) -> None:
        self.now = datetime(2026, 2, 11, 16, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now


def opened(url: str, *, via: str = "test") -> Ledger:
    """The record at an address, with a clock of its own."""
    return Ledger(store=open_store(url), clock=Clock(), via=via)


def example(name: str = "juniper_mesa") -> tuple[House, Visit]:
    """A house and visit of the examples."""
    house, _ = read_house(EXAMPLES / name / "house.toml")
    visit, _ = read_visit(EXAMPLES / name / "visit.toml", house=house)
    return house, visit
