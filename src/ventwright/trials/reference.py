"""Reference procedures: round after round to target, and all dampers at once.

All ask for the same averaging at every stop, begin with an as-found reading of every terminal and
end when a reading of every terminal, taken after the last change of a damper or fan of its side,
lies within its band and both totals by these readings are within 3 % of their goal.
"""

from __future__ import annotations

from ventwright.quantities.words import Side
from ventwright.trials.cards import Outcome
from ventwright.trials.ledger import Style
from ventwright.trials.site import Site
from ventwright.trials.truth import SIDES
from ventwright.trials.visit import FLOW_POWER, Visit, factor_at, opening_at_factor

_ROUNDS_MAX = 8
_CLOSINGS_MAX = 4
_WORTH_TURNING_FRAC = 0.03


class OwnTarget:
    """Round after round: each terminal outside its band is brought to its own target.

    The target is scaled by the side's total at the last readings, so that a side that moves too
    much or too little air is still shared rightly; when only such are left outside their bands
    whose dampers can't help, the others are brought half way towards the worst of them. A round in
    which nothing was turned is the as-left reading. When dampers are remote, a round reads all
    rooms and then turns all dampers that need it, rather than going back and forth for each.
    """

    name = "round after round"

    def balance(self, site: Site) -> Outcome:
        """As-found tour, rounds until one turns nothing, then fans, and rounds again."""
        visit = Visit(site)
        visit.read_all(visit.cards)
        sides = list(SIDES)
        for _ in range(_CLOSINGS_MAX):
            for side in sides:
                self._rounds(visit, side)
            sides = visit.set_fans()
            if not sides:
                break
            if site.style is Style.REMOTE:
                visit.read_sides(sides)
        return visit.outcome()

    def _rounds(self, visit: Visit, side: Side) -> None:
        walk = self._far if visit.site.style is Style.REMOTE else self._near
        for _ in range(_ROUNDS_MAX):
            if not walk(visit, side):
                break

    def _near(self, visit: Visit, side: Side) -> bool:
        """One round with the damper at hand; tells whether anything was turned."""
        scale, starved = self._aim(visit, side)
        is_shifted = scale != visit.scale(side)
        has_turned = False
        for name in visit.tour({n: visit.cards[n].place for n in visit.of_side(side)}):
            value = visit.read(name)
            wanted = scale * visit.cards[name].target_m3_s
            if visit.is_in_band(name, scale) and not (
                is_shifted and not visit.is_near(name, value, wanted)
            ):
                continue
            if name in visit.stuck or name in starved:
                continue
            if value < wanted and not visit.can_open(name):
                continue
            visit.bring_to(name, wanted)
            has_turned = True
        return has_turned

    def _aim(self, visit: Visit, side: Side) -> tuple[float, set[str]]:
        """Scale of the targets for the next round, and the terminals to be left alone in it.

        When all that lie outside their bands have dampers that can't help (at the open stop and
        low, or not to be moved), half way to the worst of them.
        """
        scale = visit.scale(side)
        outside = visit.out_of_band(side)
        helpless = {
            name: visit.rate(name)
            for name in outside
            if name in visit.stuck or (visit.rate(name) < scale and not visit.can_open(name))
        }
        if not helpless or len(helpless) < len(outside):
            return scale, set()
        worst = max(helpless, key=lambda name: abs(helpless[name] - scale))
        return (scale + helpless[worst]) / 2, set(helpless)

    def _far(self, visit: Visit, side: Side) -> bool:
        """One round with dampers in the crawl space or loft; tells whether anything was turned."""
        scale, helpless = self._aim(visit, side)
        is_shifted = scale != visit.scale(side)
        marks = {}
        for name in visit.of_side(side):
            card = visit.cards[name]
            wanted = scale * card.target_m3_s
            if visit.is_in_band(name, scale) and not (
                is_shifted and not visit.is_near(name, visit.last[name], wanted)
            ):
                continue
            if name in visit.stuck or name in helpless:
                continue
            ratio = (wanted / max(visit.last[name], 1e-6)) ** FLOW_POWER
            factor = ratio * factor_at(card.table, visit.opening[name])
            if ratio < 1 or visit.can_open(name):
                marks[name] = opening_at_factor(card.table, factor)
        if not marks or not visit.out_of_band(side):
            return False
        for name in visit.tour({n: visit.cards[n].damper_place for n in marks}):
            visit.turn_to_mark(name, marks[name])
        visit.read_all(visit.of_side(side))
        return True


class AllAtOnce:
    """Rounds in which every ring is set from one tour of readings.

    New flow factor = old · (target/reading)^1.3, all scaled alike so that the neediest ring is
    fully open (or further down where a ring that can't move has too little). Changes below 3 % are
    left. Rings are turned to their mark by the table; branch dampers found partly shut are opened
    on the first tour. Fans are set in the same rounds, which costs trips and saves a tour.

    Parameters
    ----------
    accept_frac
        Share of the band within which a reading is accepted. With the whole band a tenth of the
        houses end with a true flow outside it; four fifths leave room for the meter's noise.
    """

    def __init__(self, accept_frac: float = 1.0) -> None:
        self.accept_frac = accept_frac

    @property
    def name(self) -> str:
        """Name in tables."""
        return "all at once" if self.accept_frac == 1.0 else "all at once, strict"

    def balance(self, site: Site) -> Outcome:
        """As-found tour, then dampers and fans set and all read until all readings are right."""
        visit = Visit(site, accept_frac=self.accept_frac)
        visit.read_all(visit.cards)
        for number in range(_ROUNDS_MAX):
            sides = [side for side in SIDES if visit.out_of_band(side)]
            marks: dict[str, float] = {}
            for side in sides:
                marks |= self._marks(visit, side)
            opened = number == 0 and self._open_branches(visit, sides)
            for name in visit.tour({n: visit.cards[n].damper_place for n in marks}):
                visit.turn_to_mark(name, marks[name])
            changed = {*visit.set_fans(), *(sides if marks or opened else ())}
            if not changed:
                break
            visit.read_sides(changed)
        return visit.outcome()

    def _open_branches(self, visit: Visit, sides: list[Side]) -> bool:
        shut = [
            card.id
            for card in visit.site.branches
            if card.side in sides and card.id not in visit.stuck and card.opening_frac < 0.99
        ]
        for name in shut:
            visit.turn_branch_to_mark(name, 1.0)
        return bool(shut)

    def _marks(self, visit: Visit, side: Side) -> dict[str, float]:
        """Openings to turn to, by terminal."""
        scale = visit.scale(side)
        now, wanted, room = {}, {}, []
        for name in visit.of_side(side):
            card = visit.cards[name]
            change = (scale * card.target_m3_s / max(visit.last[name], 1e-6)) ** FLOW_POWER
            if name in visit.stuck:
                room.append(1 / change)
                continue
            now[name] = factor_at(card.table, visit.opening[name])
            most = now[name] if name in visit.is_at_open_stop else factor_at(card.table, 1.0)
            wanted[name] = now[name] * change
            room.append(most / wanted[name])
        common = min(room)
        return {
            name: opening_at_factor(visit.cards[name].table, common * wanted[name])
            for name in wanted
            if abs(common * wanted[name] / now[name] - 1) > _WORTH_TURNING_FRAC
        }
