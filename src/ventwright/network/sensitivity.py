"""How flows answer to parameters, from the sweep at the solution.

Near a solution every parameter acts as a small extra rise of pressure in some links. The response
of flows to such rises is one sweep; it is symmetric (a rise at A moves the flow at B as a rise at B
moves the flow at A), so the same sweep gives the adjoint: the gradient of any weighted sum of flows
with respect to rises in all links at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ventwright.ducts import FanLaw
from ventwright.network.prepared import Prepared
from ventwright.network.results import Solution
from ventwright.network.tangent import LinearAnswer, Tangent, node_pressures
from ventwright.quantities.records import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class LnLoss:
    """Natural logarithm of the loss of a link, shared path or opening; fans in it excluded.

    Parameters
    ----------
    name
        Of the link, tree or opening.
    law_index
        Place of one law in the link's laws, to vary that one alone; None varies all.
    """

    name: str
    law_index: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FanSpeed:
    """`speed_frac` of the fans in a shared path or link.

    Parameters
    ----------
    name
        Of the tree or link.
    """

    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rise:
    """An extra rise of pressure in a link, in the direction of its design flow [Pa].

    Parameters
    ----------
    name
        Of the link, tree or opening.
    """

    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ZonePressure:
    """Pressure of a zone of known pressure [Pa].

    Parameters
    ----------
    name
        Of the zone.
    """

    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherInflow:
    """Net flow of other fans into a zone of unknown pressure [m³/s].

    Parameters
    ----------
    name
        Of the zone.
    """

    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """First-order changes of a solution.

    Parameters
    ----------
    flow_m3_s
        Of each entry of `prepared.layout.names` [m³/s].
    node_pressure_pa
        At each link's end away from the fan [Pa]; None where the solution has none.
    zone_pressure_pa
        Of each zone [Pa].
    """

    flow_m3_s: tuple[float, ...]
    node_pressure_pa: tuple[float | None, ...]
    zone_pressure_pa: tuple[float, ...]


Parameter = LnLoss | FanSpeed | Rise | ZonePressure | OtherInflow


def respond(
    solution: Solution,
    *,
    rise_pa: Mapping[str, float] | Sequence[float],
    zone_change_pa: Mapping[str, float] | None = None,
    inflow_change_m3_s: Mapping[str, float] | None = None,
) -> Response:
    """Change of flows and pressures for small extra rises, one sweep (and one each unknown zone).

    Parameters
    ----------
    solution
        Where the tangent is drawn.
    rise_pa
        Extra rise by name, or one for each entry [Pa]. As an adjoint: weights on flows go in and
        the gradient with respect to rises comes out.
    zone_change_pa
        Change of known zone pressures by name [Pa].
    inflow_change_m3_s
        Change of other fans' flow into zones of unknown pressure by name [m³/s].

    Returns
    -------
    Response
        First-order changes.

    >>> from ventwright.ducts import FlowFactorOpening, ParabolicFan
    >>> from ventwright.network import Link, LinkRole, Network, Tree, Zone
    >>> from ventwright.quantities.words import Side
    >>> study = Link(name="study", parent="supply", laws=(FlowFactorOpening(flow_factor=2e-3),),
    ...              zone="house", role=LinkRole.TERMINAL)
    >>> fan = ParabolicFan(shut_off_pa=100.0, free_flow_m3_s=0.03)
    >>> supply = Tree(name="supply", side=Side.SUPPLY, shared=(fan,), links=(study,),
    ...               outdoor_zone="outdoors")
    >>> network = Network(trees=(supply,), zones=(Zone(name="outdoors"), Zone(name="house")))
    >>> from ventwright.network import solve
    >>> response = respond(solve(network), rise_pa={"supply": 1.0})
    >>> [round(change, 6) for change in response.flow_m3_s]
    [8.3e-05, 8.3e-05]
    """
    prepared = solution.prepared
    if isinstance(rise_pa, Mapping):
        rises = {prepared.entry(name): value for name, value in rise_pa.items()}
    else:
        rises = dict(enumerate(rise_pa))
    place = prepared.layout.zone_place
    known, sought = zone_change_pa or {}, inflow_change_m3_s or {}
    push = _Push(
        rises=rises,
        zones={place(name, is_sought=False): value for name, value in known.items()},
        inflows={place(name, is_sought=True): value for name, value in sought.items()},
    )
    answer = _forward(prepared, _tangent(solution), push)
    return Response(
        flow_m3_s=tuple(answer.flow_m3_s),
        node_pressure_pa=node_pressures(prepared, answer),
        zone_pressure_pa=tuple(answer.zone_pa),
    )


def sensitivities(
    solution: Solution, *, outputs: Sequence[str], parameters: Sequence[Parameter]
) -> tuple[tuple[float, ...], ...]:
    """Derivative of some flows with respect to some parameters.

    Parameters
    ----------
    solution
        Where the derivatives are taken.
    outputs
        Names of links, trees or openings whose flow is meant.
    parameters
        What changes. Whichever is fewer, outputs or parameters, decides the number of sweeps.

    Returns
    -------
    tuple of tuple of float
        A row for each output, a column for each parameter [m³/s per unit of the parameter].

    Raises
    ------
    UserError
        A name is unknown, or a zone of the other kind.

    >>> from ventwright.ducts import FlowFactorOpening, ParabolicFan
    >>> from ventwright.network import Link, LinkRole, Network, Tree, Zone
    >>> from ventwright.quantities.words import Side
    >>> study = Link(name="study", parent="supply", laws=(FlowFactorOpening(flow_factor=2e-3),),
    ...              zone="house", role=LinkRole.TERMINAL)
    >>> fan = ParabolicFan(shut_off_pa=100.0, free_flow_m3_s=0.03)
    >>> supply = Tree(name="supply", side=Side.SUPPLY, shared=(fan,), links=(study,),
    ...               outdoor_zone="outdoors")
    >>> network = Network(trees=(supply,), zones=(Zone(name="outdoors"), Zone(name="house")))
    >>> from ventwright.network import LnLoss, solve
    >>> rows = sensitivities(solve(network), outputs=["study"], parameters=[LnLoss(name="study")])
    >>> round(rows[0][0], 5)
    -0.00576
    """
    prepared = solution.prepared
    entries = [prepared.entry(name) for name in outputs]
    pushes = [_push(solution, parameter) for parameter in parameters]
    tangent = _tangent(solution)
    if len(pushes) <= len(entries):
        columns = [_forward(prepared, tangent, push).flow_m3_s for push in pushes]
        return tuple(tuple(column[i] for column in columns) for i in entries)
    rows = []
    for i in entries:
        adjoint = _forward(prepared, tangent, _Push(rises={i: 1.0}))
        by_zone = _gradient_by_zone(prepared, adjoint.flow_m3_s)
        rows.append(tuple(_collected(push, adjoint, by_zone) for push in pushes))
    return tuple(rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Push:
    """What a parameter does to the tangent system, by entry and by zone."""

    rises: Mapping[int, float] = field(default_factory=dict)
    zones: Mapping[int, float] = field(default_factory=dict)
    inflows: Mapping[int, float] = field(default_factory=dict)


def _push(solution: Solution, parameter: Parameter) -> _Push:
    """Extra rises and changes that one unit of a parameter amounts to."""
    prepared = solution.prepared
    if isinstance(parameter, ZonePressure | OtherInflow):
        is_sought = isinstance(parameter, OtherInflow)
        zone = prepared.layout.zone_place(parameter.name, is_sought=is_sought)
        return _Push(inflows={zone: 1.0}) if is_sought else _Push(zones={zone: 1.0})
    i = prepared.entry(parameter.name)
    if isinstance(parameter, Rise):
        return _Push(rises={i: 1.0})
    flow = solution.flow_m3_s[i]
    parts = prepared.parts[i]
    if isinstance(parameter, FanSpeed):
        fans = [law for law in parts.laws if isinstance(law, FanLaw)]
        return _Push(rises={i: sum(fan.speed_slope_pa(flow) for fan in fans)})
    if parts.passive.is_closed:
        return _Push()
    if parameter.law_index is None:
        drop_pa = solution.drop_pa[i]
        if any(isinstance(law, FanLaw) for law in parts.laws):
            drop_pa -= parts.fans.drop_and_slope(flow)[0]
    else:
        law = parts.laws[parameter.law_index]
        drop_pa = prepared.loss_ratio[i] * law.drop_and_slope(flow)[0]
    return _Push(rises={i: -drop_pa})


def _tangent(solution: Solution) -> Tangent:
    return Tangent(solution.prepared, solution.slope_pa_per_m3_s)


def _forward(prepared: Prepared, tangent: Tangent, push: _Push) -> LinearAnswer:
    offset = [0.0] * len(prepared.layout.names)
    for i, rise in push.rises.items():
        offset[i] = -rise
    zones = [0.0] * len(prepared.layout.zone_names)
    inflows = list(zones)
    for zone, change in push.zones.items():
        zones[zone] = change
    for zone, change in push.inflows.items():
        inflows[zone] = change
    return tangent.solve(offset=offset, zone_pa=zones, inflow_m3_s=inflows, beyond=0.0)


def _gradient_by_zone(prepared: Prepared, gradient: Sequence[float]) -> list[float]:
    """Gradient with respect to known zone pressures, from that with respect to rises.

    A pressure in a zone stands against what flows in and behind what flows out.
    """
    layout = prepared.layout
    by_zone = [0.0] * len(layout.zone_names)
    for i, _, zone in prepared.order.leaves:
        by_zone[zone] -= layout.sign[i] * gradient[i]
    for (_, zone, turn), root in zip(layout.outer, layout.roots, strict=True):
        by_zone[zone] += turn * gradient[root]
    return by_zone


def _collected(push: _Push, adjoint: LinearAnswer, by_zone: list[float]) -> float:
    """Derivative along a push; a zone's pressure in the adjoint is the gradient by its inflow."""
    total = sum(rise * adjoint.flow_m3_s[i] for i, rise in push.rises.items())
    total += sum(change * by_zone[zone] for zone, change in push.zones.items())
    return total - sum(change * adjoint.zone_pa[zone] for zone, change in push.inflows.items())
