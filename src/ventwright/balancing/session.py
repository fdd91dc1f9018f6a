"""The door for Python: start a session, add what was read and done, ask for the next step."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from ventwright.balancing.advice import Finished, Lead, Method, NextStep, Predicted, SideTotal
from ventwright.balancing.chooser import choose
from ventwright.balancing.outlook import flow_with_filter, leads_of, predictions, total_of
from ventwright.balancing.session_checks import check_session
from ventwright.balancing.side_shape import TOTAL_ID
from ventwright.balancing.site_data import (
    DamperMove,
    FlowReading,
    Meter,
    Options,
    Session,
    SideSetup,
    SpeedMove,
)
from ventwright.balancing.surprise import Surprise, believed
from ventwright.quantities.problems import UserError
from ventwright.quantities.records import replace
from ventwright.quantities.words import Side

METHOD = Method()


def start(
    sides: Sequence[SideSetup], *, meters: Sequence[Meter], options: Options | None = None
) -> Session:
    """Begin a session.

    Parameters
    ----------
    sides
        Supply, extract or both: terminals grouped by runs, with targets.
    meters
        Methods of reading.
    options
        How the work is done; as a rule live setting.

    Raises
    ------
    UserError
        Names what can't be used and what is accepted.

    >>> from ventwright.balancing import Outlet
    >>> rooms = tuple(Outlet(id=x, run_id=None, target_m3_s=0.01) for x in ("bed", "bath"))
    >>> session = start([SideSetup(side=Side.SUPPLY, outlets=rooms)], meters=[Meter(id="hood")])
    >>> next_step(session).thing_id
    'bed'
    """
    session = Session(
        sides=tuple(sides), meters=tuple(meters), options=options or Options(), events=()
    )
    problems = check_session(session)
    if problems:
        raise UserError("; ".join(problem.message for problem in problems), problems=problems)
    return session


def add_reading(
    session: Session,
    *,
    thing_id: str,
    flow_m3_s: float,
    side: Side | None = None,
    meter_id: str | None = None,
    count: int = 1,
    reading_id: str | None = None,
) -> Session:
    """A session with one more reading.

    Parameters
    ----------
    session
        What was done before.
    thing_id
        Terminal, run, or `total` for a side's whole flow.
    flow_m3_s
        What the meter showed, the mean if averaged [m³/s], at least 0.
    side
        Needed for `total` and for names both sides have.
    meter_id
        By which method; may be left out if there is only one.
    count
        Readings averaged.
    reading_id
        Name of the reading; numbered if left out.

    Raises
    ------
    UserError
        Unknown thing or meter, a flow that is no number or below 0, an id used before.

    >>> from ventwright.balancing import Outlet
    >>> rooms = tuple(Outlet(id=x, run_id=None, target_m3_s=0.01) for x in ("bed", "bath"))
    >>> session = start([SideSetup(side=Side.SUPPLY, outlets=rooms)], meters=[Meter(id="hood")])
    >>> next_step(add_reading(session, thing_id="bed", flow_m3_s=0.012)).thing_id
    'bath'
    """
    if meter_id is None and len(session.meters) == 1:
        meter_id = session.meters[0].id
    if meter_id is None or all(meter.id != meter_id for meter in session.meters):
        raise UserError(
            f"meter {meter_id!r} is not known; there are: {', '.join(m.id for m in session.meters)}"
        )
    if not (isfinite(flow_m3_s) and flow_m3_s >= 0.0):
        raise UserError(f"flow {flow_m3_s!r} m³/s at '{thing_id}': a number from 0 up is accepted")
    if count < 1:
        raise UserError(f"{count} readings averaged at '{thing_id}': at least 1 is accepted")
    name = reading_id or str(1 + sum(isinstance(e, FlowReading) for e in session.events))
    if any(isinstance(event, FlowReading) and event.id == name for event in session.events):
        raise UserError(f"a reading '{name}' is there already")
    event = FlowReading(
        id=name,
        thing_id=thing_id,
        side=_side_of(session, thing_id, side),
        flow_m3_s=flow_m3_s,
        meter_id=meter_id,
        count=count,
    )
    return replace(session, events=(*session.events, event))


def add_move(
    session: Session,
    *,
    thing_id: str,
    side: Side | None = None,
    opening_frac: float | None = None,
    is_at_open_stop: bool = False,
    is_at_shut_stop: bool = False,
    is_stuck: bool = False,
) -> Session:
    """A session with one more turn of a damper; a reading at its stop is added after it.

    Parameters
    ----------
    session
        What was done before.
    thing_id
        Terminal or run.
    side
        Needed for names both sides have.
    opening_frac
        Where the mark stands now, 0 shut to 1 open; None if it has none.
    is_at_open_stop, is_at_shut_stop
        It ended at a stop.
    is_stuck
        It would not move.

    Raises
    ------
    UserError
        Unknown thing, or an opening outside 0 to 1.

    >>> from ventwright.balancing import Damper, Outlet
    >>> room = Outlet(id="bed", run_id=None, target_m3_s=0.01, damper=Damper())
    >>> session = start([SideSetup(side=Side.SUPPLY, outlets=(room,))], meters=[Meter(id="hood")])
    >>> len(add_move(session, thing_id="bed", is_stuck=True).events)
    1
    """
    if opening_frac is not None and not 0.0 <= opening_frac <= 1.0:
        raise UserError(
            f"opening {opening_frac!r} of '{thing_id}': 0 (shut) to 1 (open) is accepted"
        )
    event = DamperMove(
        thing_id=thing_id,
        side=_side_of(session, thing_id, side),
        opening_frac=opening_frac,
        is_at_open_stop=is_at_open_stop,
        is_at_shut_stop=is_at_shut_stop,
        is_stuck=is_stuck,
    )
    return replace(session, events=(*session.events, event))


def add_speed(session: Session, *, side: Side, speed_frac: float) -> Session:
    """A session with a fan at another speed.

    Parameters
    ----------
    session
        What was done before.
    side
        Which fan.
    speed_frac
        As its control shows it, above 0.

    Raises
    ------
    UserError
        A speed that is not above 0.

    >>> from ventwright.balancing import Outlet
    >>> room = Outlet(id="bed", run_id=None, target_m3_s=0.01)
    >>> session = start([SideSetup(side=Side.SUPPLY, outlets=(room,))], meters=[Meter(id="hood")])
    >>> add_speed(session, side=Side.SUPPLY, speed_frac=0.7).events[-1].speed_frac
    0.7
    """
    if not (isfinite(speed_frac) and speed_frac > 0.0):
        raise UserError(f"speed {speed_frac!r}: a number above 0 is accepted")
    if all(setup.side is not side for setup in session.sides):
        raise UserError(f"the {side} side is not part of this session")
    return replace(session, events=(*session.events, SpeedMove(side=side, speed_frac=speed_frac)))


def next_step(session: Session, *, method: Method = METHOD) -> NextStep | Finished:
    """The one thing to do next, or that nothing more is worth a stop.

    Parameters
    ----------
    session
        All that was done.
    method
        Figures of the method.

    >>> from ventwright.balancing import Outlet
    >>> room = Outlet(id="bed", run_id=None, target_m3_s=0.01)
    >>> session = start([SideSetup(side=Side.SUPPLY, outlets=(room,))], meters=[Meter(id="hood")])
    >>> str(next_step(session).deed)
    'read as found'
    """
    return choose(session, method)


def predict(session: Session) -> tuple[Predicted, ...]:
    """All terminals as they stand now, with uncertainty and verdict.

    Parameters
    ----------
    session
        All that was done; sides of which not every terminal was read are wide.

    >>> from ventwright.balancing import Outlet
    >>> room = Outlet(id="bed", run_id=None, target_m3_s=0.01)
    >>> session = start([SideSetup(side=Side.SUPPLY, outlets=(room,))], meters=[Meter(id="hood")])
    >>> session = add_reading(session, thing_id="bed", flow_m3_s=0.012)
    >>> round(predict(session)[0].flow_m3_s, 3)
    0.012
    """
    found: list[Predicted] = []
    for setup in session.sides:
        seen, _ = believed(session, setup.side)
        found += predictions(seen, seen.posterior.now)
    return tuple(found)


def surprises(session: Session) -> tuple[Surprise, ...]:
    """Readings that are not believed, with their odds.

    Parameters
    ----------
    session
        All that was done.

    >>> from ventwright.balancing import Outlet
    >>> room = Outlet(id="bed", run_id=None, target_m3_s=0.01)
    >>> session = start([SideSetup(side=Side.SUPPLY, outlets=(room,))], meters=[Meter(id="hood")])
    >>> for flow in (0.010, 0.0101, 0.0100, 0.016):
    ...     session = add_reading(session, thing_id="bed", flow_m3_s=flow)
    >>> [item.reading_id for item in surprises(session)]
    ['4']
    """
    return tuple(x for setup in session.sides for x in believed(session, setup.side)[1])


def totals(session: Session) -> tuple[SideTotal, ...]:
    """What each side moves, could move, and saves.

    Parameters
    ----------
    session
        All that was done.

    >>> from ventwright.balancing import Outlet
    >>> room = Outlet(id="bed", run_id=None, target_m3_s=0.01)
    >>> session = start([SideSetup(side=Side.SUPPLY, outlets=(room,))], meters=[Meter(id="hood")])
    >>> session = add_reading(session, thing_id="bed", flow_m3_s=0.012)
    >>> round(totals(session)[0].flow_ratio, 2)
    1.2
    """
    return tuple(total_of(believed(session, setup.side)[0]) for setup in session.sides)


def leads(session: Session) -> tuple[Lead, ...]:
    """Terminals short of air though their path is open, and what to look for.

    Parameters
    ----------
    session
        All that was done.

    >>> from ventwright.balancing import Outlet
    >>> rooms = tuple(Outlet(id=x, run_id=None, target_m3_s=0.01) for x in ("bed", "bath"))
    >>> session = start([SideSetup(side=Side.SUPPLY, outlets=rooms)], meters=[Meter(id="hood")])
    >>> session = add_reading(session, thing_id="bed", flow_m3_s=0.001)
    >>> session = add_reading(session, thing_id="bath", flow_m3_s=0.015)
    >>> [str(item) for item in leads(session)[0].look_for][0]
    'disconnected branch'
    """
    return tuple(x for setup in session.sides for x in leads_of(believed(session, setup.side)[0]))


def filter_effect(
    session: Session, *, side: Side, filter_share_frac: float, load_ratio: float
) -> float:
    """Flow of a side against now when its filter's loss has changed and nothing else.

    Parameters
    ----------
    session
        All that was done.
    side
        Which side.
    filter_share_frac
        Share of the loss of the shared path that its filter has now, 0 to 1; the fall of the fan's
        curve belongs to that path.
    load_ratio
        Loss of the filter then against now: 2 to 3 from clean to dirty, 0.4 the other way.

    >>> from ventwright.balancing import Outlet
    >>> room = Outlet(id="bed", run_id=None, target_m3_s=0.01)
    >>> session = start([SideSetup(side=Side.SUPPLY, outlets=(room,))], meters=[Meter(id="hood")])
    >>> session = add_reading(session, thing_id="bed", flow_m3_s=0.012)
    >>> round(filter_effect(session, side=Side.SUPPLY, filter_share_frac=0.2, load_ratio=2), 2)
    0.93
    """
    seen, _ = believed(session, side)
    return flow_with_filter(seen, filter_share_frac=filter_share_frac, load_ratio=load_ratio)


def _side_of(session: Session, thing_id: str, side: Side | None) -> Side:
    """The side a thing belongs to."""
    found = [
        setup.side
        for setup in session.sides
        if side in (None, setup.side)
        and (
            thing_id in {item.id for item in setup.outlets + setup.runs}
            or (thing_id == TOTAL_ID and side is not None)
        )
    ]
    if len(found) != 1:
        what = "is on both sides: say which" if found else "is not known"
        raise UserError(f"'{thing_id}' {what}")
    return found[0]
