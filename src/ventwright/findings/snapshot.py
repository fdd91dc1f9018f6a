"""The snapshot: everything a judgement needs, frozen."""

from __future__ import annotations

from ventwright.house import House, Visit
from ventwright.quantities import Problem
from ventwright.quantities.records import dataclass
from ventwright.requirements import RuleSet

SNAPSHOT_SCHEMA = "ventwright-snapshot-1"


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitSnapshot:
    """House, visit, rule sets, and the problems met in reading them.

    The rule sets are part of it, so that a rule changed later does not change an old finding.
    """

    schema: str = SNAPSHOT_SCHEMA
    engine: str
    house: House
    visit: Visit
    rule_sets: tuple[RuleSet, ...]
    problems: tuple[Problem, ...] = ()
