"""A small house and a visit to it, as files hold them."""

from __future__ import annotations

from pathlib import Path

HOUSE = """schema = "ventwright-house-1"
id = "h"
name = "Barn"
volume = "300 m³"

[[rooms]]
id = "bath"
name = "Bath"
kind = "bathroom"

[[systems]]
id = "sys"

[systems.ventilation_unit]
name = "machine"
recovery = "heat"

[[systems.terminals]]
id = "t.1"
side = "extract"
room = "bath"
"""
VISIT = """schema = "ventwright-visit-1"
id = "v"
house = "h"

[[readings]]
id = "r1"
station = "terminal:t.1"
method = "direct_flow"
setting = "day"
phase = "as_left"
flows = [
  "12 L/s",
  "13 L/s",
]
"""


def write(folder: Path, name: str, text: str | bytes) -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path
