"""Many houses at once agree with each house alone."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from tests.oracle.random_trees import random_network
from tests.unit.network.houses import house
from ventwright.ducts import Closed
from ventwright.fleet import ManySolutions, solve_many
from ventwright.network import FailureCause, Solution, SolveFailure, prepare, solve
from ventwright.quantities.problems import UserError

HOUSES = 12


def test_random_layouts_agree_house_by_house() -> None:
    """All laws and zones of the oracle's networks, each varied twelve ways."""
    for seed in range(60):
        prepared = prepare(random_network(Random(seed)))
        rng = np.random.default_rng(seed)
        names = prepared.layout.names
        losses = {name: np.exp(rng.normal(0.0, 1.5, HOUSES)) for name in names[::2]}
        tree = names[prepared.layout.roots[0]]
        speeds = {tree: rng.uniform(0.05, 1.2, HOUSES)}
        speeds[tree][0] = 0.05
        pressures = {"loft": rng.uniform(-5.0, 5.0, HOUSES)}
        inflow = {}
        if prepared.layout.zone_names.index("house") in prepared.layout.unknown_zones:
            inflow["house"] = rng.uniform(-0.05, 0.05, HOUSES)
        many = solve_many(
            prepared,
            house_count=HOUSES,
            loss_ratio=losses,
            speed_frac=speeds,
            zone_pressure_pa=pressures,
            other_inflow_m3_s=inflow,
        )
        assert isinstance(many, ManySolutions), seed
        for k in range(HOUSES):
            alone = solve(
                prepared.with_loss_ratios({name: float(v[k]) for name, v in losses.items()})
                .with_speeds({tree: float(speeds[tree][k])})
                .with_zones(
                    pressure_pa={"loft": float(pressures["loft"][k])},
                    other_inflow_m3_s={name: float(v[k]) for name, v in inflow.items()},
                )
            )
            assert isinstance(alone, Solution)
            np.testing.assert_allclose(many.flow_m3_s[:, k], alone.flow_m3_s, rtol=0.0, atol=1e-9)
            np.testing.assert_allclose(
                many.zone_pressure_pa[:, k], alone.zone_pressure_pa, rtol=0.0, atol=1e-6
            )


def test_one_value_stands_for_all_houses() -> None:
    prepared = prepare(house())
    many = solve_many(
        prepared, house_count=3, loss_ratio={"supply-a": 2.0}, speed_frac={"supply": [1, 0.8, 0]}
    )
    assert isinstance(many, ManySolutions)
    alone = solve(prepared.with_loss_ratios({"supply-a": 2.0}))
    assert isinstance(alone, Solution)
    assert many.flows("supply")[0] == pytest.approx(alone.flow("supply"), abs=1e-12)
    assert many.flows("supply")[0] > many.flows("supply")[1] > many.flows("supply")[2]
    assert many.flow_m3_s.shape == (len(prepared.layout.names), 3)


def test_wrong_shapes_and_names_are_refused() -> None:
    prepared = prepare(house())
    with pytest.raises(UserError, match="one for each of 3 houses"):
        solve_many(prepared, house_count=3, loss_ratio={"supply-a": [1.0, 2.0]})
    with pytest.raises(UserError, match="one finite value"):
        solve_many(prepared, house_count=1, loss_ratio={"supply-a": float("nan")})
    with pytest.raises(UserError, match="cellar"):
        solve_many(prepared, house_count=1, loss_ratio={"cellar": 1.0})
    with pytest.raises(UserError, match="no zone"):
        solve_many(prepared, house_count=1, zone_pressure_pa={"cellar": 1.0})


def test_a_stranded_zone_is_a_failure_here_too() -> None:
    prepared = prepare(house()).with_laws(
        {
            name: (Closed(),)
            for name in ("shell", "supply", "extract", "supply-leak", "extract-leak")
        }
    )
    many = solve_many(prepared, house_count=2)
    assert isinstance(many, SolveFailure)
    assert (many.cause, many.where) == (FailureCause.ZONE_WITHOUT_PATH, "house")
