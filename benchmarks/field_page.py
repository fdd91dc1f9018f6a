"""The field page of visits with 12 and 24 terminals: bytes sent, ready when, acknowledged when.

Served in a process of its own and asked over loopback; ``--browser`` also opens it in Debian's
chromium, each time in a browser that never saw it. *Ready* is when everything the technician sees
stands there: figures, pictures and the next step. ``first`` is the first page of a server just
started, ``unworked`` that of a visit to which an entry was added a moment ago, ``again`` one that
was asked for before. Peer: the smallest answer of the same server, the number of entries.
"""

from __future__ import annotations

import argparse
import gzip
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from ventwright.actions import examples_folder
from ventwright.actions.field import begin_visit
from ventwright.actions.record import add_house, open_ledger, start_visit
from ventwright.exchange import read_house, read_visit
from ventwright.house import House, Terminal, Visit
from ventwright.quantities import Side

EACH_SIDE_COUNTS = (6, 12)
TRIES_COUNT = 40
OPENED_COUNT = 7
CHROMIUM = "/usr/bin/chromium"


def big_house(each_side_count: int = 12) -> tuple[House, Visit]:
    """The invented house with so many terminals on each side, and its visit read at all of them."""
    folder = examples_folder() / "juniper_mesa"
    house, _ = read_house(folder / "house.toml")
    visit, _ = read_visit(folder / "visit.toml", house=house)
    assert house is not None
    assert visit is not None
    (system,) = house.systems
    terminals: list[Terminal] = []
    readings = [r for r in visit.readings if r.station.kind != "terminal"]
    for side in Side:
        have = [t for t in system.terminals if t.side is side]
        for i in range(each_side_count):
            model = have[i % len(have)]
            name = f"{side.value[0]}{i + 1}"
            terminals.append(replace(model, id=name))
            for one in visit.readings:
                if one.station.ref == model.id:
                    station = replace(one.station, ref=name)
                    readings.append(replace(one, id=f"{one.id}-{name}", station=station))
    system = replace(system, terminals=tuple(terminals))
    visit = replace(visit, readings=tuple(readings), adjustments=(), final_settings=(), faults=())
    return replace(house, systems=(system,)), visit


def fetch(address: str, body: dict[str, Any] | None = None) -> tuple[bytes, float, int]:
    """An answer, how long it took, and how many bytes it was on the way."""
    request = urllib.request.Request(
        address,
        data=None if body is None else json.dumps(body).encode(),
        headers={"accept-encoding": "gzip", "content-type": "application/json"},
    )
    began = time.perf_counter()
    with urllib.request.urlopen(request) as answer:
        sent = answer.read()
        took_s = time.perf_counter() - began
        is_packed = answer.headers.get("content-encoding") == "gzip"
    return (gzip.decompress(sent) if is_packed else sent), took_s, len(sent)


def shell_bytes(base: str, visit: str) -> int:
    """Bytes of the page and of all files it loads, as they are sent."""
    left, seen, total = [f"/visits/{visit}"], set[str](), 0
    while left:
        path = left.pop()
        if path in seen:
            continue
        seen.add(path)
        content, _, count = fetch(base + path)
        total += count
        text = content.decode()
        left += re.findall(r'(?:href|src)="(/static/[^"]+)"', text)
        if path.startswith("/static/"):
            folder = path.rpartition("/")[0]
            left += [f"{folder}/{name}" for name in re.findall(r'from "\./([\w/.]+)"', text)]
    return total


class Pages:
    """A browser that opens a page as one that never saw it."""

    def __init__(self) -> None:
        from playwright.sync_api import sync_playwright

        self._playing = sync_playwright().start()
        self._browser = self._playing.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"]
        )
        self.ready_s("data:text/html,<html data-ready=yes>")

    def ready_s(self, address: str) -> float:
        """From the address typed to everything being there."""
        context = self._browser.new_context(viewport={"width": 360, "height": 740})
        page = context.new_page()
        began = time.perf_counter()
        page.goto(address)
        page.wait_for_selector("html[data-ready=yes]", state="attached")
        took_s = time.perf_counter() - began
        if address.startswith("http"):
            assert page.locator("#pictures svg").count() > 0
            assert page.locator('[data-section="next-step"] p').count() > 0
        context.close()
        return took_s

    def close(self) -> None:
        """Shut it."""
        self._browser.close()
        self._playing.stop()


def serve(url: str) -> tuple[subprocess.Popen[str], str]:
    """The program serving the record on a free port."""
    words = [sys.executable, "-m", "ventwright", "serve", "--port", "0", "--database", url]
    process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    base = process.stdout.readline().removeprefix("Pages: ").strip().rstrip("/")
    for _ in range(200):
        try:
            fetch(f"{base}/api/devices")
            break
        except OSError:
            time.sleep(0.05)
    return process, base


def reading(i: int) -> dict[str, Any]:
    """A reading that was not there before."""
    return {
        "id": f"bench-{i}",
        "kind": "reading",
        "at": datetime.now(UTC).isoformat(),
        "preference": "ip",
        "texts": {
            "station": "terminal:s5",
            "setting": "continuous",
            "phase": "interim",
            "method": "vane",
            "instrument": "vane",
            "velocities": [f"{200 + i} fpm"],
            "area": "12.57 in²",
        },
    }


def answers(at: str) -> dict[str, float]:
    """Time and bytes of the interface alone: entries one after another, pages between them."""
    peers, taken, unworked, again = [], [], [], []
    for i in range(TRIES_COUNT):
        peers.append(fetch(f"{at}/number")[1])
        receipt, took_s, _ = fetch(f"{at}/entries", reading(i))
        assert "±" in json.loads(receipt)["value"]["text"]
        taken.append(took_s)
        if i % 4 == 0:
            unworked.append(fetch(f"{at}/page")[1])
            again.append(fetch(f"{at}/page")[1])
    return {
        "entry_answer_s": statistics.median(taken),
        "entry_answer_slowest_s": max(taken),
        "peer_answer_s": statistics.median(peers),
        "entry_over_peer_ratio": statistics.median(taken) / statistics.median(peers),
        "page_unworked_s": statistics.median(unworked),
        "page_again_s": statistics.median(again),
        "page_bytes_count": float(fetch(f"{at}/page")[2]),
    }


def measure(base: str, visit: str, pages: Pages | None) -> dict[str, float]:
    """All figures of one visit, on a server that was just started."""
    at, address = f"{base}/api/visits/{visit}", f"{base}/visits/{visit}"
    found = {}
    if pages is None:
        found["page_first_s"] = fetch(f"{at}/page")[1]
    else:
        found["ready_first_s"] = pages.ready_s(address)
    found |= answers(at)
    found["shell_bytes_count"] = float(shell_bytes(base, visit))
    found["sent_bytes_count"] = found["page_bytes_count"] + found["shell_bytes_count"]
    if pages is not None:
        unworked, again = [], []
        for i in range(OPENED_COUNT):
            fetch(f"{at}/entries", reading(TRIES_COUNT + i))
            unworked.append(pages.ready_s(address))
            again.append(pages.ready_s(address))
        found["ready_unworked_s"] = statistics.median(unworked)
        found["ready_unworked_slowest_s"] = max(unworked)
        found["ready_again_s"] = statistics.median(again)
    return found


def on_own_server(each_side_count: int, pages: Pages | None) -> dict[str, float]:
    """Figures of a visit with so many terminals on each side."""
    house, visit = big_house(each_side_count)
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{Path(folder, 'record.db')}"
        with open_ledger(url) as ledger:
            add_house(ledger, house)
            start_visit(ledger, visit)
            # The visit that changed last is made ready at the start; the one measured is not that.
            begin_visit(
                ledger, house.id, visit_id="fresh", technician="A.", started_at=datetime.now(UTC)
            )
        process, base = serve(url)
        try:
            return measure(base, visit.id, pages)
        finally:
            process.kill()
            process.wait()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    parser.add_argument("--browser", action="store_true", help="also time it in chromium")
    options = parser.parse_args()
    pages = Pages() if options.browser else None
    found: dict[str, float] = {}
    for each_side_count in EACH_SIDE_COUNTS:
        terminals = f"terminals_{2 * each_side_count}"
        for key, value in on_own_server(each_side_count, pages).items():
            found[f"{terminals}_{key}"] = value
            print(f"{terminals}_{key:28} {value:.4g}")
    if pages is not None:
        pages.close()
    # Seconds mean little on a machine that is busy with other work.
    found["load_average"] = os.getloadavg()[0]
    print(f"load_average {found['load_average']:.2f}")
    if options.json:
        print(json.dumps(found))


if __name__ == "__main__":
    main()
