"""What a solution says, and what changing a prepared network does."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import pytest

from tests.unit.network.houses import house, tree
from ventwright.ducts import (
    Closed,
    FlexDuct,
    FlowFactorOpening,
    ParabolicFan,
    Polynomial,
    RoundDuct,
    SteadyFlowFan,
)
from ventwright.network import (
    Link,
    LinkRole,
    LnLoss,
    Network,
    Prepared,
    Solution,
    Tree,
    Zone,
    prepare,
    respond,
    sensitivities,
    solve,
)
from ventwright.quantities.words import Side


def solved(network: Network | Prepared, **options: object) -> Solution:
    solution = solve(network, **options)  # type: ignore[arg-type]
    assert isinstance(solution, Solution)
    return solution


def test_a_fan_and_two_openings_by_hand() -> None:
    """Fan 100·(1 − (q/0.05)²) Pa on two openings of 2 and 1 L/s per √Pa, nothing else.

    q = 0.003·√p at the node, so p = 100 − 40000·9e-6·p, p = 73.53 Pa, q = 25.72 L/s.
    """
    links = tuple(
        Link(
            name=name,
            parent="supply",
            laws=(FlowFactorOpening(flow_factor=factor),),
            zone="house",
            role=LinkRole.TERMINAL,
        )
        for name, factor in (("wide", 2e-3), ("narrow", 1e-3))
    )
    fan = ParabolicFan(shut_off_pa=100.0, free_flow_m3_s=0.05)
    supply = Tree(
        name="supply", side=Side.SUPPLY, shared=(fan,), links=links, outdoor_zone="outdoors"
    )
    solution = solved(Network(trees=(supply,), zones=(Zone(name="outdoors"), Zone(name="house"))))
    pressure = 100.0 / 1.36
    assert solution.pressure("supply") == pytest.approx(pressure, rel=2e-5)
    assert solution.flow("wide") == pytest.approx(2e-3 * sqrt(pressure), rel=2e-5)
    assert solution.flow("narrow") == pytest.approx(1e-3 * sqrt(pressure), rel=2e-5)
    assert solution.terminal_flows() == {
        "wide": solution.flow("wide"),
        "narrow": solution.flow("narrow"),
    }


def test_pressures_fall_along_the_flow_and_are_negative_in_an_extract_duct() -> None:
    solution = solved(house())
    supply, branch = solution.pressure("supply"), solution.pressure("supply-branch")
    assert supply is not None and branch is not None
    assert supply > branch > 0.0
    extract, branch = solution.pressure("extract"), solution.pressure("extract-branch")
    assert extract is not None and branch is not None
    assert extract < branch < 0.0
    assert solution.pressure("supply-a") == solution.zone_pressure("house")
    assert solution.residual_pa < 1e-6


def test_more_supply_than_extract_puts_the_house_under_pressure() -> None:
    prepared = prepare(house())
    level = solved(prepared).zone_pressure("house")
    assert level == pytest.approx(0.0, abs=0.5)
    over = solved(prepared.with_speeds({"extract": 0.5}))
    assert over.zone_pressure("house") > 1.0
    assert over.flow("shell") > 0.0
    hood = solved(prepared.with_zones(other_inflow_m3_s={"house": -0.05}))
    assert hood.zone_pressure("house") < -5.0
    assert hood.flow("shell") < 0.0
    # The hood draws on the ducts too: more supply, less extract.
    assert hood.flow("supply") > solved(prepared).flow("supply")
    assert hood.flow("extract") < solved(prepared).flow("extract")


def test_one_side_alone_two_units_and_a_boost() -> None:
    network = house()
    extract_only = replace(network, trees=network.trees[1:])
    assert solved(extract_only).zone_pressure("house") < -1.0
    second = (tree("supply2", Side.SUPPLY), tree("extract2", Side.EXTRACT))
    both = prepare(replace(network, trees=(*network.trees, *second)))
    level = solved(both)
    assert level.flow("supply2-a") == pytest.approx(level.flow("supply-a"), rel=1e-9)
    boosted = solved(both.with_speeds({"supply": 1.2}), start=level)
    # The boost of one unit pressurises the house and slows the other's supply.
    assert boosted.flow("supply-a") > level.flow("supply-a")
    assert boosted.flow("supply2-a") < level.flow("supply2-a")
    assert boosted.flow("extract2-a") > level.flow("extract2-a")


def test_a_closed_terminal_has_no_flow_and_the_rest_go_on() -> None:
    prepared = prepare(house())
    before = solved(prepared)
    after = solved(prepared.with_laws({"supply-a": (Closed(),)}))
    assert after.flow("supply-a") == 0.0
    assert after.flow("supply-b") > before.flow("supply-b")
    place = prepared.entry("supply-a")
    reopened = after.prepared.with_laws({"supply-a": prepared.parts[place].laws})
    assert solved(reopened).flow_m3_s == before.flow_m3_s
    warm = solved(reopened, start=after)
    assert warm.flow("supply-a") == pytest.approx(before.flow("supply-a"), abs=1e-12)


def test_behind_a_closed_branch_air_only_moves_between_its_own_ends() -> None:
    prepared = prepare(house()).with_laws({"supply-branch": (Closed(),)})
    solution = solved(prepared)
    assert solution.flow("supply-branch") == 0.0
    inside = ("supply-a", "supply-b", "supply-leak")
    assert sum(solution.flow(name) for name in inside) == pytest.approx(0.0, abs=1e-12)
    assert solution.pressure("supply-branch") is not None
    shut = prepared.with_laws({name: (Closed(),) for name in inside})
    sealed = solved(shut)
    assert sealed.pressure("supply-branch") is None
    assert all(sealed.flow(name) == 0.0 for name in inside)


def test_fans_off_and_no_wind_is_no_flow() -> None:
    still = solved(prepare(house()).with_speeds({"supply": 0.0, "extract": 0.0}))
    assert max(map(abs, still.flow_m3_s)) < 1e-9


def test_a_steady_flow_fan_holds_its_flow_until_its_pressure_ends() -> None:
    network = house()
    first = network.trees[0]
    steady = SteadyFlowFan(set_flow_m3_s=0.035, full=first.shared[0])  # type: ignore[arg-type]
    prepared = prepare(
        replace(
            network, trees=(replace(first, shared=(steady, *first.shared[1:])), network.trees[1])
        )
    )
    assert solved(prepared).flow("supply") == pytest.approx(0.035, rel=0.01)
    dirty = solved(prepared.with_loss_ratios({"supply": 1.3}))
    assert dirty.flow("supply") == pytest.approx(0.035, rel=0.01)
    choked = solved(prepared.with_loss_ratios({"supply": 6.0}))
    assert choked.flow("supply") < 0.03
    assert "fan-misses-its-flow" in {problem.code for problem in choked.reservations()}
    assert solved(prepared).reservations() == ()


def test_a_warm_start_saves_sweeps() -> None:
    prepared = prepare(house())
    cold = solved(prepared)
    near = prepared.with_loss_ratios({"supply-a": 1.05})
    assert solved(near, start=cold).iterations < solved(near).iterations
    assert solved(prepared, start=cold).iterations == 1
    named = solved(prepared, start=cold.terminal_flows())
    assert named.iterations <= cold.iterations
    everything = dict(zip(prepared.layout.names, cold.flow_m3_s, strict=True))
    assert solved(prepared, start=everything).iterations <= 2
    # A solution of another network helps with the links both have.
    wider = prepare(replace(house(), trees=(*house().trees, tree("supply2", Side.SUPPLY))))
    assert solved(wider, start=cold).iterations <= solved(wider).iterations


def test_laws_used_beyond_their_sources_are_named() -> None:
    prepared = prepare(house())
    assert solved(prepared).reservations() == ()
    blown = solved(prepared.with_speeds({"extract": 0.0}).with_zones(pressure_pa={"loft": 80.0}))
    codes = {problem.code: problem.where for problem in blown.reservations()}
    assert codes == {"fan-outside-its-curve": "extract.laws[0].points"}
    flex = FlexDuct(length_m=2.0, diameter_m=0.1, compression_frac=0.2)
    bent = solved(prepared.with_laws({"supply-c": (flex, FlowFactorOpening(flow_factor=1e-3))}))
    assert [problem.where for problem in bent.reservations()] == ["supply-c.laws[0].diameter_m"]


def test_sensitivity_to_one_law_among_several() -> None:
    solution = solved(house())
    outputs = ("supply-a", "supply-b")
    parts = [
        sensitivities(solution, outputs=outputs, parameters=[LnLoss(name="supply-a", law_index=i)])
        for i in (0, 1)
    ]
    whole = sensitivities(solution, outputs=outputs, parameters=[LnLoss(name="supply-a")])
    for k in range(2):
        assert parts[0][k][0] + parts[1][k][0] == pytest.approx(whole[k][0], rel=1e-9)
    # Closing a's own damper lowers a and raises its sister.
    assert whole[0][0] < 0.0 < whole[1][0]


def test_a_response_tells_pressures_as_well() -> None:
    # Unequal sides: a shell without flow bends too sharply for differences to be a yardstick.
    solution = solved(prepare(house()).with_speeds({"extract": 0.8}))
    prepared, step = solution.prepared, 1e-6
    changed = solved(prepared.with_zones(other_inflow_m3_s={"house": step}))
    response = respond(solution, rise_pa={}, inflow_change_m3_s={"house": 1.0})
    for name in ("supply", "extract-branch", "extract-a"):
        before, after = solution.pressure(name), changed.pressure(name)
        assert before is not None and after is not None
        slope = response.node_pressure_pa[prepared.entry(name)]
        assert slope == pytest.approx((after - before) / step, rel=1e-3)
    house_zone = prepared.layout.zone_names.index("house")
    rise = changed.zone_pressure("house") - solution.zone_pressure("house")
    assert response.zone_pressure_pa[house_zone] == pytest.approx(rise / step, rel=1e-3)


def test_prepared_networks_are_changed_by_copies() -> None:
    prepared = prepare(house())
    before = solved(prepared).flow_m3_s
    prepared.with_loss_ratios({"supply-a": 3.0})
    prepared.with_laws({"supply-a": (Polynomial(linear_pa_per_m3_s=10.0),)})
    assert solved(prepared).flow_m3_s == before
    twice = prepared.with_loss_ratios({"supply-a": 3.0}).with_loss_ratios({"supply-b": 2.0})
    at_once = prepared.with_loss_ratios({"supply-a": 3.0, "supply-b": 2.0})
    assert solved(twice).flow_m3_s == solved(at_once).flow_m3_s


def test_sixty_terminals_in_three_levels() -> None:
    links = []
    for trunk in range(5):
        links.append(
            Link(
                name=f"trunk{trunk}",
                parent="supply" if trunk == 0 else f"trunk{trunk - 1}",
                laws=(RoundDuct(length_m=3.0, diameter_m=0.3),),
            )
        )
        for branch in range(4):
            name = f"branch{trunk}{branch}"
            links.append(
                Link(
                    name=name,
                    parent=f"trunk{trunk}",
                    laws=(RoundDuct(length_m=3.0, diameter_m=0.125),),
                )
            )
            links += [
                Link(
                    name=f"{name}-{end}",
                    parent=name,
                    laws=(
                        RoundDuct(length_m=2.0 + end, diameter_m=0.1),
                        FlowFactorOpening(flow_factor=1.5e-3),
                    ),
                    zone="house",
                    role=LinkRole.TERMINAL,
                )
                for end in range(3)
            ]
    supply = Tree(
        name="supply",
        side=Side.SUPPLY,
        shared=(ParabolicFan(shut_off_pa=400.0, free_flow_m3_s=1.0),),
        links=tuple(links),
        outdoor_zone="outdoors",
    )
    solution = solved(Network(trees=(supply,), zones=(Zone(name="outdoors"), Zone(name="house"))))
    flows = solution.terminal_flows()
    assert len(flows) == 60
    assert solution.iterations <= 8
    assert sum(flows.values()) == pytest.approx(solution.flow("supply"), rel=1e-12)
    assert flows["branch00-0"] > flows["branch43-2"] > 0.0
