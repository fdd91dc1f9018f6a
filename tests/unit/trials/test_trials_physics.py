"""Flows of simulated houses: continuity, energy, monotony, and agreement with scipy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import root

from tests.reference import shelves
from tests.unit.trials.tiny import FACTOR, tiny_house
from ventwright.quantities.words import Side
from ventwright.trials import (
    CFM_M3_S,
    Elements,
    Layout,
    Traits,
    TruthHouse,
    draw_house,
    draw_houses,
    exact_setting,
    shares,
    solve,
)
from ventwright.trials.dampers import Flap, follow
from ventwright.trials.exact import damper_of, movable, opening_at, with_opening
from ventwright.trials.truth import SIDES

HOUSES = draw_houses(np.random.SeedSequence(11), count=10)


def targets_of(house: TruthHouse, side: Side) -> np.ndarray:
    return np.array([house.terminals[i].target_m3_s for i in house.of_side(side)])


def test_two_parallel_square_laws_agree_with_the_closed_form() -> None:
    """Independent: Q = sqrt(lift / (r_shared + 1/(Σ 1/√r)²)), split as 1/√r."""
    shared, first, second, lift = 2e5, 1e6, 4e6, 80.0
    elements = Elements(
        coeff=np.array([shared, first, second]),
        exponent=np.full(3, 2.0),
        core_m3_s=np.full(3, 1e-9),
        lift_pa=np.array([lift, 0.0, 0.0]),
        incidence=np.array([[1.0, 1.0], [1.0, 0.0], [0.0, 1.0]]),
    )
    field = solve(elements, start_m3_s=np.array([1e-3, 1e-3]))
    conductance = 1 / np.sqrt(first) + 1 / np.sqrt(second)
    total = np.sqrt(lift / (shared + 1 / conductance**2))
    expected = total / conductance / np.sqrt([first, second])
    assert field.free_m3_s == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("house", HOUSES[:4], ids=lambda house: house.name)
def test_flows_agree_with_a_general_root_finder(house: TruthHouse) -> None:
    """Independent: scipy's hybrid method on the path equations, written out path by path."""
    elements = house.elements_at(house.as_found)
    signs = elements.incidence

    def residual_pa(free_l_s: np.ndarray) -> np.ndarray:
        flow = signs @ (free_l_s / 1e3)
        drop = []
        for q, a, m, core, lift in zip(
            flow,
            elements.coeff,
            elements.exponent,
            elements.core_m3_s,
            elements.lift_pa,
            strict=True,
        ):
            drop.append(a * q * np.hypot(q, core) ** (m - 1) - lift)
        return np.array([np.dot(signs[:, i], drop) for i in range(signs.shape[1])])

    ours = house.flows(house.as_found)
    found = root(residual_pa, 1.1e3 * ours.free_m3_s, method="hybr", tol=1e-12)
    assert found.success
    assert ours.free_m3_s == pytest.approx(found.x / 1e3, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("house", HOUSES, ids=lambda house: house.name)
def test_power_put_in_equals_power_lost(house: TruthHouse) -> None:
    field = house.flows(house.as_found)
    lifted_w = float(house.elements_at(house.as_found).lift_pa @ field.flow_m3_s)
    assert lifted_w > 1
    assert abs(float(field.drop_pa @ field.flow_m3_s)) < 1e-6 * lifted_w
    assert np.abs(field.residual_pa).max() < 1e-6


@pytest.mark.parametrize("house", HOUSES, ids=lambda house: house.name)
def test_fan_carries_terminals_and_leaks_and_the_envelope_the_difference(house: TruthHouse) -> None:
    field = house.flows(house.as_found)
    supply = field.free_m3_s[list(house.of_side(Side.SUPPLY))].sum()
    extract = field.free_m3_s[list(house.of_side(Side.EXTRACT))].sum()
    fans = field.flow_m3_s[house.fan_at : house.fan_at + 2]
    for fan, terminals in zip(fans, (supply, extract), strict=True):
        assert terminals < fan < 1.12 * terminals
    # The envelope passes supply less extract, and all that leaks inside.
    assert abs(field.flow_m3_s[-1] - (supply - extract)) <= fans.sum() - supply - extract + 1e-12


def test_closing_a_ring_takes_from_it_and_gives_to_the_others_of_its_side() -> None:
    house = HOUSES[0]
    ring_at = next(i for i in movable(house, Side.SUPPLY) if i < len(house.terminals))
    opening = opening_at(house, house.as_found, ring_at)
    before = house.flows(house.as_found).free_m3_s
    after = house.flows(with_opening(house, house.as_found, ring_at, opening / 3)).free_m3_s
    assert after[ring_at] < before[ring_at]
    others = [i for i in house.of_side(Side.SUPPLY) if i != ring_at]
    assert (after[others] > before[others]).all()


def test_a_faster_supply_fan_raises_the_extract_through_the_house() -> None:
    house = HOUSES[0]
    setting = house.as_found
    supply_speed, extract_speed = setting.speed_frac
    quick = replace(setting, speed_frac=(1.3 * supply_speed, extract_speed))
    extract = list(house.of_side(Side.EXTRACT))
    before = house.flows(setting).free_m3_s[extract].sum()
    assert house.flows(quick).free_m3_s[extract].sum() > before


@pytest.mark.parametrize("house", HOUSES, ids=lambda house: house.name)
def test_responses_agree_with_a_small_step(house: TruthHouse) -> None:
    element = movable(house, Side.SUPPLY)[0]
    elements = house.elements_at(house.as_found)
    field = solve(elements, start_m3_s=house.start_m3_s())
    response = field.response_m3_s(elements, element)
    step = 1e-4
    high = solve(
        elements.with_coeff({element: elements.coeff[element] * np.exp(step)}),
        start_m3_s=field.free_m3_s,
    )
    low = solve(
        elements.with_coeff({element: elements.coeff[element] * np.exp(-step)}),
        start_m3_s=field.free_m3_s,
    )
    assert response == pytest.approx(
        (high.free_m3_s - low.free_m3_s) / (2 * step), rel=1e-4, abs=1e-9
    )


def test_tiny_house_shares_as_the_rings_do() -> None:
    house = tiny_house(1.5)
    flows = house.flows(house.as_found).free_m3_s
    assert flows[1] / flows[0] == pytest.approx(1.5, rel=1e-6)
    # Fan 64 Pa − 1e4 Q² against Q²/(2.5 FACTOR)², by hand.
    total = np.sqrt(64 / (1e4 + 1 / (2.5 * FACTOR) ** 2))
    assert flows[0] + flows[1] == pytest.approx(total, rel=1e-6)


@pytest.mark.parametrize("traits", [Traits(layout=x) for x in Layout], ids=lambda x: x.layout)
def test_the_exact_setting_gives_targets_with_one_ring_open_on_each_side(traits: Traits) -> None:
    house = draw_house(np.random.SeedSequence(3), name="plain", traits=traits)
    setting = exact_setting(house)
    flows = house.flows(setting).free_m3_s
    for side in SIDES:
        mine = list(house.of_side(side))
        assert flows[mine] == pytest.approx(targets_of(house, side), rel=2e-3)
        open_rings = [
            i
            for i in mine
            if (ring := damper_of(house, i)) is not None
            and setting.terminal_frac[i] >= ring.high_stop_frac - 1e-3
        ]
        assert len(open_rings) >= 1


def test_a_series_has_what_it_promises() -> None:
    count = 30
    houses = draw_houses(np.random.SeedSequence(2), count=count)
    stuck = fixed = without = 0
    for house in houses:
        dampers = [damper_of(house, i) for i in range(len(house.terminals))]
        flaps = [item.flap for item in house.branches]
        stuck += any(item.is_stuck for item in [*dampers, *flaps] if item is not None)
        fixed += any(item is None for item in dampers)
        without += all(item is None for item in flaps)
        totals = []
        for side in SIDES:
            targets_cfm = targets_of(house, side) / CFM_M3_S
            assert 4 <= len(targets_cfm) <= 12
            assert targets_cfm.min() > 7.99
            assert targets_cfm.max() < 60.01
            totals.append(targets_cfm.sum())
        assert totals[0] == pytest.approx(totals[1])
    for number in (stuck, fixed, without):
        assert number >= count / 5
    assert sum(house.layout is Layout.TRUNK for house in houses) == count / 2


def test_small_terminals_have_a_line_of_their_own() -> None:
    for house in draw_houses(np.random.SeedSequence(2), count=4, has_small=True):
        for side in SIDES:
            small = [i for i in house.of_side(side) if house.terminals[i].target_m3_s < 0.0024]
            assert len(small) == 1
            branch = house.terminals[small[0]].branch
            assert sum(item.branch == branch for item in house.terminals) == 1


def test_the_same_seed_draws_the_same_houses() -> None:
    seed = np.random.SeedSequence(8)
    first, second = (draw_houses(seed, count=2) for _ in range(2))
    other = draw_houses(np.random.SeedSequence(9), count=2)
    for a, b, c in zip(first, second, other, strict=True):
        assert a.terminals == b.terminals
        assert a.as_found == b.as_found
        assert (a.elements.coeff == b.elements.coeff).all()
        assert a.as_found != c.as_found


def test_the_band_is_a_tenth_or_one_cfm() -> None:
    flows = np.array([5.9, 55.0, 39.1]) * CFM_M3_S
    targets = np.array([5.0, 50.0, 45.0]) * CFM_M3_S
    assert shares(flows, targets) == pytest.approx([0.9, 1.0, -5.9 / 4.5])


@pytest.mark.parametrize("row", shelves.rows("trials_flap.csv"), ids=str)
def test_a_thin_flap_is_near_the_published_table(row: shelves.Row) -> None:
    assert row["function"] == "flap_loss_coeff"
    flap = Flap(
        log_open=-1.66,
        log_per_deg=0.103,
        scale=1.0,
        low_stop_frac=0.1,
        high_stop_frac=1.0,
        play_frac=0.0,
        is_stuck=False,
    )
    row.check(flap.coeff(1 - row.inputs["angle_deg"] / 90))


def test_the_blade_lags_by_the_play() -> None:
    up = follow(blade_frac=0.2, hand_frac=0.5, play_frac=0.04)
    down = follow(blade_frac=0.8, hand_frac=0.5, play_frac=0.04)
    assert (up, down) == (pytest.approx(0.48), pytest.approx(0.52))
