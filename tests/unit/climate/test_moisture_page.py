"""The page on moisture says what the model says."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from ventwright.air import moist_air_from
from ventwright.climate import RangeOf, range_of_smallest_extract, range_of_wet_room
from ventwright.moisture import (
    ExtractStep,
    WetRoomPlan,
    boosted_extract,
    usual_wet_room_assumptions,
)

PAGE = Path(__file__).parents[3] / "docs" / "explanation" / "moisture.md"
CFM_M3_S = 0.3048**3 / 60.0
DRAWS = 1000
WITHIN = {"no film": None, " 5 min": 300.0, " 10 min": 600.0, " 15 min": 900.0}


def tables() -> list[list[list[str]]]:
    """Cells of the body of each table of the page."""
    found: list[list[list[str]]] = []
    rows: list[list[str]] = []
    for line in [*PAGE.read_text(encoding="utf-8").splitlines(), ""]:
        if line.startswith("|"):
            rows.append([cell.strip() for cell in line.strip("|").split("|")])
        elif rows:
            found.append(rows[2:])
            rows = []
    return found


def bathroom() -> WetRoomPlan:
    return WetRoomPlan(
        volume_m3=12.0,
        mirror_m2=1.0,
        tiles_m2=15.0,
        lining_m2=18.0,
        incoming_c=21.0,
        incoming_humidity_ratio_kg_kg=moist_air_from(
            pressure_pa=101_325.0, temperature_c=21.0, rel_humidity_frac=0.45
        ).humidity_ratio_kg_kg,
        pressure_pa=101_325.0,
        shower_s=600.0,
    )


def extract_of(text: str) -> Sequence[ExtractStep]:
    flows = [float(n) for n in re.findall(r"(\d+)(?= cfm| for)", text)]
    if len(flows) == 1:
        return (ExtractStep(start_s=0.0, flow_m3_s=flows[0] * CFM_M3_S),)
    return boosted_extract(
        continuous_m3_s=flows[0] * CFM_M3_S,
        boost_m3_s=flows[1] * CFM_M3_S,
        boost_start_s=0.0,
        boost_end_s=1800.0,
    )


def minutes(cell: str) -> tuple[float, float, float]:
    """Median, low and high of a cell such as ``70 (18 to over 120)``."""
    match = re.fullmatch(r"(.+) \((.+) to (.+)\)", cell)
    assert match is not None, cell
    mid, low, high = (math.inf if "over" in t else float(t) for t in match.groups())
    return mid, low, high


def check(cell: str, found: RangeOf | None) -> None:
    assert found is not None
    for printed, computed_s in zip(
        minutes(cell), (found.mid_s, found.low_s, found.high_s), strict=True
    ):
        if math.isinf(printed):
            assert computed_s >= 7200.0
        else:
            assert computed_s / 60.0 == pytest.approx(printed, abs=1.0)


@pytest.mark.parametrize("row", tables()[0], ids=lambda row: row[0])
def test_one_shower(row: list[str]) -> None:
    extract, fogs, first, mirror, tiles, humid = row
    found = range_of_wet_room(
        bathroom(),
        extract=extract_of(extract),
        assumptions=usual_wet_room_assumptions(),
        random=np.random.default_rng(1),
        count=DRAWS,
    )
    of_mirror = found.surface("mirror")
    assert 100.0 * of_mirror.fogs_frac == pytest.approx(float(fogs.split()[0]), abs=1.0)
    check(first, of_mirror.fogs_after_s)
    check(mirror, of_mirror.clears_after_s)
    check(tiles, found.surface("tiles").clears_after_s)
    check(humid, found.humid_after_s)


@pytest.mark.parametrize("row", tables()[1], ids=lambda row: row[0])
def test_extract_that_is_enough(row: list[str]) -> None:
    within_s = next(time for words, time in WITHIN.items() if words in row[0])
    found = range_of_smallest_extract(
        bathroom(),
        surface_ids=("mirror",),
        assumptions=usual_wet_room_assumptions(),
        random=np.random.default_rng(1),
        clear_within_s=within_s,
        count=DRAWS,
    )
    printed = [float(cell.split()[0]) * CFM_M3_S for cell in row[1:]]
    flows = [found.low_m3_s, found.mid_m3_s, found.high_m3_s]
    assert flows == pytest.approx(printed, abs=1.0 * CFM_M3_S)


def test_both_tables_are_there() -> None:
    assert [len(t) for t in tables()] == [5, 4]
