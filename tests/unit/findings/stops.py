"""A house of three terminals, its readings, and a stop chosen by the test.

Density of moist air by hand: ideal gases, ρ = (p − 0.378 e)/(287.05 T), with e = 0.40 · 2503 Pa at
21.11 °C (saturation from memory of steam tables, within 0.5 %, which is 0.01 % of density).
"""

from __future__ import annotations

import copy
from dataclasses import replace

from tests.unit.findings.test_guidance import HOUSE
from ventwright.actions import load_rule_sets
from ventwright.balancing import Deed, NextStep
from ventwright.findings import Guidance, StopShown, VisitSnapshot, assess, guide, interpret_visit
from ventwright.findings.scope import Scope
from ventwright.findings.stop_shown import stop_shown
from ventwright.house import House, Visit, parse_house, parse_visit

CFM_M3_S = 0.3048**3 / 60
IN2_M2 = 0.0254**2
SEA_LEVEL_PA = 101325.0
VAPOUR_PA = 0.40 * 2503.0
DENSITY_KG_M3 = (SEA_LEVEL_PA - 0.378 * VAPOUR_PA) / (287.05 * (273.15 + 21.111))
STANDARD_KG_M3 = 1.2014
TABLE = ((0.0, 0.5), (5.0, 1.5), (10.0, 2.5))
"""Turns, and flow factor in L/s per root of a pascal."""


def house_of(*, side: str = "supply", altitude: str = "0 m", has_table: bool = False) -> House:
    plain = copy.deepcopy(HOUSE)
    plain["altitude"] = altitude
    plain["systems"][0]["fan_settings"].append({"id": "boost", "role": "boost"})
    for terminal in plain["systems"][0]["terminals"]:
        terminal["side"] = side
        if has_table:
            terminal["opening_table"] = [
                {"opening": f"{turns} turns", "flow_factor": f"{factor} L/s/√Pa"}
                for turns, factor in TABLE
            ]
    home, problems = parse_house(plain)
    assert not problems
    return home


def reading(id: str, terminal: str, method: str, **fields: object) -> dict[str, object]:
    return {
        "id": id,
        "station": f"terminal:{terminal}",
        "setting": "continuous",
        "phase": "as_found",
        "method": method,
        **fields,
    }


def all_read(method: str, *looks: dict[str, object], **common: object) -> list[dict[str, object]]:
    """The three terminals, the first of them twice: it is turned next, by a meter in place."""
    turns = zip("abcd", ("t1", "t2", "t3", "t1"), (*looks, looks[0]), strict=True)
    return [reading(i, t, method, **{**common, **look}) for i, t, look in turns]


def visit_of(
    home: House,
    readings: list[dict[str, object]],
    *,
    moves: tuple[dict[str, object], ...] = (),
    instruments: tuple[dict[str, object], ...] = (),
) -> Visit:
    visit, problems = parse_visit(
        {
            "schema": "ventwright-visit-1",
            "id": "v",
            "house": "h",
            "conditions": {"indoor_temperature": "70 °F", "indoor_rel_humidity": "40 %"},
            "readings": readings,
            "adjustments": list(moves),
            "instruments": list(instruments),
        },
        house=home,
    )
    assert not problems
    return visit


def guided(home: House, visit: Visit) -> Guidance:
    snapshot = VisitSnapshot(
        engine="t", house=home, visit=visit, rule_sets=load_rule_sets(["own_targets"])
    )
    (one,) = guide(snapshot, assess(snapshot))
    return one


def step_to(home: House, stop_m3_s: float | None, **step: object) -> NextStep:
    """A turn at the first terminal with a stop chosen here; 3 % to either side is near enough."""
    told = NextStep(
        deed=Deed.TURN,
        side=home.systems[0].terminals[0].side,
        thing_id="t1",
        read_id="t1",
        stop_m3_s=stop_m3_s,
        stop_low_m3_s=0.97 * (stop_m3_s or 0.0),
        stop_high_m3_s=1.03 * (stop_m3_s or 0.0),
    )
    return replace(told, **step)  # type: ignore[arg-type]


def at_stop(home: House, visit: Visit, stop_m3_s: float | None, **step: object) -> StopShown | None:
    """As guidance asks."""
    scope = Scope(
        house=home, system=home.systems[0], looks=interpret_visit(home, visit), rule_sets=()
    )
    told = step_to(home, stop_m3_s, **step)
    return stop_shown(told, session=guided(home, visit).session, scope=scope, visit=visit)


CONE = {"area": "9 in²", "factor_ratio": 1.02, "has_cone": True}
FACE = {"area": "40 cm²", "factor_ratio": 0.9}
SPEEDS = [{"velocities": v} for v in (["2.52 m/s", "2.58 m/s"], ["1.7 m/s"], ["1.0 m/s"])]
FLOWS = [{"flows": q} for q in (["30 cfm", "31 cfm"], ["20 cfm"], ["12 cfm"])]
DROPS = [{"drops": p} for p in (["-4.2 Pa", "-4.4 Pa"], ["-2.0 Pa"], ["-1.1 Pa"])]
BOX = {"opening_area": "12 in²"}
BEHIND = {"terminal_pressure": "12.8 Pa"}
FREE = {**BEHIND, "terminal_pressure_free": "11.8 Pa"}
OWN_FAN = {"id": "m", "kind": "compensated_hood", "name": "hood", "air_reference": "standard"}
TAPS = [
    {"drops": ["50 Pa"], "opening": "10 turns"},
    {"drops": ["20 Pa"], "opening": "5 turns"},
    {"drops": ["20 Pa"], "opening": "4 turns"},
]
