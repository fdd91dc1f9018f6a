"""The air of bedrooms at night with their doors shut."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from ventwright.enclosure import (
    OUTDOOR_CO2_FRAC,
    OUTDOOR_CO2_U_FRAC,
    AirLimit,
    AirPaths,
    Door,
    GenerationRate,
    Zone,
    air_paths,
    course_of_levels,
    doorway_exchange_m3_s,
    exchange_estimate,
    fresh_air_reaching_m3_s,
    gap_exchange_m3_s,
    people_give_off,
    steady_levels,
    supply_for_limit_m3_s,
    usual_co2_limit,
    usual_generation_rates,
    without_fresh_air,
)
from ventwright.findings.closed_doors import RoomFlows
from ventwright.findings.house_air import RoomAirFinding
from ventwright.house import House, Room, RoomKind
from ventwright.quantities.records import dataclass, replace
from ventwright.uncertainty import (
    Estimate,
    decide,
    exact,
    measured,
    propagate,
)

NIGHT_S = 8.0 * 3600.0
"""How long a night is. Judgement."""
USUAL_HEIGHT_M = 2.4
"""Height of a room where neither its volume nor that of the house is known. Judgement."""
USUAL_REST_M3 = 150.0
"""Volume of all other rooms where none is known; no settled level depends on it. Judgement."""
USUAL_PEOPLE = 1.0
"""Who sleeps in a bedroom for which nobody is stated. Judgement."""
CLOSED_GAP_M2 = 0.0050
"""Gap under a door where no transfer area is stated. Judgement: some 7 mm."""
_REST = "(rest of the house)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Night:
    """Bedrooms as zones beside the rest of the house, with what is given off in each."""

    rooms: tuple[Room, ...]
    flows: tuple[RoomFlows, ...]
    rate: GenerationRate
    people: tuple[float, ...]
    zones: tuple[Zone, ...]
    exchanges_m3_s: tuple[float, ...]
    generation_m3_s: tuple[Estimate, ...]
    exhaust_transfer_frac: float

    def paths(self, *, are_doors_open: bool = False) -> AirPaths:
        """Air flows with bedroom doors shut, or open."""
        doors = self.doors
        if are_doors_open:
            wide = doorway_exchange_m3_s()
            doors = tuple(Door(first=d.first, second=d.second, exchange_m3_s=wide) for d in doors)
        return air_paths(
            self.zones, doors, root=_REST, exhaust_transfer_frac=self.exhaust_transfer_frac
        )

    @property
    def doors(self) -> tuple[Door, ...]:
        """The closed doors."""
        return tuple(
            Door(first=r.id, second=_REST, exchange_m3_s=e)
            for r, e in zip(self.rooms, self.exchanges_m3_s, strict=True)
        )

    @property
    def sources(self) -> dict[str, float]:
        """What is given off in each bedroom."""
        return {r.id: g.value for r, g in zip(self.rooms, self.generation_m3_s, strict=True)}


def rooms_air(
    house: House, flows: Mapping[str, RoomFlows], *, setting: str
) -> Iterator[RoomAirFinding]:
    """Carbon dioxide of every bedroom somebody sleeps in: settled, at morning, and what mends it.

    Only fans count, and the rest of the house is one well-mixed space: wind and open windows make
    the true air fresher, people still awake make it staler.

    Parameters
    ----------
    house
        For rooms, sizes and people.
    flows
        What each room's terminals carry, as a mean of the setting.
    setting
        The setting the house sleeps in.
    """
    beds = [r for r in house.rooms if r.kind is RoomKind.BEDROOM and r.people != 0.0]
    if not beds or not house.systems:
        return
    limit = usual_co2_limit()
    reason = "" if all(f.is_known for f in flows.values()) else "flows-unknown"
    if not reason and any(room_volume_m3(house, r) is None for r in beds):
        reason = "no-room-size"
    if reason:
        yield from (_bare(r, limit, reason, setting) for r in beds)
        return
    night = _night(house, beds, flows)
    closed = night.paths()
    open_levels = steady_levels(
        night.paths(are_doors_open=True),
        generation_m3_s=night.sources,
        outdoor_frac=OUTDOOR_CO2_FRAC,
    )
    start = {
        zone: OUTDOOR_CO2_FRAC if level is None else level
        for zone, level in zip(open_levels.zone_ids, open_levels.concentration_frac, strict=True)
    }
    morning = course_of_levels(
        closed,
        generation_m3_s=night.sources,
        start_frac=start,
        duration_s=NIGHT_S,
        outdoor_frac=OUTDOOR_CO2_FRAC,
        step_count=1,
    ).levels[-1]
    for i, room in enumerate(beds):
        settled = _settled(night, i)
        decision = None if settled is None else decide(settled, high=limit.concentration_frac)
        is_stale = settled is None or settled.value > limit.concentration_frac
        yield RoomAirFinding(
            room_id=room.id,
            room_name=room.name,
            setting=setting,
            people=night.people[i],
            is_people_assumed=room.people is None,
            limit=limit,
            rate=night.rate,
            outdoor_frac=OUTDOOR_CO2_FRAC,
            supply_m3_s=flows[room.id].supply_m3_s,
            origin_code=flows[room.id].origin_code,
            fresh_air_m3_s=fresh_air_reaching_m3_s(closed, zone_id=room.id),
            closed_frac=settled,
            open_frac=open_levels.of(room.id),
            morning_frac=morning.of(room.id),
            decision=decision,
            supply_needed_m3_s=_needed(night, room, limit) if is_stale else None,
            reason_code="no-fresh-air" if settled is None else "",
        )


def _bare(room: Room, limit: AirLimit, reason_code: str, setting: str) -> RoomAirFinding:
    return RoomAirFinding(
        room_id=room.id,
        room_name=room.name,
        setting=setting,
        people=_people(room),
        is_people_assumed=room.people is None,
        limit=limit,
        rate=usual_generation_rates()[0],
        outdoor_frac=OUTDOOR_CO2_FRAC,
        reason_code=reason_code,
    )


def _people(room: Room) -> float:
    return USUAL_PEOPLE if room.people is None else room.people


def room_volume_m3(house: House, room: Room) -> float | None:
    """Volume of a room [m³]: stated, else its floor times the house's mean or a usual height.

    Parameters
    ----------
    house
        For the mean height of its rooms.
    room
        The room; None comes of one whose size is not stated.
    """
    if room.volume_m3:
        return room.volume_m3
    if not room.floor_area_m2:
        return None
    height = USUAL_HEIGHT_M
    if house.volume_m3 and house.floor_area_m2:
        height = house.volume_m3 / house.floor_area_m2
    return room.floor_area_m2 * height


def _night(house: House, beds: Sequence[Room], flows: Mapping[str, RoomFlows]) -> Night:
    zones = [_zone(r.id, room_volume_m3(house, r) or USUAL_REST_M3, [flows[r.id]]) for r in beds]
    shut = {r.id for r in beds}
    others = [room_volume_m3(house, r) for r in house.rooms if r.id not in shut]
    left = (house.volume_m3 or 0.0) - sum(z.volume_m3 for z in zones)
    rest = left if left > 0.0 else sum(v for v in others if v) or USUAL_REST_M3
    zones.append(_zone(_REST, rest, [f for i, f in flows.items() if i not in shut]))
    asleep = usual_generation_rates()[0]
    transfers = [s.ventilation_unit.exhaust_transfer_frac or 0.0 for s in house.systems]
    return Night(
        rooms=tuple(beds),
        flows=tuple(flows[r.id] for r in beds),
        rate=asleep,
        people=tuple(_people(r) for r in beds),
        zones=tuple(zones),
        exchanges_m3_s=tuple(
            gap_exchange_m3_s(lower_area_m2=r.transfer_area_m2 or CLOSED_GAP_M2) for r in beds
        ),
        generation_m3_s=tuple(people_give_off(asleep, people=_people(r), place=r.id) for r in beds),
        exhaust_transfer_frac=min(max(transfers), 0.99),
    )


def _zone(zone_id: str, volume_m3: float, flows: Sequence[RoomFlows]) -> Zone:
    """A zone of several rooms; a slightly negative reading counts as none."""
    supply = sum(f.supply_m3_s.value for f in flows if f.supply_m3_s is not None)
    extract = sum(f.extract_m3_s.value for f in flows if f.extract_m3_s is not None)
    return Zone(
        id=zone_id,
        volume_m3=volume_m3,
        supply_m3_s=max(0.0, supply),
        extract_m3_s=max(0.0, extract),
    )


def _settled(night: Night, place: int) -> Estimate | None:
    """Settled level of a closed bedroom with what its own flows, people and door put in doubt."""
    room, flows = night.rooms[place], night.flows[place]
    supply, extract = flows.supply_m3_s or exact(0.0), flows.extract_m3_s or exact(0.0)

    def level(
        supply_m3_s: float,
        extract_m3_s: float,
        generation_m3_s: float,
        exchange_m3_s: float,
        outdoor_frac: float,
    ) -> float:
        zone = replace(
            night.zones[place],
            supply_m3_s=max(0.0, supply_m3_s),
            extract_m3_s=max(0.0, extract_m3_s),
        )
        changed = replace(
            night,
            zones=tuple(zone if i == place else z for i, z in enumerate(night.zones)),
            exchanges_m3_s=tuple(
                max(0.0, exchange_m3_s) if i == place else e
                for i, e in enumerate(night.exchanges_m3_s)
            ),
        )
        sources = {**night.sources, room.id: generation_m3_s}
        found = steady_levels(
            changed.paths(), generation_m3_s=sources, outdoor_frac=outdoor_frac
        ).of(room.id)
        return math.nan if found is None else found

    if room.id in without_fresh_air(night.paths()):
        return None
    outdoor = measured(
        OUTDOOR_CO2_FRAC,
        u_std=OUTDOOR_CO2_U_FRAC,
        id="outdoor:co2",
        label="carbon dioxide outdoors, usual value",
    )
    exchange = exchange_estimate(night.exchanges_m3_s[place])
    return propagate(level, [supply, extract, night.generation_m3_s[place], exchange, outdoor])


def _needed(night: Night, room: Room, limit: AirLimit) -> float | None:
    return supply_for_limit_m3_s(
        night.zones,
        night.doors,
        root=_REST,
        zone_id=room.id,
        generation_m3_s=night.sources,
        outdoor_frac=OUTDOOR_CO2_FRAC,
        limit_frac=limit.concentration_frac,
        exhaust_transfer_frac=night.exhaust_transfer_frac,
    )
