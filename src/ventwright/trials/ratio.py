"""The ratio (proportional) procedure from the least-favoured terminal.

Source: harrison_gibbard_1965
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ventwright.quantities.words import Side
from ventwright.trials.cards import BranchCard, Outcome
from ventwright.trials.ledger import Style
from ventwright.trials.site import Site
from ventwright.trials.truth import SIDES
from ventwright.trials.visit import (
    FLOW_POWER,
    READINGS,
    Visit,
    factor_at,
    opening_at_factor,
)

_ATTEMPTS = 3
_PASSES_MAX = 5
_CLOSINGS_MAX = 4


@dataclass(slots=True)
class _Order:
    """How far one side has come: passes, the reference of each group, the branch that leads."""

    passes: int = 0
    references: dict[str, str] = field(default_factory=dict)
    index: str = ""


class Ratio:
    """Proportional balancing with one meter.

    In each branch the terminal with the lowest ratio of reading to target is the reference and is
    opened fully; the others, from the far end towards the fan, are brought to its ratio, and the
    reference is read again after each. Then the branches are brought to the ratio of the lowest in
    the same way with their dampers. Where there are no branch dampers the whole side is one group.
    A tour of readings follows, and the order is repeated, with the same references, until all are
    within their bands. Fans are set last; a side whose fan was set is read once more.

    With one meter each look back at the reference is a walk and a stop. Kinder to the procedure
    than the text: a trim is near enough at half the band and is tried three times.
    Source: register_balance_guide

    Parameters
    ----------
    accept_frac
        Share of the band within which a reading is accepted, as in `AllAtOnce`.
    """

    def __init__(self, accept_frac: float = 1.0) -> None:
        self.accept_frac = accept_frac

    @property
    def name(self) -> str:
        """Name in tables."""
        return "ratio" if self.accept_frac == 1.0 else "ratio, strict"

    def balance(self, site: Site) -> Outcome:
        """As-found tour, each side in turn, then the fans, until nothing need be changed."""
        visit = Visit(site, accept_frac=self.accept_frac)
        visit.read_all(visit.cards)
        orders = {side: _Order() for side in SIDES}
        for _ in range(_CLOSINGS_MAX):
            for side, order in orders.items():
                while visit.out_of_band(side) and order.passes < _PASSES_MAX:
                    self._side(visit, side, order)
                    visit.read_sides([side])
                    order.passes += 1
            changed = visit.set_fans()
            if not changed:
                break
            visit.read_sides(changed)
        return visit.outcome()

    def _side(self, visit: Visit, side: Side, order: _Order) -> None:
        branches = [card for card in visit.site.branches if card.side is side]
        if sum(card.has_damper for card in branches) < 2:
            self._group(visit, visit.of_side(side), "", order)
            return
        for card in branches:
            self._group(visit, list(card.terminal_ids), card.id, order)
        self._between(visit, branches, order)

    def _group(self, visit: Visit, names: list[str], key: str, order: _Order) -> None:
        """Bring a group to one ratio; its reference is found once and kept."""
        reference = order.references.get(key) or min(names, key=visit.rate)
        if key not in order.references and visit.can_open(reference):
            visit.turn_to_mark(reference, 1.0)
            visit.read(reference)
        for name in reversed(names):
            if name not in (reference, *visit.stuck):
                reference = self._trim(visit, name, reference)
        order.references[key] = reference

    def _trim(self, visit: Visit, name: str, reference: str) -> str:
        """Bring one terminal to the reference's ratio; it becomes the reference if it can't."""
        card = visit.cards[name]
        visit.read(name)
        for attempt in range(_ATTEMPTS):
            wanted = visit.rate(reference) * card.target_m3_s
            if visit.is_near(name, visit.last[name], wanted):
                return reference
            if attempt and visit.site.style is not Style.LIVE:
                visit.read(name)
            visit.bring_to(name, wanted)
            if name in visit.stuck:
                return reference
            if visit.last[name] < wanted and not visit.can_open(name):
                return name
            visit.read(reference)
        return reference

    def _between(self, visit: Visit, branches: list[BranchCard], order: _Order) -> None:
        """Bring the branches with their dampers to the ratio of the one that led at first."""
        if not order.index:
            for card in branches:
                visit.read(order.references[card.id])
            lowest = min(branches, key=lambda card: visit.rate(order.references[card.id]))
            order.index = lowest.id
            if lowest.id not in visit.stuck and visit.opening[lowest.id] < 0.99:
                visit.turn_branch_to_mark(lowest.id, 1.0)
                visit.read(order.references[lowest.id])
        index = order.references[order.index]
        for card in reversed(branches):
            if card.id == order.index:
                continue
            if self._trim_branch(visit, card, order.references[card.id], index):
                continue
            # No damper, or none that does it: the terminals themselves are brought to the ratio.
            for name in reversed(card.terminal_ids):
                if name not in visit.stuck:
                    self._trim(visit, name, index)

    def _trim_branch(self, visit: Visit, card: BranchCard, name: str, index: str) -> bool:
        """Bring a branch to the ratio by its damper; whether that did it."""
        if card.id in visit.stuck:
            return False
        target = visit.cards[name].target_m3_s
        visit.read(name)
        for _ in range(_ATTEMPTS):
            wanted = visit.rate(index) * target
            if visit.is_near(name, visit.last[name], wanted):
                return True
            if card.id in visit.is_at_open_stop and visit.last[name] < wanted:
                return True
            if visit.site.style is Style.LIVE:
                turn = visit.site.turn_branch(
                    card.id, to_reading_m3_s=wanted, watch=name, count=READINGS
                )
                if not turn.stop and not turn.is_stuck:
                    visit.last[name] = wanted
                visit.note(card.id, turn)
            else:
                ratio = (wanted / max(visit.last[name], 1e-6)) ** FLOW_POWER
                factor = ratio * factor_at(card.table, visit.opening[card.id])
                visit.turn_branch_to_mark(card.id, opening_at_factor(card.table, factor))
                visit.read(name)
            if card.id in visit.stuck:
                return False
            visit.read(index)
        return visit.is_near(name, visit.last[name], visit.rate(index) * target)
