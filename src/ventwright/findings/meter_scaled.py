"""A reading as the same meter would give it at another flow."""

from __future__ import annotations

from math import fsum

from ventwright.house import DirectFlow, FlowBox, Hood, Reading, TerminalPressure, Vane
from ventwright.quantities.records import replace


def scaled(reading: Reading, flow_ratio: float) -> Reading:
    """A reading as the same meter would give it at another flow through it.

    Velocities and flows go with the flow; pressures lost in the meter or over the terminal as it
    stands go with its square. For the pressures behind a terminal under a box see `_behind`.

    Parameters
    ----------
    reading
        By a method that can stay in place; any other is left as it is.
    flow_ratio
        Flow through the meter over that of the reading, > 0.

    >>> from ventwright.house import parse_reading, Reader
    >>> one = parse_reading({"id": "r1", "station": "terminal:t1", "setting": "continuous",
    ...     "phase": "as_found", "method": "flow_box", "drops": ["4 Pa"], "opening_area": "60 cm²"},
    ...     where="r", reader=Reader())
    >>> scaled(one, 0.5).look.drops_pa
    (1.0,)
    """
    look, square = reading.look, flow_ratio * flow_ratio
    if isinstance(look, Vane):
        velocities = tuple(v * flow_ratio for v in look.velocities_m_s)
        return replace(reading, look=replace(look, velocities_m_s=velocities))
    if isinstance(look, DirectFlow):
        flows = tuple(q * flow_ratio for q in look.flows_m3_s)
        return replace(reading, look=replace(look, flows_m3_s=flows))
    if isinstance(look, Hood):
        flows = tuple(q * flow_ratio for q in look.flows_m3_s)
        drop = None if look.hood_drop_pa is None else look.hood_drop_pa * square
        return replace(reading, look=replace(look, flows_m3_s=flows, hood_drop_pa=drop))
    if isinstance(look, TerminalPressure):
        drops = tuple(p * square for p in look.drops_pa)
        return replace(reading, look=replace(look, drops_pa=drops))
    if isinstance(look, FlowBox):
        drops = tuple(p * square for p in look.drops_pa)
        return replace(reading, look=replace(_behind(look, square), drops_pa=drops))
    return reading


def _behind(look: FlowBox, square_ratio: float) -> FlowBox:
    """Pressures behind a terminal under a box after a damper was turned.

    The pressure before all that changes, P, stays. With Q1 and Q0 the flows with and without the
    box, p1 and p0 the pressures behind the terminal, and ph lost in the box, all read before, the
    path up to there gives Q0²/Q1² = p0/(p1 − ph) = P/(P − ph), hence P; then p1 and p0 fall from P
    with the squares of their flows. Where p1 alone is known, or is no more than p0, the path loses
    nothing that shows, P is p1, and nothing falls.
    """
    box_pa = abs(fsum(look.drops_pa) / len(look.drops_pa)) if look.drops_pa else 0.0
    p1, p0 = abs(look.terminal_pressure_pa or 0.0), abs(look.terminal_pressure_free_pa or 0.0)
    rest = p1 - box_pa
    if not (p1 > p0 > rest > 0.0):
        return look
    free_ratio = p0 / rest
    source_pa = box_pa * free_ratio / (free_ratio - 1.0)
    if square_ratio * (source_pa - rest) >= source_pa:
        # Not even without a terminal: no pressure is left for one, which is refused as such.
        return replace(look, terminal_pressure_pa=box_pa * square_ratio)
    lost_ratio = square_ratio * (source_pa - box_pa) / (source_pa - square_ratio * box_pa)
    return replace(
        look,
        terminal_pressure_pa=source_pa - (source_pa - p1) * square_ratio,
        terminal_pressure_free_pa=source_pa - (source_pa - p0) * lost_ratio,
    )


def mean_shown_si(reading: Reading) -> float:
    """Mean of the values a display showed, in the SI of what it shows, with their sign.

    Parameters
    ----------
    reading
        By a method that can stay in place, with at least one value.

    Raises
    ------
    TypeError
        For any other method: a fault of the caller.

    >>> from ventwright.house import parse_reading, Reader
    >>> one = parse_reading({"id": "r1", "station": "terminal:t1", "setting": "continuous",
    ...     "phase": "as_found", "method": "hood", "flows": ["10 L/s", "11 L/s"]},
    ...     where="r", reader=Reader())
    >>> round(mean_shown_si(one), 6)
    0.0105
    """
    look = reading.look
    if isinstance(look, Vane):
        values = look.velocities_m_s
    elif isinstance(look, FlowBox | TerminalPressure):
        values = look.drops_pa
    elif isinstance(look, Hood | DirectFlow):
        values = look.flows_m3_s
    else:
        raise TypeError(f"method {reading.method.value!r} does not stay in place")
    return fsum(values) / len(values)
