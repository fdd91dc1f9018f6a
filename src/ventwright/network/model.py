"""The network as data: trees of links, the zones they open into, nothing computed.

Each side of a ventilation unit is a tree. Its root is the node behind the shared path (outdoor leg,
filter, exchanger, fan); every other node is the far end of one link and bears that link's name.
Flow is positive in the direction of design flow: from the fan to the rooms on the supply side, from
the rooms to the fan on the extract side. A reversed flow is a negative number, not a mistake.
"""

from __future__ import annotations

from enum import StrEnum

from ventwright.ducts import Law, PowerLaw
from ventwright.quantities.problems import UserError
from ventwright.quantities.records import dataclass
from ventwright.quantities.words import Side


class LinkRole(StrEnum):
    """What a link stands for; only reports and outputs differ, the physics is the same."""

    DUCT = "duct"
    """Leads to further links."""
    TERMINAL = "terminal"
    """Opens into a room."""
    LEAK = "leak"
    """Duct leakage from its parent node into the space around the duct."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One run of parts in series between a node and the next one away from the fan.

    Parameters
    ----------
    name
        Unique in the network; also the name of the node at the link's end away from the fan.
    parent
        Name of the link (or tree) at whose node this one starts, seen from the fan.
    laws
        The parts in series, any order.
    zone
        For a terminal or leak the zone it opens into; None for a duct.
    role
        Duct, terminal or leak.
    design_flow_m3_s
        Where known, a starting value for the solver [m³/s]; the answer does not depend on it.
    """

    name: str
    parent: str
    laws: tuple[Law, ...]
    zone: str | None = None
    role: LinkRole = LinkRole.DUCT
    design_flow_m3_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tree:
    """One side of one ventilation unit.

    Parameters
    ----------
    name
        Unique in the network; names the shared path and the node behind it.
    side
        Supply or extract.
    shared
        Laws of the shared path: outdoor leg, filters, exchanger, fan, trunk to the first node.
    links
        All links, in any order.
    outdoor_zone
        Zone where the shared path opens to the outside.
    """

    name: str
    side: Side
    shared: tuple[Law, ...]
    links: tuple[Link, ...]
    outdoor_zone: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A path for air between a zone and a place of known pressure: a crack law, a vent, a door.

    Parameters
    ----------
    name
        Unique in the network.
    law
        Drop for flow from the zone outwards.
    outside_pressure_pa
        Pressure beyond the opening (wind, stack) [Pa].
    """

    name: str
    law: Law
    outside_pressure_pa: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """A space with one pressure: outdoors, the house, a crawl space.

    Without openings the pressure is the given one. With openings it is an unknown, found so that
    what trees and other fans bring in leaves through the openings; `pressure_pa` is then unused.

    Parameters
    ----------
    name
        Unique in the network.
    pressure_pa
        Known pressure against the common reference [Pa].
    openings
        Paths to places of known pressure.
    other_inflow_m3_s
        Net flow other fans bring in (negative: a cooker hood takes out) [m³/s].
    """

    name: str
    pressure_pa: float = 0.0
    openings: tuple[Opening, ...] = ()
    other_inflow_m3_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """All trees of a house and the zones that couple them; two units share a zone.

    Parameters
    ----------
    trees
        One for each side of each ventilation unit.
    zones
        Every zone that a tree, terminal or leak names.
    """

    trees: tuple[Tree, ...]
    zones: tuple[Zone, ...]


def pressure_law(*, name: str, flow_m3_s: float, at_pressure_pa: float, exponent: float) -> Opening:
    """Opening of a whole shell from its leakage law: flow ~ pressure^exponent through one point.

    Parameters
    ----------
    name
        Name of the opening.
    flow_m3_s
        Leakage flow, above 0 [m³/s].
    at_pressure_pa
        Pressure difference it belongs to, above 0 [Pa].
    exponent
        Of pressure, 0.5 to 1; 0.65 for a house shell.

    Returns
    -------
    Opening
        Towards outdoors at 0 Pa.

    Raises
    ------
    UserError
        The exponent lies outside 0.5 to 1.

    >>> opening = pressure_law(name="shell", flow_m3_s=0.1, at_pressure_pa=50.0, exponent=0.65)
    >>> round(opening.law.drop_and_slope(0.1)[0], 2)
    50.0
    """
    if not 0.5 <= exponent <= 1.0:
        msg = f"exponent of '{name}' is {exponent:g}: 0.5 to 1 is accepted"
        raise UserError(msg)
    law = PowerLaw(drop_pa=at_pressure_pa, flow_m3_s=flow_m3_s, exponent=1.0 / exponent)
    return Opening(name=name, law=law)
