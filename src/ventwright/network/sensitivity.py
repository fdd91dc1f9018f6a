"""How flows answer to parameters, from the sweep at the solution.

Near a solution every parameter acts as a small extra rise of pressure in some links. The response
of flows to such rises is one sweep; it is symmetric (a rise at A moves the flow at B as a rise at B
moves the flow at A), so the same sweep gives the adjoint: the gradient of any weighted sum of flows
with respect to rises in all links at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ventwright.ducts import FanLaw
from ventwright.network.results import Solution
from ventwright.network.sweep import linear_solve
from ventwright.quantities.problems import UserError


@dataclass(frozen=True, slots=True, kw_only=True)
class LnLoss:
    """Natural logarithm of the loss of a link, shared path or opening; fans in it excluded.

    Parameters
    ----------
    name
        Of the link, tree or opening.
    """

    name: str


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


Parameter = LnLoss | FanSpeed | Rise | ZonePressure | OtherInflow


def respond(
    solution: Solution,
    *,
    rise_pa: Mapping[str, float] | Sequence[float],
    zone_change_pa: Mapping[str, float] | None = None,
    inflow_change_m3_s: Mapping[str, float] | None = None,
) -> tuple[float, ...]:
    """Change of every flow for small extra rises, one sweep (plus one for each unknown zone).

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
    tuple of float
        Change of flow for each entry of `solution.prepared.layout.names` [m³/s].
    """
    prepared = solution.prepared
    size = len(prepared.layout.names)
    offset = [0.0] * size
    if isinstance(rise_pa, Mapping):
        for name, value in rise_pa.items():
            offset[prepared.entry(name)] -= value
    else:
        offset = [-value for value in rise_pa]
    zones = prepared.layout.zone_names
    zone_pa = [0.0] * len(zones)
    inflow = [0.0] * len(zones)
    for name, value in (zone_change_pa or {}).items():
        zone_pa[_zone(zones, name)] = value
    for name, value in (inflow_change_m3_s or {}).items():
        inflow[_zone(zones, name)] = value
    answer = linear_solve(
        prepared,
        slope=solution.slope_pa_per_m3_s,
        offset=offset,
        zone_pa=zone_pa,
        inflow_m3_s=inflow,
        beyond=0.0,
    )
    return tuple(answer.flow_m3_s)


def _zone(zones: tuple[str, ...], name: str) -> int:
    if name not in zones:
        msg = f"no zone is called '{name}'; there are: {', '.join(zones)}"
        raise UserError(msg)
    return zones.index(name)


def rise_of(solution: Solution, parameter: Parameter) -> tuple[int, float] | None:
    """Entry and extra rise [Pa] that one unit of a parameter amounts to; None for zones.

    Parameters
    ----------
    solution
        Where the tangent is drawn.
    parameter
        What changes.
    """
    prepared = solution.prepared
    if isinstance(parameter, ZonePressure | OtherInflow):
        return None
    i = prepared.entry(parameter.name)
    if isinstance(parameter, Rise):
        return i, 1.0
    flow = solution.flow_m3_s[i]
    fans = [law for law in prepared.parts[i].laws if isinstance(law, FanLaw)]
    if isinstance(parameter, FanSpeed):
        return i, sum(fan.speed_slope_pa(flow) for fan in fans)
    lift = prepared.parts[i].fans.drop_and_slope(flow)[0] if fans else 0.0
    return i, lift - solution.drop_pa[i]


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
    """
    entries = [solution.prepared.entry(name) for name in outputs]
    rises = [rise_of(solution, parameter) for parameter in parameters]
    if len(parameters) <= len(outputs) or None in rises:
        columns = [
            _column(solution, parameter, rise)
            for parameter, rise in zip(parameters, rises, strict=True)
        ]
        return tuple(tuple(column[i] for column in columns) for i in entries)
    rows = []
    for name in outputs:
        gradient = respond(solution, rise_pa={name: 1.0})
        rows.append(tuple(gradient[rise[0]] * rise[1] for rise in rises if rise is not None))
    return tuple(rows)


def _column(
    solution: Solution, parameter: Parameter, rise: tuple[int, float] | None
) -> tuple[float, ...]:
    if rise is not None:
        weights = [0.0] * len(solution.prepared.layout.names)
        weights[rise[0]] = rise[1]
        return respond(solution, rise_pa=weights)
    if isinstance(parameter, ZonePressure):
        return respond(solution, rise_pa={}, zone_change_pa={parameter.name: 1.0})
    return respond(solution, rise_pa={}, inflow_change_m3_s={parameter.name: 1.0})
