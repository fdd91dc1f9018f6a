"""Writers to be killed or crowded, each a process forked from one that has imported everything.

Run as a script, so that no test's threads or open files are forked with them:
``python -m tests.robustness.writers kill URL COUNT SEED`` and ``... crowd URL WRITERS ENTRIES``.
Each prints one JSON object.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from collections.abc import Callable

from ventwright.actions.record import open_ledger, record_reading, start_visit
from ventwright.house import (
    VISIT_SCHEMA,
    Hood,
    Method,
    Phase,
    Reading,
    TypedText,
    Visit,
    station_from,
)

LONGEST_LIFE_S = 0.09
PAUSE_S = (0.05, 0.25)
"""Between two entries of one writer in a crowd: far less than any hand needs."""
READY = b"+"


def reading(index: int, *, prefix: str = "r") -> Reading:
    """A reading that looks like a real one and is the same whenever it is made."""
    flow = 0.01 + index * 1e-6
    station = station_from(f"terminal:t{index % 12}")
    assert station is not None
    return Reading(
        id=f"{prefix}{index}",
        station=station,
        method=Method.HOOD,
        look=Hood(flows_m3_s=(flow, flow * 1.01)),
        setting="continuous",
        phase=Phase.AS_FOUND,
        typed=(TypedText(key="flows[0]", text=f"{flow * 3600:.4f} m³/h"),),
    )


def forked(work: Callable[[int], None]) -> tuple[int, int]:
    """Start a process that does some work and tells of it through a pipe: its id and the pipe."""
    reader, writer = os.pipe()
    pid = os.fork()
    if pid:
        os.close(writer)
        return pid, reader
    try:
        os.close(reader)
        work(writer)
    finally:
        os._exit(0)


def read_all(pipe: int) -> bytes:
    """Everything a process told before it ended."""
    with os.fdopen(pipe, "rb") as file:
        return file.read()


def write_from(url: str, start: int) -> Callable[[int], None]:
    """A writer that goes on from a reading, and tells of each one once it is acknowledged."""

    def work(pipe: int) -> None:
        with open_ledger(url) as ledger:
            index = start
            while True:
                record_reading(ledger, "v", reading(index))
                os.write(pipe, f"{index}\n".encode())
                index += 1

    return work


def kill_writers(url: str, count: int, seed: int) -> dict[str, object]:
    """Kill one writer after another at a random moment; each goes on where the last was heard."""
    moments = random.Random(seed)
    acknowledged: list[int] = []
    began = time.monotonic()
    for _ in range(count):
        pid, pipe = forked(write_from(url, acknowledged[-1] + 1 if acknowledged else 0))
        time.sleep(moments.uniform(0.0, LONGEST_LIFE_S))
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        # A last line cut short was not heard, and counts as not acknowledged.
        acknowledged += [int(line) for line in read_all(pipe).split(b"\n")[:-1]]
    return {"acknowledged": acknowledged, "seconds": time.monotonic() - began}


def crowd(url: str, writer_count: int, entry_count: int) -> dict[str, object]:
    """Let many writers write at once; tell how long the longest entry of each took [s].

    All have the record open and have written to it before the first is timed: what is asked for is
    how long one writer keeps another waiting, not how long twenty programs take to start.
    """
    gate_reader, gate = os.pipe()

    def work_of(writer: int) -> Callable[[int], None]:
        def work(pipe: int) -> None:
            os.close(gate)
            longest_s = 0.0
            with open_ledger(url) as ledger:
                # Every other writer has a visit of its own; the rest share one.
                visit = f"v{writer}" if writer % 2 else "v"
                start_visit(ledger, Visit(schema=VISIT_SCHEMA, id=visit, house="h"))
                record_reading(ledger, visit, reading(0, prefix=f"w{writer}-"))
                os.write(pipe, READY)
                os.read(gate_reader, 1)  # ends when the last holder of the gate lets go
                pauses = random.Random(writer)
                for index in range(1, entry_count):
                    time.sleep(pauses.uniform(*PAUSE_S))
                    began = time.monotonic()
                    record_reading(ledger, visit, reading(index, prefix=f"w{writer}-"))
                    longest_s = max(longest_s, time.monotonic() - began)
            os.write(pipe, json.dumps(longest_s).encode())

        return work

    started = [forked(work_of(writer)) for writer in range(writer_count)]
    ready = all(os.read(pipe, 1) == READY for _, pipe in started)
    os.close(gate)
    told = [read_all(pipe) for _, pipe in started]
    for pid, _ in started:
        os.waitpid(pid, 0)
    return {"ready": ready, "longest_s": [json.loads(one) if one else None for one in told]}


def main(words: list[str]) -> None:
    """Run as a script."""
    what, url, *numbers = words
    open_ledger(url).store.close()  # imports the driver once for all
    run = {"kill": kill_writers, "crowd": crowd}[what]
    print(json.dumps(run(url, *map(int, numbers))))


if __name__ == "__main__":
    main(sys.argv[1:])
