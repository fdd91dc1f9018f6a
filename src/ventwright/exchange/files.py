"""House and visit files: text in, record out, every problem with its file and line."""

from __future__ import annotations

import os
import re
import tomllib
from pathlib import Path

from ventwright.exchange.places import Place, Places
from ventwright.exchange.tables import read_table
from ventwright.exchange.text import decode, read_bytes, refusal
from ventwright.exchange.toml_lines import lines_of
from ventwright.house import (
    VISIT_SCHEMA,
    House,
    Reader,
    Reading,
    Visit,
    parse_house,
    parse_reading,
    parse_visit,
)
from ventwright.quantities import NumberStyle, Problem, Severity, UserError

_TOML = "a TOML file is wanted: key = value lines, [table] headers, texts in double quotes"
_BESIDE = re.compile(r"(?!\.\.?$)[^/\\]+")
_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)")


def read_house(
    path: str | os.PathLike[str], *, number_style: NumberStyle | None = None
) -> tuple[House, tuple[Problem, ...]]:
    """Read a house file.

    Parameters
    ----------
    path
        A TOML file in UTF-8.
    number_style
        How numbers with a lone comma are meant; None refuses those that are ambiguous.

    Returns
    -------
    tuple of House and problems
        Each problem's place reads ``house.toml:42: systems[0].terminals[3].room``.

    Raises
    ------
    UserError
        If the file can't be read at all, or what it holds is no house; its problems say where.

    >>> read_house("none.toml")
    Traceback (most recent call last):
    ventwright.quantities.problems.UserError: no such file: none.toml; check its name and folder
    """
    file = Path(path)
    mapping, places = read_toml(file)
    house, problems = parse_house(mapping, number_style=number_style)
    located = places.on(problems)
    if house is None:
        raise _nothing_left(file, "house", located)
    return house, located


def read_visit(
    path: str | os.PathLike[str],
    *,
    house: House | None,
    number_style: NumberStyle | None = None,
) -> tuple[Visit, tuple[Problem, ...]]:
    """Read a visit file, or a CSV table of readings (see `tables`).

    A visit file may name a table beside it, ``readings_csv = "readings.csv"``; its readings come
    after those of the file. A table alone makes a visit that begins with its first timed reading
    and whose conditions and instruments are unknown.

    Parameters
    ----------
    path
        A ``.toml`` or ``.csv`` file in UTF-8.
    house
        The house it speaks of, to check stations and settings; a table alone needs it.
    number_style
        As in `read_house`. None lets a table with semicolons be read with decimal commas.

    Returns
    -------
    tuple of Visit and problems
        Each reading that could be read, and the problems with file and line.

    Raises
    ------
    UserError
        If the file can't be read at all, or what it holds is no visit; its problems say where.

    >>> read_visit("visit.pdf", house=None)
    Traceback (most recent call last):
    ventwright.quantities.problems.UserError: visit.pdf is no visit file; name a .toml or .csv file
    """
    file = Path(path)
    ending = file.suffix.casefold()
    if ending == ".csv":
        return _read_table_alone(file, house, number_style)
    if ending != ".toml":
        raise refusal(
            "unknown-ending", file, f"{file.name} is no visit file", "name a .toml or .csv file"
        )
    mapping, places = read_toml(file)
    further: tuple[Reading, ...] = ()
    found: tuple[Problem, ...] = ()
    if "readings_csv" in mapping:
        inline = mapping.get("readings")
        further, found = _readings_beside(
            file,
            mapping.pop("readings_csv"),
            places,
            first_index=len(inline) if isinstance(inline, list) else 0,
            number_style=number_style,
        )
    visit, problems = parse_visit(
        mapping, house=house, number_style=number_style, further_readings=further
    )
    located = found + places.on(problems)
    if visit is None:
        raise _nothing_left(file, "visit", located)
    return visit, located


def read_toml(file: Path) -> tuple[dict[str, object], Places]:
    """Read any TOML file that a person wrote, and where in it each key stands.

    Parameters
    ----------
    file
        A file in UTF-8.

    Returns
    -------
    tuple of mapping and places
        `Places.on` puts file and line before the paths of problems.

    Raises
    ------
    UserError
        If it can't be read or is no TOML.

    >>> read_toml(Path("none.toml"))
    Traceback (most recent call last):
    ventwright.quantities.problems.UserError: no such file: none.toml; check its name and folder
    """
    text = decode(read_bytes(file), path=file)
    try:
        mapping = tomllib.loads(text)
        lines = lines_of(text)
    except tomllib.TOMLDecodeError as trouble:
        raise _malformed(file, str(trouble), last_line=text.count("\n") + 1) from None
    except (RecursionError, ValueError):
        # What `tomllib` lets through: arrays nested without end, numbers of thousands of digits.
        raise refusal(
            "malformed-toml", file, f"{file.name} nests or counts beyond reason", _TOML
        ) from None
    places = Places(top=Place(file=file.name, line=1))
    places.add(file.name, lines)
    places.name_items(mapping)
    return mapping, places


def _malformed(file: Path, message: str, *, last_line: int) -> UserError:
    found = _PLACE.search(message)
    line = int(found[1]) if found and found[1] else last_line
    column = f":{found[2]}" if found and found[2] else ""
    what = _PLACE.sub("", message)
    return refusal("malformed-toml", file, f"{file.name}:{line}{column}: {what}", _TOML, line=line)


def _nothing_left(file: Path, what: str, problems: tuple[Problem, ...]) -> UserError:
    first = problems[0]
    message = f"{file.name} holds no {what}: {first.where}: {first.message}; {first.remedy}"
    return UserError(message, problems=problems)


def _readings_beside(
    file: Path,
    name: object,
    places: Places,
    *,
    first_index: int,
    number_style: NumberStyle | None,
) -> tuple[tuple[Reading, ...], tuple[Problem, ...]]:
    """Readings of the table that a visit file names, and the problems on the way."""
    if not isinstance(name, str) or not _BESIDE.fullmatch(name):
        wrong = Problem(
            code="wrong-kind",
            where="readings_csv",
            message=f"{name!r} is not the name of a file beside the visit file",
            remedy='write readings_csv = "readings.csv", without a folder',
            severity=Severity.MISTAKE,
        )
        return (), places.on([wrong])
    try:
        return _readings_of(
            file.with_name(name), places, first_index=first_index, number_style=number_style
        )
    except UserError as trouble:
        return (), trouble.problems


def _readings_of(
    file: Path, places: Places, *, first_index: int, number_style: NumberStyle | None
) -> tuple[tuple[Reading, ...], tuple[Problem, ...]]:
    table = read_table(decode(read_bytes(file), path=file), path=file)
    reader = Reader(number_style=number_style or table.number_style)
    readings = []
    for i, mapping in enumerate(table.readings):
        path = f"readings[{first_index + i}]"
        places.add(file.name, {path: table.line_numbers[i]})
        if isinstance(mapping.get("id"), str):
            places.name(f"reading {mapping['id']}", path)
        reading = parse_reading(mapping, where=path, reader=reader)
        if reading is not None:
            readings.append(reading)
    return tuple(readings), table.problems + places.on(reader.problems)


def _read_table_alone(
    file: Path, house: House | None, number_style: NumberStyle | None
) -> tuple[Visit, tuple[Problem, ...]]:
    if house is None:
        raise refusal(
            "house-needed",
            file,
            f"{file.name} does not say which house it speaks of",
            "give the house file beside it",
        )
    places = Places(top=Place(file=file.name, line=1))
    readings, found = _readings_of(file, places, first_index=0, number_style=number_style)
    head: dict[str, object] = {"schema": VISIT_SCHEMA, "id": file.stem, "house": house.id}
    if times := [reading.at for reading in readings if reading.at is not None]:
        head["started_at"] = min(times)
    visit, problems = parse_visit(head, house=house, further_readings=readings)
    if visit is None:
        raise _nothing_left(file, "visit", places.on(problems))
    return visit, found + places.on(problems)
