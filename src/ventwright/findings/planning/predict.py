"""Predicted flows with their uncertainty: one solve, one adjoint sweep for each flow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ventwright.assembly import (
    HOUSE_ZONE,
    SHELL,
    Assembled,
    PieceKind,
    SideAssembly,
)
from ventwright.ducts import Closed, FanCurve, FanLaw, SteadyFlowFan
from ventwright.findings.planning.model import OperatingPoint
from ventwright.network import Solution, SolveFailure, prepare, respond, solve
from ventwright.quantities import Problem, Severity
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Component, Estimate, Influence

U_SPEED_RATIO = 0.015
"""Standard uncertainty of a fan's true speed against its setting, by judgement.
Source: planning_judgement"""
_CURVE_STEPS = 24
U_SHELL_LN_RATIO = 0.15
"""Of the leakage of the house, by judgement. Source: planning_judgement"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """Flows of one state of the house.

    Parameters
    ----------
    assembled
        What was solved.
    solution
        The solution.
    flow_m3_s
        Estimate of each terminal's and each side's flow, by name in the network [m³/s].
    """

    assembled: Assembled
    solution: Solution
    flow_m3_s: Mapping[str, Estimate]

    @property
    def house_pa(self) -> float:
        """Pressure of the house."""
        return self.solution.zone_pressure(HOUSE_ZONE)

    def point(self, side: SideAssembly, *, speed_frac: float) -> OperatingPoint:
        """Where the fan of a side works."""
        fan = fan_of(side)
        if fan is None:
            raise ValueError(f"{side.name} has no fan")
        flow = self.solution.flow(side.name)
        return _working(side, fan.at_speed(speed_frac), flow, speed_frac=speed_frac)


def fan_curve(side: SideAssembly, *, speed_frac: float) -> tuple[OperatingPoint, ...]:
    """What the fan of a side can do at the unit's ports, within the maker's points.

    Parameters
    ----------
    side
        Any side.
    speed_frac
        Speed of the fan.
    """
    fan = fan_of(side)
    if not isinstance(fan, FanCurve):
        return ()
    last = fan.points[-1].flow_m3_s * speed_frac
    at_speed = fan.at_speed(speed_frac)
    return tuple(
        _working(side, at_speed, last * i / _CURVE_STEPS, speed_frac=speed_frac)
        for i in range(_CURVE_STEPS + 1)
    )


def _working(
    side: SideAssembly, fan: FanLaw, flow_m3_s: float, *, speed_frac: float
) -> OperatingPoint:
    inside = sum(
        p.law.drop_and_slope(flow_m3_s)[0]
        for p in side.pieces_of(side.name)
        if p.kind is PieceKind.EXCHANGER
    )
    return OperatingPoint(
        flow_m3_s=flow_m3_s,
        external_pa=-fan.drop_and_slope(flow_m3_s)[0] - inside,
        speed_frac=speed_frac,
        is_beyond_curve=_is_beyond(fan, flow_m3_s),
    )


def fan_of(side: SideAssembly) -> FanLaw | None:
    """The fan law of a side, or None.

    Parameters
    ----------
    side
        Any side.
    """
    laws = (piece.law for piece in side.pieces_of(side.name))
    return next((law for law in laws if isinstance(law, FanLaw)), None)


def _is_beyond(fan: FanLaw, flow_m3_s: float) -> bool:
    curve = fan.full if isinstance(fan, SteadyFlowFan) else fan
    if not isinstance(curve, FanCurve):
        return False
    return not 0.0 <= flow_m3_s <= curve.points[-1].flow_m3_s * curve.speed_frac


def predict(
    assembled: Assembled, *, speed_fracs: Mapping[str, float] | None = None
) -> Prediction | Problem | None:
    """Solve an assembled house and propagate the doubts about its pieces.

    Parameters
    ----------
    assembled
        The house.
    speed_fracs
        Speeds by side name, where they differ from the assembled ones.

    Returns
    -------
    Prediction, Problem or None
        None where no side can be solved; a problem where the solver found no answer.
    """
    if not assembled.network.trees:
        return None
    prepared = prepare(assembled.network)
    if speed_fracs:
        names = {tree.name for tree in assembled.network.trees}
        prepared = prepared.with_speeds({n: s for n, s in speed_fracs.items() if n in names})
    solution = solve(prepared)
    if isinstance(solution, SolveFailure):
        return Problem(
            code="plan-not-solved",
            where=solution.where,
            message=solution.message,
            remedy="check the figures of the part named",
            severity=Severity.REFUSAL,
        )
    outputs = [*solution.prepared.layout.terminals, *(t.name for t in assembled.network.trees)]
    return Prediction(
        assembled=assembled,
        solution=solution,
        flow_m3_s=_estimates(assembled, solution, outputs),
    )


def _estimates(
    assembled: Assembled, solution: Solution, outputs: Sequence[str]
) -> dict[str, Estimate]:
    """Every flow with its budget.

    Each doubt acts as an extra rise somewhere in the network, and one adjoint sweep gives the
    gradient of a flow with respect to rises everywhere; so one sweep serves all doubts of a flow.
    """
    causes: dict[str, Influence] = {}
    places: dict[str, list[tuple[int, float]]] = {}
    for cause, entry, rise_pa in _rises(assembled, solution):
        causes.setdefault(cause.id, cause)
        places.setdefault(cause.id, []).append((entry, rise_pa))
    ordered = sorted(places)
    found = {}
    for name in outputs:
        gradient = respond(solution, rise_pa={name: 1.0}).flow_m3_s
        components = (
            Component(
                influence=causes[key],
                contribution=sum(gradient[entry] * rise for entry, rise in places[key]),
            )
            for key in ordered
        )
        found[name] = Estimate(
            value=solution.flow(name),
            components=tuple(c for c in components if c.contribution != 0.0),
        )
    return found


def _rises(assembled: Assembled, solution: Solution) -> Iterator[tuple[Influence, int, float]]:
    """Each doubt at each place, as the rise that one standard uncertainty amounts to [Pa]."""
    prepared = solution.prepared
    for side in assembled.sides:
        if not side.is_solvable:
            continue
        for name, pieces in side.pieces:
            entry = prepared.entry(name)
            flow = solution.flow_m3_s[entry]
            for piece in pieces:
                if isinstance(piece.law, Closed):
                    continue
                drop_pa = piece.law.drop_and_slope(flow)[0]
                for d in piece.doubts:
                    yield d.influence, entry, -drop_pa * d.u_ln_ratio
            yield from _speed_rise(name, entry, solution)
    if SHELL in prepared.layout.index:
        entry = prepared.entry(SHELL)
        cause = Influence(id="plan:shell", label="leakage of the house")
        yield cause, entry, -solution.drop_pa[entry] * U_SHELL_LN_RATIO


def _speed_rise(
    name: str, entry: int, solution: Solution
) -> Iterator[tuple[Influence, int, float]]:
    fans = [law for law in solution.prepared.parts[entry].laws if isinstance(law, FanLaw)]
    for fan in fans:
        slope = fan.speed_slope_pa(solution.flow_m3_s[entry])
        yield speed_influence(name), entry, slope * U_SPEED_RATIO * fan.speed_frac


def speed_influence(name: str) -> Influence:
    """The doubt about the true speed of one side's fan.

    Parameters
    ----------
    name
        Of the side.
    """
    return Influence(id=f"plan:speed:{name}", label=f"{name}: true speed of the fan")
