"""Ventilation rates against printed tables and worked examples, row by row."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from tests.reference import shelves
from tests.reference.served_rooms import served
from ventwright.actions import load_rule_sets
from ventwright.house import Room, RoomKind
from ventwright.quantities import Dimension, from_si, unit_of_measure
from ventwright.requirements import (
    BalanceBasis,
    BalanceBehind,
    BalanceState,
    HouseFacts,
    RateResult,
    RoomMode,
    RuleSet,
    Trust,
    cycling_factor,
    flow_band,
    imbalance_share,
    required_rates,
    room_rates,
)
from ventwright.uncertainty import Verdict, exact

FOOT_M = 0.3048
CFM_M3_S = FOOT_M**3 / 60.0
TO_SI = {"_ft": FOOT_M, "_ft2": FOOT_M**2, "_ft3": FOOT_M**3, "_cfm": CFM_M3_S}
SUFFIX = {"_ft": "_m", "_ft2": "_m2", "_ft3": "_m3", "_cfm": "_m3_s"}
NOT_FACTS = {"rule_set", "method", "equation", "rounding", "imbalance_frac", "distributed"} | {
    "leakage_area_ratio",
    "fan_cfm",
}
FLOW_UNITS = {"cfm", "L/s", "m³/h"}
ROWS = shelves.rows("requirements.csv")


def rules_of(inputs: dict[str, Any]) -> RuleSet:
    (rules,) = load_rule_sets([inputs["rule_set"]])
    return rules


def facts_from(inputs: dict[str, Any]) -> HouseFacts:
    found: dict[str, Any] = {}
    for name, value in inputs.items():
        if name in NOT_FACTS:
            continue
        suffix = next((s for s in TO_SI if name.endswith(s)), None)
        if suffix is None:
            found[name] = value
        else:
            found[name.removesuffix(suffix) + SUFFIX[suffix]] = value * TO_SI[suffix]
    if "leakage_area_ratio" in inputs:
        found["leakage_area_m2"] = inputs["leakage_area_ratio"] * found["floor_area_m2"]
    if "imbalance_frac" in inputs:
        imbalance = inputs["imbalance_frac"]
        found["balance"] = BalanceState(
            verdict=Verdict.NOT_MET if imbalance else Verdict.MET,
            imbalance_frac=imbalance,
            behind=BalanceBehind.MEASURED,
            trust=Trust.READ,
        )
    if "distributed" in inputs:
        found |= served(inputs["distributed"])
    return HouseFacts(**found)


def rated(row: shelves.Row) -> RateResult:
    inputs = row.inputs
    return required_rates(rules_of(inputs), facts_from(inputs), method=inputs.get("method"))


def table(row: shelves.Row) -> float:
    """The cell; where the text builds its table from its equation, that is held to it as well."""
    inputs = row.inputs
    result = rated(row)
    flows = {method.id: method.flow_m3_s for method in result.methods}
    if inputs["rounding"] != "none":
        by_equation = (flows[inputs["equation"]] or 0.0) / CFM_M3_S
        rounded = {
            "exact": lambda cfm: cfm,
            "half_up": lambda cfm: math.floor(cfm + 0.5 + 1e-9),
            "next_5": lambda cfm: max(30.0, 5.0 * math.ceil(cfm / 5.0 - 1e-9)),
        }[inputs["rounding"]](by_equation)
        row.check(rounded)
    flow = flows[inputs["method"]]
    assert flow is not None
    return flow


def hours_a_day(row: shelves.Row) -> float:
    fan = row.inputs["fan_cfm"] * CFM_M3_S
    share = (rated(row).required_m3_s or 0.0) / fan
    rule = rules_of(row.inputs).rate.cycling
    # The equal mean: what the fan must move while it runs is what it does move.
    factor = cycling_factor(rule, run_frac=share, period_s=None).factor
    assert factor == pytest.approx(1.0 / share)
    return 24.0 * share


def room(row: shelves.Row) -> float:
    kind = RoomKind(row.inputs["room"])
    facts = HouseFacts(rooms=(Room(id="r", name="r", kind=kind),))
    (rate,) = [
        one
        for one in room_rates(rules_of(row.inputs), facts)
        if one.rule.mode is RoomMode(row.inputs["mode"])
    ]
    return rate.flow_m3_s


def band(row: shelves.Row, end: int) -> float:
    limits = flow_band(rules_of(row.inputs).total, target_m3_s=row.inputs["design_cfm"] * CFM_M3_S)
    return limits[end]


def imbalance(row: shelves.Row) -> float:
    inputs = row.inputs
    share = imbalance_share(
        supply_si=exact(inputs["supply_cfm"]),
        extract_si=exact(inputs["extract_cfm"]),
        basis=BalanceBasis(inputs["basis"]),
    )
    return 100.0 * abs(share.value)


FUNCTIONS: dict[str, Callable[[shelves.Row], Any]] = {
    "table": table,
    "total": lambda row: rated(row).total_m3_s,
    "required": lambda row: rated(row).required_m3_s,
    "capacity": lambda row: rated(row).capacity_m3_s,
    "infiltration": lambda row: rated(row).infiltration.flow_m3_s,
    "short_form": lambda row: rated(row).infiltration.short_form_m3_s,
    "air_changes": lambda row: rated(row).air_changes_1_h,
    "hours_a_day": hours_a_day,
    "room": room,
    "band_low": lambda row: band(row, 0),
    "band_high": lambda row: band(row, 1),
    "imbalance": imbalance,
    "cycling": lambda row: (
        cycling_factor(
            rules_of(row.inputs).rate.cycling, run_frac=row.inputs["run_frac"], period_s=None
        ).factor
    ),
}


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_requirement(row: shelves.Row) -> None:
    actual = FUNCTIONS[row["function"]](row)
    if row["unit"] in FLOW_UNITS:
        measure = unit_of_measure(row["unit"], dimension=Dimension.FLOW)
        actual = from_si(actual, unit_of_measure=measure)
    row.check(actual)
