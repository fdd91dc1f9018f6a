"""From a reading of flow to a flow: the one door for all methods."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ventwright.house import Instrument, Method, Reading, Terminal, Traverse, VentilationUnit
from ventwright.instruments.box import read_flow_box
from ventwright.instruments.case import Case, Indicated, Scaling
from ventwright.instruments.classes import USUAL, shows
from ventwright.instruments.displays import read_direct_flow
from ventwright.instruments.ducts_read import read_fixed_point, read_sweep
from ventwright.instruments.exchanger import read_exchanger_pressure
from ventwright.instruments.reference import actual_flow_m3_s
from ventwright.instruments.results import FlowInterpretation, StationAir, flow_figure_from
from ventwright.instruments.terminals_read import read_hood, read_terminal_pressure, read_vane
from ventwright.instruments.traverse import read_traverse
from ventwright.instruments.wording import Flags, Refused
from ventwright.quantities import Side

_READERS: dict[Method, Callable[[Case, Any], Indicated]] = {
    Method.SWEEP: read_sweep,
    Method.TRAVERSE: read_traverse,
    Method.FIXED_POINT: read_fixed_point,
    Method.VANE: read_vane,
    Method.FLOW_BOX: read_flow_box,
    Method.TERMINAL_PRESSURE: read_terminal_pressure,
    Method.EXCHANGER_PRESSURE: read_exchanger_pressure,
    Method.HOOD: read_hood,
    Method.DIRECT_FLOW: read_direct_flow,
}

FLOW_METHODS = frozenset(_READERS)
"""Methods whose readings `interpret_flow` takes."""

_DENSITY_WORDS = {
    Scaling.ACTUAL: "indication is of actual air",
    Scaling.PRESSURE: "corrected with the root of density",
    Scaling.STANDARD: "indication is of standard air",
}


def interpret_flow(
    reading: Reading,
    *,
    instrument: Instrument | None,
    air: StationAir,
    ventilation_unit: VentilationUnit | None = None,
    terminal: Terminal | None = None,
    side: Side | None = None,
) -> FlowInterpretation:
    """What a reading says of the flow at its station.

    Influences carry identities, so results correlate by themselves: ``instrument:{id}:…`` for what
    all readings of one instrument by one method share, ``method:…`` for a correction whose own
    uncertainty is common to all who use it, ``station:…`` for the place, ``reading:{id}:…`` for
    what belongs to one look.

    Parameters
    ----------
    reading
        A reading whose method is in `FLOW_METHODS`.
    instrument
        The instrument it names, None where none is named or known; typical figures then hold and a
        warning says so.
    air
        The air at the station.
    ventilation_unit
        For readings against the unit's table.
    terminal
        For readings against the terminal's table, and for its side.
    side
        Tree of ducts, where neither terminal nor station tells.

    Returns
    -------
    FlowInterpretation
        `figure` is None after a refusal, which is among the flags.

    Raises
    ------
    ValueError
        If the method reads no flow: a fault of the caller.

    Source: gum_2008

    >>> from ventwright.house import Instrument, InstrumentKind, parse_reading, Reader
    >>> from ventwright.uncertainty import exact
    >>> reading = parse_reading({"id": "r1", "station": "terminal:t1", "setting": "continuous",
    ...     "phase": "as_found", "method": "vane", "velocities": ["310 fpm", "318 fpm"],
    ...     "area": "12.2 in²", "factor_ratio": 1.02, "has_cone": True}, where="r", reader=Reader())
    >>> air = StationAir(density_kg_m3=exact(1.19), specific_volume_m3_kg=exact(0.85), origin="")
    >>> meter = Instrument(id="v1", kind=InstrumentKind.VANE_METER)
    >>> found = interpret_flow(reading, instrument=meter, air=air)
    >>> round(found.figure.flow_m3_s.value, 4)
    0.0132
    """
    reader = _READERS.get(reading.method)
    if reader is None:
        raise ValueError(f"method {reading.method.value!r} reads no flow")
    flags = Flags(where=f"reading {reading.id}")
    case = Case(
        reading=reading,
        instrument=instrument,
        air=air,
        flags=flags,
        ventilation_unit=ventilation_unit,
        terminal=terminal,
        side=side,
    )
    _check_head(case)
    try:
        indicated = reader(case, reading.look)
        flow = actual_flow_m3_s(case, indicated)
    except Refused:
        return FlowInterpretation(
            reading_id=reading.id,
            figure=None,
            flags=tuple(flags.problems),
            method_note="no flow is given: " + flags.problems[-1].message + ".",
        )
    density = air.density_kg_m3.value
    note = (
        f"{indicated.method_note[:1].upper()}{indicated.method_note[1:]}; "
        f"{_DENSITY_WORDS[indicated.scaling]} ({density:.3f} kg/m³, {air.origin})."
    )
    return FlowInterpretation(
        reading_id=reading.id,
        figure=flow_figure_from(flow, air=air),
        flags=tuple(flags.problems),
        method_note=note,
    )


def _check_head(case: Case) -> None:
    if case.instrument is None and case.reading.method is not Method.DIRECT_FLOW:
        case.flags.warn(
            "instrument-unnamed",
            "no instrument is named; wide figures of its usual class hold",
            "name the instrument of this reading",
        )
    channel, usual = USUAL[case.reading.method]
    if (
        case.instrument is not None
        and not shows(case.instrument, channel)
        and not (
            isinstance(case.reading.look, Traverse) and case.reading.look.velocity_pressures_pa
        )
    ):
        case.flags.warn(
            "instrument-unlikely",
            f"a {case.instrument.kind.value.replace('_', ' ')} shows no {channel.value}; figures "
            f"typical of a {usual.value.replace('_', ' ')} hold",
            "name the instrument that was read, or type its figures for this",
        )
    if case.reading.is_defrosting:
        case.flags.warn(
            "defrosting",
            "read during defrost, when flows are not those of the setting",
            "read again when the unit runs as set",
        )
