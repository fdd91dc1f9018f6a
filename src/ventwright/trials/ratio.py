"""The ratio (proportional) procedure from the least-favoured terminal.

Source: harrison_gibbard_1965
"""

from __future__ import annotations

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


class Ratio:
    """Proportional balancing with one meter.

    In each branch the terminal with the lowest ratio of reading to target is the reference and is
    opened fully; the others, from the far end towards the fan, are brought to its ratio, and the
    reference is read again after each. Then the branches are brought to the ratio of the lowest in
    the same way with their dampers. Where there are no branch dampers the whole side is one group.
    A tour of readings follows, and the order is repeated until all are within their bands. Fans are
    set last; a side whose fan was set is read once more.

    With one meter each look back at the reference is a walk and a stop. Kinder to the procedure
    than the text: a trim is near enough at half the band and is tried three times, and a repeat
    passes by what the last tour shows near its reference.
    Source: register_balance_guide

    Parameters
    ----------
    has_spot_repairs
        Kinder still, and no part of the published order: after the first pass only what is outside
        its band is trimmed, to its own share of the side's total.
    """

    def __init__(self, *, has_spot_repairs: bool = False) -> None:
        self.has_spot_repairs = has_spot_repairs

    @property
    def name(self) -> str:
        """Name in tables."""
        return "ratio, spot repairs" if self.has_spot_repairs else "ratio"

    def balance(self, site: Site) -> Outcome:
        """As-found tour, each side in turn, then the fans, until nothing need be changed."""
        visit = Visit(site)
        visit.read_all(visit.cards)
        passes = dict.fromkeys(SIDES, 0)
        for _ in range(_CLOSINGS_MAX):
            for side in SIDES:
                while visit.out_of_band(side) and passes[side] < _PASSES_MAX:
                    self._pass(visit, side, is_repeat=passes[side] > 0)
                    passes[side] += 1
            changed = visit.set_fans()
            if not changed:
                break
            visit.read_all([name for side in changed for name in visit.of_side(side)])
        return visit.outcome()

    def _pass(self, visit: Visit, side: Side, *, is_repeat: bool) -> None:
        if is_repeat and self.has_spot_repairs:
            self._repair(visit, side, visit.out_of_band(side))
        else:
            self._side(visit, side, is_repeat)
        visit.read_all(visit.of_side(side))

    def _side(self, visit: Visit, side: Side, is_repeat: bool) -> None:
        branches = [card for card in visit.site.branches if card.side is side]
        if sum(card.has_damper for card in branches) < 2:
            self._group(visit, visit.of_side(side), is_repeat)
            return
        references = {
            card.id: self._group(visit, list(card.terminal_ids), is_repeat) for card in branches
        }
        self._between(visit, branches, references, is_repeat)

    def _group(self, visit: Visit, names: list[str], is_repeat: bool) -> str:
        """Bring a group to one ratio; the name of its reference."""
        reference = min(names, key=visit.rate)
        if visit.can_open(reference) and not (is_repeat and self._has_open(visit, names)):
            visit.turn_to_mark(reference, 1.0)
            visit.read(reference)
        return self._to_reference(visit, names, reference, is_repeat)

    def _has_open(self, visit: Visit, names: list[str]) -> bool:
        return any(name not in visit.stuck and not visit.can_open(name) for name in names)

    def _to_reference(
        self, visit: Visit, names: list[str], reference: str, is_repeat: bool = False
    ) -> str:
        for name in reversed(names):
            if name in (reference, *visit.stuck):
                continue
            if not (is_repeat and self._is_near(visit, name, reference)):
                reference = self._trim(visit, name, reference)
        return reference

    def _is_near(self, visit: Visit, name: str, reference: str) -> bool:
        """Whether a terminal's last reading is near the reference's ratio."""
        wanted = visit.rate(reference) * visit.cards[name].target_m3_s
        return visit.is_near(name, visit.last[name], wanted)

    def _trim(self, visit: Visit, name: str, reference: str) -> str:
        """Bring one terminal to the reference's ratio; it becomes the reference if it can't."""
        card = visit.cards[name]
        visit.read(name)
        for attempt in range(_ATTEMPTS):
            if self._is_near(visit, name, reference):
                return reference
            wanted = visit.rate(reference) * card.target_m3_s
            if attempt and visit.site.style is not Style.LIVE:
                visit.read(name)
            visit.bring_to(name, wanted)
            if name in visit.stuck:
                return reference
            if visit.last[name] < wanted and not visit.can_open(name):
                return name
            visit.read(reference)
        return reference

    def _between(
        self,
        visit: Visit,
        branches: list[BranchCard],
        references: dict[str, str],
        is_repeat: bool,
    ) -> None:
        """Bring the branches to the ratio of the lowest with their dampers."""
        if not is_repeat:
            for card in branches:
                visit.read(references[card.id])
        lowest = min(branches, key=lambda card: visit.rate(references[card.id]))
        index = references[lowest.id]
        if lowest.id not in visit.stuck and visit.opening[lowest.id] < 0.99:
            visit.turn_branch_to_mark(lowest.id, 1.0)
            visit.read(index)
        for card in reversed(branches):
            if card.id == lowest.id or card.id in visit.stuck:
                continue
            if not (is_repeat and self._is_near(visit, references[card.id], index)):
                self._trim_branch(visit, card, references[card.id], index)

    def _trim_branch(self, visit: Visit, card: BranchCard, name: str, index: str) -> None:
        target = visit.cards[name].target_m3_s
        visit.read(name)
        for _ in range(_ATTEMPTS):
            wanted = visit.rate(index) * target
            if visit.is_near(name, visit.last[name], wanted):
                return
            if card.id in visit.is_at_open_stop and visit.last[name] < wanted:
                return
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
                return
            visit.read(index)

    def _repair(self, visit: Visit, side: Side, wrong: list[str]) -> None:
        """Trim what is outside its band; the whole side if one has too little and can't open."""
        scale = visit.scale(side)
        starved = [n for n in wrong if visit.rate(n) < scale and not visit.can_open(n)]
        if starved:
            lowest = min(starved, key=visit.rate)
            self._to_reference(visit, visit.of_side(side), lowest)
            return
        for name in visit.tour({n: visit.cards[n].place for n in wrong}):
            if name not in visit.stuck:
                visit.read(name)
                visit.bring_to(name, scale * visit.cards[name].target_m3_s)
