"""Limits that house pressure, closed doors and room air are screened against, as data.

None of them is a test of safety: a screen that is kept says nothing of draught, spillage or carbon
monoxide. Each carries where it comes from and how surely it is known.
"""

from __future__ import annotations

from ventwright.quantities import SourceTrust
from ventwright.quantities.records import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureLimit:
    """How far a house may be under suction before an appliance of a kind may spill flue gas.

    Parameters
    ----------
    venting
        How the appliance gets rid of its flue gas, as in the house record.
    appliance
        What the source speaks of.
    limit_pa
        Largest suction as a magnitude [Pa].
    source
        Key of the source.
    trust
        How surely it is known.
    note
        What is doubtful about it.
    """

    venting: str
    appliance: str
    limit_pa: float
    source: str
    trust: SourceTrust
    note: str = ""


_FORM = ("weatherization_form", SourceTrust.SECOND_HAND)
_ROWS: tuple[tuple[str, str, float, tuple[str, SourceTrust], str], ...] = (
    ("natural_draft", "water heater alone on its chimney", 2.0, _FORM, ""),
    ("natural_draft", "boiler or furnace and water heater on a common vent", 3.0, _FORM, ""),
    ("natural_draft", "boiler or furnace alone, or common vent with a vent damper", 5.0, _FORM, ""),
    (
        "solid_fuel",
        "stove or fireplace that takes its air from the room",
        4.0,
        ("din_1946_6_training", SourceTrust.SECOND_HAND),
        "given for the drop of outdoor-air inlets beside such a stove",
    ),
    ("fan_assisted", "fan-assisted or induced-draft appliance alone", 15.0, _FORM, ""),
    ("power_vented", "power-vented appliance alone", 15.0, _FORM, ""),
    ("direct_vent", "direct-vent, sealed", 50.0, _FORM, ""),
)


def usual_pressure_limits() -> tuple[PressureLimit, ...]:
    """Suction limits by kind of venting, strictest first within a kind.

    Source: weatherization_form, din_1946_6_training

    >>> [limit.limit_pa for limit in usual_pressure_limits() if limit.venting == "natural_draft"]
    [2.0, 3.0, 5.0]
    """
    return tuple(
        PressureLimit(
            venting=venting,
            appliance=appliance,
            limit_pa=limit_pa,
            source=source,
            trust=trust,
            note=note,
        )
        for venting, appliance, limit_pa, (source, trust), note in _ROWS
    )


def strictest_limit(limits: tuple[PressureLimit, ...], *, venting: str) -> PressureLimit | None:
    """The smallest limit for a kind of venting, since the record does not say what shares a vent.

    Parameters
    ----------
    limits
        The table.
    venting
        Kind of venting as in the house record.

    Returns
    -------
    PressureLimit or None
        None where the table has none: an appliance without a flue has no draught to lose.

    >>> strictest_limit(usual_pressure_limits(), venting="natural_draft").limit_pa
    2.0
    >>> strictest_limit(usual_pressure_limits(), venting="unvented") is None
    True
    """
    found = [limit for limit in limits if limit.venting == venting]
    return min(found, key=lambda limit: limit.limit_pa, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class DropLimit:
    """Largest drop across a closed inner door, either way [Pa]."""

    limit_pa: float
    source: str
    trust: SourceTrust
    note: str = ""


def usual_drop_limits() -> tuple[DropLimit, ...]:
    """Limits on the drop across closed doors; the first is the one that findings judge by.

    Source: us_work_specifications, florida_mechanical_601_4, transfer_trade_pages

    >>> [limit.limit_pa for limit in usual_drop_limits()]
    [3.0, 2.5, 1.0]
    """
    return (
        DropLimit(
            limit_pa=3.0,
            source="us_work_specifications",
            trust=SourceTrust.READ,
            note="room against common area, doors shut, ventilation on",
        ),
        DropLimit(
            limit_pa=2.5,
            source="florida_mechanical_601_4",
            trust=SourceTrust.SECOND_HAND,
            note="written for the air of central heating and cooling",
        ),
        DropLimit(
            limit_pa=1.0,
            source="transfer_trade_pages",
            trust=SourceTrust.SECOND_HAND,
            note="an aim of design",
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class AirLimit:
    """A concentration above which the air of a room is called stale.

    Parameters
    ----------
    concentration_frac
        By volume [1].
    source
        Key of the source.
    trust
        How surely it is known.
    note
        What it is and is not.
    """

    concentration_frac: float
    source: str
    trust: SourceTrust
    note: str = ""


def usual_co2_limit() -> AirLimit:
    """1000 ppm of carbon dioxide: a mark of what people give off, no limit of health.

    Source: ventilation_pages_cz

    >>> usual_co2_limit().concentration_frac
    0.001
    """
    return AirLimit(
        concentration_frac=1000e-6,
        source="ventilation_pages_cz",
        trust=SourceTrust.SECOND_HAND,
        note="a mark of how much outdoor air reaches people, no limit of health",
    )
