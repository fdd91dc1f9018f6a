"""How much water people and their doings give to the air: published ranges, not promises.

Published figures differ by a factor of two and more, measured ones tend to be lower than those of
older texts, and no range here is a requirement. An estimate takes the ends of the range as the
limits of about 95 % of households.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from ventwright.quantities import SourceTrust
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Distribution, Estimate, measured, u_from_half_width

_G_H = 1e-3 / 3600.0
_G_MIN = 1e-3 / 60.0
_DAY_S = 86_400.0


class Activity(StrEnum):
    """What releases moisture while it lasts; stable codes."""

    SHOWER = "shower"
    BATH = "bath"
    COOKING = "cooking"
    PERSON_ASLEEP = "person-asleep"
    PERSON_SITTING = "person-sitting"
    PERSON_ACTIVE = "person-active"
    PERSON_EXERTED = "person-exerted"
    LAUNDRY_SPUN = "laundry-spun"
    LAUNDRY_DRIPPING = "laundry-dripping"
    PLANT = "plant"
    AQUARIUM_M2 = "aquarium-m2"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseRate:
    """Range of published rates for one activity.

    Parameters
    ----------
    activity
        What is done; a person, a plant, a square metre of water or one load of 4.5 kg.
    low_kg_s
        Lower end [kg/s].
    high_kg_s
        Upper end [kg/s].
    source_keys
        Where the ends come from.
    trust
        How far the weaker of them is known.
    note
        What to mind.
    """

    activity: Activity
    low_kg_s: float
    high_kg_s: float
    source_keys: tuple[str, ...]
    trust: SourceTrust
    note: str = ""


_SOLAR = ("solar_housing_humidity",)
_ROWS: tuple[tuple[Activity, float, float, tuple[str, ...], SourceTrust, str], ...] = (
    (
        Activity.SHOWER,
        20.0 * _G_MIN,
        47.0 * _G_MIN,
        ("minnesota_moisture_1988", "solar_housing_humidity", "zemitis_2016"),
        SourceTrust.JUDGEMENT,
        "47 and 42 g/min are printed; that measured releases are lower is read in an abstract, "
        "and how much lower is our judgement",
    ),
    (
        Activity.BATH,
        350.0 * _G_H,
        1050.0 * _G_H,
        _SOLAR,
        SourceTrust.JUDGEMENT,
        "about 700 g/h is printed; the spread of a half is our judgement",
    ),
    (Activity.COOKING, 600.0 * _G_H, 1500.0 * _G_H, _SOLAR, SourceTrust.READ, "while it lasts"),
    (
        Activity.PERSON_ASLEEP,
        30.0 * _G_H,
        60.0 * _G_H,
        ("metal_roofing_moisture", "solar_housing_humidity"),
        SourceTrust.JUDGEMENT,
        "50 g/h asleep is printed; the lower end is our judgement",
    ),
    (Activity.PERSON_SITTING, 40.0 * _G_H, 60.0 * _G_H, _SOLAR, SourceTrust.READ, ""),
    (Activity.PERSON_ACTIVE, 60.0 * _G_H, 120.0 * _G_H, _SOLAR, SourceTrust.READ, ""),
    (Activity.PERSON_EXERTED, 120.0 * _G_H, 200.0 * _G_H, _SOLAR, SourceTrust.READ, ""),
    (Activity.LAUNDRY_SPUN, 50.0 * _G_H, 200.0 * _G_H, _SOLAR, SourceTrust.READ, "one load"),
    (Activity.LAUNDRY_DRIPPING, 100.0 * _G_H, 500.0 * _G_H, _SOLAR, SourceTrust.READ, "one load"),
    (Activity.PLANT, 7.0 * _G_H, 15.0 * _G_H, _SOLAR, SourceTrust.READ, ""),
    (Activity.AQUARIUM_M2, 30.0 * _G_H, 50.0 * _G_H, _SOLAR, SourceTrust.READ, "open water"),
)

RELEASE_RATES: Mapping[Activity, ReleaseRate] = {
    activity: ReleaseRate(
        activity=activity,
        low_kg_s=low,
        high_kg_s=high,
        source_keys=keys,
        trust=trust,
        note=note,
    )
    for activity, low, high, keys, trust, note in _ROWS
}
"""Published ranges.

Source: minnesota_moisture_1988, solar_housing_humidity, metal_roofing_moisture, zemitis_2016
"""

HOUSEHOLD_LOW_KG_DAY = 7.0
HOUSEHOLD_HIGH_KG_DAY = 12.0
HOUSEHOLD_PEOPLE = 4
"""Water given to the air of a home by a family of four in a day, two printed figures.

Source: minnesota_moisture_1988, solar_housing_humidity
"""


def release_rate(activity: Activity, *, count: float = 1.0) -> Estimate:
    """Release of an activity with the range of the published figures.

    The middle of the range, with half its width as the expanded uncertainty (k = 2). Two persons
    share the influence: that figures are high or low in general doesn't average out.

    Parameters
    ----------
    activity
        What is done.
    count
        Persons, plants, loads or square metres [1], 0 or more.

    Returns
    -------
    Estimate
        Moisture release [kg/s].

    Raises
    ------
    ValueError
        A negative count.

    Source: solar_housing_humidity, minnesota_moisture_1988

    >>> shower = release_rate(Activity.SHOWER)
    >>> round(shower.value * 60e3, 1), round(2 * shower.u_std * 60e3, 1)
    (33.5, 13.5)
    """
    if not count >= 0.0:
        raise ValueError(f"count {count!r} is below 0")
    found = RELEASE_RATES[activity]
    return _of_range(
        low=count * found.low_kg_s,
        high=count * found.high_kg_s,
        id=f"moisture:release:{activity.value}",
        label=f"moisture release, {activity.value.replace('-', ' ')}",
    )


def household_release(people: float) -> Estimate:
    """Moisture that a household gives to the air of its home, mean of the day.

    In proportion to a family of four that releases 7 to 12 kg a day, all doings together.

    Parameters
    ----------
    people
        Persons who live there, 0 or more.

    Returns
    -------
    Estimate
        Moisture release [kg/s].

    Raises
    ------
    ValueError
        A negative number of persons.

    Source: minnesota_moisture_1988, solar_housing_humidity

    >>> round(household_release(4).value * 86400, 2)
    9.5
    """
    if not people >= 0.0:
        raise ValueError(f"{people!r} people is below 0")
    share = people / HOUSEHOLD_PEOPLE / _DAY_S
    return _of_range(
        low=HOUSEHOLD_LOW_KG_DAY * share,
        high=HOUSEHOLD_HIGH_KG_DAY * share,
        id="moisture:release:household",
        label="moisture release of the household",
    )


def _of_range(*, low: float, high: float, id: str, label: str) -> Estimate:
    return measured(
        0.5 * (low + high),
        u_std=u_from_half_width(0.5 * (high - low), distribution=Distribution.NORMAL),
        id=id,
        label=label,
    )
