"""Solve tree networks with pandapipes; runs in that library's own environment, not the project's.

Reads JSON from standard input, one object with `networks` and `repeats`, and writes one JSON object
with the flow of every pipe [m³/s] and the least time of a solve [s], net already built. With
`--freeze FILE` it reads the networks of a file instead and writes the rows of the reference table.

A network is `{"name", "root_pa", "density_kg_m3", "viscosity_pa_s", "pipes": [...]}`; a pipe is
`{"name", "parent", "length_m", "diameter_m", "roughness_m", "loss_coeff", "is_terminal"}`. The node
"root" has the pressure `root_pa`, every terminal ends at 0 Pa.
"""

from __future__ import annotations

import csv
import json
import sys
import time
from pathlib import Path
from typing import Any

import pandapipes as pp

AMBIENT_BAR = 1.0
# Times are taken with the library's own tolerances, flows with tight ones.
USUAL = {"mode": "hydraulics", "friction_model": "colebrook", "max_iter_colebrook": 200}
TIGHT = {
    "mode": "hydraulics",
    "friction_model": "colebrook",
    "max_iter_hyd": 100,
    "max_iter_colebrook": 200,
    "tolerance_colebrook": 1e-13,
    "tol_p": 1e-12,
    "tol_m": 1e-12,
    "tol_res": 1e-10,
}


def build(network: dict[str, Any]) -> Any:
    fluid = pp.create_constant_fluid(
        name="air",
        fluid_type="liquid",
        density=network["density_kg_m3"],
        viscosity=network["viscosity_pa_s"],
        heat_capacity=1006.0,
        molar_mass=28.96,
        compressibility=1.0,
        der_compressibility=0.0,
    )
    net = pp.create_empty_network(fluid=fluid)
    root_bar = AMBIENT_BAR + network["root_pa"] * 1e-5
    places = {"root": pp.create_junction(net, pn_bar=root_bar, tfluid_k=293.15)}
    pp.create_ext_grid(net, places["root"], p_bar=root_bar, t_k=293.15)
    for pipe in network["pipes"]:
        end = pp.create_junction(net, pn_bar=AMBIENT_BAR + 1e-4, tfluid_k=293.15)
        places[pipe["name"]] = end
        if pipe["is_terminal"]:
            pp.create_ext_grid(net, end, p_bar=AMBIENT_BAR, t_k=293.15)
        pp.create_pipe_from_parameters(
            net,
            places[pipe["parent"]],
            end,
            length_km=pipe["length_m"] * 1e-3,
            inner_diameter_mm=pipe["diameter_m"] * 1e3,
            k_mm=pipe["roughness_m"] * 1e3,
            loss_coefficient=pipe["loss_coeff"],
            name=pipe["name"],
        )
    return net


def solve(network: dict[str, Any], repeats: int) -> dict[str, Any]:
    net = build(network)
    times = []
    for _ in range(repeats):
        began = time.process_time()
        pp.pipeflow(net, **USUAL)
        times.append(time.process_time() - began)
    pp.pipeflow(net, **TIGHT)
    flows = net.res_pipe.mdot_from_kg_per_s / network["density_kg_m3"]
    return {
        "name": network["name"],
        "flow_m3_s": dict(zip(net.pipe.name.tolist(), flows.tolist(), strict=True)),
        "seconds": min(times),
    }


def freeze(path: Path) -> None:
    head = "case_id,function,inputs,expected,unit,tol_abs,tol_rel,source_key,locator,kind,note"
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(head.split(","))
    version = pp.__version__
    for network in json.loads(path.read_text(encoding="utf-8")):
        for name, flow in solve(network, 1)["flow_m3_s"].items():
            inputs = json.dumps({"network": network["name"], "pipe": name})
            writer.writerow(
                [
                    *(f"pandapipes-{network['name']}-{name}", "network.solve", inputs),
                    *(f"{flow:.10g}", "m3/s", "1e-9", "1e-4", "pandapipes_library"),
                    *(f"pandapipes {version}, colebrook", "independent"),
                    "made by benchmarks/peers/pandapipes_peer.py --freeze",
                ]
            )


def main() -> None:
    if sys.argv[1:2] == ["--freeze"]:
        freeze(Path(sys.argv[2]))
        return
    task = json.load(sys.stdin)
    answers = [solve(network, task["repeats"]) for network in task["networks"]]
    print(json.dumps({"version": pp.__version__, "answers": answers}))


if __name__ == "__main__":
    main()
