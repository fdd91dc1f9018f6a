"""From a visit to balancing guidance: the record in the plain words that guidance takes.

Guidance knows terminals, runs, meters and events; the record knows rooms, instruments and times.
This module says the one in the words of the other, and leaves all judging to `balancing`.
"""

from __future__ import annotations

from ventwright.balancing import (
    Finished,
    Meter,
    NextStep,
    Options,
    Predicted,
    Session,
    SettingStyle,
    add_move,
    add_reading,
    add_speed,
    next_step,
    predict,
    start,
)
from ventwright.findings.guidance_meters import meter_id_of, meters_of
from ventwright.findings.guidance_openings import (
    Positions,
    blade_frac,
    opening_frac_of,
    positions_of,
)
from ventwright.findings.guidance_setup import side_setup, spot_of
from ventwright.findings.looks import Looks, interpret_visit, place_of
from ventwright.findings.model import Findings, ReadingFinding
from ventwright.findings.scope import Scope, design_of, role_of
from ventwright.findings.snapshot import VisitSnapshot
from ventwright.findings.stop_shown import StopShown, stop_shown
from ventwright.house import (
    Adjustment,
    AdjustmentKind,
    DamperKind,
    Phase,
    Reading,
    SettingRole,
    StationKind,
    readings_in_force,
)
from ventwright.quantities import AirKind, Problem, Severity, Side, UserError
from ventwright.quantities.records import dataclass

TOTAL = "total"
_SIDE_OF_PORT = {AirKind.SUPPLY: Side.SUPPLY, AirKind.EXTRACT: Side.EXTRACT}


@dataclass(frozen=True, slots=True, kw_only=True)
class Guidance:
    """The next step of one system's balancing, and the picture it rests on.

    Parameters
    ----------
    system_id, setting
        Which system, in its continuous setting.
    session
        What guidance was told.
    step
        What to do next, or that nothing more is worth a stop.
    now
        All terminals as they stand.
    problems
        Readings and moves that guidance could not use, with the reason.
    stop_shown
        What the display of the meter in place shows where the step is to stop; None where that
        can't be told.
    """

    system_id: str
    setting: str
    session: Session
    step: NextStep | Finished
    now: tuple[Predicted, ...]
    problems: tuple[Problem, ...]
    stop_shown: StopShown | None = None


def guide(
    snapshot: VisitSnapshot,
    findings: Findings,
    *,
    style: SettingStyle = SettingStyle.LIVE,
    looks: Looks | None = None,
) -> tuple[Guidance, ...]:
    """The next step for each system that guidance can serve.

    Only readings of the continuous setting enter: dampers are set in it. Targets are those of the
    findings (re-targeted where the design is out of reach).

    Parameters
    ----------
    snapshot, findings
        The visit and what was found.
    style
        How dampers are set.
    looks
        As in `assess`.

    Returns
    -------
    tuple of Guidance
        A system without a continuous setting, or without any terminal with a target, is left out.

    >>> from ventwright.findings import assess
    >>> from ventwright.house import House, Visit
    >>> one = VisitSnapshot(engine="0", rule_sets=(),
    ...     house=House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0),
    ...     visit=Visit(schema="ventwright-visit-1", id="v", house="h"))
    >>> guide(one, assess(one))
    ()
    """
    looks = looks or interpret_visit(snapshot.house, snapshot.visit)
    scopes = [
        Scope(house=snapshot.house, system=system, looks=looks, rule_sets=snapshot.rule_sets)
        for system in snapshot.house.systems
    ]
    found = (_guide_system(snapshot, findings, scope, style) for scope in scopes)
    return tuple(one for one in found if one is not None)


def _guide_system(
    snapshot: VisitSnapshot, findings: Findings, scope: Scope, style: SettingStyle
) -> Guidance | None:
    setting = next((s for s in scope.settings() if role_of(scope, s) is SettingRole.CONTINUOUS), "")
    targets = _targets(findings, scope, setting)
    events = _in_order(snapshot)
    positions = positions_of(snapshot.visit, events)
    sides = [
        setup
        for side in Side
        if (setup := side_setup(snapshot, scope, side, targets, positions)) is not None
    ]
    if not setting or not sides:
        return None
    used = {r.reading_id: r for r in findings.readings if r.is_used and r.flow is not None}
    session = start(
        sides,
        meters=meters_of(used.values()) or [Meter(id="any")],
        options=Options(
            style=style,
            unit_spot=spot_of(snapshot.house, scope.system.ventilation_unit.place),
        ),
    )
    problems: list[Problem] = []
    for event in events:
        try:
            if isinstance(event, Adjustment):
                session = _with_adjustment(session, event, scope, positions)
            else:
                session = _with_reading(session, event, used, scope, setting)
        except UserError as mistake:
            problems.append(_unusable(event, mistake))
    step = next_step(session)
    return Guidance(
        system_id=scope.system.id,
        setting=setting,
        session=session,
        step=step,
        now=predict(session),
        problems=tuple(problems),
        stop_shown=stop_shown(step, session=session, scope=scope, visit=snapshot.visit),
    )


def _targets(findings: Findings, scope: Scope, setting: str) -> dict[str, float]:
    (system,) = (s for s in findings.systems if s.system_id == scope.system.id)
    found = {t.terminal_id: t.target_m3_s for t in system.terminals if t.setting == setting}
    return {
        t.id: goal
        for t in scope.system.terminals
        if (goal := found.get(t.id) or design_of(t, scope, setting)) is not None and goal > 0.0
    }


def _in_order(snapshot: VisitSnapshot) -> list[Reading | Adjustment]:
    """Readings and adjustments as they happened.

    Where every one has its time, time orders them. Otherwise phases do: what was found, then the
    adjustments in the order written, each after the reading on the way that it names, then what was
    left.
    """
    visit = snapshot.visit
    readings = readings_in_force(visit)
    untimed = any(r.at is None for r in readings) or any(a.at is None for a in visit.adjustments)
    if not untimed:
        both: list[Reading | Adjustment] = [*readings, *visit.adjustments]
        return sorted(both, key=lambda one: str(one.at))
    between = [r for r in readings if r.phase is Phase.INTERIM]
    events: list[Reading | Adjustment] = [r for r in readings if r.phase is Phase.AS_FOUND]
    for adjustment in visit.adjustments:
        named = next((r for r in between if r.id == adjustment.after_reading), None)
        if named is not None:
            upto = between.index(named) + 1
            events += between[:upto]
            between = between[upto:]
        events.append(adjustment)
    return [*events, *between, *(r for r in readings if r.phase is Phase.AS_LEFT)]


def _with_reading(
    session: Session,
    event: Reading,
    used: dict[str, ReadingFinding],
    scope: Scope,
    setting: str,
) -> Session:
    reading = used.get(event.id)
    if reading is None or reading.flow is None or event.setting != setting:
        return session
    place = place_of(event.station, scope.house)
    if place is None or place.system.id != scope.system.id:
        return session
    if place.terminal is not None and _is_known(session, place.terminal.id):
        thing, flow = place.terminal.id, reading.flow.flow_m3_s.value
    elif event.station.kind is StationKind.PORT and place.stream in _SIDE_OF_PORT:
        thing, flow = TOTAL, scope.as_room_air(reading.flow.std_flow_m3_s).value
    else:
        return session
    return add_reading(
        session,
        thing_id=thing,
        side=place.side,
        flow_m3_s=flow,
        meter_id=meter_id_of(reading),
        reading_id=event.id,
    )


def _is_known(session: Session, outlet_id: str) -> bool:
    return any(o.id == outlet_id for s in session.sides for o in s.outlets)


def _with_adjustment(
    session: Session, change: Adjustment, scope: Scope, positions: Positions
) -> Session:
    """The session after a change: a fan's speed, or whatever was done to a terminal or branch.

    A run that was mended changes its terminal as unforeseeably as a turn does, so it enters as one.
    What was turned by nothing only says where it stands.
    """
    if change.kind is AdjustmentKind.FAN:
        return _with_speed(session, change)
    if change.turned_turns == 0.0:
        return session
    at = positions.after.get(change.id)
    terminal = next((t for t in scope.system.terminals if t.id == change.target), None)
    if terminal is not None and _is_known(session, terminal.id):
        opening = opening_frac_of(terminal, at)
        return add_move(session, thing_id=terminal.id, side=terminal.side, opening_frac=opening)
    branch = next((b for b in scope.system.branches if b.id == change.target), None)
    if branch is not None and any(s.side is branch.side for s in session.sides):
        is_blade = branch.damper is not None and branch.damper.kind is DamperKind.BUTTERFLY
        opening = blade_frac(at) if is_blade and at is not None else None
        return add_move(session, thing_id=branch.id, side=branch.side, opening_frac=opening)
    return session


def _with_speed(session: Session, change: Adjustment) -> Session:
    if change.speed_frac is None or change.side is None or change.speed_before_frac is None:
        raise UserError("a change of a fan needs its side, the speed before it and the new speed")
    if all(s.side is not change.side for s in session.sides):
        return session
    return add_speed(session, side=change.side, speed_frac=change.speed_frac)


def _unusable(event: Reading | Adjustment, mistake: UserError) -> Problem:
    what = "reading" if isinstance(event, Reading) else "adjustment"
    return Problem(
        code="guidance-left-out",
        where=f"{what} {event.id}",
        message=str(mistake),
        remedy="guidance goes on without it",
        severity=Severity.WARNING,
    )
