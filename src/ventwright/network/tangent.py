"""The tangent system of a network, solved by one sweep leaf-to-root and back.

With each law replaced by its tangent, drop = offset + slope·flow, the part of a tree behind a node
is one straight line: flow in = a + b·pressure at the node. Lines of parallel links add; a link in
series bends the line to (a − b·offset + b·pressure)/(1 + b·slope). The root's pressure is known,
and going back outwards every flow and pressure follows. Slopes and b are never negative, so nothing
in the bending cancels, and the work is in proportion to the number of links.

Zones of unknown pressure border the system: one more sweep for each gives the response of all flows
to its pressure, and a system as small as the number of such zones closes the balance.

Only + − · / are used, and no branch depends on a value: what is written here for floats serves
arrays over many houses as well.
"""

from __future__ import annotations

from collections.abc import Sequence

from ventwright.network.prepared import Prepared
from ventwright.quantities.records import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearAnswer:
    """Flows, pressures and zone pressures of the tangent system.

    Parameters
    ----------
    flow_m3_s
        One for each entry [m³/s].
    pressure_pa
        One for each pressure slot, counted so that flow runs from high to low: on an extract side
        the sign is turned [Pa].
    zone_pa
        One for each zone, true sign [Pa].
    """

    flow_m3_s: list[float]
    pressure_pa: list[float]
    zone_pa: list[float]


class Tangent:
    """The tangent system at given slopes; offsets and boundary pressures come with each question.

    Parameters
    ----------
    prepared
        The network.
    slope
        Slope of each entry's law [Pa·s/m³].
    """

    __slots__ = ("_b", "_bent", "_border", "_g", "_prepared", "_responses", "_slope")

    def __init__(self, prepared: Prepared, slope: Sequence[float]) -> None:
        layout, order = prepared.layout, prepared.order
        self._prepared = prepared
        self._slope = slope
        b = [0.0] * layout.slot_count
        bent = [0.0] * layout.slot_count
        g = [0.0] * len(layout.parent)
        for i, parent, _ in order.leaves:
            g[i] = 1.0 / slope[i]
            b[parent] += g[i]
        for i, parent in order.inner_up:
            bent[i] = 1.0 / (1.0 + b[i] * slope[i])
            b[parent] += b[i] * bent[i]
        self._g, self._b, self._bent = g, b, bent
        self._responses = [self._respond(zone) for zone in layout.unknown_zones]
        self._border = self._border_matrix() if layout.unknown_zones else []

    def solve(
        self,
        *,
        offset: Sequence[float],
        zone_pa: Sequence[float],
        inflow_m3_s: Sequence[float],
        beyond: float = 1.0,
    ) -> LinearAnswer:
        """Solve for flows and pressures.

        Parameters
        ----------
        offset
            Offset of each entry's tangent [Pa].
        zone_pa
            Pressure of each zone; those of unknown zones are ignored [Pa].
        inflow_m3_s
            Net flow of other fans into each zone [m³/s].
        beyond
            Factor on the pressures beyond openings: 1, or 0 where changes are asked for.
        """
        prepared = self._prepared
        unknown = prepared.layout.unknown_zones
        pa = list(zone_pa)
        for zone in unknown:
            pa[zone] = 0.0
        flow, pressure = self._sweep(offset, pa)
        if not unknown:
            return LinearAnswer(flow_m3_s=flow, pressure_pa=pressure, zone_pa=pa)
        net = self._inflow(flow)
        right = [net[zone] + inflow_m3_s[zone] for zone in unknown]
        for i, zone, outside_pa in prepared.order.opening:
            right[unknown.index(zone)] += (beyond * outside_pa + offset[i]) / self._slope[i]
        for zone, value, (more_flow, more_pressure) in zip(
            unknown, _solved(self._border, right), self._responses, strict=True
        ):
            pa[zone] = value
            flow = [q + value * r for q, r in zip(flow, more_flow, strict=True)]
            pressure = [p + value * r for p, r in zip(pressure, more_pressure, strict=True)]
        for i, zone, outside_pa in prepared.order.opening:
            flow[i] = (pa[zone] - beyond * outside_pa - offset[i]) / self._slope[i]
        return LinearAnswer(flow_m3_s=flow, pressure_pa=pressure, zone_pa=pa)

    def _sweep(
        self, offset: Sequence[float], zone_pa: Sequence[float]
    ) -> tuple[list[float], list[float]]:
        """Flows and pressures with all zone pressures given; openings are left at 0."""
        layout, order = self._prepared.layout, self._prepared.order
        g, b, bent, slope, sign = self._g, self._b, self._bent, self._slope, layout.sign
        a = [0.0] * layout.slot_count
        for i, parent, zone in order.leaves:
            a[parent] -= g[i] * (sign[i] * zone_pa[zone] + offset[i])
        for i, parent in order.inner_up:
            a[i] = (a[i] - b[i] * offset[i]) * bent[i]
            a[parent] += a[i]
        pressure = [0.0] * layout.slot_count
        flow = [0.0] * len(layout.names)
        for slot, zone, turn in layout.outer:
            pressure[slot] = turn * zone_pa[zone]
        for i in order.floating:
            pressure[i] = -a[i] / b[i]
        for i, parent in order.inner:
            before = pressure[parent]
            q = flow[i] = a[i] + b[i] * bent[i] * before
            pressure[i] = before - offset[i] - slope[i] * q
        for i, parent, zone in order.leaves:
            flow[i] = (pressure[parent] - sign[i] * zone_pa[zone] - offset[i]) * g[i]
        return flow, pressure

    def _respond(self, to_zone: int) -> tuple[list[float], list[float]]:
        """Change of flows and pressures for 1 Pa more in a zone; `_sweep` without its zeros."""
        layout, order = self._prepared.layout, self._prepared.order
        g, b, bent, slope, sign = self._g, self._b, self._bent, self._slope, layout.sign
        a = [0.0] * layout.slot_count
        for i, parent, zone in order.leaves:
            if zone == to_zone:
                a[parent] -= g[i] * sign[i]
        for i, parent in order.inner_up:
            a[i] = a[i] * bent[i]
            a[parent] += a[i]
        pressure = [0.0] * layout.slot_count
        flow = [0.0] * len(layout.names)
        for slot, zone, turn in layout.outer:
            if zone == to_zone:
                pressure[slot] = turn
        for i in order.floating:
            pressure[i] = -a[i] / b[i]
        for i, parent in order.inner:
            before = pressure[parent]
            q = flow[i] = a[i] + b[i] * bent[i] * before
            pressure[i] = before - slope[i] * q
        for i, parent, zone in order.leaves:
            here = pressure[parent] - sign[i] if zone == to_zone else pressure[parent]
            flow[i] = here * g[i]
        return flow, pressure

    def _inflow(self, flow: Sequence[float]) -> list[float]:
        """Net flow of the trees into each zone [m³/s]."""
        layout = self._prepared.layout
        net = [0.0] * len(layout.zone_names)
        for i, _, zone in self._prepared.order.leaves:
            net[zone] += layout.sign[i] * flow[i]
        for (_, zone, turn), root in zip(layout.outer, layout.roots, strict=True):
            net[zone] -= turn * flow[root]
        return net

    def _border_matrix(self) -> list[list[float]]:
        """Outflow of each unknown zone for 1 Pa more in each."""
        unknown = self._prepared.layout.unknown_zones
        inflows = [self._inflow(flow) for flow, _ in self._responses]
        matrix = [[-inflow[zone] for inflow in inflows] for zone in unknown]
        for i, zone, _ in self._prepared.order.opening:
            k = unknown.index(zone)
            matrix[k][k] += 1.0 / self._slope[i]
        return matrix


def _solved(matrix: list[list[float]], right: list[float]) -> list[float]:
    """Solve a small symmetric positive definite system by elimination."""
    rows = [list(row) for row in matrix]
    right = list(right)
    size = len(right)
    for k in range(size):
        for row in range(k + 1, size):
            factor = rows[row][k] / rows[k][k]
            right[row] -= factor * right[k]
            for column in range(k, size):
                rows[row][column] -= factor * rows[k][column]
    found = [0.0] * size
    for k in range(size - 1, -1, -1):
        rest = right[k]
        for column in range(k + 1, size):
            rest -= rows[k][column] * found[column]
        found[k] = rest / rows[k][k]
    return found


def node_pressures(prepared: Prepared, answer: LinearAnswer) -> tuple[float | None, ...]:
    """Pressures in true sign; an end in a zone has the zone's, one shut in on all sides none."""
    layout = prepared.layout
    pressures: list[float | None] = []
    lost = set(prepared.order.sealed)
    rows = zip(layout.parent, layout.sign, layout.zone, answer.pressure_pa, strict=False)
    for i, (parent, sign, zone, pressure) in enumerate(rows):
        if parent in lost:
            lost.add(i)
        if zone >= 0:
            pressures.append(answer.zone_pa[zone])
        else:
            pressures.append(None if i in lost else sign * pressure)
    return tuple(pressures)
