"""One sweep leaf-to-root and back: the linear solve of a tree in time proportional to its size.

With each law replaced by its tangent, drop = offset + slope·flow, the part of a tree behind a node
is one straight line: flow in = a + b·pressure at the node. Lines of parallel links add; a link in
series bends the line to (a − b·offset + b·pressure)/(1 + b·slope). The root's pressure is known,
and going back outwards every flow and pressure follows. Nothing is subtracted that could cancel,
since slopes and b are never negative.

Zones of unknown pressure border the system: one more sweep for each gives the response of all flows
to its pressure, and a system as small as the number of such zones closes the balance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.network.prepared import Prepared


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearAnswer:
    """Flows, pressures and zone pressures of the tangent system.

    Parameters
    ----------
    flow_m3_s
        One for each entry [m³/s].
    pressure_pa
        One for each pressure slot, counted from the fan's side: the sign of an extract side is
        turned, so that flow always runs from high to low [Pa].
    zone_pa
        One for each zone, true sign [Pa].
    """

    flow_m3_s: list[float]
    pressure_pa: list[float]
    zone_pa: list[float]


class ZoneWithoutPathError(ArithmeticError):
    """A zone of unknown pressure has no open path."""

    def __init__(self, zone: int) -> None:
        super().__init__(zone)
        self.zone = zone


def sweep(
    prepared: Prepared,
    *,
    slope: Sequence[float],
    offset: Sequence[float],
    zone_pa: Sequence[float],
) -> tuple[list[float], list[float]]:
    """Solve the trees' tangent system with all zone pressures given.

    Parameters
    ----------
    prepared
        The network.
    slope, offset
        Tangent of each entry [Pa·s/m³, Pa].
    zone_pa
        Pressure of each zone [Pa].

    Returns
    -------
    tuple of list
        Flow of each entry (openings left at 0) and pressure of each slot.
    """
    layout, order = prepared.layout, prepared.order
    sign = layout.sign
    slots = len(layout.parent) + len(layout.outer)
    a = [0.0] * slots
    b = [0.0] * slots
    for i, parent, zone in order.leaves:
        g = 1.0 / slope[i]
        b[parent] += g
        a[parent] -= g * (sign[i] * zone_pa[zone] + offset[i])
    for i, parent in order.inner_up:
        b_in = b[i]
        bent = 1.0 / (1.0 + b_in * slope[i])
        a_out = a[i] = (a[i] - b_in * offset[i]) * bent
        b_out = b[i] = b_in * bent
        a[parent] += a_out
        b[parent] += b_out
    pressure = [0.0] * slots
    flow = [0.0] * len(layout.names)
    for slot, zone, turn in layout.outer:
        pressure[slot] = turn * zone_pa[zone]
    for i in order.cut:
        if b[i] > 0.0:
            pressure[i] = -a[i] / b[i]
    for i, parent in order.inner:
        before = pressure[parent]
        q = flow[i] = a[i] + b[i] * before
        pressure[i] = before - offset[i] - slope[i] * q
    for i, parent, zone in order.leaves:
        flow[i] = (pressure[parent] - sign[i] * zone_pa[zone] - offset[i]) / slope[i]
    return flow, pressure


def zone_inflow(prepared: Prepared, flow: Sequence[float]) -> list[float]:
    """Net flow of the trees into each zone [m³/s]."""
    layout = prepared.layout
    net = [0.0] * len(layout.zone_names)
    for i, _, zone in prepared.order.leaves:
        net[zone] += layout.sign[i] * flow[i]
    for (_, zone, turn), root in zip(layout.outer, roots(prepared), strict=True):
        net[zone] -= turn * flow[root]
    return net


def roots(prepared: Prepared) -> list[int]:
    """Entry of each tree's shared path."""
    first = len(prepared.layout.parent)
    return [i for i, slot in enumerate(prepared.layout.parent) if slot >= first]


def linear_solve(
    prepared: Prepared,
    *,
    slope: Sequence[float],
    offset: Sequence[float],
    zone_pa: Sequence[float],
    inflow_m3_s: Sequence[float],
    beyond: float = 1.0,
) -> LinearAnswer:
    """Solve the whole tangent system, zones of unknown pressure included.

    Parameters
    ----------
    prepared
        The network.
    slope, offset
        Tangent of each entry [Pa·s/m³, Pa].
    zone_pa
        Pressure of each zone of known pressure [Pa]; others are ignored.
    inflow_m3_s
        Net flow of other fans into each zone [m³/s].
    beyond
        Factor on the pressures beyond openings: 1, or 0 for changes.

    Returns
    -------
    LinearAnswer
        Flows, pressures, zone pressures.

    Raises
    ------
    ZoneWithoutPathError
        The balance of a zone can't be closed.
    """
    unknown = prepared.layout.unknown_zones
    pa = list(zone_pa)
    if not unknown:
        flow, pressure = sweep(prepared, slope=slope, offset=offset, zone_pa=pa)
        return LinearAnswer(flow_m3_s=flow, pressure_pa=pressure, zone_pa=pa)
    for zone in unknown:
        pa[zone] = 0.0
    flow, pressure = sweep(prepared, slope=slope, offset=offset, zone_pa=pa)
    still = [0.0] * len(slope)
    responses = []
    for zone in unknown:
        one = [0.0] * len(pa)
        one[zone] = 1.0
        responses.append(sweep(prepared, slope=slope, offset=still, zone_pa=one))
    found = _balance(
        prepared,
        slope=slope,
        offset=offset,
        base=[n + x for n, x in zip(zone_inflow(prepared, flow), inflow_m3_s, strict=True)],
        responses=[zone_inflow(prepared, response) for response, _ in responses],
        beyond=beyond,
    )
    for zone, value, (more_flow, more_pressure) in zip(unknown, found, responses, strict=True):
        pa[zone] = value
        flow = [q + value * r for q, r in zip(flow, more_flow, strict=True)]
        pressure = [p + value * r for p, r in zip(pressure, more_pressure, strict=True)]
    for i, zone, outside_pa in prepared.order.opening:
        flow[i] = (pa[zone] - beyond * outside_pa - offset[i]) / slope[i]
    return LinearAnswer(flow_m3_s=flow, pressure_pa=pressure, zone_pa=pa)


def _balance(
    prepared: Prepared,
    *,
    slope: Sequence[float],
    offset: Sequence[float],
    base: list[float],
    responses: list[list[float]],
    beyond: float,
) -> list[float]:
    """Pressures of the unknown zones that close their balances."""
    unknown = prepared.layout.unknown_zones
    place = {zone: k for k, zone in enumerate(unknown)}
    matrix = [[-response[zone] for response in responses] for zone in unknown]
    right = [base[zone] for zone in unknown]
    for i, zone, outside_pa in prepared.order.opening:
        k = place[zone]
        matrix[k][k] += 1.0 / slope[i]
        right[k] += (beyond * outside_pa + offset[i]) / slope[i]
    size = len(unknown)
    for k in range(size):
        if matrix[k][k] <= 0.0:
            raise ZoneWithoutPathError(unknown[k])
        for row in range(k + 1, size):
            factor = matrix[row][k] / matrix[k][k]
            right[row] -= factor * right[k]
            for column in range(k, size):
                matrix[row][column] -= factor * matrix[k][column]
    found = [0.0] * size
    for k in range(size - 1, -1, -1):
        rest = sum(matrix[k][c] * found[c] for c in range(k + 1, size))
        found[k] = (right[k] - rest) / matrix[k][k]
    return found
