"""Weather as a plain table: columns named with their units of measure.

``time, temperature [°C], relative humidity [%], pressure [hPa]``: a temperature, one measure of
humidity, a pressure or a known altitude. Times may be absent where the table has a row for each
hour, half hour or quarter hour of a year.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import datetime, timedelta

from ventwright.climate.formats import FileHead
from ventwright.climate.rows import (
    DEW_POINT,
    DRY_BULB,
    HUMIDITY_RATIO,
    PRESSURE,
    REL_HUMIDITY,
    Columns,
)
from ventwright.quantities import (
    Dimension,
    QuantityError,
    UnitOfMeasure,
    UserError,
    to_si,
    unit_of_measure,
)

_TIME = "time"
_NAMES = {
    "time": _TIME,
    "date": _TIME,
    "timestamp": _TIME,
    "temperature": DRY_BULB,
    "dry bulb": DRY_BULB,
    "dry bulb temperature": DRY_BULB,
    "outdoor temperature": DRY_BULB,
    "air temperature": DRY_BULB,
    "relative humidity": REL_HUMIDITY,
    "humidity": REL_HUMIDITY,
    "rh": REL_HUMIDITY,
    "dew point": DEW_POINT,
    "dewpoint": DEW_POINT,
    "dew point temperature": DEW_POINT,
    "humidity ratio": HUMIDITY_RATIO,
    "pressure": PRESSURE,
    "barometric pressure": PRESSURE,
    "station pressure": PRESSURE,
}
_DIMENSIONS = {
    DRY_BULB: Dimension.TEMPERATURE,
    DEW_POINT: Dimension.TEMPERATURE,
    REL_HUMIDITY: Dimension.FRACTION,
    HUMIDITY_RATIO: Dimension.HUMIDITY_RATIO,
    PRESSURE: Dimension.PRESSURE,
}
_HEADING = re.compile(r"^\s*(?P<name>[^\[(]+?)\s*(?:[\[(](?P<unit>[^\])]*)[\])])?\s*$")
_ROWS_WITHOUT_TIME = {per * hours: per for per in (1, 2, 4) for hours in (8760, 8784)}
_ANY_YEAR, _ANY_LEAP_YEAR = 2001, 2004
_MISSING = frozenset({"", "-", "na", "nan", "n/a", "null"})


def read_plain(lines: Sequence[str], columns: Columns) -> FileHead:
    """Rows of a plain table.

    Parameters
    ----------
    lines
        All lines of the file.
    columns
        Where the rows go.

    Raises
    ------
    UserError
        Where a column is missing, has no known unit, or times are absent and can't be counted.
    """
    at = next((i for i, text in enumerate(lines) if _is_content(text)), None)
    if at is None:
        raise UserError(f"{columns.file_name} is empty; a line of column names is wanted")
    heading = lines[at]
    mark = max(";\t,", key=heading.count)
    places = _places(heading.split(mark), columns.file_name, at + 1)
    rows = [
        (number, [cell.strip() for cell in text.split(mark)])
        for number, text in enumerate(lines[at + 1 :], start=at + 2)
        if _is_content(text)
    ]
    times = _times(rows, places, columns)
    for (number, cells), time in zip(rows, times, strict=True):
        if time is None:
            continue
        values = {
            name: _value(cells, place, name, columns, number, decimal_comma=mark != ",")
            for name, place in places.items()
            if name != _TIME
        }
        columns.add_row(line=number, month=time.month, day=time.day, hour=time.hour, values=values)
    return FileHead(name=columns.file_name)


def _is_content(text: str) -> bool:
    return bool(text.strip()) and not text.lstrip().startswith("#")


_Place = tuple[int, UnitOfMeasure | None]


def _places(headings: Sequence[str], file_name: str, line: int) -> dict[str, _Place]:
    places: dict[str, _Place] = {}
    for index, heading in enumerate(headings):
        match = _HEADING.match(heading.strip().strip('"'))
        if match is None:
            continue
        name = _NAMES.get(" ".join(match["name"].casefold().replace("-", " ").split()))
        if name is None or name in places:
            continue
        if name == _TIME:
            places[name] = (index, None)
            continue
        dimension = _DIMENSIONS[name]
        try:
            measure = unit_of_measure(match["unit"] or "", dimension=dimension)
        except QuantityError as mistake:
            raise UserError(
                f"{file_name}:{line}: column {heading.strip()!r} needs its unit in brackets, e.g. "
                f"'{match['name'].strip()} [{_example(dimension)}]'"
            ) from mistake
        places[name] = (index, measure)
    if DRY_BULB not in places:
        raise UserError(f"{file_name}:{line}: no column 'temperature [°C]'")
    if not {REL_HUMIDITY, DEW_POINT, HUMIDITY_RATIO} & set(places):
        raise UserError(
            f"{file_name}:{line}: no column of humidity: 'relative humidity [%]', "
            "'dew point [°C]' or 'humidity ratio [g/kg]'"
        )
    return places


def _example(dimension: Dimension) -> str:
    return {
        Dimension.TEMPERATURE: "°C",
        Dimension.FRACTION: "%",
        Dimension.HUMIDITY_RATIO: "g/kg",
    }.get(dimension, "hPa")


def _times(
    rows: Sequence[tuple[int, list[str]]], places: dict[str, _Place], columns: Columns
) -> list[datetime | None]:
    if _TIME in places:
        return _typed_times(rows, places[_TIME][0], columns)
    per_hour = _ROWS_WITHOUT_TIME.get(len(rows))
    if per_hour is None:
        raise UserError(
            f"{columns.file_name} has {len(rows)} rows and no column 'time'; without times a row "
            "for each hour (8760), half hour or quarter hour of a year is wanted"
        )
    year = _ANY_LEAP_YEAR if len(rows) % 8784 == 0 else _ANY_YEAR
    first = datetime(year, 1, 1)  # noqa: DTZ001 - local standard time of the place, no zone known
    return [first + timedelta(hours=i // per_hour) for i in range(len(rows))]


def _typed_times(
    rows: Sequence[tuple[int, list[str]]], at: int, columns: Columns
) -> list[datetime | None]:
    times: list[datetime | None] = []
    seen: set[datetime] = set()
    first: datetime | None = None
    for number, cells in rows:
        text = cells[at].strip('"') if at < len(cells) else ""
        try:
            time = datetime.fromisoformat(text.replace("Z", "")).replace(tzinfo=None)
        except ValueError:
            columns.say(
                "unreadable-time",
                number,
                f"time {text!r} can't be read",
                "write 2021-07-04 15:00; the row is left out",
            )
            times.append(None)
            continue
        first = first or time
        if time in seen:
            columns.say("repeated-time", number, f"{text} stands twice", "the first row counts")
            times.append(None)
        elif time >= _a_year_after(first) or time < first:
            columns.say(
                "beyond-the-year",
                number,
                f"{text} is not within a year from the first row",
                "give one year a file; the row is left out",
            )
            times.append(None)
        else:
            seen.add(time)
            times.append(time)
    return times


def _a_year_after(time: datetime) -> datetime:
    try:
        return time.replace(year=time.year + 1)
    except ValueError:  # 29 February
        return time.replace(year=time.year + 1, month=3, day=1)


def _value(
    cells: Sequence[str],
    place: _Place,
    name: str,
    columns: Columns,
    line: int,
    *,
    decimal_comma: bool,
) -> float:
    index, measure = place
    text = cells[index].strip('"') if index < len(cells) else ""
    if text.casefold() in _MISSING:
        return math.nan
    plain = text.replace(",", ".") if decimal_comma else text
    value = columns.number(plain, name=name, line=line, missing_from=math.inf)
    assert measure is not None
    return value if math.isnan(value) else to_si(value, unit_of_measure=measure)
