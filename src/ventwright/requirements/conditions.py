"""Whether a house fulfils what a credit or factor depends on, and which rooms are wanting."""

from __future__ import annotations

from ventwright.house import RoomKind
from ventwright.quantities import Side
from ventwright.quantities.records import dataclass
from ventwright.requirements.facts import HouseFacts
from ventwright.requirements.rate_rules import Distribution
from ventwright.uncertainty import Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class DistributionState:
    """Whether air reaches and leaves the rooms it must; `wanting` lists rooms without a terminal.

    A verdict *not shown* means that the house file lists no rooms or terminals, or fewer bedrooms
    than it says the house has.
    """

    verdict: Verdict
    wanting: tuple[str, ...] = ()
    wanting_one_of: tuple[RoomKind, ...] = ()


def distribution_of(rule: Distribution, facts: HouseFacts) -> DistributionState:
    """Whether a system counts as distributed.

    Parameters
    ----------
    rule
        Which rooms must be served.
    facts
        The house.

    >>> from ventwright.requirements.citation import Citation, Trust
    >>> rule = Distribution(supply_to_every=(RoomKind.BEDROOM,),
    ...     citation=Citation(source="own", trust=Trust.OWN))
    >>> distribution_of(rule, HouseFacts()).verdict.value
    'not shown'
    """
    if not facts.rooms or not facts.terminals:
        return DistributionState(verdict=Verdict.NOT_SHOWN)
    wanting = [
        room.id
        for kinds, side in (
            (rule.supply_to_every, Side.SUPPLY),
            (rule.extract_from_every, Side.EXTRACT),
        )
        for room in facts.rooms
        if room.kind in kinds and not facts.terminals_of(room.id, side)
    ]
    one_of = rule.supply_to_one_of
    served = {
        room.kind for room in facts.rooms if facts.terminals_of(room.id, Side.SUPPLY)
    }.intersection(one_of)
    is_one_missing = bool(one_of) and not served
    listed = sum(room.kind is RoomKind.BEDROOM for room in facts.rooms)
    is_listed_whole = facts.bedrooms is None or listed >= facts.bedrooms
    if wanting or is_one_missing:
        verdict = Verdict.NOT_MET
    else:
        verdict = Verdict.MET if is_listed_whole else Verdict.NOT_SHOWN
    return DistributionState(
        verdict=verdict,
        wanting=tuple(wanting),
        wanting_one_of=one_of if is_one_missing else (),
    )
