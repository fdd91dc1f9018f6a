"""The least effort that could do: which dampers must move, and the stops that makes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ventwright.quantities.words import Side
from ventwright.trials.exact import (
    BAND_FRAC,
    BAND_M3_S,
    damper_of,
    exact_setting,
    movable,
    opening_at,
    shares,
    with_opening,
)
from ventwright.trials.ledger import Style
from ventwright.trials.physics import Vector, solve
from ventwright.trials.truth import SIDES, Indices, Setting, TruthHouse

_TRIES = 40


def acceptable_setting(
    house: TruthHouse, side: Side, *, start: Setting, loose: Indices, band_share: float
) -> Setting | None:
    """A setting with every true flow of a side right, moving only some dampers; none if not found.

    Least sum of sixth powers of the departures by damped Gauss–Newton steps over the logarithms of
    the dampers' sizes, within their stops; ends at the first setting that is right everywhere.

    Parameters
    ----------
    house
        The house.
    side
        Which side.
    start
        Where to begin; dampers outside `loose` keep their opening.
    loose
        Elements that may move, as in `movable`.
    band_share
        Share of the band to be kept: 1 for the band itself.

    >>> from ventwright.trials.make import draw_houses
    >>> house = draw_houses(np.random.SeedSequence(5), count=1)[0]
    >>> aim = acceptable_setting(house, Side.SUPPLY, start=house.as_found,
    ...                          loose=movable(house, Side.SUPPLY), band_share=1.0)
    >>> aim is None, aim == house.as_found
    (False, False)
    """
    search = _Search(house=house, side=side, loose=loose, band_share=band_share)
    return search.run(start)


@dataclass(slots=True, kw_only=True)
class _Search:
    house: TruthHouse
    side: Side
    loose: Indices
    band_share: float
    power: float = 6.0

    def run(self, start: Setting) -> Setting | None:
        setting, damping = start, 1e-2
        field = self.house.flows(setting)
        size = self._size(field.free_m3_s)
        for _ in range(_TRIES):
            if size is None:
                return setting
            if not self.loose:
                return None
            step = self._step(setting, field.free_m3_s, damping)
            trial = self._moved(setting, step)
            trial_field = self.house.flows(trial, start_m3_s=field.free_m3_s)
            trial_size = self._size(trial_field.free_m3_s)
            if trial_size is not None and trial_size > 0.999 * size:
                damping *= 5
                if damping > 1e4:
                    return None
                continue
            setting, field, size = trial, trial_field, trial_size
            damping = max(damping / 4, 1e-6)
        return setting if size is None else None

    def _departures(self, free: Vector) -> Vector:
        mine = list(self.house.of_side(self.side))
        targets = np.array([self.house.terminals[i].target_m3_s for i in mine])
        return shares(free[mine], targets)

    def _size(self, free: Vector) -> float | None:
        """Norm of the departures; none once all are within the band."""
        off = np.abs(self._departures(free))
        if float(off.max()) <= self.band_share:
            return None
        return float(np.sum(off**self.power) ** (1 / self.power))

    def _step(self, setting: Setting, start: Vector, damping: float) -> Vector:
        house = self.house
        elements = house.elements_at(setting)
        field = solve(elements, start_m3_s=start)
        mine = list(house.of_side(self.side))
        flows = field.free_m3_s[mine]
        targets = np.array([house.terminals[i].target_m3_s for i in mine])
        wanted = targets * flows.sum() / targets.sum()
        band = np.maximum(BAND_FRAC * wanted, BAND_M3_S)
        moves = np.stack([field.response_m3_s(elements, e)[mine] for e in self.loose], axis=1)
        slope = (moves - np.outer(targets / targets.sum(), moves.sum(axis=0))) / band[:, None]
        off = (flows - wanted) / band
        weight = (np.abs(off) / np.abs(off).max()) ** ((self.power - 2) / 2) + 1e-3
        weighted, aim = slope * weight[:, None], off * weight / (self.power - 1)
        gradient = weighted.T @ aim
        keep = self._not_blocked(setting, gradient)
        step = np.zeros(len(self.loose))
        square = weighted[:, keep].T @ weighted[:, keep]
        scale = max(float(np.trace(square)) / max(len(keep), 1), 1e-12)
        if keep:
            matrix = square + damping * scale * np.eye(len(keep))
            step[keep] = np.linalg.solve(matrix, -gradient[keep])
        return np.clip(step, -1.5, 1.5)

    def _limits(self, element: int) -> tuple[float, float]:
        damper = damper_of(self.house, element)
        if damper is None:
            raise ValueError(f"element {element} of {self.house.name} has no damper")
        return damper.coeff(damper.high_stop_frac), damper.coeff(damper.low_stop_frac)

    def _not_blocked(self, setting: Setting, gradient: Vector) -> list[int]:
        keep = []
        for j, element in enumerate(self.loose):
            damper = damper_of(self.house, element)
            if damper is None:
                continue
            opening = opening_at(self.house, setting, element)
            is_open = opening >= damper.high_stop_frac - 1e-9 and gradient[j] > 0
            is_shut = opening <= damper.low_stop_frac + 1e-9 and gradient[j] < 0
            if not (is_open or is_shut):
                keep.append(j)
        return keep

    def _moved(self, setting: Setting, step: Vector) -> Setting:
        for j, element in enumerate(self.loose):
            damper = damper_of(self.house, element)
            if damper is None or step[j] == 0:
                continue
            now = damper.coeff(opening_at(self.house, setting, element))
            least, most = self._limits(element)
            wanted = min(max(now * float(np.exp(step[j])), least), most)
            opening = min(
                max(damper.opening_for(wanted), damper.low_stop_frac), damper.high_stop_frac
            )
            setting = with_opening(self.house, setting, element, opening)
        return setting


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """The least effort that could do.

    Parameters
    ----------
    terminal_count
        Terminals of both sides, each read as found and as left.
    must_move
        Elements of a least set of dampers that, moved, bring every flow within its band.
    exact_moves
        Elements the exact setting moves by more than 2 % in flow factor; where rings alone can't
        bring a side right, what a least set moves as well.
    """

    terminal_count: int
    must_move: Indices
    exact_moves: Indices

    @property
    def stop_count(self) -> int:
        """As-found readings, one stop at each damper that must move, as-left readings."""
        return 2 * self.terminal_count + len(self.must_move)

    @property
    def exact_stop_count(self) -> int:
        """The same with every damper that the exact setting moves."""
        return 2 * self.terminal_count + len(self.exact_moves)


def least_trips(house: TruthHouse, floor: Floor, *, style: Style) -> int:
    """Trips that can't be saved: a tour as found, a tour as left, and the way to dampers elsewhere.

    Setting a fan is left out: where its unit is in the place one comes through it costs none.

    Parameters
    ----------
    house
        The house.
    floor
        Its floor, for the dampers that must move.
    style
        How dampers are set; when remote all of them are in the crawl space or loft.

    >>> from ventwright.trials.make import draw_houses
    >>> house = draw_houses(np.random.SeedSequence(5), count=1)[0]
    >>> least_trips(house, floor_of(house), style=Style.REMOTE) >= 2
    True
    """
    tours = 2 * (len({item.place.area for item in house.terminals}) - 1)
    is_away = style is Style.REMOTE or any(e >= len(house.terminals) for e in floor.must_move)
    return tours + 2 * (bool(floor.must_move) and is_away)


def floor_of(house: TruthHouse, *, band_share: float = 1.0) -> Floor:
    """The floor of a house, from its truth.

    Dampers are struck out one by one, in two orders (least moved first; rings before branch
    dampers), as long as the others can still bring every flow within the band; the smaller set
    counts. No damper of the set can be left out, but a quite different set might be smaller.

    Parameters
    ----------
    house
        The house.
    band_share
        Share of the band to be kept.

    >>> from ventwright.trials.make import draw_houses
    >>> floor = floor_of(draw_houses(np.random.SeedSequence(5), count=1)[0])
    >>> floor.stop_count == 2 * floor.terminal_count + len(floor.must_move)
    True
    """
    must: list[int] = []
    exact: list[int] = []
    aim = exact_setting(house)
    for side in SIDES:
        least = _least_moves(house, side, aim, band_share)
        exact += [
            e
            for e in movable(house, side)
            if _factor_change(house, aim, e) > 0.02
            or (e in least and not _is_right(house, side, aim))
        ]
        must += least
    return Floor(
        terminal_count=len(house.terminals), must_move=tuple(must), exact_moves=tuple(exact)
    )


def _is_right(house: TruthHouse, side: Side, setting: Setting) -> bool:
    mine = list(house.of_side(side))
    targets = np.array([house.terminals[i].target_m3_s for i in mine])
    off = shares(house.flows(setting).free_m3_s[mine], targets)
    return bool(np.abs(off).max() <= 1.0)


def _factor_change(house: TruthHouse, aim: Setting, element: int) -> float:
    """Change of the logarithm of the flow factor from as found to a setting, without sign."""
    damper = damper_of(house, element)
    if damper is None:
        return 0.0
    found = damper.coeff(opening_at(house, house.as_found, element))
    wanted = damper.coeff(opening_at(house, aim, element))
    return abs(0.5 * float(np.log(wanted / found)))


def _least_moves(house: TruthHouse, side: Side, aim: Setting, band_share: float) -> list[int]:
    everything = movable(house, side)
    begin = acceptable_setting(house, side, start=aim, loose=everything, band_share=band_share)
    if begin is None:
        raise ValueError(f"{house.name}: the {side} side can't be brought within its bands")
    found = acceptable_setting(house, side, start=house.as_found, loose=(), band_share=band_share)
    if found is not None:
        return []
    by_change = sorted(everything, key=lambda e: _factor_change(house, begin, e))
    rings_first = sorted(by_change, key=lambda e: e >= len(house.terminals))
    tries = [
        _strike_out(house, side, begin, order, band_share) for order in (by_change, rings_first)
    ]
    return min(tries, key=len)


def _strike_out(
    house: TruthHouse, side: Side, begin: Setting, order: Sequence[int], band_share: float
) -> list[int]:
    left = list(order)
    setting = begin
    for element in order:
        others = [e for e in left if e != element]
        found = opening_at(house, house.as_found, element)
        start = with_opening(house, setting, element, found)
        better = acceptable_setting(
            house, side, start=start, loose=tuple(others), band_share=band_share
        )
        if better is not None:
            left, setting = others, better
    return left
