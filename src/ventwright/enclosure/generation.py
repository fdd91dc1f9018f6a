"""What people give off, with where each figure comes from."""

from __future__ import annotations

import math

from ventwright.quantities import ICE_POINT_K, STANDARD_ATMOSPHERE_PA, SourceTrust
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, Influence, combine

OUTDOOR_CO2_FRAC = 420e-6
"""Carbon dioxide outdoors. Source: ventilation_pages_cz"""
OUTDOOR_CO2_U_FRAC = 15e-6
"""Standard uncertainty of it between a town and open country. Source: generation_judgement"""
_LITRE_H = 1e-3 / 3600.0
_LITRE_S = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class GenerationRate:
    """Carbon dioxide one person gives off.

    Parameters
    ----------
    id
        What the rate is called here.
    rate_m3_s
        Volume per person [m³/s].
    u_m3_s
        Standard deviation from person to person [m³/s].
    source
        Key of the source.
    trust
        How surely it is known.
    is_at_ice_point
        Whether the volume is stated at 0 °C and 101.325 kPa, not at room conditions.
    note
        Whom it speaks of.
    """

    id: str
    rate_m3_s: float
    u_m3_s: float
    source: str
    trust: SourceTrust
    is_at_ice_point: bool = False
    note: str = ""


_TABLE = ("persily_de_jonge_2017", SourceTrust.SECOND_HAND)
_SPREAD_FRAC = 0.15
"""Spread from person to person where the source prints means only. Source: generation_judgement"""


def usual_generation_rates() -> tuple[GenerationRate, ...]:
    """Rates of carbon dioxide; the first, of sleepers, is the one that findings use at night.

    Source: fan_2021, en_16798_1_emission, persily_de_jonge_2017

    >>> [round(r.rate_m3_s * 3.6e6, 1) for r in usual_generation_rates()][:3]
    [11.0, 13.6, 20.0]
    """
    code = ("en_16798_1_emission", SourceTrust.SECOND_HAND)
    rows: tuple[tuple[str, float, float, tuple[str, SourceTrust], bool, str], ...] = (
        (
            "asleep",
            11.0 * _LITRE_H,
            1.4 * _LITRE_H,
            ("fan_2021", SourceTrust.READ),
            False,
            "eleven slim adults in their twenties, four nights each",
        ),
        ("bedroom-design", 13.6 * _LITRE_H, 0.0, code, False, "for design, bedroom"),
        ("living-design", 20.0 * _LITRE_H, 0.0, code, False, "for design, living room"),
        ("man-awake", 0.0046 * _LITRE_S, 0.0, _TABLE, True, "30 to 40 years, 1.2 met"),
        ("woman-awake", 0.0035 * _LITRE_S, 0.0, _TABLE, True, "30 to 40 years, 1.2 met"),
        ("boy-awake", 0.0030 * _LITRE_S, 0.0, _TABLE, True, "6 to 11 years, 1.2 met"),
        ("girl-awake", 0.0027 * _LITRE_S, 0.0, _TABLE, True, "6 to 11 years, 1.2 met"),
    )
    return tuple(
        GenerationRate(
            id=id_,
            rate_m3_s=rate,
            u_m3_s=u or _SPREAD_FRAC * rate,
            source=source,
            trust=trust,
            is_at_ice_point=at_ice,
            note=note,
        )
        for id_, rate, u, (source, trust), at_ice, note in rows
    )


def rate_in_room_m3_s(
    rate: GenerationRate,
    *,
    temperature_c: float = 20.0,
    pressure_pa: float = STANDARD_ATMOSPHERE_PA,
) -> float:
    """The same rate as a volume of room air [m³/s], by the law of ideal gases.

    Parameters
    ----------
    rate
        Any rate; one stated at room conditions stays as it is.
    temperature_c
        Air of the room [°C].
    pressure_pa
        Barometric pressure [Pa].

    >>> rates = {r.id: r for r in usual_generation_rates()}
    >>> round(rate_in_room_m3_s(rates["man-awake"]) * 1e3, 5)
    0.00494
    """
    if not rate.is_at_ice_point:
        return rate.rate_m3_s
    warmer = (temperature_c + ICE_POINT_K) / ICE_POINT_K
    return rate.rate_m3_s * warmer * STANDARD_ATMOSPHERE_PA / pressure_pa


def people_give_off(rate: GenerationRate, *, people: float, place: str) -> Estimate:
    """What several people in one room give off together [m³/s].

    Each differs from the mean in their own way, so the doubt of their sum grows with the root of
    their number.

    Parameters
    ----------
    rate
        Rate of one.
    people
        How many.
    place
        Id of the room: people of different rooms differ each in their own way.

    >>> rates = usual_generation_rates()
    >>> two = people_give_off(rates[0], people=2, place="bed")
    >>> round(two.value * 3.6e6, 1), round(two.u_std * 3.6e6, 2)
    (22.0, 1.98)
    """
    mean = rate_in_room_m3_s(rate)
    influence = Influence(
        id=f"enclosure:people:{place}", label="how much carbon dioxide the people there give off"
    )
    spread = mean / rate.rate_m3_s * rate.u_m3_s * math.sqrt(max(people, 0.0))
    return combine(mean * people, [], extra=[(influence, spread)])
