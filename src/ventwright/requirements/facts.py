"""What rules ask of a house, gathered once; a fact that nobody gave stays None."""

from __future__ import annotations

from enum import StrEnum

from ventwright.house import House, Room, RoomKind, SettingRole, Terminal
from ventwright.quantities import Side
from ventwright.quantities.records import dataclass, replace
from ventwright.requirements.citation import Trust
from ventwright.uncertainty import Verdict


class BalanceBehind(StrEnum):
    """What a statement on balance rests on."""

    MEASURED = "measured"
    PLANNED = "planned"
    """Equal by plan, still to be measured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BalanceState:
    """Whether a system counts as balanced, and by how much its two flows differ.

    Parameters
    ----------
    verdict
        By the balance rule named.
    imbalance_frac
        Difference of the two flows over the larger: 0 balanced, 1 one side only.
    behind
        Whether it was measured.
    rule_set_id
        Whose rule of balance was applied.
    trust
        How surely that rule is known.
    """

    verdict: Verdict
    imbalance_frac: float
    behind: BalanceBehind
    rule_set_id: str = ""
    trust: Trust = Trust.OWN


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseFacts:
    """A house as rules see it.

    Parameters
    ----------
    floor_area_m2, volume_m3, height_m
        Conditioned floor area, volume and height above ground.
    bedrooms, people
        As stated.
    rooms, terminals
        As planned; rules on distribution need both.
    leakage_flow_m3_s, test_pressure_pa, leakage_exponent
        A blower-door result.
    leakage_area_m2
        Effective leakage area where that is given instead; goes before the flow.
    weather_shielding_factor
        From the weather station's row of the standard's table.
    exterior_share_frac
        Share of the envelope that faces outdoors: 1 for a detached house.
    is_existing
        Whether the house stood before the work.
    run_frac, period_s
        Share of each period that the continuous setting runs; None runs all the time.
    max_flow_m3_s
        What the ventilation unit can move.
    largest_other_exhaust_m3_s
        The largest exhaust outside the balanced system, such as a cooker hood.
    balance
        What is known of balance.
    """

    floor_area_m2: float | None = None
    volume_m3: float | None = None
    height_m: float | None = None
    bedrooms: float | None = None
    people: float | None = None
    rooms: tuple[Room, ...] = ()
    terminals: tuple[Terminal, ...] = ()
    leakage_flow_m3_s: float | None = None
    test_pressure_pa: float = 50.0
    leakage_exponent: float | None = None
    leakage_area_m2: float | None = None
    weather_shielding_factor: float | None = None
    exterior_share_frac: float | None = None
    is_existing: bool | None = None
    run_frac: float | None = None
    period_s: float | None = None
    max_flow_m3_s: float | None = None
    largest_other_exhaust_m3_s: float | None = None
    balance: BalanceState | None = None

    def terminals_of(self, room_id: str, side: Side) -> tuple[Terminal, ...]:
        """Terminals of one side in one room."""
        return tuple(t for t in self.terminals if t.room == room_id and t.side is side)


def facts_of(
    house: House,
    *,
    weather_shielding_factor: float | None = None,
    exterior_share_frac: float | None = None,
    is_existing: bool | None = None,
) -> HouseFacts:
    """The facts of a house file, with those it does not hold handed in.

    Bedrooms that nobody counted are counted from the rooms; the run time is that of the first
    setting meant to run continuously; several ventilation units move together.

    Parameters
    ----------
    house
        Any house.
    weather_shielding_factor, exterior_share_frac, is_existing
        As in `HouseFacts`; None takes what the record holds.

    >>> from ventwright.house import Room, RoomKind
    >>> house = House(schema="ventwright-house-1", id="h", name="Barn",
    ...     rooms=(Room(id="b", name="Bed", kind=RoomKind.BEDROOM),))
    >>> facts_of(house).bedrooms
    1.0
    """
    counted = sum(room.kind is RoomKind.BEDROOM for room in house.rooms)
    run_frac, period_s = _run_of(house)
    most = [system.ventilation_unit.max_flow_m3_s for system in house.systems]
    known = [flow for flow in most if flow is not None]
    envelope = house.envelope
    if envelope is not None:
        if weather_shielding_factor is None:
            weather_shielding_factor = envelope.weather_shielding_factor
        if exterior_share_frac is None:
            exterior_share_frac = envelope.exterior_share_frac
    return HouseFacts(
        floor_area_m2=house.floor_area_m2,
        volume_m3=house.volume_m3,
        height_m=house.height_m,
        bedrooms=house.bedrooms if house.bedrooms is not None else (float(counted) or None),
        people=house.people,
        rooms=house.rooms,
        terminals=tuple(t for system in house.systems for t in system.terminals),
        leakage_flow_m3_s=envelope.leakage_flow_m3_s if envelope else None,
        test_pressure_pa=envelope.test_pressure_pa if envelope else 50.0,
        leakage_exponent=envelope.leakage_exponent if envelope else None,
        weather_shielding_factor=weather_shielding_factor,
        exterior_share_frac=exterior_share_frac,
        is_existing=house.is_existing if is_existing is None else is_existing,
        run_frac=run_frac,
        period_s=period_s,
        max_flow_m3_s=sum(known) if known and len(known) == len(most) else None,
        largest_other_exhaust_m3_s=max((e.flow_m3_s for e in house.other_exhausts), default=None),
    )


def _run_of(house: House) -> tuple[float | None, float | None]:
    for system in house.systems:
        for setting in system.fan_settings:
            if setting.role is not SettingRole.CONTINUOUS:
                continue
            if setting.run_time_s is not None and setting.period_s:
                return min(1.0, setting.run_time_s / setting.period_s), setting.period_s
            return None, None
    return None, None


def as_planned(facts: HouseFacts) -> HouseFacts:
    """The same house with both sides equal by plan, where nothing was measured yet.

    Parameters
    ----------
    facts
        Any facts; a measured balance stays as it is.

    >>> as_planned(HouseFacts()).balance.behind.value
    'planned'
    """
    if facts.balance is not None:
        return facts
    state = BalanceState(verdict=Verdict.MET, imbalance_frac=0.0, behind=BalanceBehind.PLANNED)
    return replace(facts, balance=state)
