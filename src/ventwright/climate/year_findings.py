"""What a year says of a house: plain numbers and tuples, nothing to compute any more."""

from __future__ import annotations

from dataclasses import dataclass

from ventwright.climate.weather import PlaneDecision
from ventwright.climate.year_sums import EnergyYear, FrostYear, IndoorYear, MoistureYear, MonthYear
from ventwright.quantities import Problem
from ventwright.uncertainty import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursBin:
    """Hours in one step of a scale.

    Parameters
    ----------
    low_c
        Lower end of the step [°C]; the upper end is the next one's.
    hours_h
        Hours in it [h].
    """

    low_c: float
    hours_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StreamYear:
    """One air through the year.

    Parameters
    ----------
    name
        ``outdoor``, ``supply`` or ``indoor``.
    mean_c
        Mean temperature [°C].
    mean_humidity_ratio_kg_kg
        Mean humidity ratio [kg/kg].
    mean_enthalpy_j_kg
        Mean enthalpy [J/kg].
    low_dew_point_c
        Dew point that 99 % of hours exceed [°C].
    mid_dew_point_c
        Median dew point [°C].
    high_dew_point_c
        Dew point that 1 % of hours exceed [°C].
    dew_point_bins
        Hours by dew point, in steps of 1 K.
    """

    name: str
    mean_c: float
    mean_humidity_ratio_kg_kg: float
    mean_enthalpy_j_kg: float
    low_dew_point_c: float
    mid_dew_point_c: float
    high_dew_point_c: float
    dew_point_bins: tuple[HoursBin, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CloudCell:
    """One cell of the psychrometric cloud of an air.

    Parameters
    ----------
    stream
        Which air.
    low_c
        Lower end in temperature [°C]; cells are 1 K wide.
    low_kg_kg
        Lower end in humidity ratio [kg/kg]; cells are 0.5 g/kg high.
    hours_h
        Hours in it [h].
    """

    stream: str
    low_c: float
    low_kg_kg: float
    hours_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceYear:
    """One surface through the year.

    Parameters
    ----------
    surface_id
        Which.
    name
        For people.
    air
        The air that touches it.
    wet_h
        Hours at or below the dew point of that air [h]; None where its temperature isn't known.
    supply_dew_h
        Hours at or below the dew point of the supply air [h].
    longest_wet_h
        Longest time it stays wet without a break [h].
    mould_h
        Hours with 80 % relative humidity or more at the surface [h].
    lowest_margin_k
        Smallest margin to the dew point of its air [K].
    """

    surface_id: str
    name: str
    air: str
    wet_h: float | None = None
    supply_dew_h: float | None = None
    longest_wet_h: float | None = None
    mould_h: float | None = None
    lowest_margin_k: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignPoint:
    """The moist design state that the file itself gives; a handbook's may differ.

    Parameters
    ----------
    exceeded_frac
        Share of hours with a higher dew point.
    dew_point_c
        Dew point [°C].
    coincident_c
        Mean temperature of the hours within half a kelvin of that dew point [°C].
    drying_kg_s
        Drying that holds the wanted humidity at that state [kg/s].
    sensible_w
        Sensible load of ventilation there [W].
    latent_w
        Latent load of ventilation there [W].
    """

    exceeded_frac: float
    dew_point_c: float
    coincident_c: float
    drying_kg_s: Estimate
    sensible_w: Estimate
    latent_w: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadIndex:
    """Ventilation load index of a place: heat of a year over the flow of standard air.

    Parameters
    ----------
    latent_j_s_m3
        Latent part [J per m³/s].
    sensible_j_s_m3
        Sensible part [J per m³/s].
    """

    latent_j_s_m3: float
    sensible_j_s_m3: float


@dataclass(frozen=True, slots=True, kw_only=True)
class YearEstimate:
    """A figure of the year with what its assumptions leave open.

    Parameters
    ----------
    code
        Which figure; a field of the findings.
    estimate_si
        Value and budget by assumption.
    """

    code: str
    estimate_si: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatOnly:
    """The same house and year with an exchanger that passes heat alone.

    Parameters
    ----------
    moisture
        Its water.
    indoor
        Its indoor humidity.
    """

    moisture: MoistureYear
    indoor: IndoorYear


@dataclass(frozen=True, slots=True, kw_only=True)
class YearFindings:
    """A house in a year of weather.

    Sums count the known hours alone; nothing is scaled up for missing ones.

    Parameters
    ----------
    house
        Its name.
    place
        Name of the weather's place.
    known_h
        Hours counted [h].
    filled_h
        Hours among them that were drawn across short gaps [h].
    missing_h
        Hours of the year that are not in the file [h].
    plane
        How humidity below 0 °C was taken.
    wanted_rel_humidity_frac
        The humidity that drying is counted to.
    load_index
        Of the place.
    streams
        Outdoor, supply and indoor air.
    cloud
        Cells of the psychrometric cloud.
    surfaces
        Each listed surface.
    energy
        Heat.
    moisture
        Water.
    indoor
        Indoor humidity.
    frost
        Frost and condensate.
    months
        Twelve of them.
    design
        Moist design states of the file.
    estimates
        Figures with the budget of their assumptions; empty where none was asked for.
    heat_only
        The year without moisture recovery; None where there is none or it wasn't asked for.
    problems
        What was read amiss, assumed or left out.
    """

    house: str
    place: str
    known_h: float
    filled_h: float
    missing_h: float
    plane: PlaneDecision
    wanted_rel_humidity_frac: float
    load_index: LoadIndex
    streams: tuple[StreamYear, ...]
    cloud: tuple[CloudCell, ...]
    surfaces: tuple[SurfaceYear, ...]
    energy: EnergyYear
    moisture: MoistureYear
    indoor: IndoorYear
    frost: FrostYear
    months: tuple[MonthYear, ...]
    design: tuple[DesignPoint, ...]
    estimates: tuple[YearEstimate, ...] = ()
    heat_only: HeatOnly | None = None
    problems: tuple[Problem, ...] = ()

    def stream(self, name: str) -> StreamYear:
        """One air by its name."""
        return next(s for s in self.streams if s.name == name)

    def estimate_si(self, code: str) -> Estimate | None:
        """A figure with its budget, None where it wasn't asked for."""
        return next((e.estimate_si for e in self.estimates if e.code == code), None)
