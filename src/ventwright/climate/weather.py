"""A year of weather, hour by hour, and what its file left open."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from ventwright.quantities import HumidityOver, Problem

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

HOURS_OF_YEAR = 8760
HOURS_OF_LEAP_YEAR = 8784


class WeatherKind(StrEnum):
    """Formats of weather files that are read."""

    EPW = "epw"
    TMY2 = "tmy2"
    TMY3 = "tmy3"
    CSV = "csv"


class PlaneBasis(StrEnum):
    """Why a file's humidity below 0 °C is taken over water or over ice."""

    COMPARED = "compared"
    """The file prints dew point and relative humidity; they agree over this plane."""
    CUSTOM = "custom"
    """Nothing in the file tells; weather services state humidity over water (from memory)."""
    NOT_NEEDED = "not-needed"
    """No hour is cold enough for the plane to matter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneDecision:
    """Over which plane a file states humidity below 0 °C, and how that was told.

    Parameters
    ----------
    over
        The plane.
    basis
        Why.
    cold_count
        Hours that could tell.
    water_off_frac
        How far printed and computed relative humidity lie apart over water, mean of absolute values
        over those hours; None where it wasn't compared.
    ice_off_frac
        The same over ice.
    """

    over: HumidityOver
    basis: PlaneBasis
    cold_count: int
    water_off_frac: float | None = None
    ice_off_frac: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Weather:
    """Outdoor air of every hour of a year.

    Arrays have one element for each hour from the first of January on. Where `is_known` is false
    the file gave nothing to go by and the other arrays hold NaN; nothing is counted there.

    Parameters
    ----------
    name
        Of the place or the file.
    kind
        Format of the file.
    altitude_m
        Above sea level [m], None where the file doesn't say.
    latitude_deg
        Latitude [°], north positive, None where the file doesn't say.
    month
        1 to 12 for each hour.
    day
        Day of the month for each hour.
    temperature_c
        Dry-bulb temperature [°C].
    humidity_ratio_kg_kg
        Humidity ratio [kg/kg].
    pressure_pa
        Barometric pressure [Pa].
    is_known
        Whether an hour has all three.
    is_filled
        Whether any of the three was drawn across a short gap.
    plane
        Over which plane humidity below 0 °C was taken.
    problems
        What could not be read, with line numbers.
    """

    name: str
    kind: WeatherKind
    altitude_m: float | None
    latitude_deg: float | None
    month: Ints
    day: Ints
    temperature_c: Floats
    humidity_ratio_kg_kg: Floats
    pressure_pa: Floats
    is_known: Bools
    is_filled: Bools
    plane: PlaneDecision
    problems: tuple[Problem, ...] = ()

    @property
    def hours_count(self) -> int:
        """Hours of the year, known or not."""
        return int(self.temperature_c.size)

    @property
    def known_count(self) -> int:
        """Hours that are known."""
        return int(np.count_nonzero(self.is_known))

    @property
    def mean_pressure_pa(self) -> float:
        """Mean barometric pressure of the known hours [Pa]."""
        return float(np.mean(self.pressure_pa[self.is_known]))
