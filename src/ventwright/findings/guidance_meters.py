"""How good each method of reading is, taken from the budgets of the visit's own readings."""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot

from ventwright.balancing import Meter
from ventwright.findings.model import ReadingFinding
from ventwright.uncertainty import Estimate


def meter_id_of(reading: ReadingFinding) -> str:
    """One name for an instrument and the method it was used by."""
    return f"{reading.instrument_id or 'any'}:{reading.method.value}"


def meters_of(readings: Iterable[ReadingFinding]) -> list[Meter]:
    """One meter for each instrument and method, as good as its budgets of this visit say."""
    groups: dict[str, list[Estimate]] = {}
    for r in readings:
        if r.flow is not None and r.flow.flow_m3_s.value > 0.0:
            groups.setdefault(meter_id_of(r), []).append(r.flow.flow_m3_s)
    return [_meter(name, flows) for name, flows in groups.items()]


def _meter(name: str, flows: list[Estimate]) -> Meter:
    """Parts of the budgets by what shares them: one reading, one place, all readings."""
    parts: dict[str, list[float]] = {"reading": [], "station": [], "": []}
    for flow in flows:
        for kind, fracs in parts.items():
            own = (c.contribution for c in flow.components if _shared_by(c.influence.id) == kind)
            fracs.append(hypot(*own) / flow.value)
    middle = {kind: sorted(fracs)[len(fracs) // 2] for kind, fracs in parts.items()}
    return Meter(
        id=name,
        repeat_frac=max(0.005, middle["reading"]),
        bias_frac=max(0.005, middle[""]),
        local_frac=middle["station"],
    )


def _shared_by(influence_id: str) -> str:
    """Whether one reading, one place or more than that shares an influence."""
    kind = influence_id.partition(":")[0]
    return kind if kind in ("reading", "station") else ""
