"""One house under several rule sets."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from ventwright.actions.rule_sets import load_rule_sets, shipped_rule_sets
from ventwright.exchange import canonical_json, read_house
from ventwright.quantities import Problem, UserError
from ventwright.requirements import ComparisonRow, MeasuredFlows, compare, facts_of
from ventwright.uncertainty import exact

__all__ = ["ComparisonRow", "HouseComparison", "compare_house", "comparison_json"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseComparison:
    """What each rule set asks of a house, and the problems of its file."""

    house: str
    rows: tuple[ComparisonRow, ...]
    problems: tuple[Problem, ...]


def compare_house(
    house_path: Path,
    ids: Iterable[str] = (),
    *,
    supply_m3_s: float | None = None,
    extract_m3_s: float | None = None,
    weather_shielding_factor: float | None = None,
    exterior_share_frac: float | None = None,
) -> HouseComparison:
    """Read a house file and work out what each rule set asks of it.

    Parameters
    ----------
    house_path
        House file (.toml); rule sets are also looked for in the folder `rules` beside it.
    ids
        Rule sets; none means all that ship.
    supply_m3_s, extract_m3_s
        Total flows to judge [m³/s], both or neither; taken as exact readings, so that a verdict
        here says nothing about their uncertainty.
    weather_shielding_factor
        For the credit for infiltration [1].
    exterior_share_frac
        Share of the envelope that faces outdoors [1]; 1 for a detached house.

    Raises
    ------
    UserError
        If the file holds no house, a rule set is not known, or one flow is given alone.

    >>> from ventwright.actions.demo import examples_folder
    >>> house = examples_folder() / "juniper_mesa" / "house.toml"
    >>> row = compare_house(house, ["minnesota_1322"]).rows[0]
    >>> round(1000 * row.result.required_m3_s, 1)
    21.9
    """
    house, problems = read_house(house_path)
    if house is None:
        raise UserError(f"{house_path} holds no house", problems=problems)
    if (supply_m3_s is None) != (extract_m3_s is None):
        raise UserError("give both the supply and the extract flow, or neither")
    measured = None
    if supply_m3_s is not None and extract_m3_s is not None:
        supply, extract = exact(supply_m3_s), exact(extract_m3_s)
        # Outdoor and exhaust air stand for the same two totals here: the balance table is about
        # how rules relate one pair of flows, not about leakage inside a unit.
        measured = MeasuredFlows(
            supply_m3_s=supply, extract_m3_s=extract, outdoor_m3_s=supply, exhaust_m3_s=extract
        )
    facts = facts_of(
        house,
        weather_shielding_factor=weather_shielding_factor,
        exterior_share_frac=exterior_share_frac,
    )
    rule_sets = load_rule_sets(tuple(ids) or shipped_rule_sets(), beside=house_path.parent)
    return HouseComparison(
        house=house.name, rows=compare(facts, rule_sets, measured=measured), problems=problems
    )


def comparison_json(compared: HouseComparison) -> bytes:
    """A comparison as canonical JSON.

    Parameters
    ----------
    compared
        What to write.

    >>> comparison_json(HouseComparison(house="Barn", rows=(), problems=()))
    b'{"house":"Barn","problems":[],"rows":[]}\\n'
    """
    return canonical_json(compared)
