"""Other ways to solve the houses of `network.py`: dense Newton in NumPy, scipy, pandapipes.

The dense peer has the terminal flows as unknowns and a residual for each path from the fan to a
room; laws are evaluated for all links at once. It is written as one would by hand for this very
layout, with no more generality than that.
"""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root

from ventwright.ducts import FrictionCurve
from ventwright.ducts.curves import (
    LAMINAR_END_REYNOLDS,
    TURBULENT_START_REYNOLDS,
    turbulent_resistance,
)
from ventwright.network import Prepared

ROOT = Path(__file__).resolve().parents[2]
PEER_PYTHON = ROOT / ".peers" / "pandapipes" / "bin" / "python"
ABSENT = "pandapipes is not here: run benchmarks/pandapipes_env.sh"
RESIDUAL_PA = 1e-8
Array = NDArray[np.float64]


class DensePeer:
    """One tree with a friction curve in every link and a fan by points in the shared path."""

    def __init__(self, prepared: Prepared) -> None:
        layout = prepared.layout
        self.constant = np.array(prepared.constant_pa)
        self.linear = np.array(prepared.linear_pa_per_m3_s)
        self.quadratic = np.array(prepared.quadratic_pa_per_m6_s2)
        self.fan = prepared.parts[0].fan_functions[0]
        curves: list[FrictionCurve] = []
        for part in prepared.parts:
            (curve,) = part.passive.curves
            assert isinstance(curve, FrictionCurve)
            curves.append(curve)
        ratio = np.array(prepared.loss_ratio)
        self.scale = ratio * np.array([curve.drop_per_fre2_pa for curve in curves])
        self.to_re = np.array([curve.reynolds_per_m3_s for curve in curves])
        self.rough = np.array([curve.roughness_ratio / 3.7 for curve in curves])
        self.haaland = self.rough**1.11
        self.blend = np.array([curve.blend() for curve in curves]).T
        ends = [i for i, zone in enumerate(layout.zone) if zone >= 0]
        self.paths = np.zeros((len(layout.parent), len(ends)))
        for column, end in enumerate(ends):
            place = end
            while place < len(layout.parent):
                self.paths[place, column] = 1.0
                place = layout.parent[place]
        self.start = np.array([layout.start_m3_s[end] for end in ends])
        self.turned = np.ascontiguousarray(self.paths.T)

    def laws(self, flow: Array) -> tuple[Array, Array]:
        """Drop and slope of every link."""
        size = np.abs(flow)
        steep = self.quadratic * size
        drop = self.constant + (steep + self.linear) * flow
        slope = steep + steep + self.linear
        reynolds = size * self.to_re
        turbulent: Any = turbulent_resistance
        fre2, bend = turbulent(
            reynolds=np.maximum(reynolds, TURBULENT_START_REYNOLDS),
            rough=self.rough,
            haaland=self.haaland,
            ln=np.log,
        )
        slow = reynolds < TURBULENT_START_REYNOLDS
        if slow.any():
            span = TURBULENT_START_REYNOLDS - LAMINAR_END_REYNOLDS
            t = np.clip((reynolds - LAMINAR_END_REYNOLDS) / span, 0.0, 1.0)
            m0, c2, c3 = self.blend
            cubic = 64.0 * LAMINAR_END_REYNOLDS + t * (m0 + t * (c2 + t * c3))
            cubic_slope = (m0 + t * (2.0 * c2 + 3.0 * t * c3)) / span
            laminar = reynolds <= LAMINAR_END_REYNOLDS
            fre2 = np.where(slow, np.where(laminar, 64.0 * reynolds, cubic), fre2)
            bend = np.where(slow, np.where(laminar, 64.0, cubic_slope), bend)
        drop += np.copysign(self.scale * fre2, flow)
        slope += self.scale * self.to_re * bend
        fan_drop, fan_slope = self.fan(float(flow[0]))
        drop[0] += fan_drop
        slope[0] += fan_slope
        return drop, slope

    def residual(self, x: Array) -> tuple[Array, Array]:
        """Sum of drops along each path, and its Jacobian."""
        drop, slope = self.laws(self.paths @ x)
        return self.turned @ drop, self.turned @ (slope[:, np.newaxis] * self.paths)

    def newton(self, start: Array) -> Array:
        """Newton's method, undamped, dense solve."""
        x = start
        for _ in range(50):
            value, slope = self.residual(x)
            if np.abs(value).max() <= RESIDUAL_PA:
                return x
            x = x - np.linalg.solve(slope, value)
        raise ArithmeticError("the dense peer did not settle")

    def scipy_root(self, start: Array) -> Array:
        """Scipy's hybrid method with the same Jacobian."""
        found = root(self.residual, start, jac=True, method="hybr", options={"xtol": 1e-10})
        return np.asarray(found.x)


def pipe_tree(terminal_count: int) -> dict[str, Any]:
    """A trunk with three terminals at each tee, in the form both solvers can express."""
    pipes: list[dict[str, Any]] = []

    def add(name: str, parent: str, *, length_m: float, diameter_m: float, end: bool) -> None:
        pipes.append(
            {
                "name": name,
                "parent": parent,
                "length_m": length_m,
                "diameter_m": diameter_m,
                "roughness_m": 9e-5,
                "loss_coeff": 25.0 if end else 0.5,
                "is_terminal": end,
            }
        )

    wide_m = 0.16 * (terminal_count / 12) ** 0.4
    add("main", "root", length_m=3.0, diameter_m=wide_m, end=False)
    for tee in range(terminal_count // 3):
        parent = "main" if tee == 0 else f"trunk{tee - 1}"
        add(f"trunk{tee}", parent, length_m=2.0, diameter_m=wide_m, end=False)
        for k in range(3):
            add(f"end{tee}-{k}", f"trunk{tee}", length_m=2.0 + k, diameter_m=0.1, end=True)
    return {
        "name": f"tree-{terminal_count}",
        "root_pa": 150.0,
        "density_kg_m3": 1.2,
        "viscosity_pa_s": 1.82e-5,
        "pipes": pipes,
    }


def pandapipes_answers(networks: list[dict[str, Any]], repeats: int) -> dict[str, Any] | None:
    """Flows and times of the peer, from its own environment; None where that is absent."""
    if not PEER_PYTHON.is_file():
        return None
    script = Path(__file__).with_name("pandapipes_peer.py")
    done = subprocess.run(
        [str(PEER_PYTHON), str(script)],
        input=json.dumps({"networks": networks, "repeats": repeats}),
        capture_output=True,
        text=True,
        check=True,
    )
    answer: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return answer
