"""Duct laws against worked examples of textbooks and manuals."""

from __future__ import annotations

from typing import Any

import pytest

from tests.reference import shelves
from ventwright.ducts import DuctAir, RectDuct, RoundDuct, darcy_friction
from ventwright.network import Link, LinkRole, Network, Solution, Tree, Zone, solve
from ventwright.quantities.words import Side


def air_of(inputs: dict[str, Any]) -> DuctAir:
    return DuctAir(
        density_kg_m3=inputs.pop("density_kg_m3"), viscosity_pa_s=inputs.pop("viscosity_pa_s")
    )


def flow_of_one_duct(available_pa: float, duct: RoundDuct) -> float:
    link = Link(name="duct", parent="side", laws=(duct,), zone="room", role=LinkRole.TERMINAL)
    tree = Tree(name="side", side=Side.SUPPLY, shared=(), links=(link,), outdoor_zone="plenum")
    zones = (Zone(name="plenum", pressure_pa=available_pa), Zone(name="room"))
    solution = solve(Network(trees=(tree,), zones=zones))
    assert isinstance(solution, Solution)
    return solution.flow("duct")


def computed(row: shelves.Row) -> float:
    inputs = row.inputs
    if row["function"] == "darcy_friction":
        return darcy_friction(**inputs)
    if row["function"] == "laminar-shape":
        duct = RectDuct(length_m=1.0, width_m=1.0, height_m=inputs["side_ratio"])
        return duct.terms().curves[0].laminar_coeff
    air = air_of(inputs)
    if row["function"] == "solve-one-duct":
        available_pa = inputs.pop("available_pa")
        return flow_of_one_duct(available_pa, RoundDuct(**inputs, air=air))
    flow_m3_s = inputs.pop("flow_m3_s")
    law = {"RoundDuct": RoundDuct, "RectDuct": RectDuct}[row["function"]]
    return law(**inputs, air=air).drop_and_slope(flow_m3_s)[0]


@pytest.mark.parametrize("row", shelves.rows("ducts.csv"), ids=str)
def test_duct_laws(row: shelves.Row) -> None:
    row.check(computed(row))
