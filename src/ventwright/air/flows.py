"""One flow three ways: as the volume that passes, as standard volume, as mass of dry air.

Dry air is neither gained nor lost when air is warmed, cooled, dried or humidified, so streams are
compared by its mass. Standard volume is the mass of moist air over the trade's standard density,
0.075 lb/ft³: what a thermal anemometer reads and what "scfm" means.
"""

from __future__ import annotations

from ventwright.air.states import MoistAir
from ventwright.quantities.constants import STANDARD_AIR_DENSITY_KG_M3


def dry_air_mass_flow_kg_s(*, flow_m3_s: float, air: MoistAir) -> float:
    """Mass flow of dry air in an actual volume flow, ``flow / v``.

    Parameters
    ----------
    flow_m3_s
        Volume flow at the state `air` [m³/s]; its sign is kept.
    air
        State of the air where the flow was measured.

    Returns
    -------
    float
        Mass flow of dry air [kg/s].

    Source: ashrae_hof_2017_ch1 (definition of specific volume).

    >>> from ventwright.air import moist_air_from
    >>> room = moist_air_from(pressure_pa=101325.0, temperature_c=20.0, rel_humidity_frac=0.5)
    >>> round(dry_air_mass_flow_kg_s(flow_m3_s=0.05, air=room), 4)
    0.0595
    """
    return flow_m3_s / air.specific_volume_m3_kg


def actual_flow_m3_s(*, dry_air_mass_flow_kg_s: float, air: MoistAir) -> float:
    """Volume flow at a state that carries a given mass flow of dry air.

    Parameters
    ----------
    dry_air_mass_flow_kg_s
        Mass flow of dry air [kg/s].
    air
        State of the air where the volume is wanted.

    Returns
    -------
    float
        Volume flow at that state [m³/s].

    >>> from ventwright.air import moist_air_from
    >>> cold = moist_air_from(pressure_pa=101325.0, temperature_c=0.0, rel_humidity_frac=0.8)
    >>> round(actual_flow_m3_s(dry_air_mass_flow_kg_s=0.0595, air=cold), 4)
    0.0463
    """
    return dry_air_mass_flow_kg_s * air.specific_volume_m3_kg


def std_flow_m3_s(*, flow_m3_s: float, air: MoistAir) -> float:
    """Standard volume flow of an actual volume flow, ``flow ρ / 1.2014``.

    Parameters
    ----------
    flow_m3_s
        Volume flow at the state `air` [m³/s].
    air
        State of the air where the flow was measured.

    Returns
    -------
    float
        Standard volume flow [m³/s].

    Source: standard_air.

    >>> from ventwright.air import moist_air_from
    >>> high = moist_air_from(pressure_pa=83428.0, temperature_c=21.0, rel_humidity_frac=0.4)
    >>> round(std_flow_m3_s(flow_m3_s=0.05, air=high), 4)
    0.0409
    """
    return flow_m3_s * air.density_kg_m3 / STANDARD_AIR_DENSITY_KG_M3


def actual_flow_from_std_m3_s(*, std_flow_m3_s: float, air: MoistAir) -> float:
    """Volume flow at a state whose standard volume flow is given.

    Parameters
    ----------
    std_flow_m3_s
        Standard volume flow [m³/s].
    air
        State of the air where the actual volume is wanted.

    Returns
    -------
    float
        Volume flow at that state [m³/s].

    Source: standard_air.

    >>> from ventwright.air import moist_air_from
    >>> high = moist_air_from(pressure_pa=83428.0, temperature_c=21.0, rel_humidity_frac=0.4)
    >>> round(actual_flow_from_std_m3_s(std_flow_m3_s=0.05, air=high), 4)
    0.0611
    """
    return std_flow_m3_s * STANDARD_AIR_DENSITY_KG_M3 / air.density_kg_m3


def dry_air_mass_flow_from_std_kg_s(*, std_flow_m3_s: float, air: MoistAir) -> float:
    """Mass flow of dry air in a standard volume flow, ``1.2014 flow / (1 + W)``.

    Parameters
    ----------
    std_flow_m3_s
        Standard volume flow [m³/s].
    air
        State of the air; only its humidity ratio matters.

    Returns
    -------
    float
        Mass flow of dry air [kg/s].

    Source: standard_air.

    >>> from ventwright.air import moist_air_from
    >>> room = moist_air_from(pressure_pa=101325.0, temperature_c=20.0, rel_humidity_frac=0.5)
    >>> round(dry_air_mass_flow_from_std_kg_s(std_flow_m3_s=0.05, air=room), 4)
    0.0596
    """
    return std_flow_m3_s * STANDARD_AIR_DENSITY_KG_M3 / (1.0 + air.humidity_ratio_kg_kg)
