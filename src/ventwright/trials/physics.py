"""Flow through resistances as the least of a convex potential, solved by a damped Newton method.

Every piece of a house, the fans and the envelope included, is an element whose pressure drop rises
with its flow; the flow of an element is a signed sum of the free flows (one for each terminal, one
for each duct leak). The sum over all elements of the integral of drop over flow is then a convex
function of the free flows, and where it is least each free flow's path closes to zero pressure.
Continuity holds by construction; nothing is assumed about the order of nodes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

_RESIDUAL_PA = 1e-7
_STEPS_MAX = 80
_HALVINGS_MAX = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Elements:
    """Resistances in a row, and which free flows pass through each.

    The drop of one element is ``coeff · q · (q² + core²)^((exponent − 1)/2) − lift``: a power law
    with a laminar core below the flow `core_m3_s`; a fan is an element with a lift.

    Parameters
    ----------
    coeff
        Size of the drop [Pa/(m³/s)^exponent], shape (elements,); above zero.
    exponent
        Power of the flow, shape (elements,); above 1 up to 3.
    core_m3_s
        Flow below which the drop is proportional to the flow [m³/s], shape (elements,); above zero.
    lift_pa
        Pressure the element adds at no flow [Pa], shape (elements,).
    incidence
        Which free flow passes which element, −1, 0 or 1, shape (elements, free flows).
    """

    coeff: Vector
    exponent: Vector
    core_m3_s: Vector
    lift_pa: Vector
    incidence: Vector

    def drop_pa(self, flow_m3_s: Vector) -> Vector:
        """Pressure drop of every element [Pa] at its flow [m³/s]."""
        wide = flow_m3_s**2 + self.core_m3_s**2
        power: Vector = wide ** ((self.exponent - 1) / 2)
        return self.coeff * flow_m3_s * power - self.lift_pa

    def slope(self, flow_m3_s: Vector) -> Vector:
        """Growth of the drop with the flow [Pa/(m³/s)], above zero everywhere."""
        squared = flow_m3_s**2
        wide = squared + self.core_m3_s**2
        power: Vector = wide ** ((self.exponent - 3) / 2)
        return self.coeff * power * (self.exponent * squared + self.core_m3_s**2)

    def potential_w(self, flow_m3_s: Vector) -> float:
        """Sum of the integrals of drop over flow [W], least at the solution."""
        wide = flow_m3_s**2 + self.core_m3_s**2
        area = self.coeff / (self.exponent + 1) * wide ** ((self.exponent + 1) / 2)
        return float(np.sum(area - self.lift_pa * flow_m3_s))

    def with_coeff(self, changes: Mapping[int, float]) -> Elements:
        """The same elements, some with another size."""
        coeff = self.coeff.copy()
        for index, value in changes.items():
            coeff[index] = value
        return replace(self, coeff=coeff)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowField:
    """Flows that close every path, with what was left over.

    Parameters
    ----------
    free_m3_s
        Free flows [m³/s], shape (free flows,).
    flow_m3_s
        Flow of each element [m³/s], shape (elements,).
    drop_pa
        Drop of each element [Pa], shape (elements,).
    residual_pa
        Pressure left over along the path of each free flow [Pa]; zero within 1e-7 Pa except where
        the flow was held, there it is what the path lacks (below zero) or has too much.
    hessian
        Growth of the residuals with the free flows [Pa/(m³/s)], shape (free flows, free flows).
    """

    free_m3_s: Vector
    flow_m3_s: Vector
    drop_pa: Vector
    residual_pa: Vector
    hessian: Vector

    def response_m3_s(self, elements: Elements, index: int) -> Vector:
        """Change of each free flow per unit change of the logarithm of one element's size [m³/s].

        Parameters
        ----------
        elements
            The elements this field was solved for.
        index
            Which of them changes.
        """
        force = elements.incidence[index] * (self.drop_pa[index] + elements.lift_pa[index])
        answer: Vector = np.linalg.solve(self.hessian, -force)
        return answer


class Unsolved(RuntimeError):
    """The flows of a simulated house were not found: a fault of the simulator, never of a user."""


def solve(
    elements: Elements, *, start_m3_s: Vector, held_m3_s: Mapping[int, float] | None = None
) -> FlowField:
    """Find the free flows that close every path.

    Newton's step with the exact slope, halved until the potential falls. The potential is strictly
    convex, so there is one solution and the start only sets how many steps are needed.

    Parameters
    ----------
    elements
        The resistances.
    start_m3_s
        Where to begin [m³/s], shape (free flows,).
    held_m3_s
        Free flows by index that stay at a given value [m³/s]; what their path lacks is left in the
        residual, from which the damper that would give this flow follows without a search.

    Returns
    -------
    The flows, drops and the matrix of the last step.

    Raises
    ------
    Unsolved
        If the residual stays above 1e-7 Pa after 80 steps.

    A fan of 100 Pa against 1e6 Pa/(m³/s)²:

    >>> one = np.ones(1)
    >>> loop = Elements(coeff=1e6 * one, exponent=2 * one, core_m3_s=1e-9 * one,
    ...                 lift_pa=100 * one, incidence=np.ones((1, 1)))
    >>> float(solve(loop, start_m3_s=one).free_m3_s[0])
    0.010000
    """
    held = dict(held_m3_s or {})
    free = np.array(start_m3_s, dtype=np.float64)
    for index, value in held.items():
        free[index] = value
    loose = np.array([i for i in range(free.size) if i not in held], dtype=np.intp)
    flow = elements.incidence @ free
    residual = elements.incidence.T @ elements.drop_pa(flow)
    for _ in range(_STEPS_MAX):
        hessian = elements.incidence.T @ (elements.slope(flow)[:, None] * elements.incidence)
        if loose.size == 0 or float(np.max(np.abs(residual[loose]))) < _RESIDUAL_PA:
            return FlowField(
                free_m3_s=free,
                flow_m3_s=flow,
                drop_pa=elements.drop_pa(flow),
                residual_pa=residual,
                hessian=hessian,
            )
        step = np.zeros_like(free)
        step[loose] = np.linalg.solve(hessian[np.ix_(loose, loose)], -residual[loose])
        free, flow, residual = _descend(elements, free, step, loose)
    worst = float(np.max(np.abs(residual[loose])))
    raise Unsolved(f"flows not found in {_STEPS_MAX} steps; {worst:.3g} Pa left")


def _descend(
    elements: Elements, free: Vector, step: Vector, loose: NDArray[np.intp]
) -> tuple[Vector, Vector, Vector]:
    """One step, halved until the potential or the residual falls.

    Close to the solution the potential no longer resolves the difference in double precision; the
    residual does, so a smaller residual is enough there.
    """
    flow = elements.incidence @ free
    residual = elements.incidence.T @ elements.drop_pa(flow)
    before = elements.potential_w(flow)
    slope = float(residual[loose] @ step[loose])
    size = float(np.linalg.norm(residual[loose]))
    part = 1.0
    for _ in range(_HALVINGS_MAX):
        trial = free + part * step
        trial_flow = elements.incidence @ trial
        trial_residual = elements.incidence.T @ elements.drop_pa(trial_flow)
        if (
            float(np.linalg.norm(trial_residual[loose])) < 0.5 * size
            or elements.potential_w(trial_flow) <= before + 1e-4 * part * slope
        ):
            break
        part /= 2
    return trial, trial_flow, trial_residual
