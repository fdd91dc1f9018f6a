"""An invented house and visit with one of everything that an entry can hold."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from ventwright.actions.record import (
    Ledger,
    add_house,
    attach_photo,
    change_house,
    issue_report,
    put_instrument,
    record_calibration,
    sign_visit,
    start_visit,
)
from ventwright.exchange import read_house, read_visit
from ventwright.house import (
    Calibration,
    House,
    Instrument,
    InstrumentKind,
    Series,
    Signature,
    Visit,
)
from ventwright.store import list_reports, open_store, owners

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


def fill(ledger: Ledger, *, has_report: bool = False) -> Visit:
    """A house with two plans, a visit with photo and signature, an instrument, perhaps a report."""
    house, visit = example()
    visit = replace(visit, readings=visit.readings[:6])
    add_house(ledger, house)
    change_house(ledger, replace(house, note="attic seen"), expected_number=1, reason="seen")
    start_visit(ledger, visit)
    attach_photo(ledger, visit.id, JPEG, photo_id="p1")
    sign_visit(ledger, visit.id, Signature(id="s1", name="C. Owner"), picture=PNG)
    if has_report:
        issue_report(ledger, visit.id, by="ada")
    put_instrument(ledger, Instrument(id="vane", kind=InstrumentKind.VANE_METER))
    done = Calibration(id="c1", calibrated_on=DAY, certificate_no="K-17")
    record_calibration(ledger, "vane", done, certificate=b"%PDF-1.7 certificate")
    return visit


def everything(ledger: Ledger):
    """All sealed entries of a record, and all its files."""
    with ledger.store.reading() as now:
        series = {
            (one, owner): list(now.entries(one, owner))
            for one in Series
            for owner in owners(now, one)
        }
        files = {name: now.blob(name) for name in now.blob_names()}
        return series, files, list_reports(now)
