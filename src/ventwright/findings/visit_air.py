"""The air of a visit: barometric pressure, streams and rooms, each from the best look at it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ventwright.air import AirEstimate, AirStateError, air_estimate_from, pressure_from_altitude_pa
from ventwright.findings.model import ReadingFinding
from ventwright.house import House, Method, Phase, StationKind, Visit
from ventwright.instruments import StationAir, station_air_from
from ventwright.quantities import AirKind, HumidityOver, Problem, Severity, Side
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Distribution, Estimate, measured, u_from_half_width

WEATHER_HALF_WIDTH_PA = 1500.0
"""How far the weather moves the barometer about the standard atmosphere of an altitude.

Judgement: ± 15 hPa covers most days; it is 1.5 % of a density.
"""
UNKNOWN_ALTITUDE_HALF_WIDTH_PA = 5000.0
"""Without an altitude: sea level down to some 430 m. Judgement."""
ASSUMED_ROOM_C = 20.0
ASSUMED_ROOM_HALF_WIDTH_K = 4.0
ASSUMED_ROOM_FRAC = 0.45
ASSUMED_ROOM_HALF_WIDTH_FRAC = 0.20


@dataclass(frozen=True, slots=True, kw_only=True)
class Barometric:
    """Pressure on site with the code of its origin."""

    pressure_pa: Estimate
    origin_code: str
    problems: tuple[Problem, ...] = ()


def barometric_of(house: House, visit: Visit, measured_pa: Sequence[Estimate]) -> Barometric:
    """Barometric pressure: a reading, else the conditions, else the altitude, else sea level.

    Parameters
    ----------
    house, visit
        For the altitude and the conditions.
    measured_pa
        Barometer readings, if any; the first counts.
    """
    if measured_pa:
        return Barometric(pressure_pa=measured_pa[0], origin_code="barometer-reading")
    typed = visit.conditions.barometric_pressure_pa
    if typed is not None:
        value = measured(typed, u_std=150.0, id="air:pressure", label="barometric pressure, typed")
        return Barometric(pressure_pa=value, origin_code="conditions")
    half_width, code = WEATHER_HALF_WIDTH_PA, "altitude"
    problems: tuple[Problem, ...] = ()
    altitude_m = house.altitude_m
    if altitude_m is None:
        altitude_m, half_width, code = 0.0, UNKNOWN_ALTITUDE_HALF_WIDTH_PA, "assumed-sea-level"
        problems = (
            Problem(
                code="altitude-unknown",
                where="house.altitude",
                message="neither an altitude nor a barometric pressure is given; sea level is "
                "assumed",
                remedy="write altitude in the house file or read a barometer",
                severity=Severity.WARNING,
            ),
        )
    value = measured(
        pressure_from_altitude_pa(altitude_m),
        u_std=u_from_half_width(half_width, distribution=Distribution.RECTANGULAR),
        id="air:pressure",
        label="barometric pressure from altitude",
        distribution=Distribution.RECTANGULAR,
    )
    return Barometric(pressure_pa=value, origin_code=code, problems=problems)


@dataclass(frozen=True, slots=True, kw_only=True)
class AirOfVisit:
    """Looks up the air at a station for a setting and phase."""

    by_place: Mapping[tuple[str, str, Phase], tuple[AirEstimate, str]]
    """(place, setting, phase) → state and reading id; places are SUP… of a system, or room:ID."""
    outdoor: AirEstimate | None
    room: AirEstimate
    is_room_assumed: bool

    def look_up(self, place: str, setting: str, phase: Phase) -> tuple[AirEstimate, str] | None:
        """The state read at a place in this setting and phase, or None."""
        return self.by_place.get((place, setting, phase))

    def nearest(self, place: str, setting: str, phase: Phase) -> tuple[AirEstimate, str] | None:
        """As `look_up`, else from another phase of the setting, else from any setting."""
        found = self.look_up(place, setting, phase)
        if found is not None:
            return found
        same = [k for k in self.by_place if k[0] == place and k[1] == setting]
        rest = [k for k in self.by_place if k[0] == place]
        keys = sorted(same or rest)
        return self.by_place[keys[0]] if keys else None

    def station_air(
        self, *, system_id: str, stream: AirKind, setting: str, phase: Phase
    ) -> StationAir:
        """Air for the density of a flow reading in one stream."""
        found = self.nearest(f"{system_id}/{stream.value}", setting, phase)
        if found is not None:
            air, reading_id = found
            return station_air_from(
                air, origin=f"measured at {stream.value} (reading {reading_id})"
            )
        if stream is AirKind.OUTDOOR and self.outdoor is not None:
            return station_air_from(self.outdoor, origin="outdoor conditions of the visit")
        words = "assumed room air" if self.is_room_assumed else "indoor conditions of the visit"
        return station_air_from(self.room, origin=words)


def stream_of(side: Side) -> AirKind:
    """The stream at the room end of a side.

    Parameters
    ----------
    side
        Supply or extract.

    >>> stream_of(Side.EXTRACT).value
    'ETA'
    """
    return AirKind.SUPPLY if side is Side.SUPPLY else AirKind.EXTRACT


def air_of_visit(
    visit: Visit,
    *,
    pressure_pa: Estimate,
    readings: Sequence[ReadingFinding],
    default_system: str,
) -> AirOfVisit:
    """Collect the air states of a visit.

    Parameters
    ----------
    visit
        For the conditions.
    pressure_pa
        Barometric pressure [Pa].
    readings
        Interpreted readings; those of air states are used.
    default_system
        The system meant where a station names none.
    """
    by_place: dict[tuple[str, str, Phase], tuple[AirEstimate, str]] = {}
    for r in readings:
        if r.method is not Method.AIR_STATE or r.air is None or not r.is_used:
            continue
        place = _place(r, default_system)
        by_place.setdefault((place, r.setting, r.phase), (r.air, r.reading_id))
    room, is_assumed = _room_air(visit, pressure_pa)
    return AirOfVisit(
        by_place=by_place,
        outdoor=_outdoor_air(visit, pressure_pa),
        room=room,
        is_room_assumed=is_assumed,
    )


def _place(reading: ReadingFinding, default_system: str) -> str:
    station = reading.station
    if station.kind is StationKind.PORT and station.stream is not None:
        return f"{station.system or default_system}/{station.stream.value}"
    return f"{station.kind.value}:{station.ref}"


def _room_air(visit: Visit, pressure_pa: Estimate) -> tuple[AirEstimate, bool]:
    c = visit.conditions
    t, rh = c.indoor_temperature_c, c.indoor_rel_humidity_frac
    air = air_estimate_from(
        pressure_pa=pressure_pa,
        temperature_c=_limits(
            ASSUMED_ROOM_C if t is None else t,
            ASSUMED_ROOM_HALF_WIDTH_K if t is None else 1.0,
            "air:room:temperature",
            "room temperature, not measured at the station",
        ),
        rel_humidity_frac=_limits(
            ASSUMED_ROOM_FRAC if rh is None else rh,
            ASSUMED_ROOM_HALF_WIDTH_FRAC if rh is None else 0.05,
            "air:room:humidity",
            "room humidity, not measured at the station",
        ),
    )
    return air, t is None


def _outdoor_air(visit: Visit, pressure_pa: Estimate) -> AirEstimate | None:
    c = visit.conditions
    if c.outdoor_temperature_c is None:
        return None
    rh = c.outdoor_rel_humidity_frac
    try:
        return air_estimate_from(
            pressure_pa=pressure_pa,
            temperature_c=_limits(
                c.outdoor_temperature_c, 1.5, "air:outdoor:temperature", "outdoor temperature"
            ),
            rel_humidity_frac=_limits(
                0.7 if rh is None else rh,
                0.3 if rh is None else 0.08,
                "air:outdoor:humidity",
                "outdoor humidity",
            ),
            humidity_over=c.humidity_over or HumidityOver.WATER,
        )
    except AirStateError:
        return None


def _limits(value: float, half_width: float, influence_id: str, label: str) -> Estimate:
    return measured(
        value,
        u_std=u_from_half_width(half_width, distribution=Distribution.RECTANGULAR),
        id=influence_id,
        label=label,
        distribution=Distribution.RECTANGULAR,
    )
