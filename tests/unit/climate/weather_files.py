"""Made-up weather files of every format, and where the real ones of pvlib lie."""

from __future__ import annotations

import importlib.util
import math
from collections.abc import Iterator
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path

from ventwright.climate import Weather, parse_weather

Hour = tuple[datetime, float, float]


def real_folder() -> Path:
    """Data folder of pvlib, found without importing the package."""
    spec = importlib.util.find_spec("pvlib")
    assert spec is not None and spec.submodule_search_locations
    return Path(spec.submodule_search_locations[0]) / "data"


@cache
def real(file: str) -> Weather:
    return parse_weather((real_folder() / file).read_bytes(), name=file)


def hours(count: int = 8760, *, mean_c: float = 10.0) -> Iterator[Hour]:
    """Hour, temperature [°C] to a tenth and relative humidity [%] of a made-up year."""
    for i in range(count):
        time = datetime(2001, 1, 1) + timedelta(hours=i)  # noqa: DTZ001 - a year without a zone
        swing = -9.0 * math.cos(2.0 * math.pi * i / 8760.0) - 4.0 * math.cos(math.pi * i / 12.0)
        yield time, round(mean_c + swing, 1), float(60 + i % 31)


def epw(rows: Iterator[Hour], *, pressure_pa: float = 98_000.0) -> list[str]:
    head = [
        "LOCATION,Made-up Bay,-,NOW,invented,000000,52.50,4.75,1.0,12.0",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,invented",
        "COMMENTS 2,",
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]
    body = [
        f"{t.year},{t.month},{t.day},{t.hour + 1},60,?9?9,{c},99.9,{rh:.0f},{pressure_pa:.0f}"
        + ",0" * 25
        for t, c, rh in rows
    ]
    return [*head, *body]


def plain(rows: Iterator[Hour], *, mark: str = ",", comma: bool = False) -> list[str]:
    head = mark.join(("time", "temperature [°C]", "relative humidity [%]", "pressure [hPa]"))

    def number(value: float) -> str:
        return f"{value}".replace(".", ",") if comma else f"{value}"

    return [
        head,
        *(mark.join((t.isoformat(), number(c), number(rh), number(980.0))) for t, c, rh in rows),
    ]


def content(lines: list[str]) -> bytes:
    return ("\n".join(lines) + "\n").encode()
