"""A full disk, a file that may not be written, a record held by others: said, and nothing lost."""

from __future__ import annotations

import json
import os
import resource
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import event

from tests.robustness.writers import reading
from ventwright.actions.record import (
    add_house,
    look_at_visit,
    open_ledger,
    record_reading,
    start_visit,
)
from ventwright.house import HOUSE_SCHEMA, VISIT_SCHEMA, House, Visit
from ventwright.quantities import UserError
from ventwright.store import sqlite as driving

NOBODY = 65534


def prepare(url: str, count: int = 3) -> None:
    with open_ledger(url) as ledger:
        add_house(ledger, House(schema=HOUSE_SCHEMA, id="h", name="Barn"))
        start_visit(ledger, Visit(schema=VISIT_SCHEMA, id="v", house="h"))
        for index in range(count):
            record_reading(ledger, "v", reading(index))


def readings(url: str) -> list[str]:
    with open_ledger(url) as ledger:
        return [r.id for r in look_at_visit(ledger, "v").visit.readings]


def write_until_refused(url: str, most: int = 5000) -> tuple[list[str], str, str]:
    acknowledged = []
    with open_ledger(url) as ledger:
        for index in range(3, most):
            try:
                record_reading(ledger, "v", reading(index))
            except UserError as mistake:
                return acknowledged, mistake.problems[0].code, str(mistake)
            acknowledged.append(f"r{index}")
    return acknowledged, "", ""


def test_a_full_database_is_said_and_keeps_what_it_has(sqlite_url):
    prepare(sqlite_url)
    with open_ledger(sqlite_url) as ledger:
        engine = ledger.store.engine

        def limit(connection, _):
            pages = connection.execute("PRAGMA page_count").fetchone()[0]
            connection.execute(f"PRAGMA max_page_count = {pages + 6}")

        engine.dispose()
        event.listen(engine, "connect", limit)
        stored = ["r0", "r1", "r2"]
        with pytest.raises(UserError, match="the disk is full") as caught:
            for index in range(3, 5000):
                record_reading(ledger, "v", reading(index))
                stored.append(f"r{index}")
        assert caught.value.problems[0].code == "disk-full"
        assert len(stored) > 3
        # Reading goes on; and there is room again once someone has made some.
        assert [r.id for r in look_at_visit(ledger, "v").visit.readings] == stored
    with open_ledger(sqlite_url) as ledger:
        record_reading(ledger, "v", reading(len(stored)))
    assert readings(sqlite_url) == [*stored, f"r{len(stored)}"]


def in_a_process(work: Callable[[], object]) -> object:
    """Run work in a forked process that may give up rights and room; return what it returned."""
    reader, writer = os.pipe()
    pid = os.fork()
    if not pid:
        try:
            os.write(writer, json.dumps(work()).encode())
        finally:
            os._exit(0)
    os.close(writer)
    with os.fdopen(reader, "rb") as file:
        told = file.read()
    os.waitpid(pid, 0)
    return json.loads(told)


def test_a_disk_that_takes_no_more_bytes_is_said_and_loses_nothing(sqlite_url):
    prepare(sqlite_url)
    size = Path(sqlite_url.removeprefix("sqlite:///")).stat().st_size

    def work():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size + 20_000, size + 20_000))
        return write_until_refused(sqlite_url)

    acknowledged, code, said = in_a_process(work)
    assert code in ("disk-trouble", "disk-full"), said
    assert "free some space" in said
    assert acknowledged
    assert readings(sqlite_url) == ["r0", "r1", "r2", *acknowledged]


def test_a_file_that_may_only_be_read_is_said_and_stays_as_it_is():
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "record.db"
        prepare(f"sqlite:///{path}")
        before = path.read_bytes()
        path.chmod(0o444)
        folder.chmod(0o555)

        def work():
            if os.geteuid() == 0:
                os.setgid(NOBODY)
                os.setuid(NOBODY)
            shown = readings(f"sqlite:///{path}")
            return shown, *write_until_refused(f"sqlite:///{path}")

        shown, acknowledged, code, said = in_a_process(work)
        folder.chmod(0o755)
        assert shown == ["r0", "r1", "r2"], "it can still be read"
        assert (acknowledged, code) == ([], "read-only")
        assert "rights" in said
        assert path.read_bytes() == before


def test_a_record_that_another_program_holds_is_said_after_a_while(sqlite_url, monkeypatch):
    prepare(sqlite_url)
    monkeypatch.setattr(driving, "BUSY_WAIT_S", 0.2)
    holder = sqlite3.connect(sqlite_url.removeprefix("sqlite:///"), isolation_level=None)
    with open_ledger(sqlite_url) as ledger:
        holder.execute("BEGIN EXCLUSIVE")
        with pytest.raises(UserError, match="another program holds the record") as caught:
            record_reading(ledger, "v", reading(3))
        assert caught.value.problems[0].code == "busy"
        holder.execute("ROLLBACK")
        record_reading(ledger, "v", reading(3))
    holder.close()
    assert readings(sqlite_url) == ["r0", "r1", "r2", "r3"]


def test_a_writer_waits_for_a_reader_and_is_then_served(sqlite_url):
    """A long look at the record, as by another program, delays an entry and does not refuse it."""
    prepare(sqlite_url)
    path = sqlite_url.removeprefix("sqlite:///")
    script = (
        "import sqlite3, sys, time\n"
        f"c = sqlite3.connect({path!r}, isolation_level=None)\n"
        "c.execute('BEGIN'); c.execute('SELECT count(*) FROM visit_entry').fetchone()\n"
        "print('looking', flush=True); time.sleep(0.4)\n"
    )
    with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE) as looker:
        assert looker.stdout is not None
        assert looker.stdout.readline().strip() == b"looking"
        began = time.monotonic()
        with open_ledger(sqlite_url) as ledger:
            record_reading(ledger, "v", reading(3))
        print(f"waited {time.monotonic() - began:.2f} s for the reader")
    assert readings(sqlite_url)[-1] == "r3"
