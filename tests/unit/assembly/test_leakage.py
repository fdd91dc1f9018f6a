"""What ducts leak on the way to the rooms."""

from dataclasses import replace

import pytest

from ventwright.actions import examples_folder
from ventwright.assembly import network_from
from ventwright.exchange import read_house
from ventwright.house import DuctTightness
from ventwright.network import LinkRole, solve


def solved(tightness):
    house, _ = read_house(examples_folder() / "harbour_terrace" / "house.toml")
    (system,) = house.systems
    found = network_from(replace(house, systems=(replace(system, tightness=tightness),)))
    return found.network, solve(found.network)


def leaks(network, solution):
    return {
        link.name: solution.flow(link.name)
        for tree in network.trees
        for link in tree.links
        if link.role is LinkRole.LEAK
    }


def test_without_a_class_nothing_leaks():
    network, solution = solved(None)
    assert leaks(network, solution) == {}


@pytest.mark.parametrize("tightness", [DuctTightness.ATC_3, DuctTightness.ATC_5])
def test_what_the_fan_moves_arrives_or_leaks(tightness):
    network, solution = solved(tightness)
    for tree in network.trees:
        ends = [link.name for link in tree.links if link.role is not LinkRole.DUCT]
        arrived = sum(solution.flow(name) for name in ends)
        assert solution.flow(tree.name) == pytest.approx(arrived, abs=1e-9)


def test_leakier_classes_leak_more_and_less_arrives():
    order = list(DuctTightness)  # from leaky to tight
    leaked, arrived = [], []
    for tightness in order:
        network, solution = solved(tightness)
        leaked.append(sum(leaks(network, solution).values()))
        arrived.append(sum(solution.terminal_flows().values()))
    assert leaked == sorted(leaked, reverse=True)
    assert arrived == sorted(arrived)


def test_a_leak_by_hand():
    # Surface and class limit by hand: pi · 0.16 m · 4 m at 0.003e-3 m³/(s m²) and 100 Pa^0.65.
    from ventwright.assembly.leakage import leak_links
    from ventwright.house import DuctKind, DuctPiece

    piece = DuctPiece(kind=DuctKind.ROUND, diameter_m=0.16, length_m=4.0)
    (link,) = leak_links("side", [piece], tightness=DuctTightness.ATC_3)
    (law,) = link.laws
    flow_m3_s = 2.0106 * 0.003e-3 * 100.0**0.65
    assert law.drop_and_slope(flow_m3_s)[0] == pytest.approx(100.0, rel=1e-3)
