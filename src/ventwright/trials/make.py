"""Drawing houses at random: layouts, ducts, dampers, fans, leaks and the state they are found in.

Sizes are chosen as a designer would, from flows and usual velocities; what was built then departs
from the design. The ranges are judgement, informed by the reference texts behind the key.
Source: trial_house_ranges
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ventwright.quantities.words import Side
from ventwright.trials.builder import Builder, Choice
from ventwright.trials.exact import exact_setting, movable
from ventwright.trials.floor import acceptable_setting
from ventwright.trials.truth import SIDES, Layout, Setting, TruthHouse, TruthTerminal, afresh


@dataclass(frozen=True, slots=True, kw_only=True)
class Traits:
    """What a house must have.

    Parameters
    ----------
    layout
        Trunk or manifold.
    has_stuck
        One or two dampers that will not move.
    has_fixed
        One or two terminals without a ring.
    has_branch_dampers
        A damper in each branch where the layout has more than one branch.
    is_tampered
        Found at odd openings rather than all open.
    has_small
        A terminal of 5 cfm on a line of its own on each side.
    """

    layout: Layout
    has_stuck: bool = False
    has_fixed: bool = False
    has_branch_dampers: bool = True
    is_tampered: bool = False
    has_small: bool = False


_ATTEMPTS = 20
_SHARES = {"has_stuck": 0.3, "has_fixed": 0.3, "lacks_branch_dampers": 0.3, "is_tampered": 0.4}


def draw_houses(
    seed: np.random.SeedSequence, *, count: int, has_small: bool = False
) -> tuple[TruthHouse, ...]:
    """Draw a series of houses, trunk and manifold by turns.

    Stuck dampers, fixed terminals and missing branch dampers each occur in 30 % of the houses,
    rounded up, odd openings in 40 %; which houses is drawn without replacement, so that no series
    falls short by chance.

    Parameters
    ----------
    seed
        Everything follows from it.
    count
        How many houses.
    has_small
        Give each house a terminal of 5 cfm on a line of its own on each side.

    Returns
    -------
    The houses; the same seed and count give the same ones.

    >>> houses = draw_houses(np.random.SeedSequence(5), count=2)
    >>> [str(house.layout) for house in houses]
    ['trunk', 'manifold']
    """
    seeds = afresh(seed).spawn(count + 1)
    rng = np.random.default_rng(seeds[0])
    chosen = {
        trait: set(rng.permutation(count)[: math.ceil(share * count)].tolist())
        for trait, share in _SHARES.items()
    }
    return tuple(
        draw_house(
            seeds[i + 1],
            name=f"house {i + 1}",
            traits=Traits(
                layout=Layout.TRUNK if i % 2 == 0 else Layout.MANIFOLD,
                has_stuck=i in chosen["has_stuck"],
                has_fixed=i in chosen["has_fixed"],
                has_branch_dampers=i not in chosen["lacks_branch_dampers"],
                is_tampered=i in chosen["is_tampered"],
                has_small=has_small,
            ),
        )
        for i in range(count)
    )


def draw_house(seed: np.random.SeedSequence, *, name: str, traits: Traits) -> TruthHouse:
    """Draw one house that can be balanced.

    Terminals 4 to 12 a side with targets of 8 to 60 cfm, both sides with the same total. Fixed
    grilles and stuck rings are given what the balanced house needs of them within 4 % of flow, as a
    designer or a former visit would have left them; a stuck ring alone on a branch with a working
    damper may stand anywhere. A draw that no setting brings within half its bands is drawn again.

    Parameters
    ----------
    seed
        Everything follows from it.
    name
        Name of the house.
    traits
        What it must have.

    >>> traits = Traits(layout=Layout.TRUNK, has_small=True)
    >>> house = draw_house(np.random.SeedSequence(5), name="one", traits=traits)
    >>> 4 <= len(house.of_side(Side.SUPPLY)) <= 12
    True
    """
    for attempt in afresh(seed).spawn(_ATTEMPTS):
        house = _draw_once(np.random.default_rng(attempt), name, traits)
        if house is not None:
            return house
    raise ValueError(f"{name}: no house with {traits} that can be balanced in {_ATTEMPTS} draws")


def _draw_once(rng: np.random.Generator, name: str, traits: Traits) -> TruthHouse | None:
    """A house, or none if no setting of its working dampers keeps every flow well in its band."""
    choice = Choice(
        layout=traits.layout,
        has_branch_dampers=traits.has_branch_dampers,
        has_small=traits.has_small,
    )
    house = Builder(rng, choice).build(name, _draw_targets(rng, has_small=traits.has_small))
    stuck, fixed = _pick_special(rng, house, traits)
    house = _with_stuck_flaps(rng, house, stuck)
    house = _with_special_terminals(rng, house, stuck, fixed)
    house = replace(house, as_found=_found_setting(rng, house, traits.is_tampered))
    start = exact_setting(house)
    for side in SIDES:
        loose = movable(house, side)
        if acceptable_setting(house, side, start=start, loose=loose, band_share=0.5) is None:
            return None
    return house


def _draw_targets(rng: np.random.Generator, *, has_small: bool) -> dict[Side, list[int]]:
    """Targets in whole cfm, the same total on both sides."""
    own = [5] if has_small else []
    supply = _shares(rng, int(rng.integers(4, 13 - len(own))))
    total = sum(supply)
    few = min(12 - len(own), max(4, math.ceil(total / 45)))
    many = max(few, min(12 - len(own), total // 10))
    extract = _spread(rng, _shares(rng, int(rng.integers(few, many + 1))), total)
    return {Side.SUPPLY: supply + own, Side.EXTRACT: extract + own}


def _shares(rng: np.random.Generator, count: int) -> list[int]:
    return [int(q) for q in np.clip(np.round(rng.lognormal(math.log(18), 0.5, count)), 8, 60)]


def _spread(rng: np.random.Generator, targets: list[int], total: int) -> list[int]:
    """Scale to a total, then add or take single cfm where there is room."""
    scaled = [
        int(q) for q in np.clip(np.round(np.array(targets) * total / sum(targets)), 8, 60).tolist()
    ]
    while sum(scaled) != total:
        step = 1 if sum(scaled) < total else -1
        room = [i for i, q in enumerate(scaled) if 8 <= q + step <= 60]
        scaled[int(rng.choice(room))] += step
    return scaled


def _pick_special(
    rng: np.random.Generator, house: TruthHouse, traits: Traits
) -> tuple[set[str], set[str]]:
    """Which dampers are stuck and which terminals are fixed: at most two each, never the same."""
    names = [item.id for item in house.terminals]
    flaps = [item.id for item in house.branches if item.flap is not None]
    stuck: set[str] = set()
    fixed: set[str] = set()
    if traits.has_stuck:
        pool = names + flaps
        stuck = set(rng.choice(pool, size=int(rng.integers(1, 3)), replace=False).tolist())
    if traits.has_fixed:
        pool = [item for item in names if item not in stuck]
        fixed = set(rng.choice(pool, size=int(rng.integers(1, 3)), replace=False).tolist())
    return stuck, fixed


def _with_stuck_flaps(rng: np.random.Generator, house: TruthHouse, stuck: set[str]) -> TruthHouse:
    branches = list(house.branches)
    found = list(house.as_found.branch_frac)
    for b, branch in enumerate(branches):
        if branch.id in stuck and branch.flap is not None:
            branches[b] = replace(branch, flap=replace(branch.flap, is_stuck=True))
            found[b] = float(rng.uniform(0.72, 1.0))
    setting = replace(house.as_found, branch_frac=tuple(found))
    return replace(house, branches=tuple(branches), as_found=setting)


def _with_special_terminals(
    rng: np.random.Generator, house: TruthHouse, stuck: set[str], fixed: set[str]
) -> TruthHouse:
    """Give fixed grilles and stuck rings about what the balanced house needs of them."""
    exact = exact_setting(house)
    terminals = list(house.terminals)
    found = list(house.as_found.terminal_frac)
    for i, terminal in enumerate(terminals):
        if terminal.ring is None or terminal.id not in stuck | fixed:
            continue
        wanted = terminal.ring.coeff(exact.terminal_frac[i])
        coeff = wanted * float(np.clip(rng.lognormal(0, 0.04), 0.92, 1.08))
        if terminal.id in fixed:
            terminals[i] = replace(terminal, ring=None, coeff=coeff, table=())
            found[i] = 1.0
        else:
            terminals[i], found[i] = _stuck(rng, house, terminal, coeff)
    setting = replace(house.as_found, terminal_frac=tuple(found))
    return replace(house, terminals=tuple(terminals), as_found=setting)


def _stuck(
    rng: np.random.Generator, house: TruthHouse, terminal: TruthTerminal, coeff: float
) -> tuple[TruthTerminal, float]:
    """A ring that will not move; open anywhere if it has a working branch damper to itself."""
    if terminal.ring is None:
        raise ValueError(f"{terminal.id}: a fixed grille can't be stuck")
    flap = house.branches[terminal.branch].flap
    mates = sum(item.branch == terminal.branch for item in house.terminals)
    opening = min(max(terminal.ring.opening_for(coeff), 0.05), terminal.ring.high_stop_frac)
    if flap is not None and not flap.is_stuck and mates == 1:
        opening = float(rng.uniform(opening, 1.0))
    return replace(terminal, ring=replace(terminal.ring, is_stuck=True)), opening


def _found_setting(rng: np.random.Generator, house: TruthHouse, is_tampered: bool) -> Setting:
    """All open, or at odd openings; fans near the speed the design needs."""
    terminal = list(house.as_found.terminal_frac)
    branch = list(house.as_found.branch_frac)
    for i, item in enumerate(house.terminals):
        if item.ring is not None and not item.ring.is_stuck:
            odd = float(rng.uniform(0.3, 1.0)) if rng.random() < 0.7 else 1.0
            terminal[i] = min(odd if is_tampered else 1.0, item.ring.high_stop_frac)
    for b, shut in enumerate(house.branches):
        if shut.flap is not None and not shut.flap.is_stuck:
            odd = float(rng.uniform(0.65, 1.0)) if rng.random() < 0.4 else 1.0
            branch[b] = odd if is_tampered else 1.0
    exact = exact_setting(house).speed_frac
    speeds = tuple(float(min(1.0, w * rng.uniform(0.88, 1.15))) for w in exact)
    return Setting(
        terminal_frac=tuple(terminal),
        branch_frac=tuple(branch),
        speed_frac=(speeds[0], speeds[1]),
    )
