"""Backups are whole, are put back whole, and never half."""

from __future__ import annotations

import pytest

from tests.unit.record.sample import everything, fill, opened
from ventwright.actions.record import (
    add_entry,
    back_up_record,
    restore_record,
    verify_record,
)
from ventwright.house import Note, entry_of
from ventwright.quantities import UserError


@pytest.fixture
def full(record_url, tmp_path):
    with opened(record_url) as ledger:
        visit = fill(ledger)
        yield ledger, visit, tmp_path


def test_a_backup_is_restored_to_the_same_record(tmp_path):
    url = f"sqlite:///{tmp_path / 'record.db'}"
    with opened(url) as ledger:
        visit = fill(ledger)
        assert back_up_record(ledger, tmp_path / "copy.db") == "database"
        before = everything(ledger)
        add_entry(ledger, visit.id, entry_of(Note(id="n1", text="after the backup")))
        after = everything(ledger)
        with pytest.raises(UserError, match="--replace"):
            restore_record(tmp_path / "copy.db", url=url)
        # The record is open here all the while, as it is while pages are served.
        aside = restore_record(tmp_path / "copy.db", url=url, is_to_replace=True)
        assert everything(ledger) == before
        assert verify_record(ledger).is_intact
    assert aside is not None
    with opened(f"sqlite:///{aside}") as old:
        assert everything(old) == after
    fresh = f"sqlite:///{tmp_path / 'new' / 'record.db'}"
    assert restore_record(tmp_path / "copy.db", url=fresh) is None
    with opened(fresh) as ledger:
        assert everything(ledger) == before


def test_a_bundle_is_a_backup_of_either_database(full):
    ledger, _, folder = full
    assert back_up_record(ledger, folder / "all.zip") == "bundle"
    url = f"sqlite:///{folder / 'restored.db'}"
    restore_record(folder / "all.zip", url=url)
    with opened(url) as other:
        assert everything(other) == everything(ledger)
    with pytest.raises(UserError, match="empty record only"):
        restore_record(folder / "all.zip", url=url, is_to_replace=True)


def test_a_server_is_backed_up_as_a_bundle_and_restored_from_one(postgres_url, tmp_path):
    with opened(f"sqlite:///{tmp_path / 'record.db'}") as ledger:
        fill(ledger)
        back_up_record(ledger, tmp_path / "all.zip")
        back_up_record(ledger, tmp_path / "copy.db")
        before = everything(ledger)
    with pytest.raises(UserError, match="lies on a server"):
        restore_record(tmp_path / "copy.db", url=postgres_url)
    restore_record(tmp_path / "all.zip", url=postgres_url)
    with opened(postgres_url) as server:
        assert everything(server) == before
        with pytest.raises(UserError, match="pg_dump"):
            back_up_record(server, tmp_path / "no.db")


@pytest.mark.parametrize("content", [b"", b"SQLite format 3\x00 and nothing else", b"PK\x03\x04"])
def test_what_is_no_backup_changes_nothing(tmp_path, content):
    url = f"sqlite:///{tmp_path / 'record.db'}"
    (tmp_path / "copy").write_bytes(content)
    with opened(url) as ledger:
        fill(ledger)
        before = everything(ledger)
    with pytest.raises(UserError):
        restore_record(tmp_path / "copy", url=url, is_to_replace=True)
    with opened(url) as ledger:
        assert everything(ledger) == before


def test_a_damaged_backup_is_not_put_back(tmp_path):
    url = f"sqlite:///{tmp_path / 'record.db'}"
    with opened(url) as ledger:
        fill(ledger)
        back_up_record(ledger, tmp_path / "copy.db")
        before = everything(ledger)
    data = bytearray((tmp_path / "copy.db").read_bytes())
    data[4096 * 3 : 4096 * 6] = b"\xff" * (4096 * 3)
    (tmp_path / "copy.db").write_bytes(bytes(data))
    with pytest.raises(UserError):
        restore_record(tmp_path / "copy.db", url=url, is_to_replace=True)
    with opened(url) as ledger:
        assert everything(ledger) == before


def test_a_record_is_not_backed_up_onto_itself(tmp_path):
    path = tmp_path / "record.db"
    with opened(f"sqlite:///{path}") as ledger:
        fill(ledger)
        with pytest.raises(UserError, match="the record itself"):
            back_up_record(ledger, path)
        assert verify_record(ledger).is_intact
