"""How long the engine rooms take to import, against an interpreter that imports nothing.

Each round starts two fresh interpreters, one after the other: one imports every module of the
engine, the other a handful of standard-library modules that any engine of this kind would need (the
peer). Time spent importing is measured inside each interpreter, so start-up is left out.
"""

from __future__ import annotations

import argparse
import json
import statistics
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PEER = ("dataclasses", "enum", "math", "typing", "json", "annotated_types")
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


def import_seconds(names: tuple[str, ...]) -> float:
    """Import the modules in a fresh interpreter and return the seconds it took."""
    command = [sys.executable, "-c", PROGRAM, *names]
    return float(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


def main() -> None:
    """Print the medians and the ratio."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    parser.add_argument("--rounds", type=int, default=9)
    options = parser.parse_args()
    rooms = tuple(engine_rooms())
    engine_s, peer_s = [], []
    import_seconds(rooms)  # compiles the byte code, which a user pays once
    for _ in range(options.rounds):
        engine_s.append(import_seconds(rooms))
        peer_s.append(import_seconds(PEER))
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
