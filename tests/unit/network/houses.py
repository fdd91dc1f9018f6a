"""A small invented house for the tests of this folder."""

from __future__ import annotations

from dataclasses import replace

from ventwright.ducts import (
    ExchangerCore,
    FanCurve,
    FanPoint,
    Filter,
    FlowFactorOpening,
    Law,
    RoundDuct,
    TightnessClass,
    duct_leakage,
)
from ventwright.network import Link, LinkRole, Network, Tree, Zone, pressure_law
from ventwright.quantities.words import Side

FAN = FanCurve(
    points=(
        FanPoint(flow_m3_s=0.0, rise_pa=300.0),
        FanPoint(flow_m3_s=0.05, rise_pa=220.0),
        FanPoint(flow_m3_s=0.1, rise_pa=0.0),
    )
)


def terminal(name: str, parent: str, *, flow_factor: float, zone: str = "house") -> Link:
    laws = (RoundDuct(length_m=4.0, diameter_m=0.1), FlowFactorOpening(flow_factor=flow_factor))
    return Link(name=name, parent=parent, laws=laws, zone=zone, role=LinkRole.TERMINAL)


def tree(name: str, side: Side) -> Tree:
    shared: tuple[Law, ...] = (
        FAN,
        Filter(clean_drop_pa=20.0, rated_flow_m3_s=0.05),
        ExchangerCore(rated_drop_pa=60.0, rated_flow_m3_s=0.05),
        RoundDuct(length_m=5.0, diameter_m=0.16),
    )
    branch = Link(
        name=f"{name}-branch", parent=name, laws=(RoundDuct(length_m=3.0, diameter_m=0.125),)
    )
    leak = Link(
        name=f"{name}-leak",
        parent=branch.name,
        laws=(duct_leakage(surface_m2=3.0, tightness=TightnessClass.ATC_4),),
        zone="loft",
        role=LinkRole.LEAK,
    )
    ends = (
        terminal(f"{name}-a", branch.name, flow_factor=2.0e-3),
        terminal(f"{name}-b", branch.name, flow_factor=1.5e-3),
        terminal(f"{name}-c", name, flow_factor=1.0e-3),
    )
    return Tree(
        name=name, side=side, shared=shared, links=(branch, leak, *ends), outdoor_zone="outdoors"
    )


def house() -> Network:
    """Supply and extract, the house's pressure found from its shell."""
    shell = pressure_law(name="shell", flow_m3_s=0.05, at_pressure_pa=50.0, exponent=0.65)
    return Network(
        trees=(tree("supply", Side.SUPPLY), tree("extract", Side.EXTRACT)),
        zones=(
            Zone(name="outdoors"),
            Zone(name="loft"),
            Zone(name="house", openings=(shell,)),
        ),
    )


def with_link(network: Network, which: str, **changes: object) -> Network:
    """The same network with one link changed."""
    trees = tuple(
        replace(
            side,
            links=tuple(
                replace(link, **changes) if link.name == which else link  # type: ignore[arg-type]
                for link in side.links
            ),
        )
        for side in network.trees
    )
    return replace(network, trees=trees)
