"""The field page of a visit with 24 terminals: bytes sent, time to be ready, time to acknowledge.

Served in a process of its own and asked over loopback; ``--browser`` also opens it in Debian's
chromium. Peer: the smallest answer of the same server, the number of entries of the visit.
"""

from __future__ import annotations

import argparse
import gzip
import json
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

EACH_SIDE_COUNT = 12
TRIES_COUNT = 40
CHROMIUM = "/usr/bin/chromium"


def big_house() -> tuple[House, Visit]:
    """The invented house with twelve terminals on each side, and its visit read at all of them."""
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
        for i in range(EACH_SIDE_COUNT):
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


def ready_s(address: str) -> float:
    """From the address typed to the page filled, in a browser that never saw it."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playing:
        browser = playing.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"]
        )
        found = []
        for _ in range(3):
            page = browser.new_context(viewport={"width": 360, "height": 740}).new_page()
            began = time.perf_counter()
            page.goto(address)
            page.wait_for_selector("html[data-ready=yes]")
            found.append(time.perf_counter() - began)
        browser.close()
    return statistics.median(found)


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


def measure(base: str, visit: str, *, has_browser: bool) -> dict[str, float]:
    at = f"{base}/api/visits/{visit}"
    _, first_s, page_count = fetch(f"{at}/page")
    peers, answers = [], []
    for i in range(TRIES_COUNT):
        peers.append(fetch(f"{at}/number")[1])
        body = {
            "id": f"bench-{i}",
            "kind": "reading",
            "at": datetime.now(UTC).isoformat(),
            "preference": "ip",
            "texts": {
                "station": "terminal:s7",
                "setting": "continuous",
                "phase": "interim",
                "method": "vane",
                "instrument": "vane",
                "velocities": [f"{200 + i} fpm"],
                "area": "12.57 in²",
            },
        }
        receipt, took_s, _ = fetch(f"{at}/entries", body)
        assert "±" in json.loads(receipt)["value"]["text"]
        answers.append(took_s)
    found = {
        "terminal_count": 2.0 * EACH_SIDE_COUNT,
        "first_page_s": first_s,
        "entry_answer_s": statistics.median(answers),
        "peer_answer_s": statistics.median(peers),
        "entry_over_peer_ratio": statistics.median(answers) / statistics.median(peers),
        "page_bytes_count": float(page_count),
        "shell_bytes_count": float(shell_bytes(base, visit)),
    }
    found["sent_bytes_count"] = found["page_bytes_count"] + found["shell_bytes_count"]
    if has_browser:
        found["ready_s"] = ready_s(f"{base}/visits/{visit}")
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    parser.add_argument("--browser", action="store_true", help="also time it in chromium")
    options = parser.parse_args()
    house, visit = big_house()
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{Path(folder, 'record.db')}"
        with open_ledger(url) as ledger:
            add_house(ledger, house)
            start_visit(ledger, visit)
            begin_visit(
                ledger, house.id, visit_id="fresh", technician="A.", started_at=datetime.now(UTC)
            )
        process, base = serve(url)
        try:
            found = measure(base, visit.id, has_browser=options.browser)
        finally:
            process.kill()
            process.wait()
    for key, value in found.items():
        print(f"{key:24} {value:.4g}")
    if options.json:
        print(json.dumps(found))


if __name__ == "__main__":
    main()
