"""How fast is a large record: 10,000 houses with 400,000 readings in one SQLite file?

Timed in a process of its own, on the file and on the same record with a single house (which shows
what size costs): a page of houses from the middle of the list, a search, opening a house with its
visits, opening a visit of forty readings, adding a reading. The peer of each is the plain standard
library on the same file: `sqlite3` fetching the same rows, or one durable insert into one table.
Peak memory is that of the whole process, of which the empty one shows how much is imports.
"""

from __future__ import annotations

import argparse
import json
import resource
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import insert, text

from ventwright.actions.record import (
    draft_from,
    find_houses,
    house_columns,
    look_at_visit,
    open_house,
    open_ledger,
    record_reading,
    verify_record,
    visit_columns,
)
from ventwright.house import (
    CHAIN_START,
    HOUSE_SCHEMA,
    VISIT_SCHEMA,
    Draft,
    Hood,
    House,
    Method,
    Phase,
    Reading,
    Room,
    RoomKind,
    Series,
    TypedText,
    Visit,
    entries_of,
    entry_of,
    seal,
    station_from,
    time_text,
)
from ventwright.store.sqlite import journal_of
from ventwright.store.tables import ENTRIES, HEADS

READINGS_A_VISIT = 40
AT = datetime(2026, 3, 4, 9, 0, tzinfo=UTC)
BATCH = 250


def house_of(index: int) -> House:
    """Some house of a street."""
    rooms = tuple(
        Room(id=f"r{i}", name=f"Room {i}", kind=RoomKind.BEDROOM, floor_area_m2=12.0 + i)
        for i in range(8)
    )
    name = f"{index * 7919 % 10007} Long Street"
    return House(schema=HOUSE_SCHEMA, id=f"h{index}", name=name, place="Oxlea", rooms=rooms)


def reading_of(index: int, *, prefix: str = "r") -> Reading:
    """Some reading of a terminal."""
    station = station_from(f"terminal:t{index % 12}")
    assert station is not None
    flow_m3_s = 0.008 + 1e-4 * index
    return Reading(
        id=f"{prefix}{index}",
        station=station,
        method=Method.HOOD,
        look=Hood(flows_m3_s=(flow_m3_s, flow_m3_s)),
        setting="continuous",
        phase=Phase.AS_FOUND,
        typed=(TypedText(key="flows[0]", text=f"{flow_m3_s * 3600:.1f} m³/h"),),
    )


def sealed_rows(
    series: Series, owner: str, drafts: list[Draft]
) -> tuple[list[dict[str, Any]], str]:
    """Rows of a whole series, as the store would have sealed them, and the last hash."""
    found, previous = [], CHAIN_START
    for number, draft in enumerate(drafts, start=1):
        one = seal(
            draft,
            series=series,
            owner=owner,
            number=number,
            via="benchmark",
            sealed_at=AT + timedelta(seconds=number),
            previous_sha256=previous,
        )
        previous = one.sha256
        row = {k: getattr(one, k) for k in one.__dataclass_fields__ if k != "series"}
        found.append({**row, "sealed_at": time_text(one.sealed_at), "contests_number": None})
    return found, previous


def fill(url: str, house_count: int) -> None:
    """Make the record; guards are off meanwhile, since rows come in bulk and not in turn."""
    reading_drafts = [draft_from(entry_of(reading_of(i))) for i in range(READINGS_A_VISIT)]
    with open_ledger(url) as ledger:
        with ledger.store.writing() as change:
            query = text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            guards = change.connection.execute(query).all()
            for name, _ in guards:
                change.connection.execute(text(f"DROP TRIGGER {name}"))
        for start in range(0, house_count, BATCH):
            batch: dict[Any, list[dict[str, Any]]] = {}
            for index in range(start, min(start + BATCH, house_count)):
                for table, rows in rows_of(index, reading_drafts):
                    batch.setdefault(table, []).extend(rows)
            with ledger.store.writing() as change:
                for table, rows in batch.items():
                    change.connection.execute(insert(table), rows)
        with ledger.store.writing() as change:
            for _, sql in guards:
                change.connection.exec_driver_sql(sql)
            change.connection.exec_driver_sql("ANALYZE")


def rows_of(index: int, reading_drafts: list[Draft]) -> Iterator[tuple[Any, list[dict[str, Any]]]]:
    """Rows of one house, its visit and that visit's readings."""
    house = house_of(index)
    visit = Visit(schema=VISIT_SCHEMA, id=f"v{index}", house=house.id, started_at=AT)
    plan = draft_from(entry_of(house, entry_id="1"))
    head = [draft_from(entry) for entry in entries_of(visit)]
    for series, owner, drafts, columns in (
        (Series.HOUSE, house.id, [plan], house_columns(house)),
        (
            Series.VISIT,
            visit.id,
            [*head, *reading_drafts],
            {"house": house.id, **visit_columns(visit)},
        ),
    ):
        rows, last = sealed_rows(series, owner, drafts)
        at = {"changed_at": time_text(AT), "number": len(rows), "sha256": last}
        yield HEADS[series], [{"id": owner, **at, **columns}]
        yield ENTRIES[series], rows


def median_ms(work: Callable[[int], object], rounds: int) -> tuple[float, float]:
    """Median and largest time of a piece of work, after one round to warm up [ms]."""
    work(rounds)
    times = []
    for index in range(rounds):
        began = time.perf_counter()
        work(index)
        times.append(1e3 * (time.perf_counter() - began))
    return statistics.median(times), max(times)


def measure(url: str, rounds: int) -> dict[str, float]:
    """Times and peak memory of this process on one record."""
    found: dict[str, float] = {}
    path = url.removeprefix("sqlite:///")
    plain = sqlite3.connect(path)
    with open_ledger(url) as ledger:
        houses = plain.execute("SELECT count(*) FROM house").fetchone()[0]
        key = plain.execute(
            "SELECT name_key, id FROM house ORDER BY name_key, id LIMIT 1 OFFSET ?", (houses // 2,)
        ).fetchone()
        picks = [i * 7 % houses for i in range(rounds + 1)]
        work: dict[str, tuple[Callable[[int], object], Callable[[int], object]]] = {
            "list_page": (
                lambda _: find_houses(ledger, after_key=key),
                lambda _: plain.execute(
                    "SELECT id, name, place, number, changed_at FROM house WHERE name_key > ? "
                    "ORDER BY name_key, id LIMIT 51",
                    (key[0],),
                ).fetchall(),
            ),
            "search": (
                lambda _: find_houses(ledger, words="99 street"),
                lambda _: plain.execute(
                    "SELECT id FROM house WHERE search_text LIKE '%99%' AND search_text LIKE "
                    "'%street%' ORDER BY name_key, id LIMIT 51"
                ).fetchall(),
            ),
            "open_house": (
                lambda i: open_house(ledger, f"h{picks[i]}"),
                lambda i: plain.execute(
                    "SELECT content FROM house_entry WHERE owner = ?", (f"h{picks[i]}",)
                ).fetchall(),
            ),
            "open_visit": (
                lambda i: look_at_visit(ledger, f"v{picks[i]}"),
                lambda i: plain.execute(
                    "SELECT content FROM visit_entry WHERE owner = ?", (f"v{picks[i]}",)
                ).fetchall(),
            ),
        }
        for name, (ours, peer) in work.items():
            found[f"{name}_ms"], found[f"{name}_most_ms"] = median_ms(ours, rounds)
            found[f"{name}_ratio"] = found[f"{name}_ms"] / median_ms(peer, rounds)[0]
        plain.close()
        token = time.time_ns()
        found["add_reading_ms"], found["add_reading_most_ms"] = median_ms(
            lambda i: record_reading(ledger, "v0", reading_of(i, prefix=f"n{token}-")), rounds
        )
    found["add_reading_ratio"] = found["add_reading_ms"] / durable_insert_ms(Path(path), rounds)
    return {**found, "peak_mib": peak_mib()}


def peak_mib() -> float:
    """Largest memory this process has held."""
    status = Path("/proc/self/status")
    if status.exists():  # `getrusage` would count what the parent held when it started us
        line = next(li for li in status.read_text().splitlines() if li.startswith("VmHWM"))
        return int(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def durable_insert_ms(beside: Path, rounds: int) -> float:
    """One insert into one table, on the same disk and with the same promise to stay [ms]."""
    path = beside.with_name("peer.db")
    path.unlink(missing_ok=True)
    journal, synchronous = journal_of(sqlite3.sqlite_version_info[:3])
    plain = sqlite3.connect(path, isolation_level=None)
    plain.execute(f"PRAGMA journal_mode = {journal}")
    plain.execute(f"PRAGMA synchronous = {synchronous}")
    plain.execute("CREATE TABLE entry (content TEXT)")
    content = draft_from(entry_of(reading_of(0))).content
    found, _ = median_ms(
        lambda _: plain.execute("INSERT INTO entry VALUES (?)", (content,)), rounds
    )
    plain.close()
    path.unlink()
    return found


def measured_apart(url: str, rounds: int) -> dict[str, Any]:
    """What `measure` finds in a fresh process."""
    command = [sys.executable, __file__, "--measure", url, "--rounds", str(rounds)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return dict(json.loads(done.stdout))


def verified_apart(url: str) -> dict[str, Any]:
    """Time and peak memory of verifying in a fresh process."""
    command = [sys.executable, __file__, "--verify-now", url]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return dict(json.loads(done.stdout))


def verify_now(url: str) -> dict[str, float]:
    """Verify a record here."""
    began = time.perf_counter()
    with open_ledger(url) as ledger:
        found = verify_record(ledger)
    assert found.is_intact
    return {"verify_s": time.perf_counter() - began, "verify_peak_mib": peak_mib()}


def main() -> None:
    """Print the medians, the largest times and the ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    parser.add_argument("--houses", type=int, default=10_000)
    parser.add_argument("--rounds", type=int, default=60)
    parser.add_argument("--verify", action="store_true", help="verify the whole record as well")
    parser.add_argument("--measure", default="", help=argparse.SUPPRESS)
    parser.add_argument("--verify-now", default="", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.measure:
        print(json.dumps(measure(options.measure, options.rounds)))
        return
    if options.verify_now:
        print(json.dumps(verify_now(options.verify_now)))
        return
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        small, large = f"sqlite:///{folder / 'small.db'}", f"sqlite:///{folder / 'large.db'}"
        fill(small, 1)
        began = time.perf_counter()
        fill(large, options.houses)
        fill_s = time.perf_counter() - began
        few, many = measured_apart(small, options.rounds), measured_apart(large, options.rounds)
        result: dict[str, Any] = {
            "benchmark": "store",
            "houses": options.houses,
            "readings": options.houses * READINGS_A_VISIT,
            "file_mib": (folder / "large.db").stat().st_size / 2**20,
            "fill_s": fill_s,
            **many,
            **{f"one_house_{key}": value for key, value in few.items() if key.endswith("ms")},
            "one_house_peak_mib": few["peak_mib"],
        }
        if options.verify:
            result |= verified_apart(large)
    result = {k: round(v, 3) if isinstance(v, float) else v for k, v in result.items()}
    for key, value in result.items():
        print(f"{key:32} {value}")
    if options.json:
        print(json.dumps(result))


if __name__ == "__main__":
    main()
