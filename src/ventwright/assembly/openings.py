"""How dampers and terminals stand: all open, as the record has it, or as a visit left it."""

from __future__ import annotations

from collections.abc import Mapping

from ventwright.house import AdjustmentKind, DamperKind, House, Visit
from ventwright.quantities.records import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Openings:
    """Positions of dampers and terminals; whatever is not named stands fully open.

    A stuck damper stands where the record says, unless it is named here.

    Parameters
    ----------
    dampers_deg
        Angle of a butterfly blade from open, by branch [°].
    damper_open_ratios
        Open share of the area of an iris or slide, by branch.
    damper_loss_coeffs
        Loss coefficient at the damper, by branch; goes before a position.
    terminal_turns
        Turns from shut, by terminal, where it has a table.
    terminal_flow_factors
        Flow factor at standard air, by terminal [m³/s per √Pa]; goes before turns.
    closed
        Terminals that are shut.
    """

    dampers_deg: Mapping[str, float] = field(default_factory=dict)
    damper_open_ratios: Mapping[str, float] = field(default_factory=dict)
    damper_loss_coeffs: Mapping[str, float] = field(default_factory=dict)
    terminal_turns: Mapping[str, float] = field(default_factory=dict)
    terminal_flow_factors: Mapping[str, float] = field(default_factory=dict)
    closed: frozenset[str] = frozenset()


ALL_OPEN = Openings()


def openings_as_recorded(house: House) -> Openings:
    """Dampers where the house file last saw them; terminals open, since it does not say.

    Parameters
    ----------
    house
        Any house.

    >>> openings_as_recorded(House(schema="ventwright-house-1", id="h", name="Barn")) == ALL_OPEN
    True
    """
    return Openings(
        dampers_deg={
            branch.id: branch.damper.position_deg
            for system in house.systems
            for branch in system.branches
            if branch.damper is not None
            and branch.damper.kind is DamperKind.BUTTERFLY
            and branch.damper.position_deg is not None
        }
    )


def openings_as_left(house: House, visit: Visit) -> Openings:
    """Dampers and terminals as the final settings of a visit name them, else as recorded.

    Parameters
    ----------
    house
        The house.
    visit
        The visit whose final settings count.

    >>> house = House(schema="ventwright-house-1", id="h", name="Barn")
    >>> openings_as_left(house, Visit(schema="ventwright-visit-1", id="v", house="h")) == ALL_OPEN
    True
    """
    recorded = openings_as_recorded(house)
    finals = visit.final_settings
    dampers = {
        final.target: final.position_deg
        for final in finals
        if final.kind is AdjustmentKind.DAMPER and final.position_deg is not None
    }
    turns = {
        final.target: final.opening_turns
        for final in finals
        if final.kind is AdjustmentKind.TERMINAL and final.opening_turns is not None
    }
    return Openings(dampers_deg={**recorded.dampers_deg, **dampers}, terminal_turns=turns)
