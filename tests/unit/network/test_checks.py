"""Every breach is named with its place, and nothing half-solved is handed out."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.network.houses import FAN, house, terminal, with_link
from ventwright.ducts import Closed, FanCurve, FanPoint, Loss, RoundDuct
from ventwright.network import (
    FailureCause,
    Link,
    LinkRole,
    Network,
    SolveFailure,
    Zone,
    check,
    prepare,
    pressure_law,
    solve,
)
from ventwright.quantities.problems import UserError


def test_a_sound_house_has_no_problems() -> None:
    assert check(house()) == ()


def with_shared(network: Network, **kinds: object) -> Network:
    first = network.trees[0]
    shared = (kinds["fan"], *first.shared[1:])
    return replace(network, trees=(replace(first, shared=shared), *network.trees[1:]))


HUMPED = FanCurve(
    points=(
        FanPoint(flow_m3_s=0.0, rise_pa=200.0),
        FanPoint(flow_m3_s=0.03, rise_pa=240.0),
        FanPoint(flow_m3_s=0.1, rise_pa=0.0),
    )
)


@pytest.mark.parametrize(
    ("network", "code", "where"),
    [
        (with_link(house(), "supply-a", parent="cellar"), "fan-not-reached", "supply-a"),
        (
            with_link(house(), "supply-branch", parent="supply-branch"),
            "fan-not-reached",
            "supply-branch",
        ),
        (with_link(house(), "supply-a", name="supply-b"), "name-not-unique", "supply-b"),
        (with_link(house(), "supply-a", zone="garage"), "zone-unknown", "supply-a"),
        (
            with_link(house(), "supply-c", zone=None, role=LinkRole.DUCT),
            "link-ends-nowhere",
            "supply-c",
        ),
        (
            with_link(house(), "supply-c", parent="supply-a"),
            "terminal-with-children",
            "supply-a",
        ),
        (with_link(house(), "supply-c", role=LinkRole.DUCT), "role-does-not-fit", "supply-c"),
        (
            with_link(house(), "supply-a", laws=(RoundDuct(length_m=4.0, diameter_m=0.0),)),
            "value-out-of-range",
            "supply-a.laws[0].diameter_m",
        ),
        (
            with_link(
                house(),
                "supply-a",
                laws=(Loss(loss_coeff=0.0, diameter_m=0.1, growth_reynolds=0.0),),
            ),
            "no-resistance",
            "supply-a",
        ),
        (
            with_shared(house(), fan=HUMPED),
            "fan-curve-not-falling",
            "supply.laws[0].points[1]",
        ),
    ],
)
def test_each_breach_is_named_with_its_place(network: Network, code: str, where: str) -> None:
    found = check(network)
    assert (code, where) in [(problem.code, problem.where) for problem in found]
    assert all(problem.message and problem.remedy for problem in found)
    answer = solve(network)
    assert isinstance(answer, SolveFailure)
    assert answer.cause is FailureCause.CHECKS
    assert answer.problems == found
    with pytest.raises(UserError):
        prepare(network)


def test_a_zone_that_nothing_joins_to_a_known_pressure_is_named() -> None:
    network = house()
    attic = replace(network.zones[2], name="attic")
    attic = replace(attic, openings=(replace(attic.openings[0], name="hatch"),))
    prepared = prepare(replace(network, zones=(*network.zones, attic)))
    answer = solve(prepared.with_laws({"hatch": (Closed(),)}))
    assert isinstance(answer, SolveFailure)
    assert (answer.cause, answer.where) == (FailureCause.ZONE_WITHOUT_PATH, "attic")


def test_too_few_steps_allowed_is_a_failure_with_place_and_residual() -> None:
    answer = solve(house(), max_iterations=1)
    assert isinstance(answer, SolveFailure)
    assert answer.cause is FailureCause.TOO_MANY_STEPS
    assert answer.where in prepare(house()).layout.names
    assert answer.residual_pa is not None and answer.residual_pa > 0.0
    assert f"{answer.residual_pa:.3g} Pa" in answer.message


def test_figures_beyond_numbers_are_a_failure_with_place() -> None:
    duct = RoundDuct(length_m=1e300, diameter_m=1e-3, roughness_m=0.0)
    answer = solve(with_link(house(), "supply-branch", laws=(duct, duct)))
    assert isinstance(answer, SolveFailure)
    assert answer.cause is FailureCause.NOT_FINITE
    assert answer.where == "supply-branch"


def test_a_start_of_the_wrong_kind_is_refused() -> None:
    prepared = prepare(house())
    for start in ([0.01], [float("nan")] * len(prepared.layout.names)):
        with pytest.raises(UserError, match="finite flows"):
            solve(prepared, start=start)
    with pytest.raises(UserError, match="cellar"):
        solve(prepared, start={"cellar": 0.01})


def test_unknown_names_and_bad_factors_are_refused() -> None:
    prepared = prepare(house())
    with pytest.raises(UserError, match="cellar"):
        prepared.with_loss_ratios({"cellar": 2.0})
    with pytest.raises(UserError, match="loss ratio"):
        prepared.with_loss_ratios({"supply-a": 0.0})
    with pytest.raises(UserError, match="no fan"):
        prepared.with_speeds({"supply-a": 0.5})
    with pytest.raises(UserError, match="no zone"):
        prepared.with_zones(pressure_pa={"cellar": 1.0})
    with pytest.raises(UserError, match="speed_frac"):
        prepared.with_speeds({"supply": -1.0})
    assert FAN.speed_frac == 1.0


def test_two_trees_may_not_share_a_name_with_a_link() -> None:
    network = with_link(house(), "supply-c", name="extract")
    assert "name-not-unique" in {problem.code for problem in check(network)}
    twice = replace(network, zones=(*network.zones, Zone(name="loft")))
    assert "loft" in {problem.where for problem in check(twice)}


def test_a_link_cannot_hang_on_a_link_of_the_other_tree() -> None:
    network = house()
    first = network.trees[0]
    stray = terminal("stray", "extract-branch", flow_factor=1e-3)
    broken = replace(network, trees=(replace(first, links=(*first.links, stray)), network.trees[1]))
    assert [problem.where for problem in check(broken)] == ["stray"]
    assert isinstance(stray, Link)


def test_zones_have_finite_numbers_of_their_own_kind() -> None:
    network = house()
    outdoors, loft, indoors = network.zones
    windy = replace(network, zones=(replace(outdoors, pressure_pa=float("nan")), loft, indoors))
    assert [problem.where for problem in check(windy)] == ["outdoors.pressure_pa"]
    hooded = replace(network, zones=(outdoors, replace(loft, other_inflow_m3_s=0.1), indoors))
    assert [problem.code for problem in check(hooded)] == ["inflow-without-openings"]
    prepared = prepare(network)
    with pytest.raises(UserError, match="is given"):
        prepared.with_zones(other_inflow_m3_s={"loft": 0.1})
    with pytest.raises(UserError, match="is sought"):
        prepared.with_zones(pressure_pa={"house": 1.0})
    with pytest.raises(UserError, match="finite"):
        prepared.with_zones(pressure_pa={"loft": float("inf")})
    with pytest.raises(UserError, match="exponent"):
        pressure_law(name="shell", flow_m3_s=0.1, at_pressure_pa=50.0, exponent=0.0)
