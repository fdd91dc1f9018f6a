"""How long the engine rooms take to import, against an interpreter that imports nothing.

Each round starts two fresh interpreters, one after the other: one imports every engine room, the
other a handful of standard-library modules that any engine of this kind would need (the peer). Time
spent importing is measured inside each interpreter, so start-up is left out. Byte code is compiled
once beforehand into a folder of its own, as it is for a user from the second start on.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PEER = ("dataclasses", "enum", "math", "typing", "json", "annotated_types")
NO_BYTE_CODE = "PYTHONDONTWRITEBYTECODE"
PROGRAM = """
import importlib, sys, time
names = sys.argv[1:]
began = time.perf_counter()
for name in names:
    importlib.import_module(name)
print(time.perf_counter() - began)
"""


def engine_rooms() -> list[str]:
    """Return the engine rooms that exist, from the import contract."""
    with (ROOT / "pyproject.toml").open("rb") as file:
        contracts = tomllib.load(file)["tool"]["importlinter"]["contracts"]
    rooms = next(contract["engine"] for contract in contracts if contract["type"] == "rooms")
    source = ROOT / "src" / "ventwright"
    return [f"ventwright.{room}" for room in rooms if (source / room / "__init__.py").is_file()]


def import_seconds(names: tuple[str, ...], *, cache: str) -> float:
    """Import the modules in a fresh interpreter and return the seconds it took."""
    command = [sys.executable, "-c", PROGRAM, *names]
    environment = {name: value for name, value in os.environ.items() if name != NO_BYTE_CODE}
    environment["PYTHONPYCACHEPREFIX"] = cache
    done = subprocess.run(command, capture_output=True, text=True, check=True, env=environment)
    return float(done.stdout)


def main() -> None:
    """Print the medians and the ratio."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    parser.add_argument("--rounds", type=int, default=9)
    options = parser.parse_args()
    rooms = tuple(engine_rooms())
    engine_s, peer_s = [], []
    with tempfile.TemporaryDirectory() as cache:
        import_seconds((*rooms, *PEER), cache=cache)
        for _ in range(options.rounds):
            engine_s.append(import_seconds(rooms, cache=cache))
            peer_s.append(import_seconds(PEER, cache=cache))
    result = {
        "benchmark": "imports",
        "rooms": len(rooms),
        "rounds": options.rounds,
        "engine_ms": round(1e3 * statistics.median(engine_s), 2),
        "peer_ms": round(1e3 * statistics.median(peer_s), 2),
        "ratio": round(statistics.median(engine_s) / statistics.median(peer_s), 2),
    }
    if options.json:
        print(json.dumps(result))
    else:
        print(f"{result['rooms']} engine rooms import in {result['engine_ms']} ms; the standard")
        print(f"library they rest on in {result['peer_ms']} ms (ratio {result['ratio']}).")


if __name__ == "__main__":
    main()
