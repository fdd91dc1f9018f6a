"""The solver: Newton's method on the flows, one sweep a step, damped where a step overshoots.

Every law's drop rises with its flow, so the flows sought are the minimum of a convex energy (the
sum of each law's integral). A Newton step is a descent of that energy; the slope of the energy
along the step is the sum of residual times step over all links, known without a further law being
read. Where it shows an overshoot the step is cut back, which makes the method safe from any start.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isfinite

from ventwright.network.model import Network
from ventwright.network.prepared import Prepared, prepare
from ventwright.network.results import FailureCause, Solution, SolveFailure
from ventwright.network.tangent import LinearAnswer, Tangent, node_pressures
from ventwright.quantities.problems import UserError

FLOW_TOLERANCE_M3_S = 1e-11
"""The step still to come must be below this at every link."""
TINY = 1e-300
"""Keeps 0/0 away from links without resistance, whose residual is zero."""
STALLED_RATIO = 0.25
"""A gap that falls less than this in a step has met rounding."""
SETTLED_PA = 1e-9
"""A residual that no longer falls is accepted below this."""
LEAST_START_M3_S = 1e-5
"""Tangents are never drawn nearer to zero flow than this at the start: a quadratic law is all but
flat there, and the first step would land far out."""
OVERSHOOT_RATIO = 0.5
"""A step is cut back if the energy rises at its end more than this share of its first fall."""
STRICT_AFTER = 25
"""From this step on it is cut back if the energy rises at its end at all."""

Start = Solution | Mapping[str, float] | Sequence[float]


def evaluate(prepared: Prepared, flow: Sequence[float]) -> tuple[list[float], list[float]]:
    """Drop [Pa] and slope [Pa·s/m³] of every entry at given flows [m³/s]."""
    rows = zip(
        prepared.constant_pa,
        prepared.linear_pa_per_m3_s,
        prepared.quadratic_pa_per_m6_s2,
        flow,
        strict=True,
    )
    drop = []
    slope = []
    for c, b, a, q in rows:
        steep = a * q if q >= 0.0 else -a * q
        drop.append(c + (steep + b) * q)
        slope.append(steep + steep + b)
    for i, function, ratio in prepared.curves:
        more, more_slope = function(flow[i])
        drop[i] += ratio * more
        slope[i] += ratio * more_slope
    return drop, slope


def solve(
    network: Network | Prepared,
    *,
    start: Start | None = None,
    max_iterations: int = 100,
) -> Solution | SolveFailure:
    """Find the flows and pressures of a network.

    Parameters
    ----------
    network
        As data, or prepared (saves the checks and the layout when solving again and again).
    start
        Where to begin: a former solution, flows by name (any subset, the rest from design flows),
        or one flow for each entry [m³/s]. The answer does not depend on it.
    max_iterations
        Sweeps allowed, at least 1; houses take 4 to 10.

    Returns
    -------
    Solution or SolveFailure
        Never a half answer: on failure the cause, the place and the worst residual are named.

    Raises
    ------
    UserError
        The start names an unknown link or holds a number that is not finite.

    >>> from ventwright.ducts import FlowFactorOpening, ParabolicFan
    >>> from ventwright.network import Link, LinkRole, Network, Tree, Zone
    >>> from ventwright.quantities.words import Side
    >>> study = Link(name="study", parent="supply", laws=(FlowFactorOpening(flow_factor=2e-3),),
    ...              zone="house", role=LinkRole.TERMINAL)
    >>> fan = ParabolicFan(shut_off_pa=100.0, free_flow_m3_s=0.03)
    >>> supply = Tree(name="supply", side=Side.SUPPLY, shared=(fan,), links=(study,),
    ...               outdoor_zone="outdoors")
    >>> network = Network(trees=(supply,), zones=(Zone(name="outdoors"), Zone(name="house")))
    >>> round(solve(network).flow("study"), 4)
    0.0166
    """
    if isinstance(network, Network):
        try:
            network = prepare(network)
        except UserError as refusal:
            return SolveFailure(
                cause=FailureCause.CHECKS,
                where=refusal.problems[0].where,
                message=str(refusal),
                problems=refusal.problems,
            )
    if network.order.stranded:
        zone = network.layout.zone_names[network.order.stranded[0]]
        return SolveFailure(
            cause=FailureCause.ZONE_WITHOUT_PATH,
            where=zone,
            message=f"no open path joins '{zone}' to a place of known pressure: its own pressure "
            "can't be found",
        )
    return _newton(network, _first(network, start), max_iterations)


def _first(prepared: Prepared, start: Start | None) -> list[float]:
    """Starting flows; finite, and not so near zero that tangents are useless."""
    layout = prepared.layout
    if isinstance(start, Solution) and start.prepared.layout.names == layout.names:
        # A link that was shut in that solution may be open now: its flow of nothing is no start.
        return [q if q != 0.0 else LEAST_START_M3_S for q in start.flow_m3_s]
    flow = list(layout.start_m3_s)
    if isinstance(start, Solution):
        known = zip(start.prepared.layout.names, start.flow_m3_s, strict=True)
        start = {name: value for name, value in known if name in layout.index}
    if isinstance(start, Mapping):
        flow = _completed(prepared, start)
    elif start is not None:
        flow = list(start)
    if len(flow) != len(layout.names) or not all(map(isfinite, flow)):
        msg = f"a start needs {len(layout.names)} finite flows, in m³/s"
        raise UserError(msg)
    least = LEAST_START_M3_S
    return [q if abs(q) > least else (-least if q < 0.0 else least) for q in flow]


def _completed(prepared: Prepared, start: Mapping[str, float]) -> list[float]:
    """Named flows, starting flows of other ends, and ducts that carry what hangs on them."""
    layout = prepared.layout
    flow = list(layout.start_m3_s)
    named = {prepared.entry(name): value for name, value in start.items()}
    for i, zone in enumerate(layout.zone):
        if zone < 0:
            flow[i] = 0.0
    for i, value in named.items():
        flow[i] = value
    for i in range(len(layout.parent) - 1, -1, -1):
        parent = layout.parent[i]
        if parent < len(layout.parent) and parent not in named:
            flow[parent] += flow[i]
    return flow


def _newton(prepared: Prepared, flow: list[float], max_iterations: int) -> Solution | SolveFailure:
    drop, slope = evaluate(prepared, flow)
    last_size = float("inf")
    for iteration in range(1, max_iterations + 1):
        offset, answer = _tangent(prepared, drop, slope, flow)
        new = answer.flow_m3_s
        if not isfinite(sum(new)):
            return _not_finite(prepared, (drop, slope, new), iteration)
        new_drop, new_slope = evaluate(prepared, new)
        size, along, scale = _gap(new_drop, new_slope, offset, slope, new, flow)
        if not isfinite(size):
            return _not_finite(prepared, (new_drop, new_slope), iteration)
        if size <= FLOW_TOLERANCE_M3_S**2 * min(new_slope) or (
            size >= STALLED_RATIO * last_size and size <= SETTLED_PA**2 / max(new_slope)
        ):
            gaps = _residuals(new_drop, offset, slope, new)
            return _solution(prepared, answer, new_drop, new_slope, iteration, max(gaps))
        limit = OVERSHOOT_RATIO if iteration < STRICT_AFTER else 0.0
        if iteration > 1 and along > limit * scale:
            new = _cut_back(prepared, flow, new, offset, slope, along, scale)
            new_drop, new_slope = evaluate(prepared, new)
        flow, drop, slope = new, new_drop, new_slope
        last_size = size
    offset, answer = _tangent(prepared, drop, slope, flow)
    gaps = _residuals(drop, offset, slope, answer.flow_m3_s)
    worst = max(gaps)
    where = prepared.layout.names[gaps.index(worst)]
    return SolveFailure(
        cause=FailureCause.TOO_MANY_STEPS,
        where=where,
        message=f"after {max_iterations} steps the drop over '{where}' is still {worst:.3g} Pa "
        "away from the pressures at its ends",
        residual_pa=worst,
        iterations=max_iterations,
    )


def _tangent(
    prepared: Prepared, drop: list[float], slope: list[float], flow: list[float]
) -> tuple[list[float], LinearAnswer]:
    """Draw every law's tangent and solve the system of tangents."""
    offset = [h - s * q for h, s, q in zip(drop, slope, flow, strict=True)]
    return offset, Tangent(prepared, slope).solve(
        offset=offset,
        zone_pa=prepared.zone_pressure_pa,
        inflow_m3_s=prepared.other_inflow_m3_s,
    )


def _gap(
    drop: list[float],
    new_slope: list[float],
    offset: list[float],
    slope: list[float],
    new: list[float],
    flow: list[float],
) -> tuple[float, float, float]:
    """How far the new flows are from the laws.

    Returns the sum of residual²/slope, which bounds slope·(next step)² at every link, and the
    slope of the energy at the end and (turned) at the beginning of the step.
    """
    size = along = scale = 0.0
    for h, h_slope, o, s, q, q_old in zip(drop, new_slope, offset, slope, new, flow, strict=True):
        residual = h - o - s * q
        step = q - q_old
        size += residual * residual / (h_slope + TINY)
        along += residual * step
        scale += s * step * step
    return size, along, scale


def _cut_back(
    prepared: Prepared,
    flow: list[float],
    new: list[float],
    offset: list[float],
    slope: list[float],
    along: float,
    scale: float,
) -> list[float]:
    """Go only so far along the step that the energy no longer rises at its end."""
    step = [q - q_old for q, q_old in zip(new, flow, strict=True)]
    goal = [o + s * q for o, s, q in zip(offset, slope, new, strict=True)]
    low, high = 0.0, 1.0
    at_low, at_high = -scale, along
    part = list(new)
    for _ in range(60):
        share = at_low / (at_low - at_high)
        t = low + min(max(share, 0.1), 0.9) * (high - low)
        part = [q + t * d for q, d in zip(flow, step, strict=True)]
        drop, _ = evaluate(prepared, part)
        at = sum((h - g) * d for h, g, d in zip(drop, goal, step, strict=True))
        if abs(at) <= 0.5 * scale and at <= 0.1 * scale:
            break
        if at > 0.0:
            high, at_high = t, at
        else:
            low, at_low = t, at
    return part


def _residuals(
    drop: list[float], offset: list[float], slope: list[float], flow: list[float]
) -> list[float]:
    rows = zip(drop, offset, slope, flow, strict=True)
    return [abs(h - o - s * q) for h, o, s, q in rows]


def _not_finite(prepared: Prepared, rows: tuple[list[float], ...], iteration: int) -> SolveFailure:
    """Name the first entry, in the first row that has one, whose value is no finite number."""
    bad = (i for row in rows for i, value in enumerate(row) if not isfinite(value))
    where = prepared.layout.names[next(bad, 0)]
    return SolveFailure(
        cause=FailureCause.NOT_FINITE,
        where=where,
        message=f"the flow or drop of '{where}' is no finite number: some law's figures are too "
        "large or too small for a duct",
        iterations=iteration,
    )


def _solution(
    prepared: Prepared,
    answer: LinearAnswer,
    drop: list[float],
    slope: list[float],
    iteration: int,
    residual_pa: float,
) -> Solution:
    pressures = node_pressures(prepared, answer)
    return Solution(
        prepared=prepared,
        flow_m3_s=tuple(answer.flow_m3_s),
        drop_pa=tuple(drop),
        slope_pa_per_m3_s=tuple(slope),
        node_pressure_pa=pressures,
        zone_pressure_pa=tuple(answer.zone_pa),
        iterations=iteration,
        residual_pa=residual_pa,
    )
