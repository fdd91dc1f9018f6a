"""Rooms against general solvers: matrix exponential, linear equations, stiff integration."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import expm
from scipy.optimize import brentq

from ventwright.enclosure import (
    AirPath,
    Door,
    Zone,
    air_paths,
    course_of_levels,
    leakage_from_test,
    steady_levels,
)
from ventwright.enclosure.dense import SingularMatrixError, exponential, solve
from ventwright.uncertainty import exact, monte_carlo

OUTDOOR = 420e-6


def random_house(seed: int):
    """A house of up to eight rooms, its flows drawn at random; the hall is the root."""
    rng = Random(seed)
    count = rng.randint(2, 8)
    zones = [
        Zone(
            id=f"z{i}",
            volume_m3=rng.uniform(8.0, 150.0),
            supply_m3_s=rng.choice([0.0, rng.uniform(0.002, 0.02)]),
            extract_m3_s=rng.choice([0.0, rng.uniform(0.002, 0.02)]),
            infiltration_m3_s=rng.choice([0.0, 0.001]),
        )
        for i in range(count)
    ]
    zones[0] = Zone(id="z0", volume_m3=120.0, supply_m3_s=0.01, extract_m3_s=0.02)
    doors = [
        Door(first=f"z{i}", second=f"z{rng.randrange(i)}", exchange_m3_s=rng.uniform(1e-4, 0.06))
        for i in range(1, count)
    ]
    return zones, doors, {z.id: rng.uniform(0.0, 1e-5) for z in zones}


def rates_of(zones, doors, generation):
    """The right-hand side written flow by flow, without matrices."""
    paths = air_paths(zones, doors, root="z0")
    index = {z.id: i for i, z in enumerate(zones)}
    volumes = np.array([z.volume_m3 for z in zones])

    def rates(_t, levels):
        held = np.array([generation[z.id] for z in zones])
        for f in paths.flows:
            from_level = OUTDOOR if f.source == "" else levels[index[f.source]]
            if f.source:
                held[index[f.source]] -= f.flow_m3_s * from_level
            if f.target:
                held[index[f.target]] += f.flow_m3_s * from_level
        return held / volumes

    return paths, rates


@pytest.mark.parametrize("seed", range(8))
def test_night_against_an_integrator(seed: int) -> None:
    zones, doors, generation = random_house(seed)
    paths, rates = rates_of(zones, doors, generation)
    start = np.array([OUTDOOR + 1e-4 * i for i in range(len(zones))])
    theirs = solve_ivp(rates, (0.0, 8 * 3600.0), start, method="Radau", rtol=1e-10, atol=1e-14).y[
        :, -1
    ]
    ours = course_of_levels(
        paths,
        generation_m3_s=generation,
        start_frac={z.id: float(s) for z, s in zip(zones, start, strict=True)},
        outdoor_frac=OUTDOOR,
        duration_s=8 * 3600.0,
        step_count=5,
    ).levels[-1]
    assert ours.concentration_frac == pytest.approx(list(theirs), rel=1e-8)


@pytest.mark.parametrize("seed", range(8))
def test_settled_levels_stop_changing(seed: int) -> None:
    zones, doors, generation = random_house(seed)
    paths, rates = rates_of(zones, doors, generation)
    levels = steady_levels(paths, generation_m3_s=generation, outdoor_frac=OUTDOOR)
    scale = max(f.flow_m3_s for f in paths.flows) * 1e-3 / min(z.volume_m3 for z in zones)
    assert np.max(np.abs(rates(0.0, np.array(levels.concentration_frac)))) < 1e-12 * scale


@pytest.mark.parametrize("size", [1e-3, 1.0, 30.0])
@pytest.mark.parametrize("count", [1, 3, 9])
def test_exponential_against_scipy(count: int, size: float) -> None:
    rng = np.random.default_rng(7)
    matrix = rng.uniform(0.0, size, (count, count))
    matrix -= np.diag(matrix.sum(axis=0) * rng.uniform(1.0, 1.5, count))
    ours = np.array(exponential(matrix.tolist()))
    assert ours == pytest.approx(expm(matrix), rel=1e-11, abs=1e-300)


def test_linear_equations_against_numpy() -> None:
    rng = np.random.default_rng(3)
    for count in (1, 4, 9):
        matrix, right = rng.normal(size=(count, count)), rng.normal(size=count)
        assert solve(matrix.tolist(), right.tolist()) == pytest.approx(
            list(np.linalg.solve(matrix, right)), rel=1e-9
        )
    with pytest.raises(SingularMatrixError):
        solve([[1.0, 1.0], [1.0, 1.0]], [1.0, 2.0])


def test_house_pressure_against_a_root_finder() -> None:
    law = leakage_from_test(leakage_flow_m3_s=0.15, exponent=0.6)
    for net in (0.002, 0.05, 0.4):
        root = brentq(
            lambda p, net=net: law.leak_flow(pressure_pa=p).value - net, 1e-9, 1e5, xtol=1e-12
        )
        pressure = law.house_pressure(net_exhaust_m3_s=exact(net)).value
        assert pressure == pytest.approx(-root, rel=1e-9)


def test_doubt_of_a_pressure_against_monte_carlo() -> None:
    law = leakage_from_test(leakage_flow_m3_s=0.2)
    net = exact(0.06)
    ours = law.house_pressure(net_exhaust_m3_s=net)
    drawn = monte_carlo(
        lambda flow, n: -50.0 * (0.06 / flow) ** (1.0 / n),
        [law.test_flow_m3_s, law.exponent],
        draws=Random(5),
        count=20_000,
    )
    assert drawn.u_std == pytest.approx(ours.u_std, rel=0.08)


def test_every_kind_of_flow_is_used() -> None:
    houses = (random_house(seed)[:2] for seed in range(8))
    kinds = {f.path for house in houses for f in air_paths(*house, root="z0").flows}
    assert kinds == set(AirPath)
