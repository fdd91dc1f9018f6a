"""Whether the unit reaches the design, and at which speed."""

from __future__ import annotations

from ventwright.assembly import Piece, PieceKind
from ventwright.ducts import FanLaw, SteadyFlowFan
from ventwright.findings.planning.paths import Paths
from ventwright.findings.planning.predict import U_SPEED_RATIO, fan_of, speed_influence
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, Verdict, combine, decide, difference, measured

MOST_SPEED_FRAC = 2.0
"""Speeds are sought up to twice full speed, so that a shortfall is a number."""
LEAST_SPEED_FRAC = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """Needed against available.

    Parameters
    ----------
    available_pa
        Rise at the unit's ports at full speed and design flow [Pa].
    verdict
        Whether that is shown to be enough.
    speed_frac
        Speed that just carries the design; None for a constant-flow fan, or beyond twice full.
    """

    available_pa: Estimate
    verdict: Verdict
    speed_frac: Estimate | None


def reach_of(paths: Paths, *, flow_m3_s: float) -> Reach | None:
    """Compare what the design needs with what the fan gives; None without a fan law.

    Parameters
    ----------
    paths
        Losses at design flows with everything open.
    flow_m3_s
        Design total of the side [m³/s].
    """
    fan = fan_of(paths.side)
    if fan is None:
        return None
    full: FanLaw = fan.full if isinstance(fan, SteadyFlowFan) else fan
    full = full.at_speed(1.0)
    shared = paths.losses[paths.side.name]
    inside = sum(loss.drop_pa for loss in shared if loss.piece.kind is PieceKind.EXCHANGER)
    rise = _rise(full, flow_m3_s)
    piece = next(p for p in paths.side.pieces_of(paths.side.name) if p.kind is PieceKind.FAN)
    available = combine(rise - inside, _curve_terms(piece, rise))
    margin = difference(available, paths.external_rise_pa())
    speed = None
    if not isinstance(fan, SteadyFlowFan):
        speed = _speed(full, piece, paths, flow_m3_s)
    return Reach(available_pa=available, verdict=decide(margin, low=0.0).verdict, speed_frac=speed)


def _rise(fan: FanLaw, flow_m3_s: float) -> float:
    return -fan.drop_and_slope(flow_m3_s)[0]


def _curve_terms(piece: Piece, rise_pa: float) -> list[tuple[float, Estimate]]:
    return [
        (
            rise_pa,
            measured(0.0, u_std=d.u_ln_ratio, id=d.influence.id, label=d.influence.label),
        )
        for d in piece.doubts
    ]


def _speed(fan: FanLaw, piece: Piece, paths: Paths, flow_m3_s: float) -> Estimate | None:
    """Speed by halving, and its doubts: those of the need, of the curve, of the speed itself."""
    needed = paths.fan_rise_pa()
    low, high = LEAST_SPEED_FRAC, MOST_SPEED_FRAC
    if _rise(fan.at_speed(high), flow_m3_s) < needed.value:
        return None
    for _ in range(50):
        middle = 0.5 * (low + high)
        if _rise(fan.at_speed(middle), flow_m3_s) < needed.value:
            low = middle
        else:
            high = middle
    at = fan.at_speed(high)
    slope = at.speed_slope_pa(flow_m3_s)
    if slope <= 0.0:
        return None
    cause = speed_influence(paths.side.name)
    terms = [(1.0 / slope, needed)]
    terms += [(-c / slope, e) for c, e in _curve_terms(piece, _rise(at, flow_m3_s))]
    terms.append((1.0, measured(0.0, u_std=U_SPEED_RATIO * high, id=cause.id, label=cause.label)))
    return combine(high, terms)
