"""Concentrations in zones: steady, through a night, and the supply that mends a stale room.

``V dc/dt = G + outdoor air · c_outdoor + Σ transfer in · c_there − air out · c`` for each zone, for
carbon dioxide or any substance that stays in the air. Concentrations are of the substance's own
measure per m³ of air; for gases that is a share by volume.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ventwright.enclosure.dense import exponential, solve
from ventwright.enclosure.zones import AirPath, AirPaths, Door, Zone, air_paths, without_fresh_air
from ventwright.quantities.records import dataclass, replace


@dataclass(frozen=True, slots=True, kw_only=True)
class AirLevels:
    """Concentration of each zone; None where it has no steady value or nothing reaches it.

    Parameters
    ----------
    zone_ids
        The zones.
    concentration_frac
        One for each.
    """

    zone_ids: tuple[str, ...]
    concentration_frac: tuple[float | None, ...]

    def of(self, zone_id: str) -> float | None:
        """Concentration of one zone."""
        return self.concentration_frac[self.zone_ids.index(zone_id)]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Equations:
    """``V dc/dt = gain − loss · c`` with loss as a matrix [m³/s]."""

    ids: tuple[str, ...]
    loss: list[list[float]]
    gain: list[float]


def _equations(
    paths: AirPaths, generation_m3_s: Mapping[str, float], outdoor_frac: float
) -> _Equations:
    place = {z.id: i for i, z in enumerate(paths.zones)}
    unknown = sorted(set(generation_m3_s) - set(place))
    if unknown:
        raise ValueError(f"no zone {unknown!r}")
    count = len(place)
    loss = [[0.0] * count for _ in range(count)]
    gain = [generation_m3_s.get(z.id, 0.0) for z in paths.zones]
    extracts = {f.source: f.flow_m3_s for f in paths.flows if f.path is AirPath.EXTRACT}
    all_extract = sum(extracts.values())
    back = paths.exhaust_transfer_frac if all_extract > 0.0 else 0.0
    for f in paths.flows:
        if f.source:
            loss[place[f.source]][place[f.source]] += f.flow_m3_s
        if not f.target:
            continue
        row = place[f.target]
        if f.source:
            loss[row][place[f.source]] -= f.flow_m3_s
        elif f.path is AirPath.SUPPLY:
            gain[row] += f.flow_m3_s * (1.0 - back) * outdoor_frac
            for source, flow in extracts.items():
                loss[row][place[source]] -= f.flow_m3_s * back * flow / all_extract
        else:
            gain[row] += f.flow_m3_s * outdoor_frac
    return _Equations(ids=tuple(place), loss=loss, gain=gain)


def steady_levels(
    paths: AirPaths, *, generation_m3_s: Mapping[str, float], outdoor_frac: float = 0.0
) -> AirLevels:
    """Where concentrations settle.

    Parameters
    ----------
    paths
        Zones and air flows.
    generation_m3_s
        Given off in each zone [m³/s]; zones left out give off nothing.
    outdoor_frac
        Concentration outdoors.

    Returns
    -------
    AirLevels
        None for a zone that no outdoor air reaches: there it rises for ever.

    Raises
    ------
    ValueError
        If something is given off in a zone that does not exist.

    Source: mass_balance

    >>> bed = Zone(id="bed", volume_m3=30.0, supply_m3_s=77 / 3600, extract_m3_s=77 / 3600)
    >>> paths = air_paths([bed], [], root="bed")
    >>> levels = steady_levels(paths, generation_m3_s={"bed": 60e-3 / 3600}, outdoor_frac=420e-6)
    >>> round(levels.of("bed") * 1e6)
    1199
    """
    equations = _equations(paths, generation_m3_s, outdoor_frac)
    stale = set(without_fresh_air(paths))
    kept = [i for i, zone_id in enumerate(equations.ids) if zone_id not in stale]
    found: list[float | None] = [None] * len(equations.ids)
    if kept:
        # No air passes from the zones left out into the others: their own balance forbids it.
        solved = solve(
            [[equations.loss[i][j] for j in kept] for i in kept], [equations.gain[i] for i in kept]
        )
        for i, value in zip(kept, solved, strict=True):
            found[i] = value
    return AirLevels(zone_ids=equations.ids, concentration_frac=tuple(found))


@dataclass(frozen=True, slots=True, kw_only=True)
class AirCourse:
    """Concentrations through time.

    Parameters
    ----------
    times_s
        From the start [s], the first 0.
    levels
        At those times.
    mean
        Mean of each zone over the whole time.
    """

    times_s: tuple[float, ...]
    levels: tuple[AirLevels, ...]
    mean: AirLevels


def course_of_levels(
    paths: AirPaths,
    *,
    generation_m3_s: Mapping[str, float],
    start_frac: Mapping[str, float],
    duration_s: float,
    outdoor_frac: float = 0.0,
    step_count: int = 16,
) -> AirCourse:
    """Concentrations while nothing changes but they themselves, exact at every time given.

    One matrix exponential carries a step; no time step error enters, and zones that no fresh air
    reaches are no trouble.

    Parameters
    ----------
    paths
        Zones and air flows.
    generation_m3_s
        Given off in each zone [m³/s].
    start_frac
        Concentration at the start; zones left out start at that of outdoors.
    duration_s
        How long [s], above 0.
    outdoor_frac
        Concentration outdoors.
    step_count
        In how many equal steps it is told.

    Raises
    ------
    ValueError
        If the duration or the count of steps is not above 0, or a zone does not exist.

    Source: mass_balance

    >>> cinema = Zone(id="hall", volume_m3=500.0, supply_m3_s=500 / 3600, extract_m3_s=500 / 3600)
    >>> course = course_of_levels(air_paths([cinema], [], root="hall"), duration_s=3600.0,
    ...     generation_m3_s={"hall": 5 / 3600}, start_frac={})
    >>> round(course.levels[-1].of("hall"), 5)
    0.00632
    """
    if not (duration_s > 0.0 and step_count > 0):
        raise ValueError(f"duration_s {duration_s!r}, step_count {step_count!r}: above 0")
    equations = _equations(paths, generation_m3_s, outdoor_frac)
    if set(start_frac) - set(equations.ids):
        raise ValueError(f"no zone {sorted(set(start_frac) - set(equations.ids))!r}")
    count, step_s = len(equations.ids), duration_s / step_count
    carry = exponential(_rates(paths, equations, step_s))
    state = [
        *(start_frac.get(zone_id, outdoor_frac) for zone_id in equations.ids),
        *([0.0] * count),
        1.0,
    ]
    levels = [_levels(equations, state[:count])]
    for _ in range(step_count):
        state = [sum(a * b for a, b in zip(row, state, strict=True)) for row in carry]
        levels.append(_levels(equations, state[:count]))
    return AirCourse(
        times_s=tuple(step_s * i for i in range(step_count + 1)),
        levels=tuple(levels),
        mean=_levels(equations, [x / step_count for x in state[count : 2 * count]]),
    )


def _rates(paths: AirPaths, equations: _Equations, step_s: float) -> list[list[float]]:
    """Rate matrix of concentrations, their integrals (in steps) and the constant 1, for a step."""
    count = len(equations.ids)
    rows = []
    for i, zone in enumerate(paths.zones):
        per = step_s / zone.volume_m3
        rows.append(
            [
                *(-x * per if x != 0.0 else 0.0 for x in equations.loss[i]),
                *([0.0] * count),
                equations.gain[i] * per,
            ]
        )
    for i in range(count):
        rows.append([*(1.0 if j == i else 0.0 for j in range(count)), *([0.0] * (count + 1))])
    rows.append([0.0] * (2 * count + 1))
    return rows


def _levels(equations: _Equations, values: Sequence[float]) -> AirLevels:
    return AirLevels(zone_ids=equations.ids, concentration_frac=tuple(values))


def fresh_air_reaching_m3_s(paths: AirPaths, *, zone_id: str) -> float:
    """Outdoor air that, brought straight into a zone, would keep its own people's air as fresh.

    ``1 / level`` of a unit source in that zone alone [m³/s]; 0 where no outdoor air reaches it.
    A bedroom fed from the hall has the air that swaps past its door, less what of its own comes
    back with it.

    Parameters
    ----------
    paths
        Zones and air flows.
    zone_id
        The zone.

    Source: mass_balance

    >>> bed = Zone(id="bed", volume_m3=30.0)
    >>> hall = Zone(id="hall", volume_m3=200.0, supply_m3_s=0.04, extract_m3_s=0.04)
    >>> door = Door(first="bed", second="hall", exchange_m3_s=0.001)
    >>> paths = air_paths([bed, hall], [door], root="hall")
    >>> round(fresh_air_reaching_m3_s(paths, zone_id="bed"), 6)
    0.000976
    """
    level = steady_levels(paths, generation_m3_s={zone_id: 1.0}).of(zone_id)
    return 0.0 if level is None else 1.0 / level


MOST_SUPPLY_M3_S = 1.0
"""Where the search for a supply ends; a house moves a tenth of it."""


def supply_for_limit_m3_s(
    zones: Sequence[Zone],
    doors: Sequence[Door],
    *,
    root: str,
    zone_id: str,
    generation_m3_s: Mapping[str, float],
    outdoor_frac: float,
    limit_frac: float,
    exhaust_transfer_frac: float = 0.0,
) -> float | None:
    """Supply into one zone that keeps its steady level at a limit [m³/s].

    What is added to its supply is added to the extract at the root, so that the house stays as
    balanced as it was.

    Parameters
    ----------
    zones, doors, root
        As in `air_paths`.
    zone_id
        The zone to mend.
    generation_m3_s
        Given off in each zone [m³/s].
    outdoor_frac
        Concentration outdoors.
    limit_frac
        Limit, above that of outdoors.
    exhaust_transfer_frac
        Share of extract air in the supply air [1].

    Returns
    -------
    float or None
        The present supply where the limit is kept already; None where no supply keeps it, since
        the supply air itself is too stale.

    Raises
    ------
    ValueError
        If the limit is not above the concentration outdoors.

    Source: mass_balance

    >>> bed = Zone(id="bed", volume_m3=30.0, supply_m3_s=0.004)
    >>> rest = Zone(id="rest", volume_m3=200.0, supply_m3_s=0.036, extract_m3_s=0.040)
    >>> flow = supply_for_limit_m3_s([bed, rest], [Door(first="bed", second="rest")], root="rest",
    ...     zone_id="bed", generation_m3_s={"bed": 22e-3 / 3600}, outdoor_frac=420e-6,
    ...     limit_frac=1000e-6)
    >>> round(flow * 3600, 1)
    37.9
    """
    if not limit_frac > outdoor_frac:
        raise ValueError(f"limit_frac {limit_frac!r}: above {outdoor_frac!r} outdoors is accepted")
    present = next(z.supply_m3_s for z in zones if z.id == zone_id)

    def is_kept(supply_m3_s: float) -> bool:
        more = supply_m3_s - present
        changed = [_with_more(z, zone_id, root, more) for z in zones]
        paths = air_paths(changed, doors, root=root, exhaust_transfer_frac=exhaust_transfer_frac)
        level = steady_levels(paths, generation_m3_s=generation_m3_s, outdoor_frac=outdoor_frac).of(
            zone_id
        )
        return level is not None and level <= limit_frac

    if is_kept(present):
        return present
    low, high = present, max(2.0 * present, 1e-3)
    while not is_kept(high):
        low, high = high, 2.0 * high
        if low > MOST_SUPPLY_M3_S:
            return None
    for _ in range(40):
        middle = 0.5 * (low + high)
        if is_kept(middle):
            high = middle
        else:
            low = middle
    return high


def _with_more(zone: Zone, zone_id: str, root: str, more_m3_s: float) -> Zone:
    if zone.id == zone_id:
        zone = replace(zone, supply_m3_s=zone.supply_m3_s + more_m3_s)
    if zone.id == root:
        zone = replace(zone, extract_m3_s=zone.extract_m3_s + more_m3_s)
    return zone
