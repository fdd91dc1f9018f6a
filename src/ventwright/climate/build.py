"""From rows of any format to a year of hours: humidity, its plane below 0 °C, gaps."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np

from ventwright.air import kernels, pressure_from_altitude_pa
from ventwright.climate.formats import FileHead, kind_of, read_epw, read_tmy2, read_tmy3
from ventwright.climate.plain_csv import read_plain
from ventwright.climate.rows import (
    DEW_POINT,
    DRY_BULB,
    HUMIDITY_RATIO,
    PRESSURE,
    REL_HUMIDITY,
    Columns,
)
from ventwright.climate.weather import (
    HOURS_OF_LEAP_YEAR,
    HOURS_OF_YEAR,
    Bools,
    Floats,
    Ints,
    PlaneBasis,
    PlaneDecision,
    Weather,
    WeatherKind,
)
from ventwright.quantities import HumidityOver, Problem, Severity, UserError

LONGEST_FILLED_COUNT = 6
"""Hours across which a straight line is drawn; a longer gap stays unknown. Judgement."""
COLD_C = -5.0
"""Hours colder than this tell over which plane a file states humidity."""
FEWEST_COLD_COUNT = 24
"""Hours that are enough to tell it by. Judgement."""
_READERS = {
    WeatherKind.EPW: read_epw,
    WeatherKind.TMY2: read_tmy2,
    WeatherKind.TMY3: read_tmy3,
    WeatherKind.CSV: read_plain,
}
_YEAR, _LEAP_YEAR = 2001, 2004


def parse_weather(content: bytes, *, name: str) -> Weather:
    """A year of weather from the content of a file.

    The format is told by the first lines: EPW, TMY2, TMY3, or a plain table whose columns are named
    with their units (see `plain_csv`). Gaps of up to 6 hours are filled by straight lines and
    marked; longer ones stay unknown. Humidity is taken from the dew point where there is one;
    below 0 °C over the plane on which printed dew point and relative humidity agree.

    Parameters
    ----------
    content
        Bytes of the file, UTF-8 or Latin-1.
    name
        Of the file, for messages.

    Returns
    -------
    Weather
        With problems that name their lines.

    Raises
    ------
    UserError
        Where the file holds no hour that can be used.

    Source: epw_dictionary, tmy2_manual, tmy3_manual

    >>> rows = "".join(f"{10 + i % 5},60\\n" for i in range(8760))
    >>> year = parse_weather(("temperature [°C],relative humidity [%]\\n" + rows).encode(),
    ...                      name="made-up.csv")
    >>> year.known_count, round(float(year.humidity_ratio_kg_kg[0]) * 1000, 2)
    (8760, 4.58)
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("latin-1")
    # Lines as an editor counts them: other separators that Unicode knows are no line ends here.
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    kind = kind_of(lines)
    columns = Columns(file_name=name)
    head = _READERS[kind](lines, columns)
    if not columns.line:
        raise UserError(f"{name} holds no row of weather", problems=columns.all_problems())
    return _build(columns, head, kind)


def _build(columns: Columns, head: FileHead, kind: WeatherKind) -> Weather:
    place, hours_count = _places(columns)
    values = {name: np.array(found) for name, found in columns.values.items()}
    pressure, notes = _pressure(values.get(PRESSURE), head, len(columns.line), columns.file_name)
    temperature = values[DRY_BULB]
    plane = _decide_plane(temperature, values.get(DEW_POINT), values.get(REL_HUMIDITY), pressure)
    ratio = _humidity_ratio(temperature, pressure, values, plane.over)
    by_hour = [_by_hour(v, place, hours_count) for v in (temperature, ratio, pressure)]
    is_given = np.isfinite(by_hour[0]) & np.isfinite(by_hour[1]) & np.isfinite(by_hour[2])
    filled = [_fill(v) for v in by_hour]
    is_known = np.isfinite(filled[0]) & np.isfinite(filled[1]) & np.isfinite(filled[2])
    if not is_known.any():
        raise UserError(
            f"{columns.file_name} holds no hour with temperature and humidity",
            problems=columns.all_problems(),
        )
    month, day = _calendar(hours_count)
    is_filled = is_known & ~is_given
    return Weather(
        name=head.name,
        kind=kind,
        altitude_m=head.altitude_m,
        latitude_deg=head.latitude_deg,
        month=month,
        day=day,
        temperature_c=filled[0],
        humidity_ratio_kg_kg=filled[1],
        pressure_pa=filled[2],
        is_known=is_known,
        is_filled=is_filled,
        plane=plane,
        problems=(
            *columns.all_problems(),
            *notes,
            *_gaps(is_known, is_filled, columns.file_name),
            *_plane_note(plane, columns.file_name),
        ),
    )


def _places(columns: Columns) -> tuple[Ints, int]:
    """Hour of the year of each row, and hours of that year."""
    is_leap = any(m == 2 and d == 29 for m, d in zip(columns.month, columns.day, strict=True))
    year = _LEAP_YEAR if is_leap else _YEAR
    first = date(year, 1, 1).toordinal()
    starts: dict[tuple[int, int], int] = {}
    place, seen = [], dict[int, int]()
    is_whole_hours = len(columns.line) <= HOURS_OF_LEAP_YEAR
    for line, month, day, hour in zip(
        columns.line, columns.month, columns.day, columns.hour, strict=True
    ):
        start = starts.get((month, day))
        if start is None:
            try:
                start = 24 * (date(year, month, day).toordinal() - first)
            except ValueError:
                start = -1
            starts[month, day] = start
        if start < 0 or not 0 <= hour < 24:
            columns.say("no-such-hour", line, "there is no such day or hour", "the row is left out")
            place.append(-1)
        elif is_whole_hours and start + hour in seen:
            columns.say(
                "repeated-hour",
                line,
                f"month {month}, day {day}, hour {hour + 1} stands in line {seen[start + hour]}, "
                "too",
                "the first row counts",
            )
            place.append(-1)
        else:
            seen.setdefault(start + hour, line)
            place.append(start + hour)
    return np.array(place), HOURS_OF_LEAP_YEAR if is_leap else HOURS_OF_YEAR


def _pressure(
    found: Floats | None, head: FileHead, count: int, file_name: str
) -> tuple[Floats, list[Problem]]:
    """Pressure of each row; that of the altitude where the file prints none."""
    if found is not None and np.isfinite(found).any():
        if np.isfinite(found).all():
            return found, []
        lacking = int(np.count_nonzero(~np.isfinite(found)))
        mean = float(np.mean(found[np.isfinite(found)]))
        note = _note(
            "pressure-missing",
            file_name,
            f"{lacking} rows print no pressure; the mean of the others, {mean:.0f} Pa, is taken",
        )
        return np.where(np.isfinite(found), found, mean), [note]
    altitude_m = head.altitude_m or 0.0
    pressure_pa = pressure_from_altitude_pa(altitude_m)
    message = (
        f"no pressure is printed; that of {altitude_m:.0f} m is taken, {pressure_pa:.0f} Pa"
        if head.altitude_m is not None
        else "neither pressure nor altitude is printed; that of sea level is taken"
    )
    return np.full(count, pressure_pa), [_note("pressure-from-altitude", file_name, message)]


def _saturation_pa(temperature_c: Floats, pressure_pa: Floats, over: HumidityOver) -> Floats:
    # Below −50 °C the formula over water is beyond its range, and no supercooled water is left.
    bounded = np.maximum(temperature_c, -50.0) if over is HumidityOver.WATER else temperature_c
    found: Floats = kernels.saturation_pressure_pa(
        np, temperature_c=bounded, pressure_pa=pressure_pa, over=over
    )
    return found


def _decide_plane(
    temperature: Floats, dew: Floats | None, humidity: Floats | None, pressure: Floats
) -> PlaneDecision:
    is_cold = temperature < COLD_C
    if dew is None or humidity is None:
        return _by_custom(temperature if dew is None else dew, int(np.count_nonzero(is_cold)))
    can_tell = is_cold & np.isfinite(dew) & np.isfinite(humidity)
    count = int(np.count_nonzero(can_tell))
    if count < FEWEST_COLD_COUNT:
        return _by_custom(np.where(np.isfinite(dew), dew, temperature), count)
    off = {}
    for over in HumidityOver:
        of_dew, of_air = (
            _saturation_pa(t[can_tell], pressure[can_tell], over) for t in (dew, temperature)
        )
        off[over] = float(np.mean(np.abs(of_dew / of_air - humidity[can_tell])))
    best = min(off, key=lambda over: off[over])
    return PlaneDecision(
        over=best,
        basis=PlaneBasis.COMPARED,
        cold_count=count,
        water_off_frac=off[HumidityOver.WATER],
        ice_off_frac=off[HumidityOver.ICE],
    )


def _by_custom(stated_at_c: Floats, cold_count: int) -> PlaneDecision:
    """Over water, which matters only where humidity is stated at a temperature below freezing."""
    is_needed = bool((stated_at_c[np.isfinite(stated_at_c)] < 0.0).any())
    return PlaneDecision(
        over=HumidityOver.WATER,
        basis=PlaneBasis.CUSTOM if is_needed else PlaneBasis.NOT_NEEDED,
        cold_count=cold_count,
    )


def _humidity_ratio(
    temperature: Floats, pressure: Floats, values: dict[str, Floats], over: HumidityOver
) -> Floats:
    """From the humidity ratio itself, else the dew point, else the relative humidity."""
    ratio = np.full(temperature.shape, np.nan)
    with np.errstate(invalid="ignore"):
        saturated_pa = _saturation_pa(temperature, pressure, over)
        for name in (REL_HUMIDITY, DEW_POINT):
            found = values.get(name)
            if found is None:
                continue
            vapour_pa = (
                found * saturated_pa
                if name == REL_HUMIDITY
                else _saturation_pa(found, pressure, over)
            )
            better: Any = kernels.humidity_ratio_kg_kg(
                # Printed rounding may put the dew point over the temperature, or 101 % in print.
                vapour_pressure_pa=np.minimum(vapour_pa, saturated_pa),
                pressure_pa=pressure,
            )
            ratio = np.where(np.isfinite(better), better, ratio)
        given = values.get(HUMIDITY_RATIO)
        if given is not None:
            ratio = np.where(np.isfinite(given), given, ratio)
    return ratio


def _by_hour(values: Floats, place: Ints, hours_count: int) -> Floats:
    """Mean of the rows that fall into each hour; NaN where none does."""
    is_used = np.isfinite(values) & (place >= 0)
    count = np.bincount(place[is_used], minlength=hours_count)
    total = np.bincount(place[is_used], weights=values[is_used], minlength=hours_count)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(count > 0, total / count, np.nan)


def _fill(values: Floats) -> Floats:
    """Straight lines across short gaps between known hours."""
    is_known = np.isfinite(values)
    if is_known.all() or not is_known.any():
        return values
    known = np.flatnonzero(is_known)
    line = np.interp(np.arange(values.size), known, values[known])
    lacking = np.flatnonzero(~is_known)
    after = np.searchsorted(known, lacking)
    is_inside = (after > 0) & (after < known.size)
    left = known[np.clip(after - 1, 0, known.size - 1)]
    right = known[np.clip(after, 0, known.size - 1)]
    is_short = is_inside & (right - left - 1 <= LONGEST_FILLED_COUNT)
    filled = values.copy()
    filled[lacking[is_short]] = line[lacking[is_short]]
    return filled


def _gaps(is_known: Bools, is_filled: Bools, file_name: str) -> list[Problem]:
    notes = []
    filled, lacking = int(is_filled.sum()), int((~is_known).sum())
    if filled:
        notes.append(
            _note(
                "hours-filled",
                file_name,
                f"{filled} hours lacked a value and were drawn across gaps of at most "
                f"{LONGEST_FILLED_COUNT} hours",
            )
        )
    if lacking:
        notes.append(
            Problem(
                code="hours-missing",
                where=file_name,
                message=f"{lacking} of {is_known.size} hours of the year are not in the file; "
                "nothing is counted there and no sum is scaled up for them",
                remedy="use a whole year where sums of a year are wanted",
            )
        )
    return notes


def _plane_note(plane: PlaneDecision, file_name: str) -> list[Problem]:
    if plane.basis is not PlaneBasis.CUSTOM:
        return []
    return [
        _note(
            "humidity-plane-assumed",
            file_name,
            "nothing in the file tells whether humidity below 0 °C is over water or over ice; over "
            "water is taken, as weather services do (from memory). Over ice the air would hold "
            "5 % less water at −5 °C and 10 % less at −10 °C",
        )
    ]


def _note(code: str, where: str, message: str) -> Problem:
    return Problem(code=code, where=where, message=message, severity=Severity.NOTE)


def _calendar(hours_count: int) -> tuple[Ints, Ints]:
    year = _LEAP_YEAR if hours_count == HOURS_OF_LEAP_YEAR else _YEAR
    first = date(year, 1, 1).toordinal()
    days = [date.fromordinal(first + i) for i in range(hours_count // 24)]
    return (
        np.repeat(np.array([d.month for d in days]), 24),
        np.repeat(np.array([d.day for d in days]), 24),
    )
