"""Networks of `pipe_networks.json` as the project's own, for tests and benchmarks."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from ventwright.ducts import DuctAir, Loss, RoundDuct
from ventwright.network import Link, LinkRole, Network, Tree, Zone
from ventwright.quantities.words import Side

FILE = Path(__file__).with_name("pipe_networks.json")


def pipe_networks() -> dict[str, dict[str, Any]]:
    """Return the networks as written, by name."""
    return {entry["name"]: entry for entry in json.loads(FILE.read_text(encoding="utf-8"))}


def as_network(entry: dict[str, Any]) -> Network:
    """Return one as a `Network`: its first pipe is the shared path, its root the outside.

    A root below 0 Pa is an extract side; flows then run from the terminals to the root.
    """
    air = DuctAir(density_kg_m3=entry["density_kg_m3"], viscosity_pa_s=entry["viscosity_pa_s"])
    first, *rest = entry["pipes"]
    laws = {
        pipe["name"]: (
            RoundDuct(
                length_m=pipe["length_m"],
                diameter_m=pipe["diameter_m"],
                roughness_m=pipe["roughness_m"],
                air=air,
            ),
            Loss(
                loss_coeff=pipe["loss_coeff"],
                diameter_m=pipe["diameter_m"],
                growth_reynolds=0.0,
                air=air,
            ),
        )
        for pipe in entry["pipes"]
    }
    links = tuple(
        Link(
            name=pipe["name"],
            parent=pipe["parent"],
            laws=laws[pipe["name"]],
            zone="rooms" if pipe["is_terminal"] else None,
            role=LinkRole.TERMINAL if pipe["is_terminal"] else LinkRole.DUCT,
        )
        for pipe in rest
    )
    tree = Tree(
        name=first["name"],
        side=Side.SUPPLY if entry["root_pa"] > 0.0 else Side.EXTRACT,
        shared=laws[first["name"]],
        links=links,
        outdoor_zone="root",
    )
    zones = (Zone(name="root", pressure_pa=entry["root_pa"]), Zone(name="rooms"))
    return Network(trees=(tree,), zones=zones)
