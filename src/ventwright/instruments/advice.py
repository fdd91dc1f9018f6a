"""Which of the instruments at hand suits a terminal or duct at its design flow.

Each method is tried by interpreting the reading it would give at that flow, with the same code that
interprets real readings: what would be refused is refused here, before anybody climbs a ladder.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ventwright.house import (
    FlowBox,
    Hood,
    Instrument,
    InstrumentKind,
    Look,
    Method,
    Phase,
    Reading,
    Section,
    Station,
    StationKind,
    Sweep,
    SweepPath,
    Terminal,
    TerminalPressure,
    Traverse,
    TraverseRule,
    Vane,
)
from ventwright.instruments.box import LARGE_DROP_PA, WANTED_DROP_PA, box_opening_for
from ventwright.instruments.classes import Channel, figures_of
from ventwright.instruments.ducts_read import ROUND_PATHS
from ventwright.instruments.flow import interpret_flow
from ventwright.instruments.indication import MOST_SI
from ventwright.instruments.results import StationAir
from ventwright.instruments.rules import traverse_positions
from ventwright.instruments.wording import area_text, flow_text, percent_text, velocity_text
from ventwright.quantities import STANDARD_AIR_DENSITY_KG_M3, Severity, Side
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import exact

CONE_THROAT_M = 0.1
"""Throat of the cone reckoned with where a terminal's face isn't known (memory)."""
MOST_U_FRAC = 0.25
"""Standard uncertainty above which a reading is of no use for setting a terminal (judgement)."""
_NOMINAL_AIR = StationAir(
    density_kg_m3=exact(STANDARD_AIR_DENSITY_KG_M3),
    specific_volume_m3_kg=exact(1.008 / STANDARD_AIR_DENSITY_KG_M3),
    origin="standard air",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodAdvice:
    """How one instrument would do by one method at the design flow.

    Parameters
    ----------
    method
        The method.
    instrument
        Id of the instrument.
    is_suitable
        Whether the reading would be taken and its standard uncertainty stay below a quarter.
    expected_u_frac
        Standard uncertainty expected of the flow [1]; None where the reading would be refused.
    reasons
        Plain sentences: why not, or what to mind.
    opening_area_m2
        For a flow box: the opening to use.
    """

    method: Method
    instrument: str
    is_suitable: bool
    expected_u_frac: float | None
    reasons: tuple[str, ...]
    opening_area_m2: float | None = None


def suitable_methods(
    *,
    flow_m3_s: float,
    terminal: Terminal | None,
    side: Side | None,
    instruments: Sequence[Instrument],
    duct: Section | None,
) -> tuple[MethodAdvice, ...]:
    """Methods the instruments at hand allow at a flow, best first, the unsuitable ones last.

    Parameters
    ----------
    flow_m3_s
        Flow expected [m³/s]; none or an impossible one gives no advice.
    terminal
        The terminal, None where a duct alone is read.
    side
        Tree of ducts; the terminal's own where not given.
    instruments
        What is at hand.
    duct
        Inside dimensions of a straight duct that can be reached, None if there is none.

    Returns
    -------
    tuple of MethodAdvice
        Ranked by expected uncertainty.

    >>> from ventwright.house import Instrument, InstrumentKind, Section
    >>> probe = Instrument(id="t1", kind=InstrumentKind.THERMAL_ANEMOMETER)
    >>> advice = suitable_methods(flow_m3_s=0.05, terminal=None, side=Side.SUPPLY,
    ...                           instruments=(probe,), duct=Section(diameter_m=0.15))
    >>> [a.method.value for a in advice]
    ['traverse', 'sweep']
    """
    if not 0.0 < flow_m3_s <= MOST_SI[Channel.FLOW]:
        return ()
    tree = side if side is not None or terminal is None else terminal.side
    found = [
        _try(method, look, instrument=instrument, terminal=terminal, side=tree)
        for instrument in instruments
        for method, look in _looks(flow_m3_s, terminal, duct, instrument)
    ]
    worst = math.inf
    return tuple(
        sorted(
            found,
            key=lambda a: (
                not a.is_suitable,
                worst if a.expected_u_frac is None else a.expected_u_frac,
                a.method.value,
                a.instrument,
            ),
        )
    )


def _looks(
    flow_m3_s: float, terminal: Terminal | None, duct: Section | None, instrument: Instrument
) -> Iterator[tuple[Method, Look]]:
    """The readings this instrument would give at the flow, in the order of its class."""
    kind = instrument.kind
    is_probe = kind in (InstrumentKind.THERMAL_ANEMOMETER, InstrumentKind.PITOT)
    if duct is not None and is_probe:
        yield from _in_duct(flow_m3_s, duct)
    if terminal is None:
        return
    if kind is InstrumentKind.VANE_METER:
        yield Method.VANE, _vane(flow_m3_s, terminal)
    if kind in (InstrumentKind.FLOW_BOX, InstrumentKind.MANOMETER):
        yield Method.FLOW_BOX, _box(flow_m3_s, instrument)
        yield from _at_tap(flow_m3_s, terminal)
    if kind in (InstrumentKind.FLOW_HOOD, InstrumentKind.COMPENSATED_HOOD):
        yield Method.HOOD, Hood(flows_m3_s=(flow_m3_s,))


def _in_duct(flow_m3_s: float, duct: Section) -> Iterator[tuple[Method, Look]]:
    area = _area_m2(duct)
    if area is None:
        return
    velocity = flow_m3_s / area
    if duct.diameter_m is not None:
        path = SweepPath.TWO_DIAMETERS
        swept = velocity / ROUND_PATHS[path].factor
        yield Method.SWEEP, Sweep(section=duct, velocities_m_s=(swept,), path=path)
        rule, lines, count = TraverseRule.LOG_LINEAR, 2, 6
    else:
        yield (
            Method.SWEEP,
            Sweep(section=duct, velocities_m_s=(velocity,), path=SweepPath.ZIGZAG),
        )
        rule, lines, count = TraverseRule.LOG_TCHEBYCHEFF, 5, 5
    assert traverse_positions(rule, points_count=count, is_round=duct.diameter_m is not None)
    yield (
        Method.TRAVERSE,
        Traverse(section=duct, rule=rule, velocities_m_s=((velocity,) * count,) * lines),
    )


def _area_m2(duct: Section) -> float | None:
    if duct.diameter_m is not None:
        return 0.25 * math.pi * duct.diameter_m**2 if duct.diameter_m > 0.0 else None
    if duct.width_m is None or duct.height_m is None:
        return None
    area = duct.width_m * duct.height_m
    return area if area > 0.0 else None


def _vane(flow_m3_s: float, terminal: Terminal) -> Vane:
    face = terminal.face_area_m2
    if face is not None and face > 0.0:
        return Vane(velocities_m_s=(flow_m3_s / face,), area_m2=face)
    throat = 0.25 * math.pi * CONE_THROAT_M**2
    return Vane(velocities_m_s=(flow_m3_s / throat,), area_m2=throat, has_cone=True)


def _box(flow_m3_s: float, instrument: Instrument) -> FlowBox:
    step = figures_of(instrument, Channel.PRESSURE, usual=InstrumentKind.MANOMETER).resolution_si
    # A coarse gauge needs a larger drop; beyond `LARGE_DROP_PA` the box would hold the flow back.
    wanted = min(max(WANTED_DROP_PA, 6.0 * step), LARGE_DROP_PA)
    area = box_opening_for(flow_m3_s=flow_m3_s, drop_pa=wanted)
    return FlowBox(drops_pa=(wanted,), opening_area_m2=area)


def _at_tap(flow_m3_s: float, terminal: Terminal) -> Iterator[tuple[Method, Look]]:
    if not terminal.opening_table:
        return
    factors = sorted(p.flow_factor for p in terminal.opening_table if p.flow_factor > 0.0)
    if not factors:
        return
    middle = factors[len(factors) // 2]
    drop = (flow_m3_s / middle) ** 2
    yield (
        Method.TERMINAL_PRESSURE,
        TerminalPressure(drops_pa=(drop,), flow_factor=middle),
    )


def _try(
    method: Method,
    look: Look,
    *,
    instrument: Instrument,
    terminal: Terminal | None,
    side: Side | None,
) -> MethodAdvice:
    station = Station(kind=StationKind.TERMINAL, ref=None if terminal is None else terminal.id)
    reading = Reading(
        id="planned",
        station=station,
        method=method,
        look=look,
        setting="",
        phase=Phase.INTERIM,
        instrument=instrument.id,
    )
    found = interpret_flow(
        reading, instrument=instrument, air=_NOMINAL_AIR, terminal=terminal, side=side
    )
    reasons = [
        _vane_reason(look, instrument)
        if flag.code == "vane-below-start"
        else f"{flag.message}: {flag.remedy}"
        for flag in found.flags
        if flag.severity is not Severity.NOTE
    ]
    opening = look.opening_area_m2 if isinstance(look, FlowBox) else None
    if opening is not None:
        reasons.append(f"use an opening of about {area_text(opening)}")
    expected = None
    if found.figure is not None:
        flow = found.figure.flow_m3_s
        expected = flow.u_std / flow.value
        if expected > MOST_U_FRAC:
            reasons.append(
                f"expect ± {percent_text(2.0 * expected)} at {flow_text(flow.value)}: too wide to "
                "set a terminal by"
            )
    return MethodAdvice(
        method=method,
        instrument=instrument.id,
        is_suitable=expected is not None and expected <= MOST_U_FRAC,
        expected_u_frac=expected,
        reasons=tuple(reasons),
        opening_area_m2=opening,
    )


def _vane_reason(look: Look, instrument: Instrument) -> str:
    figures = figures_of(instrument, Channel.VELOCITY, usual=InstrumentKind.VANE_METER)
    assert isinstance(look, Vane) and figures.start_si is not None
    return (
        f"the vane does not turn below about {velocity_text(figures.start_si)}; this opening at "
        f"the design flow gives {velocity_text(look.velocities_m_s[0])}: use a pressure-type box"
    )
