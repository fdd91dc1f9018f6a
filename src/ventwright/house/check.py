"""Whether the parts of a record fit together: ids that repeat, references that lead nowhere."""

from __future__ import annotations

from collections.abc import Iterable

from ventwright.house.plan import House, System
from ventwright.house.reading import Reading, StationKind
from ventwright.house.visit import Visit
from ventwright.quantities import Problem, Severity, Side


def check_house(house: House) -> tuple[Problem, ...]:
    """Problems of a house taken as a whole; the house itself stays as it is.

    Parameters
    ----------
    house
        Any house.

    >>> check_house(House(schema="ventwright-house-1", id="h", name="Barn"))
    ()
    """
    rooms = [r.id for r in house.rooms]
    problems = [
        *_repeats(rooms, "rooms"),
        *_repeats([s.id for s in house.systems], "systems"),
        *_repeats([s.id for s in house.surfaces], "surfaces"),
        *_repeats([t.id for s in house.systems for t in s.terminals], "terminals"),
        *_repeats([b.id for s in house.systems for b in s.branches], "branches"),
    ]
    for i, surface in enumerate(house.surfaces):
        if surface.room is not None:
            problems += _reference(surface.room, rooms, f"surfaces[{i}].room", "room")
    for i, system in enumerate(house.systems):
        problems += _check_system(system, rooms, f"systems[{i}]")
    return tuple(problems)


def _check_system(system: System, rooms: list[str], where: str) -> list[Problem]:
    problems = [*_repeats([f.id for f in system.fan_settings], f"{where}.fan_settings")]
    branches = {b.id: b for b in system.branches}
    for i, terminal in enumerate(system.terminals):
        path = f"{where}.terminals[{i}]"
        problems += _reference(terminal.room, rooms, f"{path}.room", "room")
        if terminal.branch is not None:
            problems += _reference(terminal.branch, branches, f"{path}.branch", "branch")
            branch = branches.get(terminal.branch)
            if branch is not None and branch.side is not terminal.side:
                problems.append(_side_clash(f"{path}.branch", terminal.side, branch.id))
        low, high = terminal.min_flow_m3_s, terminal.max_flow_m3_s
        if low is not None and high is not None and low > high:
            problems.append(
                _mistake(
                    "band-crossed",
                    f"{path}.min_flow",
                    "the band's minimum is above its maximum",
                    "swap or mend the two",
                )
            )
    for i, branch in enumerate(system.branches):
        path = f"{where}.branches[{i}].parent"
        if branch.parent is not None:
            problems += _reference(branch.parent, branches, path, "branch")
        if _is_circular(branch.id, {b.id: b.parent for b in system.branches}):
            problems.append(
                _mistake(
                    "branch-circle",
                    path,
                    f"branch {branch.id!r} is its own ancestor",
                    "mend 'parent' so that each branch leads to the unit",
                )
            )
    return problems


def _is_circular(start: str, parents: dict[str, str | None]) -> bool:
    seen = {start}
    at = parents.get(start)
    while at is not None:
        if at in seen:
            return True
        seen.add(at)
        at = parents.get(at)
    return False


def check_visit(visit: Visit, house: House | None) -> tuple[Problem, ...]:
    """Problems of a visit taken as a whole, against its house where that is given.

    Parameters
    ----------
    visit
        Any visit.
    house
        The house it speaks of, or None if unknown.

    >>> check_visit(Visit(schema="ventwright-visit-1", id="v", house="h"), None)
    ()
    """
    instruments = [i.id for i in visit.instruments]
    problems = [
        *_repeats([r.id for r in visit.readings], "readings"),
        *_repeats(instruments, "instruments"),
        *_repeats([a.id for a in visit.adjustments], "adjustments"),
        *_repeats([f.id for f in visit.faults], "faults"),
    ]
    ids = [r.id for r in visit.readings]
    for reading in visit.readings:
        where = f"reading {reading.id}"
        if reading.instrument is not None:
            problems += _reference(reading.instrument, instruments, where, "instrument")
        if reading.supersedes is not None:
            problems += _reference(reading.supersedes, ids, where, "reading")
        if house is not None:
            problems += _check_station(reading, house)
    if house is not None and visit.house != house.id:
        problems.append(
            _mistake(
                "other-house",
                "house",
                f"the visit speaks of house {visit.house!r}, the house file is {house.id!r}",
                "give the files of one house",
            )
        )
    return tuple(problems)


def _check_station(reading: Reading, house: House) -> list[Problem]:
    where = f"reading {reading.id}"
    systems = [s for s in house.systems if reading.station.system in (None, s.id)]
    known = {
        StationKind.BRANCH: [b.id for s in systems for b in s.branches],
        StationKind.TERMINAL: [t.id for s in systems for t in s.terminals],
        StationKind.ROOM: [r.id for r in house.rooms],
        StationKind.SURFACE: [s.id for s in house.surfaces],
    }
    problems: list[Problem] = []
    kind, ref = reading.station.kind, reading.station.ref
    if kind in known and ref is not None:
        problems += _reference(ref, known[kind], where, kind.value)
    settings = [f.id for s in systems for f in s.fan_settings]
    if settings:
        problems += _reference(reading.setting, settings, where, "fan setting")
    return problems


def _repeats(ids: Iterable[str], where: str) -> list[Problem]:
    seen: set[str] = set()
    problems = []
    for one in ids:
        if one in seen:
            problems.append(
                _mistake("repeated-id", where, f"id {one!r} stands twice", "give each its own id")
            )
        seen.add(one)
    return problems


def _reference(ref: str, known: Iterable[str], where: str, what: str) -> list[Problem]:
    names = list(known)
    if ref in names:
        return []
    shown = ", ".join(names) if names else "none is listed"
    return [
        _mistake("unknown-reference", where, f"{what} {ref!r} is not listed", f"listed: {shown}")
    ]


def _side_clash(where: str, side: Side, branch: str) -> Problem:
    return _mistake(
        "side-clash",
        where,
        f"a terminal of the {side.value} side hangs on branch {branch!r} of the other side",
        "mend 'side' or 'branch'",
    )


def _mistake(code: str, where: str, message: str, remedy: str) -> Problem:
    return Problem(
        code=code, where=where, message=message, remedy=remedy, severity=Severity.MISTAKE
    )
