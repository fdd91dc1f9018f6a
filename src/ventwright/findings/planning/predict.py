"""Predicted flows with their uncertainty: one solve, one adjoint sweep for each flow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

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
    Prepared,
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
    pairs = [*_doubts(assembled, solution)]
    rows = sensitivities(solution, outputs=outputs, parameters=[p for p, _ in pairs])
    causes = [
        measured(0.0, u_std=d.u_ln_ratio, id=d.influence.id, label=d.influence.label)
        for _, d in pairs
    ]
    return {
        name: combine(solution.flow(name), list(zip(row, causes, strict=True)))
        for name, row in zip(outputs, rows, strict=True)
    }


def _doubts(assembled: Assembled, solution: Solution) -> list[tuple[Parameter, LossDoubt]]:
    """Every parameter with every doubt about it; a doubt's scale is put into the doubt."""
    pairs: list[tuple[Parameter, LossDoubt]] = []
    for side in assembled.sides:
        if not side.is_solvable:
            continue
        for name, pieces in side.pieces:
            for i, piece in enumerate(pieces):
                if piece.kind is PieceKind.FAN:
                    pairs += _fan_doubts(name, piece.doubts, solution.prepared, solution)
                else:
                    pairs += [(LnLoss(name=name, law_index=i), d) for d in piece.doubts]
    if SHELL in solution.prepared.layout.index:
        shell = Influence(id="plan:shell", label="leakage of the house")
        pairs.append((LnLoss(name=SHELL), LossDoubt(influence=shell, u_ln_ratio=U_SHELL_LN_RATIO)))
    return pairs


def _fan_doubts(
    name: str, doubts: Sequence[LossDoubt], prepared: Prepared, solution: Solution
) -> list[tuple[Parameter, LossDoubt]]:
    """Doubts about a fan: its rise as a share of it, and its speed."""
    entry = prepared.entry(name)
    fans = [law for law in prepared.parts[entry].laws if isinstance(law, FanLaw)]
    flow = solution.flow_m3_s[entry]
    rise = sum(-fan.drop_and_slope(flow)[0] for fan in fans)
    pairs: list[tuple[Parameter, LossDoubt]] = [
        (
            Rise(name=name),
            LossDoubt(influence=d.influence, u_ln_ratio=d.u_ln_ratio * max(rise, 0.0)),
        )
        for d in doubts
    ]
    speed = sum(fan.speed_frac for fan in fans)
    cause = Influence(id=f"plan:speed:{name}", label=f"{name}: true speed of the fan")
    pairs.append(
        (FanSpeed(name=name), LossDoubt(influence=cause, u_ln_ratio=U_SPEED_RATIO * speed))
    )
    return pairs
