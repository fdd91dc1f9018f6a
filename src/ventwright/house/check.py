"""Whether the parts of a record fit together: ids that repeat, references that lead nowhere."""

from __future__ import annotations

from collections.abc import Iterable

from ventwright.house.handover import EntryKind
from ventwright.house.plan import Branch, House, System
from ventwright.house.reading import Reading, StationKind
from ventwright.house.visit import AdjustmentKind, Visit
from ventwright.quantities import Problem, Severity, Side
from ventwright.quantities.records import replace


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
    for surface in house.surfaces:
        if surface.room is not None:
            problems += _reference(surface.room, rooms, f"surface {surface.id}.room", "room")
    for system in house.systems:
        problems += _check_system(system, rooms)
    return tuple(problems)


def _check_system(system: System, rooms: list[str]) -> list[Problem]:
    problems = _repeats([f.id for f in system.fan_settings], f"system {system.id}.fan_settings")
    branches = {b.id: b for b in system.branches}
    for terminal in system.terminals:
        path = f"terminal {terminal.id}"
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
    for branch in system.branches:
        problems += _check_branch(branch, branches)
    return problems


def _check_branch(branch: Branch, branches: dict[str, Branch]) -> list[Problem]:
    if branch.parent is None:
        return []
    path = f"branch {branch.id}.parent"
    problems = _reference(branch.parent, branches, path, "branch")
    parent = branches.get(branch.parent)
    if parent is not None and parent.side is not branch.side:
        problems.append(
            _mistake(
                "side-clash",
                path,
                f"a branch of the {branch.side.value} side hangs on branch {parent.id!r} of the "
                "other side",
                "mend 'side' or 'parent'",
            )
        )
    if _is_circular(branch.id, {b.id: b.parent for b in branches.values()}):
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
    seen: set[str] = set()
    at = parents.get(start)
    while at is not None:
        if at == start:
            return True
        if at in seen:
            return False
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
        *_repeats([n.id for n in visit.notes], "notes"),
        *_repeats([p.id for p in visit.photos], "photos"),
        *_repeats([s.id for s in visit.signatures], "signatures"),
    ]
    ids = [r.id for r in visit.readings]
    faults = [f.id for f in visit.faults]
    for i, entry in enumerate(visit.walk_through):
        if entry.fault is not None:
            problems += _reference(entry.fault, faults, f"walk_through[{i}].fault", "fault")
    for reading in visit.readings:
        where = f"reading {reading.id}"
        if reading.instrument is not None and reading.instrument not in instruments:
            problems.append(_unknown_instrument(f"{where}.instrument", reading.instrument))
        if reading.supersedes is not None:
            problems += _reference(reading.supersedes, ids, f"{where}.supersedes", "reading")
        if house is not None:
            problems += _check_station(reading, house)
    for i, withdrawal in enumerate(visit.withdrawals):
        if withdrawal.kind is EntryKind.READING:
            problems += _reference(withdrawal.entry, ids, f"withdrawals[{i}].entry", "reading")
    problems += _check_work(visit, ids, house)
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
    """A reading whose place is not known gives no number; it is kept and refused, not mended."""
    where = f"reading {reading.id}"
    named = reading.station.system
    if named is not None and named not in [s.id for s in house.systems]:
        return [
            replace(problem, severity=Severity.REFUSAL)
            for problem in _reference(
                named, [s.id for s in house.systems], f"{where}.system", "system"
            )
        ]
    systems = [s for s in house.systems if named in (None, s.id)]
    known = {
        StationKind.BRANCH: [b.id for s in systems for b in s.branches],
        StationKind.TERMINAL: [t.id for s in systems for t in s.terminals],
        StationKind.ROOM: [r.id for r in house.rooms],
        StationKind.SURFACE: [s.id for s in house.surfaces],
    }
    problems: list[Problem] = []
    kind, ref = reading.station.kind, reading.station.ref
    if kind in known and ref is not None:
        problems += _reference(ref, known[kind], f"{where}.station", kind.value)
    settings = [f.id for s in systems for f in s.fan_settings]
    if settings:
        problems += _reference(reading.setting, settings, f"{where}.setting", "fan setting")
    return [replace(problem, severity=Severity.REFUSAL) for problem in problems]


def _check_work(visit: Visit, ids: list[str], house: House | None) -> list[Problem]:
    """References of adjustments, faults and final settings."""
    problems: list[Problem] = []
    for adjustment in visit.adjustments:
        where = f"adjustment {adjustment.id}"
        if adjustment.after_reading is not None:
            problems += _reference(
                adjustment.after_reading, ids, f"{where}.after_reading", "reading"
            )
        if house is not None:
            problems += _check_target(adjustment.kind, adjustment.target, house, where)
    for fault in visit.faults:
        if fault.retest_reading is not None:
            problems += _reference(
                fault.retest_reading, ids, f"fault {fault.id}.retest_reading", "reading"
            )
    for final in visit.final_settings:
        if house is not None:
            where = f"final_setting {final.target}"
            problems += _check_target(final.kind, final.target, house, where)
    return problems


def _check_target(kind: AdjustmentKind, target: str, house: House, where: str) -> list[Problem]:
    known = {
        AdjustmentKind.TERMINAL: [t.id for s in house.systems for t in s.terminals],
        AdjustmentKind.DAMPER: [b.id for s in house.systems for b in s.branches],
        AdjustmentKind.FAN: [f.id for s in house.systems for f in s.fan_settings],
    }
    if kind not in known:
        return []
    what = {AdjustmentKind.DAMPER: "branch", AdjustmentKind.FAN: "fan setting"}
    return _reference(target, known[kind], f"{where}.target", what.get(kind, kind.value))


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


def _unknown_instrument(where: str, ident: str) -> Problem:
    return Problem(
        code="unknown-instrument",
        where=where,
        message=f"instrument {ident!r} is not listed in the visit",
        remedy="list it under [[instruments]]; until then typical figures of the method hold",
        severity=Severity.WARNING,
    )


def _mistake(code: str, where: str, message: str, remedy: str) -> Problem:
    return Problem(
        code=code, where=where, message=message, remedy=remedy, severity=Severity.MISTAKE
    )
