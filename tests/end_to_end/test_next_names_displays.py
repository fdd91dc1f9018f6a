"""``ventwright next`` tells the number on the display, in words and as JSON."""

from __future__ import annotations

import json
import re
from math import sqrt
from pathlib import Path

import pytest

from tests.end_to_end.test_command_line import run

HOUSE = """
schema = "ventwright-house-1"
id = "h"
name = "Ash Yard"
altitude = "0 m"
rooms = [
  { id = "bath", name = "Bath", kind = "bathroom" },
  { id = "kitchen", name = "Kitchen", kind = "kitchen" },
  { id = "toilet", name = "Toilet", kind = "toilet" },
]

[[systems]]
id = "s"
ventilation_unit = { name = "unit", recovery = "heat" }
fan_settings = [{ id = "continuous", role = "continuous" }]
terminals = [
  { id = "x1", side = "extract", room = "bath", design_flow = "36 m³/h" },
  { id = "x2", side = "extract", room = "kitchen", design_flow = "36 m³/h" },
  { id = "x3", side = "extract", room = "toilet", design_flow = "36 m³/h" },
]
"""
VISIT = """
schema = "ventwright-visit-1"
id = "v"
house = "h"
conditions = { indoor_temperature = "21 °C", indoor_rel_humidity = "40 %" }
"""
AREA_M2 = 0.008
DROPS = {"r1": ("x1", "-4.2"), "r2": ("x2", "-2.0"), "r3": ("x3", "-1.1"), "r4": ("x1", "-4.3")}


def write_files(folder: Path) -> tuple[Path, Path]:
    """A house and a visit in which the ring of x1 is to be turned next."""
    house, visit = folder / "house.toml", folder / "visit.toml"
    readings = "".join(
        f'\n[[readings]]\nid = "{id}"\nstation = "terminal:{at}"\nsetting = "continuous"\n'
        f'phase = "as_found"\nmethod = "flow_box"\ndrops = ["{drop} Pa"]\nopening_area = "80 cm²"\n'
        for id, (at, drop) in DROPS.items()
    )
    house.write_text(HOUSE, encoding="utf-8")
    visit.write_text(VISIT + readings, encoding="utf-8")
    return house, visit


def test_words_and_json_name_the_pressure_in_the_box(tmp_path: Path) -> None:
    files = write_files(tmp_path)
    done = run("next", *files, "--json")
    assert done.returncode == 0, done.stderr
    (system,) = json.loads(done.stdout)["systems"]
    step, shown = system["step"], system["stop_shown"]
    assert (step["deed"], step["thing_id"]) == ("turn", "x1")
    assert (shown["reading_id"], shown["method"]) == ("r4", "flow_box")
    assert (shown["dimension"], shown["typed_symbol"]) == ("pressure", "Pa")
    # The orifice equation in moist air of 1.195 kg/m³ (ideal gases), half of what the box can take
    # away given back.
    for name in ("value_si", "low_si", "high_si"):
        drop = -shown[name]
        flow = 0.606 * AREA_M2 * sqrt(2.0 * drop / 1.195) * 0.5 * (1.0 + sqrt(1.0 + drop / 20.0))
        stop = {"value_si": "stop_m3_s", "low_si": "stop_low_m3_s", "high_si": "stop_high_m3_s"}
        assert flow == pytest.approx(step[stop[name]], rel=2e-3)
    said = " ".join(run("next", *files).stdout.split())
    told = re.search(r"until the flow box there shows −([0-9.]+) Pa \(from −", said)
    assert told, said
    assert float(told[1]) == pytest.approx(-shown["value_si"], abs=0.051)
    assert f"That is a flow of {3600.0 * step['stop_m3_s']:.1f} m³/h." in said
