"""What the room hands out: flows, states and plain quantities, each with its problems beside it."""

from __future__ import annotations

from ventwright.air import AirEstimate
from ventwright.quantities import STANDARD_AIR_DENSITY_KG_M3, Problem
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, product, ratio, scale


@dataclass(frozen=True, slots=True, kw_only=True)
class StationAir:
    """The air at a station while a reading was taken.

    Parameters
    ----------
    density_kg_m3
        Moist density.
    specific_volume_m3_kg
        Volume of moist air that holds a kilogram of dry air.
    origin
        Where it comes from, in plain words: ``measured at SUP (reading a2)``, ``conditions of the
        visit``, ``assumed 20 °C, 50 %``.
    temperature_c
        Temperature, where known; it serves the viscosity in an exchanger's passages.
    """

    density_kg_m3: Estimate
    specific_volume_m3_kg: Estimate
    origin: str
    temperature_c: Estimate | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowFigure:
    """One flow in the three ways it is spoken of; all three share their influences.

    Parameters
    ----------
    flow_m3_s
        Actual volume flow at the station.
    std_flow_m3_s
        Moist mass flow over the density of standard air, 1.2014 kg/m³.
    mass_flow_kg_s
        Dry air.
    """

    flow_m3_s: Estimate
    std_flow_m3_s: Estimate
    mass_flow_kg_s: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowInterpretation:
    """What one reading says of a flow.

    Parameters
    ----------
    reading_id
        The reading.
    figure
        None after a refusal; the flags then say why.
    flags
        Notes, warnings and refusals, each with its remedy.
    method_note
        One plain sentence: what was done and what was corrected.
    """

    reading_id: str
    figure: FlowFigure | None
    flags: tuple[Problem, ...]
    method_note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AirInterpretation:
    """What one reading says of a state of air; `air` is None after a refusal."""

    reading_id: str
    air: AirEstimate | None
    flags: tuple[Problem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScalarInterpretation:
    """What one reading says of a single quantity in SI; `estimate` is None after a refusal."""

    reading_id: str
    estimate: Estimate | None
    flags: tuple[Problem, ...]


def station_air_from(air: AirEstimate, *, origin: str) -> StationAir:
    """Air at a station from a state with uncertainty.

    Parameters
    ----------
    air
        State of the air, measured or assumed.
    origin
        Where it comes from, in plain words.

    Returns
    -------
    StationAir
        Density, specific volume and temperature, with the influences of the state.

    >>> from ventwright.air import air_estimate_from
    >>> from ventwright.uncertainty import exact
    >>> state = air_estimate_from(pressure_pa=exact(101325.0), temperature_c=exact(20.0),
    ...                           rel_humidity_frac=exact(0.5))
    >>> round(station_air_from(state, origin="assumed 20 °C, 50 %").density_kg_m3.value, 3)
    1.199
    """
    return StationAir(
        density_kg_m3=air.density_kg_m3,
        specific_volume_m3_kg=air.specific_volume_m3_kg,
        origin=origin,
        temperature_c=air.temperature_c,
    )


def flow_figure_from(flow_m3_s: Estimate, *, air: StationAir) -> FlowFigure:
    """The three ways to speak of an actual flow.

    Standard flow is flow · ρ / 1.2014; dry mass flow is flow / v with v per kilogram of dry air.

    Parameters
    ----------
    flow_m3_s
        Actual flow at the station.
    air
        The air there.

    Returns
    -------
    FlowFigure
        All three with their budgets; the density cancels where the indication was a mass.

    >>> from ventwright.uncertainty import exact
    >>> air = StationAir(density_kg_m3=exact(1.0), specific_volume_m3_kg=exact(1.01), origin="")
    >>> round(flow_figure_from(exact(0.12014), air=air).std_flow_m3_s.value, 4)
    0.1
    """
    return FlowFigure(
        flow_m3_s=flow_m3_s,
        std_flow_m3_s=scale(
            product(flow_m3_s, air.density_kg_m3), 1.0 / STANDARD_AIR_DENSITY_KG_M3
        ),
        mass_flow_kg_s=ratio(flow_m3_s, air.specific_volume_m3_kg),
    )
