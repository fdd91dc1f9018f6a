"""From readings to interpreted readings: each with its flags, none averaged that should not be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ventwright.findings.model import FlowFinding, ReadingFinding
from ventwright.findings.visit_air import (
    AirOfVisit,
    Barometric,
    air_of_visit,
    barometric_of,
    stream_of,
)
from ventwright.house import (
    Branch,
    House,
    Instrument,
    Method,
    Phase,
    Reading,
    Station,
    StationKind,
    System,
    Terminal,
    Visit,
    readings_in_force,
)
from ventwright.instruments import (
    FlowFigure,
    interpret_air_state,
    interpret_flow,
    interpret_scalar,
)
from ventwright.quantities import AirKind, Problem, Severity, Side
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, difference, weighted_mean

FLOW_METHODS = frozenset(
    {
        Method.SWEEP,
        Method.TRAVERSE,
        Method.FIXED_POINT,
        Method.VANE,
        Method.FLOW_BOX,
        Method.TERMINAL_PRESSURE,
        Method.EXCHANGER_PRESSURE,
        Method.HOOD,
        Method.DIRECT_FLOW,
    }
)
DISAGREEMENT_SIGMAS = 3.0
"""Repeated flows at one station further apart than this are named. Judgement: 1 in 370."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """All readings of a visit interpreted, and the air they were taken in."""

    barometric: Barometric
    air: AirOfVisit
    readings: tuple[ReadingFinding, ...]
    problems: tuple[Problem, ...]


def interpret_visit(house: House, visit: Visit) -> Looks:
    """Interpret every reading in force: scalars, then air states, then flows in that air.

    Parameters
    ----------
    house, visit
        The record.

    >>> looks = interpret_visit(
    ...     House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0),
    ...     Visit(schema="ventwright-visit-1", id="v", house="h"))
    >>> looks.readings, looks.barometric.pressure_pa.value
    ((), 101325.0)
    """
    instruments = {i.id: i for i in visit.instruments}
    in_force = readings_in_force(visit)
    default_system = house.systems[0].id if house.systems else ""
    scalars = [
        _scalar(r, instruments)
        for r in in_force
        if r.method not in FLOW_METHODS | {Method.AIR_STATE}
    ]
    pressures = [
        s.scalar_si for s in scalars if s.method is Method.BAROMETER and s.scalar_si is not None
    ]
    barometric = barometric_of(house, visit, pressures)
    states = [
        _air(r, instruments, barometric.pressure_pa)
        for r in in_force
        if r.method is Method.AIR_STATE
    ]
    air = air_of_visit(
        visit, pressure_pa=barometric.pressure_pa, readings=states, default_system=default_system
    )
    flows = [_flow(r, house, instruments, air) for r in in_force if r.method in FLOW_METHODS]
    found = {f.reading_id: f for f in [*scalars, *states, *flows]}
    return Looks(
        barometric=barometric,
        air=air,
        readings=tuple(found[r.id] for r in in_force if r.id in found),
        problems=barometric.problems,
    )


def _blank(reading: Reading, flags: Sequence[Problem]) -> dict[str, object]:
    unused = ""
    if reading.is_defrosting:
        unused = "in-defrost"
    elif any(f.severity is Severity.REFUSAL for f in flags):
        unused = "refused"
    return {
        "reading_id": reading.id,
        "station": reading.station,
        "setting": reading.setting,
        "phase": reading.phase,
        "method": reading.method,
        "instrument_id": reading.instrument,
        "flags": tuple(flags),
        "is_used": not unused,
        "unused_code": unused,
    }


def _scalar(reading: Reading, instruments: Mapping[str, Instrument]) -> ReadingFinding:
    seen = interpret_scalar(reading, instrument=instruments.get(reading.instrument or ""))
    return ReadingFinding(**_blank(reading, seen.flags), scalar_si=seen.estimate)  # type: ignore[arg-type]


def _air(
    reading: Reading, instruments: Mapping[str, Instrument], pressure_pa: Estimate
) -> ReadingFinding:
    seen = interpret_air_state(
        reading, instrument=instruments.get(reading.instrument or ""), pressure_pa=pressure_pa
    )
    return ReadingFinding(**_blank(reading, seen.flags), air=seen.air)  # type: ignore[arg-type]


def _flow(
    reading: Reading, house: House, instruments: Mapping[str, Instrument], air: AirOfVisit
) -> ReadingFinding:
    place = place_of(reading.station, house)
    if place is None:
        problem = Problem(
            code="station-without-stream",
            where=f"reading {reading.id}",
            message="a flow was read at a station that belongs to no stream of the house",
            remedy="name a port (ODA, SUP, ETA, EHA), a branch or a terminal that is listed",
            severity=Severity.REFUSAL,
        )
        return ReadingFinding(**_blank(reading, [problem]))  # type: ignore[arg-type]
    seen = interpret_flow(
        reading,
        instrument=instruments.get(reading.instrument or ""),
        air=air.station_air(
            system_id=place.system.id,
            stream=place.stream,
            setting=reading.setting,
            phase=reading.phase,
        ),
        ventilation_unit=place.system.ventilation_unit,
        terminal=place.terminal,
        side=place.side,
    )
    return ReadingFinding(
        **_blank(reading, seen.flags),  # type: ignore[arg-type]
        flow=seen.figure,
        method_note=seen.method_note,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a station lies: its system, stream and side, and the terminal or branch itself."""

    system: System
    stream: AirKind
    side: Side
    terminal: Terminal | None = None
    branch: Branch | None = None


def place_of(station: Station, house: House) -> Place | None:
    """The place of a station in its house; None if it is not listed or moves no air.

    Parameters
    ----------
    station
        Any station.
    house
        The house.
    """
    for system in house.systems:
        if station.system not in (None, system.id):
            continue
        if station.kind is StationKind.PORT and station.stream is not None:
            supply = station.stream in (AirKind.OUTDOOR, AirKind.SUPPLY)
            side = Side.SUPPLY if supply else Side.EXTRACT
            return Place(system=system, stream=station.stream, side=side)
        if station.kind is StationKind.TERMINAL:
            for t in system.terminals:
                if t.id == station.ref:
                    return Place(system=system, stream=stream_of(t.side), side=t.side, terminal=t)
        if station.kind is StationKind.BRANCH:
            for b in system.branches:
                if b.id == station.ref:
                    return Place(system=system, stream=stream_of(b.side), side=b.side, branch=b)
    return None


def flow_at(
    readings: Sequence[ReadingFinding],
    *,
    stations: Sequence[Station],
    setting: str,
    phase: Phase,
) -> FlowFinding | None:
    """The flow at a station, all usable readings of one setting and phase together.

    Parameters
    ----------
    readings
        Interpreted readings.
    stations
        Station forms that mean the same place.
    setting, phase
        Only readings of both; other settings and phases are never mixed in.
    """
    found = [
        r
        for r in readings
        if r.is_used
        and r.flow is not None
        and r.setting == setting
        and r.phase is phase
        and any(is_same_place(r.station, s) for s in stations)
    ]
    figures = [r.flow for r in found if r.flow is not None]
    if not figures:
        return None
    return FlowFinding(
        figure=FlowFigure(
            flow_m3_s=weighted_mean([f.flow_m3_s for f in figures]),
            std_flow_m3_s=weighted_mean([f.std_flow_m3_s for f in figures]),
            mass_flow_kg_s=weighted_mean([f.mass_flow_kg_s for f in figures]),
        ),
        setting=setting,
        phase=phase,
        reading_ids=tuple(r.reading_id for r in found),
        filter_sides=tuple(
            sorted({r.station.filter_side for r in found if r.station.filter_side is not None})
        ),
    )


def is_same_place(left: Station, right: Station) -> bool:
    """Whether two stations mean one place; the filter side does not matter to a flow.

    Parameters
    ----------
    left, right
        Stations whose system is filled in, or left open in houses with one system.
    """
    same = (left.kind, left.stream, left.ref) == (right.kind, right.stream, right.ref)
    return same and (None in (left.system, right.system) or left.system == right.system)


def disagreements(readings: Sequence[ReadingFinding]) -> tuple[Problem, ...]:
    """Repeated flows at one station, setting and phase that can't both be right.

    Two readings are compared by their difference, in which a shared meter's bias cancels.

    Parameters
    ----------
    readings
        Interpreted readings.
    """
    problems = []
    usable = [r for r in readings if r.is_used and r.flow is not None]
    for i, left in enumerate(usable):
        for right in usable[i + 1 :]:
            same = (
                is_same_place(left.station, right.station)
                and left.setting == right.setting
                and left.phase is right.phase
            )
            if not same or left.flow is None or right.flow is None:
                continue
            gap = difference(left.flow.std_flow_m3_s, right.flow.std_flow_m3_s)
            if gap.u_std > 0.0 and abs(gap.value) > DISAGREEMENT_SIGMAS * gap.u_std:
                problems.append(
                    Problem(
                        code="readings-disagree",
                        where=f"reading {right.reading_id}",
                        message=f"it lies {abs(gap.value) / gap.u_std:.1f} standard uncertainties "
                        f"from reading {left.reading_id} at the same station",
                        remedy="read once more; look for a slipped hood, a wrong terminal, a moved "
                        "damper or door",
                        severity=Severity.WARNING,
                    )
                )
    return tuple(problems)
