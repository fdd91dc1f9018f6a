"""Houses of twelve terminals, made of the examples: the air of some terminals is shared by two.

Used by tests of how long a report gets and by the benchmark of how long it takes.
"""

from __future__ import annotations

import functools
from dataclasses import replace
from typing import Any

from tests.unit.report import cases
from ventwright.actions import Assessment
from ventwright.house import FlowBox, Hood, Reading, StationKind, Terminal, Vane

SPLIT = {"juniper_mesa": ("s1", "s4", "x1"), "harbour_terrace": ("s1", "s5")}
"""Terminals whose air two terminals share, so that their houses have twelve."""


def halved(look: Any) -> Any:
    """What the meter shows at each of two terminals that share the air of one."""
    match look:
        case Vane():
            return replace(look, velocities_m_s=tuple(0.5 * v for v in look.velocities_m_s))
        case FlowBox():
            return replace(look, opening_area_m2=0.5 * (look.opening_area_m2 or 0.0))
        case Hood():
            return replace(look, flows_m3_s=tuple(0.5 * f for f in look.flows_m3_s))
    raise TypeError(f"{look} can't be shared")


def half(terminal: Terminal, suffix: str) -> Terminal:
    def of(flow_m3_s: float | None) -> float | None:
        return None if flow_m3_s is None else 0.5 * flow_m3_s

    return replace(
        terminal,
        id=f"{terminal.id}{suffix}",
        name=f"{terminal.name or terminal.id} {suffix or 'a'}",
        design_flow_m3_s=of(terminal.design_flow_m3_s),
        boost_flow_m3_s=of(terminal.boost_flow_m3_s),
        min_flow_m3_s=of(terminal.min_flow_m3_s),
        max_flow_m3_s=of(terminal.max_flow_m3_s),
    )


@functools.cache
def twelve(name: str) -> Assessment:
    """An example in which some terminals are two that share the air of one; all is read."""
    one = cases.assessed(name).snapshot
    system = one.house.systems[0]
    split = SPLIT[name]
    terminals: list[Terminal] = []
    for t in system.terminals:
        terminals += [half(t, ""), half(t, "b")] if t.id in split else [t]
    readings: list[Reading] = []
    for r in one.visit.readings:
        if r.station.ref in split and r.station.kind is StationKind.TERMINAL:
            shared = replace(r, look=halved(r.look))
            twin = replace(r.station, ref=f"{r.station.ref}b")
            readings += [shared, replace(shared, id=f"{r.id}b", station=twin)]
        else:
            readings.append(r)
    finals = [replace(f, target=f"{f.target}b") for f in one.visit.final_settings]
    visit = replace(
        one.visit,
        readings=tuple(readings),
        final_settings=(
            *one.visit.final_settings,
            *(f for f in finals if f.target.removesuffix("b") in split),
        ),
    )
    house = replace(one.house, systems=(replace(system, terminals=tuple(terminals)),))
    return cases.with_snapshot(name, house=house, visit=visit)
