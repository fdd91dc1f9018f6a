"""A slow, obvious solver: every flow and pressure an unknown, scipy's root finder, no tree.

It reads the network as data and asks each law for its drop; of `network` it uses nothing.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root

from ventwright.ducts import Closed, Law
from ventwright.network import Network
from ventwright.quantities.words import Side

FLOW_SCALE_M3_S = 0.01
PRESSURE_SCALE_PA = 10.0


class LostError(ArithmeticError):
    """The root finder went where no number is finite."""


class DenseNetwork:
    """Unknowns: flow of each open path, then pressure of each node and of each free zone."""

    def __init__(self, network: Network) -> None:
        self.names: list[str] = []
        self.drops: list[list[Callable[[float], tuple[float, float]]]] = []
        self.ends: list[tuple[str, str]] = []
        nodes: list[str] = []
        for tree in network.trees:
            nodes.append(f"node:{tree.name}")
            outside = f"zone:{tree.outdoor_zone}"
            self._add(tree.name, tree.shared, tree.side, outside, f"node:{tree.name}")
            for link in tree.links:
                near = f"node:{link.parent}"
                far = f"node:{link.name}" if link.zone is None else f"zone:{link.zone}"
                if link.zone is None:
                    nodes.append(far)
                self._add(link.name, link.laws, tree.side, near, far)
        self.fixed: dict[str, float] = {}
        self.inflow: dict[str, float] = {}
        for zone in network.zones:
            place = f"zone:{zone.name}"
            if not zone.openings:
                self.fixed[place] = zone.pressure_pa
                continue
            nodes.append(place)
            self.inflow[place] = zone.other_inflow_m3_s
            for opening in zone.openings:
                beyond = f"beyond:{opening.name}"
                self.fixed[beyond] = opening.outside_pressure_pa
                self._add(opening.name, (opening.law,), Side.SUPPLY, place, beyond)
        # A node between shut ends has no pressure to find.
        touched = {place for pair in self.ends for place in pair}
        self.nodes = [node for node in nodes if node in touched]
        self.place = {node: i for i, node in enumerate(self.nodes)}

    def _add(self, name: str, laws: tuple[Law, ...], side: Side, near: str, far: str) -> None:
        if any(isinstance(law, Closed) for law in laws):
            return
        self.names.append(name)
        self.drops.append([_drop(law) for law in laws])
        # Flow in the design direction runs from the first place to the second.
        self.ends.append((near, far) if side is Side.SUPPLY else (far, near))

    def residual(self, x: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Residuals in scaled units (law by law, node by node) and their dense Jacobian."""
        paths, nodes = len(self.names), len(self.nodes)
        if not np.all(np.isfinite(x)):
            raise LostError
        flow = x[:paths] * FLOW_SCALE_M3_S
        pressure = x[paths:] * PRESSURE_SCALE_PA
        value = np.zeros(paths + nodes)
        slope = np.zeros((paths + nodes, paths + nodes))
        for node, inflow in self.inflow.items():
            value[paths + self.place[node]] += inflow / FLOW_SCALE_M3_S
        for i, (drops, (first, second)) in enumerate(zip(self.drops, self.ends, strict=True)):
            for drop in drops:
                drop_pa, steep = drop(float(flow[i]))
                value[i] += drop_pa / PRESSURE_SCALE_PA
                slope[i, i] += steep * FLOW_SCALE_M3_S / PRESSURE_SCALE_PA
            for place, turn in ((first, -1.0), (second, 1.0)):
                if place in self.fixed:
                    value[i] += turn * self.fixed[place] / PRESSURE_SCALE_PA
                else:
                    node = self.place[place]
                    value[i] += turn * pressure[node] / PRESSURE_SCALE_PA
                    slope[i, paths + node] += turn
                    value[paths + node] += turn * x[i]
                    slope[paths + node, i] += turn
        return value, slope

    def solve(self, start: NDArray[np.float64]) -> tuple[dict[str, float], float]:
        """Flow by name, and the largest residual left (scaled); infinite if it was lost."""
        try:
            x = root(self.residual, start, jac=True, method="hybr", options={"xtol": 1e-14}).x
            for _ in range(3):
                value, slope = self.residual(x)
                x = x - np.linalg.lstsq(slope, value, rcond=None)[0]
            value, _ = self.residual(x)
        except LostError:
            return {}, float("inf")
        flows = x[: len(self.names)] * FLOW_SCALE_M3_S
        return dict(zip(self.names, flows.tolist(), strict=True)), float(np.max(np.abs(value)))


def _drop(law: Law) -> Callable[[float], tuple[float, float]]:
    """A law's drop and slope, its curves made once."""
    terms = law.terms()
    curves = [curve.function() for curve in terms.curves]

    def drop(flow: float) -> tuple[float, float]:
        steep = terms.quadratic_pa_per_m6_s2 * abs(flow)
        total = terms.constant_pa + (steep + terms.linear_pa_per_m3_s) * flow
        slope = 2.0 * steep + terms.linear_pa_per_m3_s
        for curve in curves:
            more, more_slope = curve(flow)
            total += more
            slope += more_slope
        return total, slope

    return drop
