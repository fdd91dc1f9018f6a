"""The two things people write, a house and a visit, from plain mappings with problems beside."""

from __future__ import annotations

from collections.abc import Mapping

from ventwright.house.check import check_house, check_visit
from ventwright.house.hints import hints_of
from ventwright.house.parse import Reader, read_record, read_value
from ventwright.house.plan import House
from ventwright.house.reading import (
    LOOK_OF_METHOD,
    Method,
    Reading,
    Station,
    StationKind,
    TypedText,
)
from ventwright.house.samples import check_samples
from ventwright.house.ventilation_unit import FilterSide
from ventwright.house.visit import Visit
from ventwright.quantities import AirKind, NumberStyle, Problem
from ventwright.quantities.records import replace

HOUSE_SCHEMA = "ventwright-house-1"
VISIT_SCHEMA = "ventwright-visit-1"

_HEAD_KEYS = tuple(
    name for name in Reading.__annotations__ if name not in {"look", "typed", "station", "method"}
)
_BESIDE_LOOK = (*_HEAD_KEYS, "method", "station", "filter_side", "system", "typed")


def parse_house(
    mapping: Mapping[str, object], *, number_style: NumberStyle | None = None
) -> tuple[House | None, tuple[Problem, ...]]:
    """The house of a file, with what could not be read and what does not fit together.

    Parameters
    ----------
    mapping
        The whole file as nested mappings.
    number_style
        How numbers with a lone comma are meant; None refuses those that are ambiguous.

    Returns
    -------
    tuple of House or None and problems
        None only where a required key of the house itself is missing or its schema is unknown.

    >>> house, problems = parse_house({"schema": "ventwright-house-1", "id": "h", "name": "Barn"})
    >>> house.name, problems
    ('Barn', ())
    """
    reader = Reader(number_style=number_style)
    if not _has_schema(mapping, HOUSE_SCHEMA, reader):
        return None, tuple(reader.problems)
    house = read_record(House, mapping, where="", reader=reader)
    problems = tuple(reader.problems)
    return house, problems + (check_house(house) if house else ())


def parse_visit(
    mapping: Mapping[str, object],
    *,
    house: House | None = None,
    number_style: NumberStyle | None = None,
    further_readings: tuple[Reading, ...] = (),
) -> tuple[Visit | None, tuple[Problem, ...]]:
    """The visit of a file; each reading that can be read is kept, whatever stands beside it.

    Parameters
    ----------
    mapping
        The whole file as nested mappings.
    house
        The house it speaks of, to check that stations and settings exist.
    number_style
        As in `parse_house`.
    further_readings
        Readings of the same visit that were typed elsewhere, such as in a table beside the file;
        they come last.

    Returns
    -------
    tuple of Visit or None and problems
        None only where a required key of the visit itself is missing or its schema is unknown.

    >>> visit, problems = parse_visit({"schema": "ventwright-visit-1", "id": "v", "house": "h"})
    >>> visit.readings, problems
    ((), ())
    """
    reader = Reader(number_style=number_style)
    if not _has_schema(mapping, VISIT_SCHEMA, reader):
        return None, tuple(reader.problems)
    rest = {k: v for k, v in mapping.items() if k != "readings"}
    visit = read_record(Visit, rest, where="", reader=reader)
    raw = mapping.get("readings", ())
    readings: list[Reading] = []
    if isinstance(raw, list | tuple):
        for i, one in enumerate(raw):
            reading = parse_reading(one, where=f"readings[{i}]", reader=reader)
            if reading is not None:
                readings.append(reading)
    else:
        reader.mistake(
            code="not-a-list",
            where="readings",
            message=f"{raw!r} stands where a list of readings is wanted",
            remedy="write one [[readings]] table for each",
        )
    if visit is None:
        return None, tuple(reader.problems)
    visit = replace(visit, readings=(*readings, *further_readings))
    return visit, tuple(reader.problems) + check_visit(visit, house)


def parse_reading(mapping: object, *, where: str, reader: Reader) -> Reading | None:
    """One reading: its head, its station, and what its method looked at.

    Parameters
    ----------
    mapping
        The keys as typed, head and method side by side.
    where
        Key path for messages.
    reader
        Collects problems.

    Returns
    -------
    Reading or None
        None where the method, the station or a required value can't be read.

    >>> r = parse_reading({"id": "r1", "station": "terminal:t1", "setting": "continuous",
    ...     "phase": "as_found", "method": "power", "power": "62 W"}, where="r", reader=Reader())
    >>> r.look.power_w, r.typed[0].text
    (62.0, '62 W')
    """
    if not isinstance(mapping, Mapping):
        reader.mistake(
            code="not-a-table",
            where=where,
            message=f"{mapping!r} stands where a reading is wanted",
            remedy="write one [[readings]] table for each",
        )
        return None
    start = len(reader.typed)
    method = _read_method(mapping, where=where, reader=reader)
    station = _read_station(mapping, where=where, reader=reader)
    look: object = None
    if method is not None:
        look = read_record(
            LOOK_OF_METHOD[method], mapping, where=where, reader=reader, beside=_BESIDE_LOOK
        )
    typed: object = tuple(
        TypedText(key=path.removeprefix(where + "."), text=text)
        for path, text in reader.typed[start:]
    )
    if "typed" in mapping:
        hint = hints_of(Reading)["typed"]
        typed = read_value(hint, mapping["typed"], where=f"{where}.typed", reader=reader)
    head = {k: mapping[k] for k in _HEAD_KEYS if k in mapping}
    given = {"look": look, "typed": typed, "station": station, "method": method}
    reading = read_record(Reading, head, where=where, reader=reader, given=given)
    is_whole = look is not None and station is not None and isinstance(typed, tuple)
    if reading is None or not is_whole:
        return None
    samples, inside = reading.samples, f"{where}.samples"
    if samples and not check_samples(samples, reading.look, where=inside, reader=reader):
        # The value is good without them; what is wrong with them has been noted.
        return replace(reading, samples=None)
    return reading


def _read_method(mapping: Mapping[object, object], *, where: str, reader: Reader) -> Method | None:
    if "method" not in mapping:
        reader.missing("method", Method, where=f"{where}.method")
        return None
    method = read_value(Method, mapping["method"], where=f"{where}.method", reader=reader)
    return method if isinstance(method, Method) else None


def _read_station(
    mapping: Mapping[object, object], *, where: str, reader: Reader
) -> Station | None:
    parts = {
        key: read_value(hint, mapping[key], where=f"{where}.{key}", reader=reader)
        for key, hint in (("filter_side", FilterSide), ("system", str))
        if key in mapping
    }
    side, system = parts.get("filter_side"), parts.get("system")
    text = mapping.get("station")
    station = station_from(text) if isinstance(text, str) else None
    if station is None:
        ports = ", ".join(a.value for a in AirKind)
        is_missing = "station" not in mapping
        reader.mistake(
            code="missing-key" if is_missing else "unknown-station",
            where=f"{where}.station",
            message="'station' is missing" if is_missing else f"{text!r} names no station",
            remedy=f"write one of {ports}, or unit, house, branch:ID, terminal:ID, room:ID, "
            "surface:ID",
        )
        return None
    return replace(
        station,
        system=system if isinstance(system, str) else None,
        filter_side=side if isinstance(side, FilterSide) else None,
    )


def station_from(text: str) -> Station | None:
    """A station from its written form; None if it is none.

    Parameters
    ----------
    text
        ``SUP``, ``unit``, ``terminal:t3`` and the like.

    >>> station_from("terminal:t3").ref
    't3'
    >>> station_from("SUP").stream.value
    'SUP'
    """
    word, _, ref = text.strip().partition(":")
    if not ref:
        if word.upper() in {a.value for a in AirKind}:
            return Station(kind=StationKind.PORT, stream=AirKind(word.upper()))
        if word in (StationKind.UNIT, StationKind.HOUSE):
            return Station(kind=StationKind(word))
        return None
    with_ref = (
        StationKind.BRANCH,
        StationKind.TERMINAL,
        StationKind.ROOM,
        StationKind.SURFACE,
    )
    return Station(kind=StationKind(word), ref=ref.strip()) if word in with_ref else None


def _has_schema(mapping: Mapping[str, object], wanted_schema: str, reader: Reader) -> bool:
    found = mapping.get("schema")
    if found == wanted_schema:
        return True
    reader.mistake(
        code="unknown-schema",
        where="schema",
        message=f"schema is {found!r}" if found is not None else "'schema' is missing",
        remedy=f'write schema = "{wanted_schema}"; a newer schema needs a newer ventwright',
    )
    return False
