"""A plan taken part by part: found by its path, changed key by key, put back in its place.

A path leads from the house through lists and records: ``("systems", "main", "terminals", "s1")``.
Parts of a list are named by their id, or by their place where they have none. The empty path is
the house itself. Records that stand alone inside another (a branch's damper) belong to it and are
typed with a dotted key; lists of records are parts of their own, save short tables of numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, TypeVar, get_args, get_origin

from ventwright.house.chain import text_sha256
from ventwright.house.hints import dimension_of, hints_of, key_of
from ventwright.house.parse import Reader, read_record
from ventwright.house.plan import House
from ventwright.quantities import Problem, Severity, UserError
from ventwright.quantities.records import fields, is_dataclass, replace

T = TypeVar("T")
PartPath = tuple[str, ...]


def part_lists(record: type, *, before: PartPath = ()) -> Iterator[tuple[PartPath, type]]:
    """Lists of parts inside a record, each with the names that lead there and what it holds.

    Parameters
    ----------
    record
        A dataclass of the record.
    before
        Names that lead to it.

    >>> from ventwright.house.plan import Branch
    >>> list(part_lists(Branch))[0][0]
    ('ducts',)
    """
    for name, hint in hints_of(record).items():
        held, is_list = _held(hint)
        if held is None:
            continue
        if not is_list:
            yield from part_lists(held, before=(*before, name))
        elif not is_table(held):
            yield (*before, name), held


def is_table(record: type) -> bool:
    """Whether lists of a record are short tables of numbers, typed line by line in one field.

    Parameters
    ----------
    record
        A dataclass of the record.

    >>> from ventwright.house.plan import OpeningPoint, Terminal
    >>> is_table(OpeningPoint), is_table(Terminal)
    (True, False)
    """
    hints = hints_of(record).values()
    numbers = [dimension_of(one) is not None and type(None) not in get_args(one) for one in hints]
    return bool(numbers) and all(numbers)


def part_type(path: PartPath) -> type:
    """What kind of record a path leads to.

    Parameters
    ----------
    path
        Names and ids, from the house.

    Raises
    ------
    UserError
        ``unknown-part`` if a house has nothing of that name.

    >>> part_type(("systems", "main", "terminals", "s1")).__name__
    'Terminal'
    """
    record: type = House
    steps = iter(path)
    for name in steps:
        held, is_list = _held(hints_of(record).get(name))
        if held is None or (is_list and (is_table(held) or next(steps, None) is None)):
            raise _unknown(path)
        record = held
    return record


def part_at(house: House, path: PartPath) -> object | None:
    """The part at a path; None where there is none.

    Parameters
    ----------
    house
        The house.
    path
        Names and ids.

    Raises
    ------
    UserError
        As `part_type`.

    >>> from ventwright.house.plan import Room, RoomKind
    >>> hall = Room(id="hall", name="Hall", kind=RoomKind.HALL)
    >>> house = House(schema="ventwright-house-1", id="h", name="Barn", rooms=(hall,))
    >>> part_at(house, ("rooms", "hall")) == hall, part_at(house, ("rooms", "loft"))
    (True, None)
    """
    part_type(path)
    found: Any = house
    steps = iter(path)
    for name in steps:
        if found is None:
            return None
        found = getattr(found, name)
        if isinstance(found, tuple):
            place = _place_in(found, next(steps))
            found = found[place] if place is not None else None
    return found  # type: ignore[no-any-return]


def put_part(house: House, path: PartPath, part: object | None) -> House:
    """The house with a part put in its place, at the end of its list if new, or taken out.

    Parameters
    ----------
    house
        The house.
    path
        Names and ids.
    part
        The record; None takes it out.

    Raises
    ------
    UserError
        As `part_type`; also where the list it belongs to is not there.

    >>> from ventwright.house.plan import Room, RoomKind
    >>> house = House(schema="ventwright-house-1", id="h", name="Barn")
    >>> hall = Room(id="hall", name="Hall", kind=RoomKind.HALL)
    >>> more = put_part(house, ("rooms", "hall"), hall)
    >>> len(more.rooms), put_part(more, ("rooms", "hall"), None) == house
    (1, True)
    """
    part_type(path)
    return _put(house, path, part, path)  # type: ignore[no-any-return]


def _put(record: Any, path: PartPath, part: object | None, whole: PartPath) -> Any:
    if not path:
        return part
    if record is None:
        raise _unknown(whole)
    name, rest = path[0], path[1:]
    held = getattr(record, name)
    if not isinstance(held, tuple):
        return replace(record, **{name: _put(held, rest, part, whole)})
    place = _place_in(held, rest[0])
    if place is None:
        if len(rest) > 1:
            raise _unknown(whole)
        return replace(record, **{name: held if part is None else (*held, part)})
    new = _put(held[place], rest[1:], part, whole)
    kept = (*held[:place], *(() if new is None else (new,)), *held[place + 1 :])
    return replace(record, **{name: kept})


def part_keys(record: type, *, before: str = "") -> Iterator[tuple[str, Any]]:
    """Keys that are typed into a part itself, dotted for records inside it, with annotations.

    Parameters
    ----------
    record
        A dataclass of the record.
    before
        Dotted key that leads to it, with its dot.

    >>> from ventwright.house.plan import Branch
    >>> [key for key, _ in part_keys(Branch)][5:8]
    ['damper.kind', 'damper.diameter', 'damper.position']
    """
    for name, hint in hints_of(record).items():
        held, is_list = _held(hint)
        key = before + key_of(name, hint)
        if held is None or (is_list and is_table(held)):
            yield key, hint
        elif not is_list:
            yield from part_keys(held, before=f"{key}.")


def part_values(part: object, *, before: str = "") -> Iterator[tuple[str, Any, Any]]:
    """As `part_keys`, with the values of a part that is there; those of missing records left out.

    Parameters
    ----------
    part
        A record.
    before
        Dotted key that leads to it, with its dot.

    >>> from ventwright.house.plan import Room, RoomKind
    >>> next(part_values(Room(id="hall", name="Hall", kind=RoomKind.HALL)))[:2]
    ('id', 'hall')
    """
    for name, hint in hints_of(type(part)).items():
        held, is_list = _held(hint)
        key, value = before + key_of(name, hint), getattr(part, name)
        if held is None or (is_list and is_table(held)):
            yield key, value, hint
        elif not is_list and value is not None:
            yield from part_values(value, before=f"{key}.")


def part_sha256(part: object | None) -> str:
    """A hash of what is typed into a part itself; of no part, the empty text.

    Parameters
    ----------
    part
        A record, without the lists of parts inside it.

    >>> part_sha256(None)
    ''
    """
    if part is None:
        return ""
    return text_sha256(repr([(key, value) for key, value, _ in part_values(part)]))


def read_part(
    record: type[T],
    standing: T | None,
    typed: Mapping[str, object],
    *,
    reader: Reader,
    where: str = "",
) -> T | None:
    """A part with some of its keys typed anew; what was not typed stays exactly as it was.

    Parameters
    ----------
    record
        Kind of the part.
    standing
        As it stands; None for a new one.
    typed
        Texts by key, dotted for records inside it; None empties a key.
    reader
        Collects problems.
    where
        Key path for messages.

    Returns
    -------
    record or None
        None where a required key is missing or can't be read; the problems say which.

    >>> from ventwright.house.plan import Room, RoomKind
    >>> hall = Room(id="hall", name="Hall", kind=RoomKind.HALL, floor_area_m2=8.0)
    >>> reader = Reader()
    >>> read_part(Room, hall, {"name": "Long hall"}, reader=reader).floor_area_m2
    8.0
    >>> read_part(Room, hall, {"floor_area": "-3 m²"}, reader=reader) is hall
    False
    >>> reader.problems[0].where
    'floor_area'
    """
    hints = hints_of(record)
    names = {key_of(name, hint): name for name, hint in hints.items()}
    given: dict[str, object] = {}
    if standing is not None:
        given = {one.name: getattr(standing, one.name) for one in fields(standing)}  # type: ignore[arg-type]
    mapping: dict[str, object] = {}
    for key, inner in _by_table(typed).items():
        name = names.get(key)
        held, is_list = _held(hints.get(name or ""))
        if name is None or held is None or is_list or not isinstance(inner, Mapping):
            value = inner
        else:
            before = given.get(name)
            if _is_emptied(before, inner):
                value = None
            else:
                path = f"{where}.{key}" if where else key
                given[name] = read_part(held, before, inner, reader=reader, where=path)
                continue
        if name is not None:
            given.pop(name, None)
        if value is not None:
            mapping[key] = value if name is None else _dated(value, hints[name])
    # A record inside that can't be read has told its problem already.
    unread = [name for name, value in given.items() if value is None and _is_required(hints[name])]
    found = read_record(record, mapping, where=where, reader=reader, given=given)
    return None if unread else found


def _by_table(typed: Mapping[str, object]) -> dict[str, object]:
    """Keys with a dot as tables: ``damper.kind`` → ``{"damper": {"kind": …}}``."""
    found: dict[str, object] = {}
    for key, value in typed.items():
        table, _, inner = key.partition(".")
        of_table = found.setdefault(table, {}) if inner else None
        if isinstance(of_table, dict):
            of_table[inner] = value
        else:
            found[key] = value
    return found


def _is_emptied(standing: object | None, typed: Mapping[Any, Any]) -> bool:
    """Whether nothing is left in a record inside: every key that was there is emptied."""
    if any(value is not None for value in typed.values()):
        return False
    if standing is None:
        return True
    left = {key for key, value, _ in part_values(standing) if value not in (None, "", (), False)}
    return left <= set(typed)


def _dated(value: object, hint: Any) -> object:
    """A date from its text, as forms send it; any other text is left for the parser to refuse."""
    if isinstance(value, str) and date in (hint, *get_args(hint)):
        try:
            return date.fromisoformat(value)
        except ValueError:
            return value
    return value


def _held(hint: Any) -> tuple[type | None, bool]:
    """The record inside an annotation, None if it holds none, and whether as a list."""
    inner = _record_in(hint)
    return inner, inner is not None and get_origin(hint) is tuple


def _record_in(hint: Any) -> type | None:
    if isinstance(hint, type) and is_dataclass(hint):
        return hint
    for part in get_args(hint):
        found = _record_in(part)
        if found is not None:
            return found
    return None


def _is_required(hint: Any) -> bool:
    return _record_in(hint) is not None and type(None) not in get_args(hint)


def _place_in(held: tuple[Any, ...], name: str) -> int | None:
    """Where a part stands in its list: by its id, else by its number from 0."""
    for place, one in enumerate(held):
        if getattr(one, "id", str(place)) == name:
            return place
    return None


def _unknown(path: PartPath) -> UserError:
    problem = Problem(
        code="unknown-part",
        where=".".join(path),
        message=f"a plan has no part {'/'.join(path)!r}",
        remedy="look at the house as it stands",
        severity=Severity.MISTAKE,
    )
    return UserError(f"{problem.message}; {problem.remedy}", problems=(problem,))
