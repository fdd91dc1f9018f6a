"""What must hold for any network, whatever its figures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import exp
from random import Random

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.oracle.random_trees import random_network
from ventwright.ducts import FlexDuct, Law, RectDuct, RoundDuct
from ventwright.network import (
    FanSpeed,
    LinkRole,
    LnLoss,
    Network,
    OtherInflow,
    Parameter,
    Prepared,
    Solution,
    ZonePressure,
    respond,
    sensitivities,
    solve,
)
from ventwright.quantities.words import Side

SEEDS = st.integers(min_value=0, max_value=20_000)
few = settings(max_examples=60, deadline=None, derandomize=True)


def solved(network: Network | Prepared) -> Solution:
    solution = solve(network)
    assert isinstance(solution, Solution)
    return solution


def some_network(seed: int) -> Network:
    return random_network(Random(seed))


def gap(first: Solution, second: Solution) -> float:
    pairs = zip(first.flow_m3_s, second.flow_m3_s, strict=True)
    return max(abs(a - b) for a, b in pairs)


@few
@given(seed=SEEDS, factor=st.floats(min_value=1.01, max_value=1e4), pick=st.integers(0, 1000))
def test_closing_a_damper_never_raises_its_own_flow(seed: int, factor: float, pick: int) -> None:
    before = solved(some_network(seed))
    names = before.prepared.layout.names
    name = names[pick % len(names)]
    after = solved(before.prepared.with_loss_ratios({name: factor}))
    assert abs(after.flow(name)) <= abs(before.flow(name)) + 1e-10


@few
@given(seed=SEEDS)
def test_renaming_nodes_changes_nothing(seed: int) -> None:
    network = some_network(seed)

    def renamed(name: str) -> str:
        return f"x{name[::-1]}"

    trees = tuple(
        replace(
            tree,
            name=renamed(tree.name),
            links=tuple(
                replace(link, name=renamed(link.name), parent=renamed(link.parent))
                for link in reversed(tree.links)
            ),
        )
        for tree in network.trees
    )
    before, after = solved(network), solved(replace(network, trees=trees))
    for tree in network.trees:
        for name in (tree.name, *(link.name for link in tree.links)):
            assert abs(before.flow(name) - after.flow(renamed(name))) <= 1e-10


@few
@given(seed=SEEDS, share=st.floats(min_value=0.05, max_value=0.95))
def test_splitting_a_duct_in_two_changes_nothing(seed: int, share: float) -> None:
    network = some_network(seed)
    trees = []
    for tree in network.trees:
        links = []
        for link in tree.links:
            if link.role is not LinkRole.DUCT:
                links.append(link)
                continue
            upper, lower = zip(*(halves(law, share) for law in link.laws), strict=True)
            upper_name = f"{link.name}-upper"
            links.append(replace(link, name=upper_name, laws=tuple(x for x in upper if x)))
            links.append(replace(link, parent=upper_name, laws=tuple(x for x in lower if x)))
        trees.append(replace(tree, links=tuple(links)))
    before, after = solved(network), solved(replace(network, trees=tuple(trees)))
    for name in before.prepared.layout.names:
        assert abs(before.flow(name) - after.flow(name)) <= 1e-9


def halves(law: Law, share: float) -> tuple[Law | None, Law | None]:
    """Two stretches of a duct; any other piece stays in the upper one."""
    if isinstance(law, RoundDuct | RectDuct | FlexDuct):
        upper = replace(law, length_m=share * law.length_m)
        return upper, replace(law, length_m=(1.0 - share) * law.length_m)
    return law, None


@few
@given(seed=SEEDS, count=st.integers(min_value=2, max_value=5))
def test_equal_branches_share_equally(seed: int, count: int) -> None:
    network = some_network(seed)
    first = network.trees[0]
    terminal = next(link for link in first.links if link.role is LinkRole.TERMINAL)
    twins = tuple(replace(terminal, name=f"twin{n}") for n in range(count))
    rest = tuple(link for link in first.links if link.name != terminal.name)
    tree = replace(first, links=(*rest, *twins))
    solution = solved(replace(network, trees=(tree, *network.trees[1:])))
    flows = [solution.flow(twin.name) for twin in twins]
    assert max(flows) - min(flows) <= 1e-10


@few
@given(seed=SEEDS)
def test_air_is_neither_made_nor_lost(seed: int) -> None:
    solution = solved(some_network(seed))
    layout = solution.prepared.layout
    for i, name in enumerate(layout.names[: len(layout.parent)]):
        onward = [j for j, parent in enumerate(layout.parent) if parent == i]
        if onward:
            out = sum(solution.flow_m3_s[j] for j in onward)
            assert abs(out - solution.flow_m3_s[i]) <= 1e-10, name
    for zone in layout.unknown_zones:
        net = solution.prepared.other_inflow_m3_s[zone]
        for i, end in enumerate(layout.zone):
            net += layout.sign[i] * solution.flow_m3_s[i] if end == zone else 0.0
        for i, end, _ in layout.opening:
            net -= solution.flow_m3_s[i] if end == zone else 0.0
        assert abs(net) <= 1e-9


@few
@given(seed=SEEDS)
def test_a_side_turned_round_gives_the_same_flows(seed: int) -> None:
    """Supply and extract are each other's mirror when all pressures change sign."""
    network = some_network(seed)
    other = {Side.SUPPLY: Side.EXTRACT, Side.EXTRACT: Side.SUPPLY}
    mirrored = Network(
        trees=tuple(replace(tree, side=other[tree.side]) for tree in network.trees),
        zones=tuple(
            replace(
                zone,
                pressure_pa=-zone.pressure_pa,
                other_inflow_m3_s=-zone.other_inflow_m3_s,
                openings=tuple(
                    replace(path, outside_pressure_pa=-path.outside_pressure_pa)
                    for path in zone.openings
                ),
            )
            for zone in network.zones
        ),
    )
    before, after = solved(network), solved(mirrored)
    links = len(before.prepared.layout.parent)
    pairs = zip(before.flow_m3_s[:links], after.flow_m3_s[:links], strict=True)
    assert max(abs(a - b) for a, b in pairs) <= 1e-10


@few
@given(seed=SEEDS, pick=st.integers(0, 10_000))
def test_sensitivities_are_differences_in_the_limit(seed: int, pick: int) -> None:
    solution = solved(some_network(seed))
    prepared = solution.prepared
    # Where flow all but stops, the laws bend too sharply for differences to be a yardstick.
    assume(min(solution.slope_pa_per_m3_s) > 1.0)
    layout = prepared.layout
    name = layout.names[pick % len(layout.names)]
    tree = layout.names[layout.roots[pick % len(layout.roots)]]
    # For each parameter the network with it moved by a signed step, and the step.
    cases: list[tuple[Parameter, Callable[[float], Prepared], float]] = [
        (LnLoss(name=name), lambda h: prepared.with_loss_ratios({name: exp(h)}), 1e-5)
    ]
    loft = prepared.zone_pressure_pa[layout.zone_names.index("loft")]
    cases.append(
        (
            ZonePressure(name="loft"),
            lambda h: prepared.with_zones(pressure_pa={"loft": loft + h}),
            1e-5,
        )
    )
    if layout.unknown_zones:
        place = layout.unknown_zones[0]
        zone, inflow = layout.zone_names[place], prepared.other_inflow_m3_s[place]
        cases.append(
            (
                OtherInflow(name=zone),
                lambda h: prepared.with_zones(other_inflow_m3_s={zone: inflow + h}),
                1e-7,
            )
        )
    speed = prepared.parts[layout.roots[pick % len(layout.roots)]].laws[0].speed_frac
    if speed > 0.01:
        cases.append((FanSpeed(name=tree), lambda h: prepared.with_speeds({tree: speed + h}), 1e-5))
    names = layout.names
    for parameter, moved, step in cases:
        near = {h: (solved(moved(-h)), solved(moved(h))) for h in (step, 4.0 * step)}
        many = sensitivities(solution, outputs=names, parameters=[parameter])
        for i, output in enumerate(names):
            slope, coarse = (
                (high.flow(output) - low.flow(output)) / (2.0 * h)
                for h, (low, high) in near.items()
            )
            one = sensitivities(
                solution, outputs=[output], parameters=[parameter, LnLoss(name=name)]
            )
            # What a step four times as wide changes is how far differences can be trusted: near a
            # corner of a fan curve or a near-stop they bend, and the limit is what is asked for.
            scale = 1e-6 + 2e-4 * abs(slope) + abs(slope - coarse)
            assert abs(many[i][0] - slope) <= scale, (parameter, output)
            # One output and two parameters takes the adjoint way.
            assert abs(many[i][0] - one[0][0]) <= 1e-9 + 1e-9 * abs(slope)


@few
@given(seed=SEEDS, first=st.integers(0, 1000), second=st.integers(0, 1000))
def test_responses_are_reciprocal(seed: int, first: int, second: int) -> None:
    solution = solved(some_network(seed))
    names = solution.prepared.layout.names
    a, b = first % len(names), second % len(names)
    at_b = respond(solution, rise_pa={names[a]: 1.0}).flow_m3_s[b]
    at_a = respond(solution, rise_pa={names[b]: 1.0}).flow_m3_s[a]
    assert abs(at_a - at_b) <= 1e-9 * max(1.0, abs(at_a))
