"""Writers killed at random moments, and twenty at once: nothing lost, nothing doubled."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
from collections import Counter

import pytest

from tests.robustness.writers import reading
from ventwright.actions.record import add_house, look_at_visit, open_ledger, start_visit
from ventwright.house import (
    HOUSE_SCHEMA,
    VISIT_SCHEMA,
    House,
    Series,
    Visit,
    link_problem,
)

KILLS = 300
KILLS_ON_A_SERVER = 60
SEED = 7


def prepare(url):
    with open_ledger(url) as ledger:
        add_house(ledger, House(schema=HOUSE_SCHEMA, id="h", name="Barn"))
        start_visit(ledger, Visit(schema=VISIT_SCHEMA, id="v", house="h"))


def run(*words):
    done = subprocess.run(
        [sys.executable, "-m", "tests.robustness.writers", *map(str, words)],
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


def chain_of(ledger, visit):
    with ledger.store.reading() as now:
        found = list(now.entries(Series.VISIT, visit))
        head = now.head(Series.VISIT, visit)
    previous = None
    for entry in found:
        assert link_problem(entry, previous=previous) is None
        previous = entry
    assert (head.number, head.sha256) == (found[-1].number, found[-1].sha256)
    return found


@pytest.mark.parametrize(
    ("address", "count"), [("sqlite_url", KILLS), ("postgres_url", KILLS_ON_A_SERVER)]
)
def test_nothing_acknowledged_is_lost_and_nothing_doubled_when_writers_are_killed(
    address, count, request
):
    url = request.getfixturevalue(address)
    prepare(url)
    told = run("kill", url, count, SEED)
    acknowledged = told["acknowledged"]
    assert len(acknowledged) > count / 10, "the writers must have got somewhere"
    assert acknowledged == sorted(set(acknowledged))
    with open_ledger(url) as ledger:
        ids = Counter(e.id for e in chain_of(ledger, "v") if e.kind == "reading")
        assert set(ids.values()) == {1}
        assert {f"r{index}" for index in acknowledged} <= set(ids)
        # What was killed before it could be told of may be there as well, once and whole.
        kept = {r.id: r for r in look_at_visit(ledger, "v").visit.readings}
        assert kept == {r.id: r for r in map(reading, range(len(ids)))}
    if address == "sqlite_url":
        plain = sqlite3.connect(url.removeprefix("sqlite:///"))
        assert plain.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert plain.execute("PRAGMA foreign_key_check").fetchall() == []
        plain.close()


@pytest.mark.parametrize("address", ["sqlite_url", "postgres_url"])
def test_twenty_writers_at_once_lose_nothing_and_wait_less_than_a_second(address, request):
    url = request.getfixturevalue(address)
    prepare(url)
    writers, entries = 20, 15
    told = run("crowd", url, writers, entries)
    assert told["ready"]
    assert None not in told["longest_s"], "every writer must have ended well"
    # The one place where seconds are the promise itself: nobody is blocked longer than this.
    assert max(told["longest_s"]) < 1.0, told["longest_s"]
    with open_ledger(url) as ledger:
        for writer in range(writers):
            visit = f"v{writer}" if writer % 2 else "v"
            ids = [e.id for e in chain_of(ledger, visit) if e.id.startswith(f"w{writer}-")]
            assert ids == [f"w{writer}-{index}" for index in range(entries)]
