"""Predicted flows with their uncertainty: one solve, one adjoint sweep for each flow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ventwright.assembly import (
    HOUSE_ZONE,
    SHELL,
    Assembled,
    LossDoubt,
    PieceKind,
    SideAssembly,
)
from ventwright.ducts import FanCurve, FanLaw, SteadyFlowFan
from ventwright.findings.planning.model import OperatingPoint
from ventwright.network import (
    FanSpeed,
    LnLoss,
    Parameter,
    Rise,
    Solution,
    SolveFailure,
    prepare,
    sensitivities,
    solve,
)
from ventwright.quantities import Problem, Severity
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, Influence, combine, measured

U_SPEED_RATIO = 0.015
"""Standard uncertainty of a fan's true speed against its setting, by judgement.
Source: planning_judgement"""
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
        flow = self.solution.flow(side.name)
        fan = fan_of(side)
        if fan is None:
            raise ValueError(f"{side.name} has no fan")
        fan = fan.at_speed(speed_frac)
        inside = sum(
            p.law.drop_and_slope(flow)[0]
            for p in side.pieces_of(side.name)
            if p.kind is PieceKind.EXCHANGER
        )
        return OperatingPoint(
            flow_m3_s=flow,
            external_pa=-fan.drop_and_slope(flow)[0] - inside,
            speed_frac=speed_frac,
            is_beyond_curve=_is_beyond(fan, flow),
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
    doubts = [*_doubts(assembled, solution)]
    rows = sensitivities(solution, outputs=outputs, parameters=[d.parameter for d in doubts])
    causes = [measured(0.0, u_std=d.u_std, id=d.cause.id, label=d.cause.label) for d in doubts]
    return {
        name: combine(solution.flow(name), list(zip(row, causes, strict=True)))
        for name, row in zip(outputs, rows, strict=True)
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Doubt:
    """A parameter of the network, a cause of doubt, and its standard uncertainty."""

    parameter: Parameter
    cause: Influence
    u_std: float


def _doubts(assembled: Assembled, solution: Solution) -> Iterator[_Doubt]:
    for side in assembled.sides:
        if not side.is_solvable:
            continue
        for name, pieces in side.pieces:
            for i, piece in enumerate(pieces):
                if piece.kind is PieceKind.FAN:
                    yield from _fan_doubts(name, piece.doubts, solution)
                    continue
                for d in piece.doubts:
                    parameter = LnLoss(name=name, law_index=i)
                    yield _Doubt(parameter=parameter, cause=d.influence, u_std=d.u_ln_ratio)
    if SHELL in solution.prepared.layout.index:
        yield _Doubt(
            parameter=LnLoss(name=SHELL),
            cause=Influence(id="plan:shell", label="leakage of the house"),
            u_std=U_SHELL_LN_RATIO,
        )


def _fan_doubts(name: str, doubts: Sequence[LossDoubt], solution: Solution) -> Iterator[_Doubt]:
    """Doubts about a fan: its rise as a share of it, and its speed."""
    entry = solution.prepared.entry(name)
    fans = [law for law in solution.prepared.parts[entry].laws if isinstance(law, FanLaw)]
    flow = solution.flow_m3_s[entry]
    rise = max(sum(-fan.drop_and_slope(flow)[0] for fan in fans), 0.0)
    for d in doubts:
        yield _Doubt(parameter=Rise(name=name), cause=d.influence, u_std=d.u_ln_ratio * rise)
    yield _Doubt(
        parameter=FanSpeed(name=name),
        cause=speed_influence(name),
        u_std=U_SPEED_RATIO * sum(fan.speed_frac for fan in fans),
    )


def speed_influence(name: str) -> Influence:
    """The doubt about the true speed of one side's fan.

    Parameters
    ----------
    name
        Of the side.
    """
    return Influence(id=f"plan:speed:{name}", label=f"{name}: true speed of the fan")
