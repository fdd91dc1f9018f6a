"""How long does a report take, from findings to the bytes of a PDF, against an empty document?

The peer is the same program setting one empty page: what no report can be faster than.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from ventwright.actions import (
    Assessment,
    assess_files,
    examples_folder,
    load_rule_sets,
    preference_of,
    shipped_rule_sets,
)
from ventwright.actions.assess_files import assess_snapshot
from ventwright.report import ReportModel, compose, render_html, render_pdf

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.unit.report.twelve import SPLIT, twelve

EXAMPLES = {
    "juniper_mesa": "juniper_mesa",
    "harbour_terrace": "harbour_terrace",
    "hard_visit": "harbour_terrace",
}


def seconds(work: Callable[[], object], repeat: int) -> float:
    """Median of several runs, the first left out: it loads what the others find loaded."""
    work()
    times = []
    for _ in range(repeat):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def assessed(visit: str, house: str, *, is_every_rule_set: bool) -> Assessment:
    folder = examples_folder()
    found = assess_files(folder / house / "house.toml", folder / visit / "visit.toml")
    if not is_every_rule_set:
        return found
    rule_sets = load_rule_sets(shipped_rule_sets())
    return assess_snapshot(replace(found.snapshot, rule_sets=rule_sets))


def composed(found: Assessment) -> ReportModel:
    return compose(
        found.findings,
        found.snapshot,
        preference=preference_of(found.snapshot),
        snapshot_sha256=found.snapshot_sha256,
    )


def empty() -> ReportModel:
    return ReportModel(
        title="",
        subtitle="",
        facts=(),
        sections=(),
        cautions=(),
        snapshot_sha256="0" * 64,
        engine="0",
        dated="",
    )


def measure(repeat: int) -> dict[str, object]:
    peer_s = seconds(lambda: render_pdf(empty(), snapshot=b"{}"), repeat)
    found: dict[str, object] = {"benchmark": "report", "empty_page_ms": round(1e3 * peer_s, 1)}
    slowest = 0.0
    cases = {
        visit: assessed(visit, house, is_every_rule_set=False) for visit, house in EXAMPLES.items()
    }
    cases["juniper_mesa_every_rule_set"] = assessed(
        "juniper_mesa", "juniper_mesa", is_every_rule_set=True
    )
    cases |= {f"{name}_twelve_terminals": twelve(name) for name in SPLIT}
    for name, one in cases.items():
        model = composed(one)
        pdf_s = seconds(
            lambda one=one: render_pdf(composed(one), snapshot=one.snapshot_bytes),  # type: ignore[misc]
            repeat,
        )
        html_s = seconds(lambda model=model: render_html(model), repeat)  # type: ignore[misc]
        found[f"{name}_pdf_ms"] = round(1e3 * pdf_s, 1)
        found[f"{name}_html_ms"] = round(1e3 * html_s, 2)
        found[f"{name}_pdf_ratio"] = round(pdf_s / peer_s, 1)
        slowest = max(slowest, pdf_s)
    found["slowest_pdf_ms"] = round(1e3 * slowest, 1)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    parser.add_argument("--repeat", type=int, default=5)
    options = parser.parse_args()
    found = measure(options.repeat)
    if options.json:
        print(json.dumps(found))
        return
    for name, value in found.items():
        print(f"{name:42} {value}")


if __name__ == "__main__":
    main()
