"""What the display of the meter in place shows where a turn is to stop.

Guidance stops a turn at a flow; the hand stops at a number on a display, from which that flow comes
by calibration, density, a factor, or what the meter itself takes away. The last reading by a meter
that can stay in place tells all of these: its values are scaled until they are interpreted as the
flow wanted. Nothing is interpreted in another way than readings are.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import exp, log

from ventwright.balancing import Deed, Finished, FlowReading, NextStep, Session
from ventwright.balancing.surprise import believed
from ventwright.findings.guidance_openings import turns_of
from ventwright.findings.looks import place_of
from ventwright.findings.meter_scaled import mean_shown_si, scaled
from ventwright.findings.scope import Scope
from ventwright.house import (
    Instrument,
    Method,
    Phase,
    Reading,
    Terminal,
    TerminalPressure,
    Visit,
    readings_in_force,
)
from ventwright.instruments import FlowInterpretation, interpret_flow
from ventwright.quantities import Dimension, Problem, QuantityError, Severity, parse
from ventwright.quantities.records import dataclass, replace

TOLERANCE_FRAC = 1e-5
"""How near the flow at the number shown is to the flow wanted: far below any display's step."""
MOST_TRIALS = 60
LEAST_SLOPE_RATIO, MOST_SLOPE_RATIO = 0.3, 3.0
"""A flow goes nearly in proportion to what is scaled; slopes beyond these are noise."""
DOUBTFUL_CODES = frozenset({"gauge-coarse", "outside-class-range", "hood-small-flow"})
"""Warnings of a reading that say its display is little to go by."""
LEFT_ASIDE_CODE = "terminal-pressure-implausible"
"""A pressure that is left aside at one flow and not at another would make two laws of one meter."""

_SHOWN: dict[Method, tuple[str, Dimension]] = {
    Method.VANE: ("velocities", Dimension.VELOCITY),
    Method.FLOW_BOX: ("drops", Dimension.PRESSURE),
    Method.TERMINAL_PRESSURE: ("drops", Dimension.PRESSURE),
    Method.HOOD: ("flows", Dimension.FLOW),
    Method.DIRECT_FLOW: ("flows", Dimension.FLOW),
}
"""Methods that can stay in place while a hand turns, the key of what they show, and its kind."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StopShown:
    """What a display shows where a turn is to stop.

    Parameters
    ----------
    reading_id
        The reading whose meter, set-up and corrections are taken over.
    method, instrument_id
        Of that reading; None where no instrument was named.
    dimension
        Kind of quantity the display shows.
    typed_symbol, typed_step_si
        Unit of measure that reading was typed in, and the place of its last digit; empty and 0
        where that is not known.
    value_si, low_si, high_si
        What to read at the stop, and at the least and the most flow that is near enough. None where
        no reading there would be taken as a flow.
    opening_turns
        The opening at which these hold, for a pressure against a table of openings; None where the
        opening does not matter.
    cautions
        Why the display can't be trusted at the stop, the gravest first; empty where it can.
    """

    reading_id: str
    method: Method
    instrument_id: str | None
    dimension: Dimension
    typed_symbol: str
    typed_step_si: float
    value_si: float | None
    low_si: float | None
    high_si: float | None
    opening_turns: float | None = None
    cautions: tuple[Problem, ...] = ()


def stop_shown(
    step: NextStep | Finished, *, session: Session, scope: Scope, visit: Visit
) -> StopShown | None:
    """What the display shows at the stop of a turn.

    Parameters
    ----------
    step
        The step; only a turn with a flow to stop at has an answer.
    session
        What guidance was told.
    scope, visit
        The system and its record.

    Returns
    -------
    StopShown or None
        None where no meter that can stay in place was read there, where the opening to which a
        flow factor would belong is not known, or where no number gives the flow.

    >>> from ventwright.balancing import Meter, Outlet, SideSetup, start
    >>> from ventwright.findings import interpret_visit
    >>> from ventwright.house import House, Recovery, System, VentilationUnit
    >>> from ventwright.quantities import Side
    >>> house = House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0)
    >>> visit = Visit(schema="ventwright-visit-1", id="v", house="h")
    >>> done = Finished(is_met=True, outlets=(), totals=(), leads=(), surprises=())
    >>> outlet = Outlet(id="t", run_id=None, target_m3_s=0.01)
    >>> session = start([SideSetup(side=Side.SUPPLY, outlets=(outlet,))],
    ...                 meters=[Meter(id="any")])
    >>> unit = VentilationUnit(name="unit", recovery=Recovery.HEAT)
    >>> scope = Scope(house=house, system=System(id="s", ventilation_unit=unit),
    ...               looks=interpret_visit(house, visit), rule_sets=())
    >>> stop_shown(done, session=session, scope=scope, visit=visit) is None
    True
    """
    if not isinstance(step, NextStep) or step.deed is not Deed.TURN or step.is_fully_open:
        return None
    found = _latest(step, session, visit)
    if found is None or step.stop_m3_s is None:
        return None
    event, reading = found
    meter = _Meter.of(reading, scope=scope, visit=visit)
    if meter is None:
        return None
    opening_turns = None
    if isinstance(reading.look, TerminalPressure) and step.thing_id == step.read_id:
        terminal = meter.terminal
        opening_turns = None if terminal is None else turns_of(terminal, step.opening_frac)
        if opening_turns is None:
            return None
        look = replace(reading.look, flow_factor=None, opening_turns=opening_turns)
        meter = replace(meter, reading=replace(meter.reading, look=look))
    off_ratio = _off_ratio(session, event)
    answers = [
        None if flow is None else meter.shown_at(flow * off_ratio)
        for flow in (step.stop_m3_s, step.stop_low_m3_s, step.stop_high_m3_s)
    ]
    value_si, low_si, high_si = (None if a is None else a.value_si for a in answers)
    cautions = () if answers[0] is None else answers[0].cautions
    if value_si is None and not cautions:
        return None
    symbol, typed_step_si = _as_typed(reading)
    return StopShown(
        reading_id=reading.id,
        method=reading.method,
        instrument_id=reading.instrument,
        dimension=_SHOWN[reading.method][1],
        typed_symbol=symbol,
        typed_step_si=typed_step_si,
        value_si=value_si,
        low_si=low_si,
        high_si=high_si,
        opening_turns=opening_turns,
        cautions=cautions,
    )


def _latest(step: NextStep, session: Session, visit: Visit) -> tuple[FlowReading, Reading] | None:
    """The last reading that guidance took at the terminal by a meter that can stay there."""
    in_force = {r.id: r for r in readings_in_force(visit) if r.method in _SHOWN}
    for event in reversed(session.events):
        if (
            isinstance(event, FlowReading)
            and (event.side, event.thing_id) == (step.side, step.read_id)
            and event.id in in_force
        ):
            return event, in_force[event.id]
    return None


def _off_ratio(session: Session, event: FlowReading) -> float:
    """How far this meter shows off the first of its side, in whose measure a stop is told."""
    read = (e for e in session.events if isinstance(e, FlowReading) and e.side is event.side)
    if all(e.meter_id == event.meter_id for e in read):
        return 1.0
    seen, _ = believed(session, event.side)
    same = (o for o in seen.model.observations if o.reading.meter_id == event.meter_id)
    bias_at = next((o.bias_at for o in same), -1)
    return 1.0 if bias_at < 0 else exp(seen.posterior.unknowns[bias_at])


def _as_typed(reading: Reading) -> tuple[str, float]:
    """Unit of measure and place of the last digit of what was typed; none where nothing was."""
    key, dimension = _SHOWN[reading.method]
    found = []
    for typed in reading.typed:
        if typed.key.partition("[")[0] == key:
            try:
                found.append(parse(typed.text, dimension=dimension))
            except QuantityError:
                return "", 0.0
    if not found:
        return "", 0.0
    return found[-1].unit_of_measure.symbol, min(p.resolution_si for p in found)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Answer:
    """A number on the display, or why there is none."""

    value_si: float | None
    cautions: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Meter:
    """A meter left in place: the reading it gave, and what that is interpreted with."""

    reading: Reading
    interpret: Callable[[Reading], FlowInterpretation]
    terminal: Terminal | None

    @classmethod
    def of(cls, reading: Reading, *, scope: Scope, visit: Visit) -> _Meter | None:
        """The meter of a reading; what it shows next is read on the way."""
        place = place_of(reading.station, scope.house)
        if place is None:
            return None
        instruments: Mapping[str, Instrument] = {i.id: i for i in visit.instruments}
        air = scope.looks.air.station_air(
            system_id=place.system.id,
            stream=place.stream,
            setting=reading.setting,
            phase=Phase.INTERIM,
        )

        def interpret(trial: Reading) -> FlowInterpretation:
            return interpret_flow(
                trial,
                instrument=instruments.get(trial.instrument or ""),
                air=air,
                ventilation_unit=place.system.ventilation_unit,
                terminal=place.terminal,
                side=place.side,
            )

        now = replace(reading, phase=Phase.INTERIM, samples=None)
        return cls(reading=now, interpret=interpret, terminal=place.terminal)

    def shown_at(self, flow_m3_s: float) -> _Answer | None:
        """What it shows at a flow: secant steps on logarithms, half as far where one is refused."""
        away = self._away(0.0, flow_m3_s)
        if away is None:
            return None
        at, slope = 0.0, 1.0
        step = -away
        for _ in range(MOST_TRIALS):
            if abs(away) < TOLERANCE_FRAC:
                return self._answer(at)
            then = self._away(at + step, flow_m3_s)
            if then is None:
                step *= 0.5
                continue
            slope = min(max((then - away) / step, LEAST_SLOPE_RATIO), MOST_SLOPE_RATIO)
            at, away = at + step, then
            step = -away / slope
        # What is refused there is said of the place itself, not of the last one that was not.
        refused = self._answer(at - away / slope)
        return refused if refused.value_si is None else None

    def _away(self, ln_ratio: float, flow_m3_s: float) -> float | None:
        """How far a scaled reading's flow is from the one wanted, as a logarithm."""
        seen = self.interpret(scaled(self.reading, exp(ln_ratio)))
        is_other_law = any(flag.code == LEFT_ASIDE_CODE for flag in seen.flags)
        flow = 0.0 if seen.figure is None or is_other_law else seen.figure.flow_m3_s.value
        return log(flow / flow_m3_s) if flow > 0.0 else None

    def _answer(self, ln_ratio: float) -> _Answer:
        trial = scaled(self.reading, exp(ln_ratio))
        seen = self.interpret(trial)
        where = f"stop at {self.terminal.id}" if self.terminal else "stop"
        refusals = [flag for flag in seen.flags if flag.severity is Severity.REFUSAL]
        doubts = [flag for flag in seen.flags if flag.code in DOUBTFUL_CODES]
        return _Answer(
            value_si=None if seen.figure is None else mean_shown_si(trial),
            cautions=tuple(replace(flag, where=where) for flag in (*refusals, *doubts)),
        )
