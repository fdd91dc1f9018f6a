"""Random networks for the oracle: every kind of law, and the states that trouble solvers."""

from __future__ import annotations

from random import Random

from ventwright.ducts import (
    ButterflyDamper,
    Closed,
    DuctAir,
    ExchangerCore,
    FanCurve,
    FanLaw,
    FanPoint,
    Filter,
    FlexDuct,
    FlowFactorOpening,
    IrisDamper,
    Law,
    Loss,
    ParabolicFan,
    Polynomial,
    PowerLaw,
    RectDuct,
    RingValve,
    RoundDuct,
    SteadyFlowFan,
    TightnessClass,
    duct_leakage,
    ring_table_from_seat,
)
from ventwright.network import Link, LinkRole, Network, Opening, Tree, Zone, pressure_law
from ventwright.quantities.words import Side

DIAMETERS_M = (0.1, 0.125, 0.16, 0.2)


def random_air(rng: Random) -> DuctAir:
    return DuctAir(density_kg_m3=rng.uniform(0.9, 1.4), viscosity_pa_s=rng.uniform(1.6e-5, 2.0e-5))


def random_run(rng: Random) -> tuple[Law, ...]:
    """Friction and a few pieces, from very loose to very tight."""
    air = random_air(rng)
    diameter_m = rng.choice(DIAMETERS_M)
    length_m = 10 ** rng.uniform(-1.5, 2.0)
    duct = rng.choice(
        (
            RoundDuct(length_m=length_m, diameter_m=diameter_m, air=air),
            FlexDuct(
                length_m=length_m,
                diameter_m=diameter_m,
                compression_frac=rng.uniform(0.0, 0.3),
                air=air,
            ),
            RectDuct(length_m=length_m, width_m=0.204, height_m=0.06, air=air),
        )
    )
    pieces: list[Law] = [duct]
    if rng.random() < 0.5:
        pieces.append(Loss(loss_coeff=rng.uniform(0.1, 5.0), diameter_m=diameter_m, air=air))
    if rng.random() < 0.3:
        closing_deg = rng.uniform(0.0, 90.0)
        pieces.append(ButterflyDamper(diameter_m=diameter_m, closing_deg=closing_deg, air=air))
    if rng.random() < 0.1:
        open_ratio = rng.uniform(0.05, 1.0)
        pieces.append(IrisDamper(diameter_m=diameter_m, open_ratio=open_ratio, air=air))
    return tuple(pieces)


def random_terminal(rng: Random) -> Law:
    kind = rng.randrange(4)
    if kind == 0:
        return FlowFactorOpening(flow_factor=10 ** rng.uniform(-4.5, -2.0))
    if kind == 1:
        table = ring_table_from_seat(seat_diameter_m=rng.choice((0.07, 0.09, 0.115)))
        return RingValve(table=table, opening_turns=rng.uniform(0.25, 12.0), air=random_air(rng))
    if kind == 2:
        exponent = rng.uniform(1.0, 2.0)
        return PowerLaw(
            drop_pa=rng.uniform(1.0, 100.0), flow_m3_s=rng.uniform(1e-3, 0.03), exponent=exponent
        )
    return Polynomial(
        linear_pa_per_m3_s=10 ** rng.uniform(-2.0, 4.0),
        quadratic_pa_per_m6_s2=10 ** rng.uniform(2.0, 8.0),
    )


def random_fan(rng: Random) -> FanLaw:
    shut_off_pa = rng.uniform(20.0, 500.0)
    free_m3_s = rng.uniform(0.01, 0.3)
    speed_frac = rng.choice((0.0, rng.uniform(0.05, 0.3), rng.uniform(0.3, 1.2), 1.0))
    if rng.random() < 0.4:
        return ParabolicFan(
            shut_off_pa=shut_off_pa, free_flow_m3_s=free_m3_s, speed_frac=speed_frac
        )
    shares = sorted(rng.uniform(0.0, 1.0) for _ in range(rng.randrange(0, 5)))
    falls = sorted(rng.uniform(0.0, 1.0) for _ in shares)
    places = [0.0, *shares, 1.0]
    heights = [0.0, *falls, 1.0]
    curve = FanCurve(
        points=tuple(
            FanPoint(flow_m3_s=x * free_m3_s, rise_pa=(1.0 - y) * shut_off_pa)
            for x, y in zip(places, heights, strict=True)
        ),
        speed_frac=speed_frac,
    )
    if rng.random() < 0.25:
        return SteadyFlowFan(
            set_flow_m3_s=rng.uniform(0.1, 0.9) * free_m3_s, full=curve.at_speed(1.0)
        )
    return curve


def random_tree(rng: Random, *, name: str, side: Side) -> Tree:
    links: list[Link] = []
    ducts = [name]
    for number in range(rng.randrange(0, 6)):
        duct = f"{name}.b{number}"
        links.append(Link(name=duct, parent=rng.choice(ducts), laws=random_run(rng)))
        ducts.append(duct)
    childless = set(ducts) - {link.parent for link in links}
    parents = [*sorted(childless), *(rng.choice(ducts) for _ in range(rng.randrange(0, 8)))]
    for number, parent in enumerate(parents):
        laws = (*random_run(rng), random_terminal(rng))
        if rng.random() < 0.08:
            laws = (*laws, Closed())
        links.append(
            Link(
                name=f"{name}.t{number}",
                parent=parent,
                laws=laws,
                zone=rng.choice(("house", "house", "house", "annexe")),
                role=LinkRole.TERMINAL,
                design_flow_m3_s=rng.choice((None, 0.01, -0.01, 0.0)),
            )
        )
    if rng.random() < 0.5:
        leak = duct_leakage(
            surface_m2=rng.uniform(0.5, 20.0), tightness=rng.choice(tuple(TightnessClass))
        )
        links.append(
            Link(
                name=f"{name}.leak",
                parent=rng.choice(ducts),
                laws=(leak,),
                zone="loft",
                role=LinkRole.LEAK,
            )
        )
    if rng.random() < 0.1 and len(ducts) > 1:
        shut = rng.choice(ducts[1:])
        links = [
            link
            if link.name != shut
            else Link(name=link.name, parent=link.parent, laws=(*link.laws, Closed()))
            for link in links
        ]
    flow_m3_s = rng.uniform(0.02, 0.1)
    shared = (
        random_fan(rng),
        Filter(clean_drop_pa=20.0, rated_flow_m3_s=flow_m3_s, loading_ratio=rng.uniform(1.0, 4.0)),
        ExchangerCore(rated_drop_pa=rng.uniform(30.0, 120.0), rated_flow_m3_s=flow_m3_s),
        *random_run(rng),
    )
    rng.shuffle(links)
    return Tree(name=name, side=side, shared=shared, links=tuple(links), outdoor_zone="outdoors")


def random_network(rng: Random) -> Network:
    """One side, two sides or two ventilation units, in a house of open or known pressure."""
    kinds = rng.choice(
        (
            (Side.SUPPLY,),
            (Side.EXTRACT,),
            (Side.SUPPLY, Side.EXTRACT),
            (Side.SUPPLY, Side.EXTRACT, Side.SUPPLY, Side.EXTRACT),
        )
    )
    trees = tuple(
        random_tree(rng, name=f"{side}{number}", side=side) for number, side in enumerate(kinds)
    )
    still = rng.random() < 0.1
    wind_pa = 0.0 if still else rng.uniform(-5.0, 5.0)
    openings: tuple[Opening, ...] = ()
    if rng.random() < 0.6:
        openings = (
            pressure_law(
                name="shell",
                flow_m3_s=10 ** rng.uniform(-2.5, -0.5),
                at_pressure_pa=50.0,
                exponent=rng.uniform(0.5, 0.8),
            ),
            Opening(name="flue", law=random_terminal(rng), outside_pressure_pa=-wind_pa),
        )
    annexe = ()
    if rng.random() < 0.3:
        annexe = (Opening(name="annexe-shell", law=random_terminal(rng)),)
    zones = (
        Zone(name="outdoors", pressure_pa=wind_pa),
        Zone(name="loft", pressure_pa=0.0 if still else rng.uniform(-3.0, 3.0)),
        Zone(
            name="house",
            pressure_pa=0.0 if still else rng.uniform(-10.0, 10.0),
            openings=openings,
            other_inflow_m3_s=rng.choice((0.0, -0.03, 0.01)) if openings else 0.0,
        ),
        Zone(name="annexe", openings=annexe),
    )
    if still:
        trees = tuple(
            Tree(
                name=tree.name,
                side=tree.side,
                shared=tuple(
                    law.at_speed(0.0)
                    if isinstance(law, FanLaw) and not isinstance(law, SteadyFlowFan)
                    else law
                    for law in tree.shared
                ),
                links=tree.links,
                outdoor_zone=tree.outdoor_zone,
            )
            for tree in trees
        )
    return Network(trees=trees, zones=zones)
