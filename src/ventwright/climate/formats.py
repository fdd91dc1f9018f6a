"""Weather files of three published formats, line by line.

EPW counts hours 1 to 24 in comma-separated lines after eight lines of heading; TMY2 prints tenths
of a degree in fixed columns; TMY3 names its columns in the second line.

Source: epw_dictionary, tmy2_manual, tmy3_manual
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ventwright.climate.rows import DEW_POINT, DRY_BULB, PRESSURE, REL_HUMIDITY, Columns
from ventwright.climate.weather import WeatherKind
from ventwright.quantities import UserError


@dataclass(frozen=True, slots=True, kw_only=True)
class FileHead:
    """What the heading of a file says of its place."""

    name: str
    altitude_m: float | None = None
    latitude_deg: float | None = None


# Printed sign for missing, and factor to SI.
_EPW = ((DRY_BULB, 6, 99.9, 1.0), (DEW_POINT, 7, 99.9, 1.0), (REL_HUMIDITY, 8, 999.0, 0.01))
_EPW_PRESSURE = (PRESSURE, 9, 999_999.0, 1.0)
_EPW_FIELDS = 10
_TMY2 = (
    (DRY_BULB, slice(67, 71), 9999.0, 0.1),
    (DEW_POINT, slice(73, 77), 9999.0, 0.1),
    (REL_HUMIDITY, slice(79, 82), 999.0, 0.01),
    (PRESSURE, slice(84, 88), 9999.0, 100.0),
)
_TMY2_LENGTH = 88
_TMY3 = (
    (DRY_BULB, "Dry-bulb (C)", 1.0),
    (DEW_POINT, "Dew-point (C)", 1.0),
    (REL_HUMIDITY, "RHum (%)", 0.01),
    (PRESSURE, "Pressure (mbar)", 100.0),
)
_TMY3_MISSING = -9900.0
_TMY2_HEAD = re.compile(
    r"^ (?P<id>\d{5}) (?P<city>.{22}) (?P<state>..) (?P<zone>[ \d+-]{3}) "
    r"(?P<ns>[NS]) (?P<lat>[ \d]{2}) (?P<latmin>[ \d]{2}) [EW] [ \d]{3} [ \d]{2} "
    r"(?P<elevation>[ \d-]+)\s*$"
)


def kind_of(lines: Sequence[str]) -> WeatherKind:
    """Format of a file, told by its first lines and not by its name.

    Parameters
    ----------
    lines
        All lines.

    >>> kind_of(["LOCATION,Barrow Point,,,,,,,,12"]).value
    'epw'
    """
    first = lines[0] if lines else ""
    if first.startswith("LOCATION,"):
        return WeatherKind.EPW
    if _TMY2_HEAD.match(first):
        return WeatherKind.TMY2
    if len(lines) > 1 and "Dry-bulb (C)" in lines[1]:
        return WeatherKind.TMY3
    return WeatherKind.CSV


def read_epw(lines: Sequence[str], columns: Columns) -> FileHead:
    """Rows of an EPW file.

    Parameters
    ----------
    lines
        All lines of the file.
    columns
        Where the rows go.

    Raises
    ------
    UserError
        Where no line says that the data begin.
    """
    cells = lines[0].split(",")
    begin = next((i for i, t in enumerate(lines[:60]) if t.startswith("DATA PERIODS")), None)
    if begin is None:
        raise UserError(f"{columns.file_name} has no line DATA PERIODS; is it a whole EPW file?")

    def row(number: int, parts: list[str]) -> None:
        month, day, hour = (int(parts[i]) for i in (1, 2, 3))
        values = {
            name: columns.number(
                parts[at], name=name, line=number, factor=factor, missing_from=missing
            )
            for name, at, missing, factor in (*_EPW, _EPW_PRESSURE)
        }
        columns.add_row(line=number, month=month, day=day, hour=hour - 1, values=values)

    for number, parts in _split(lines, begin + 1):
        _guarded(columns, number, parts, fewest=_EPW_FIELDS, row=row)
    return FileHead(
        name=_text(cells, 1) or columns.file_name,
        altitude_m=_maybe(_text(cells, 9)),
        latitude_deg=_maybe(_text(cells, 6)),
    )


def read_tmy2(lines: Sequence[str], columns: Columns) -> FileHead:
    """Rows of a TMY2 file.

    Parameters
    ----------
    lines
        All lines of the file.
    columns
        Where the rows go.
    """
    head = _TMY2_HEAD.match(lines[0])
    assert head is not None  # that is how the format was told

    def row(number: int, parts: list[str]) -> None:
        text = parts[0]
        month, day, hour = (int(text[at : at + 2]) for at in (3, 5, 7))
        values = {
            name: columns.number(
                text[where], name=name, line=number, factor=1.0, missing_from=missing
            )
            * factor
            for name, where, missing, factor in _TMY2
        }
        columns.add_row(line=number, month=month, day=day, hour=hour - 1, values=values)

    for number, text in enumerate(lines[1:], start=2):
        if text.strip():
            long_enough = [text] if len(text) >= _TMY2_LENGTH else []
            _guarded(columns, number, long_enough, fewest=1, row=row)
    degrees = int(head["lat"]) + int(head["latmin"]) / 60.0
    return FileHead(
        name=f"{head['city'].strip().title()} {head['state'].strip()}".strip(),
        altitude_m=_maybe(head["elevation"]),
        latitude_deg=degrees if head["ns"] == "N" else -degrees,
    )


def read_tmy3(lines: Sequence[str], columns: Columns) -> FileHead:
    """Rows of a TMY3 file.

    Parameters
    ----------
    lines
        All lines of the file.
    columns
        Where the rows go.

    Raises
    ------
    UserError
        Where a column is missing.
    """
    cells = next(csv.reader(lines[:1]))
    names = next(csv.reader(lines[1:2]))
    wanted = ("Date (MM/DD/YYYY)", "Time (HH:MM)", *(title for _, title, _ in _TMY3))
    absent = [title for title in wanted if title not in names]
    if absent:
        raise UserError(f"{columns.file_name}:2 lacks the columns {', '.join(absent)}")
    at = {title: names.index(title) for title in wanted}

    def row(number: int, parts: list[str]) -> None:
        month, day = (int(t) for t in parts[at["Date (MM/DD/YYYY)"]].split("/")[:2])
        hour = int(parts[at["Time (HH:MM)"]].split(":")[0])
        values = {
            name: columns.number(
                parts[at[title]],
                name=name,
                line=number,
                factor=factor,
                missing_from=_TMY3_MISSING,
            )
            for name, title, factor in _TMY3
        }
        columns.add_row(line=number, month=month, day=day, hour=hour - 1, values=values)

    fewest = 1 + max(at.values())
    for number, parts in _split(lines, 2):
        _guarded(columns, number, parts, fewest=fewest, row=row)
    place = [t for t in (_text(cells, 1).title(), _text(cells, 2)) if t]
    return FileHead(
        name=" ".join(place) or columns.file_name,
        altitude_m=_maybe(_text(cells, 6)),
        latitude_deg=_maybe(_text(cells, 4)),
    )


def _split(lines: Sequence[str], begin: int) -> list[tuple[int, list[str]]]:
    return [
        (number, text.split(","))
        for number, text in enumerate(lines[begin:], start=begin + 1)
        if text.strip()
    ]


def _guarded(
    columns: Columns,
    number: int,
    parts: list[str],
    *,
    fewest: int,
    row: Callable[[int, list[str]], None],
) -> None:
    """Read one line, or say why it can't be read and leave it out."""
    if len(parts) < fewest:
        columns.say(
            "short-line",
            number,
            "the line ends before the last value wanted",
            "restore it from the original file; the hour counts as missing",
        )
        return
    try:
        row(number, parts)
    except ValueError:
        columns.say(
            "unreadable-line",
            number,
            "date and hour can't be read",
            "restore it from the original file; the hour counts as missing",
        )


def _text(cells: Sequence[str], at: int) -> str:
    return cells[at].strip() if at < len(cells) else ""


def _maybe(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
