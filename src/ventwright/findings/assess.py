"""The one pipeline: snapshot → interpreted readings → flows → recovery → surfaces → advice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ventwright.findings.advise import advise, note_conditions
from ventwright.findings.balance import balances, designs, totals
from ventwright.findings.closed_doors import closed_doors, night_settings, room_flows
from ventwright.findings.house_air import RoomAirFinding
from ventwright.findings.looks import Looks, disagreements, interpret_visit
from ventwright.findings.model import Findings, FlowFinding, SystemFindings
from ventwright.findings.pressure import house_pressures
from ventwright.findings.rates import rates
from ventwright.findings.scope import PHASES, Scope
from ventwright.findings.snapshot import VisitSnapshot
from ventwright.findings.targets import retargets, terminals_of
from ventwright.findings.unit_work import effective, powers, recoveries
from ventwright.findings.wet_room_air import WetRoomFinding
from ventwright.findings.wet_surfaces import safe_dew_point, surfaces
from ventwright.house import Fault, House, Outcome, Visit, last_phase
from ventwright.instruments import instrument_flags
from ventwright.moisture import first_to_wet
from ventwright.quantities import AirKind, Problem
from ventwright.quantities.records import replace


def assess(snapshot: VisitSnapshot, *, looks: Looks | None = None) -> Findings:
    """Everything one snapshot says. Pure: the same snapshot gives the same findings.

    Parameters
    ----------
    snapshot
        House, visit and rule sets.
    looks
        Its readings as `interpret_visit` gives them, for a caller that hands them to `guide` too;
        None interprets them here.

    Returns
    -------
    Findings
        Whatever could be found; what could not stands there as *not shown* with its reason, or as
        a problem with cause and remedy.

    >>> from ventwright.house import House, Visit
    >>> found = assess(VisitSnapshot(engine="0", rule_sets=(),
    ...     house=House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0),
    ...     visit=Visit(schema="ventwright-visit-1", id="v", house="h")))
    >>> found.systems, found.advice[0].code
    ((), 'nothing-read')
    """
    house, visit = snapshot.house, snapshot.visit
    looks = looks or interpret_visit(house, visit)
    phase = last_phase(visit)
    scopes = tuple(
        Scope(house=house, system=system, looks=looks, rule_sets=snapshot.rule_sets)
        for system in house.systems
    )
    systems = tuple(_assess_system(scope) for scope in scopes)
    found = list(zip(scopes, systems, strict=True))
    wet = tuple(surfaces(house, looks, setting=_first_setting(snapshot), phase=phase))
    findings = Findings(
        engine=snapshot.engine,
        house_id=house.id,
        visit_id=visit.id,
        phase=phase,
        pressure_pa=looks.barometric.pressure_pa,
        pressure_origin_code=looks.barometric.origin_code,
        systems=systems,
        surfaces=wet,
        readings=looks.readings,
        walk_through=visit.walk_through,
        punch_list=_punch_list(visit),
        final_settings=visit.final_settings,
        problems=_problems(snapshot, looks),
        advice=(),
        first_to_wet=first_to_wet([s.check for s in wet if s.check is not None]),
        safe_dew_point=safe_dew_point(house, wet),
        rates=tuple(rates(house, scopes, snapshot.rule_sets)),
        house_pressures=tuple(house_pressures(house, found)),
        doors=tuple(closed_doors(house, room_flows(house, found))) if looks.readings else (),
        rooms_air=tuple(_nights(house, found)) if looks.readings else (),
        wet_rooms=_showers(house, found, looks),
    )
    return replace(findings, advice=tuple(advise(findings, house)))


def _assess_system(scope: Scope) -> SystemFindings:
    planned = list(retargets(scope))
    targets = {
        (terminal_id, finding.setting): flow
        for finding, pairs in planned
        for terminal_id, flow in pairs
    }
    return SystemFindings(
        system_id=scope.system.id,
        flows=tuple(_port_flows(scope)),
        terminals=tuple(terminals_of(scope, targets)),
        balances=tuple(balances(scope)),
        totals=tuple(totals(scope)),
        designs=tuple(designs(scope)),
        retargets=tuple(finding for finding, _ in planned),
        recoveries=tuple(recoveries(scope)),
        powers=tuple(powers(scope)),
        effective=tuple(effective(scope)),
    )


def _nights(
    house: House, found: Sequence[tuple[Scope, SystemFindings]]
) -> Iterator[RoomAirFinding]:
    from ventwright.findings.rooms_air import rooms_air  # many visits measure no bedroom

    for setting in night_settings(found):
        flows = room_flows(house, found, mean_of=setting)
        yield from rooms_air(house, flows, setting=setting)


def _showers(
    house: House, found: Sequence[tuple[Scope, SystemFindings]], looks: Looks
) -> tuple[WetRoomFinding, ...]:
    if not looks.readings:
        return ()
    from ventwright.findings.wet_rooms import wet_rooms  # its models are many

    return tuple(wet_rooms(house, found, looks))


def _port_flows(scope: Scope) -> list[tuple[str, FlowFinding]]:
    found = []
    for setting in scope.settings():
        for phase in PHASES:
            for kind in AirKind:
                flow = scope.port(kind, setting, phase)
                if flow is not None:
                    found.append((kind.value, flow))
    return found


def _first_setting(snapshot: VisitSnapshot) -> str:
    """The continuous setting: surfaces are judged in the state the house lives in."""
    for system in snapshot.house.systems:
        for setting in system.fan_settings:
            return setting.id
    return snapshot.visit.readings[0].setting if snapshot.visit.readings else ""


def _problems(snapshot: VisitSnapshot, looks: Looks) -> tuple[Problem, ...]:
    visit = snapshot.visit
    used = {r.instrument for r in visit.readings}
    on = visit.started_at.date() if visit.started_at is not None else None
    of_instruments = [
        p for i in visit.instruments if i.id in used for p in instrument_flags(i, on=on)
    ]
    return (
        *snapshot.problems,
        *looks.problems,
        *of_instruments,
        *disagreements(looks.readings),
        *note_conditions(visit),
    )


def _punch_list(visit: Visit) -> tuple[Fault, ...]:
    """Faults noted, and faults of the walk-through that nobody wrote into the list."""
    noted = list(visit.faults)
    for i, entry in enumerate(visit.walk_through):
        what = entry.note or entry.item.value
        if entry.outcome is Outcome.FAULT and entry.fault is None:
            noted.append(
                Fault(id=f"walk-through-{i + 1}", what=what, where=entry.place, photo=entry.photo)
            )
    return tuple(noted)
