"""One state of moist air, and how to make it from any two of its properties.

Range served: −40 to 90 °C, 50 to 110 kPa, humidity ratio 1e-7 to 1.5 kg/kg, below boiling. What
lies outside is refused by name, never answered.
"""

from __future__ import annotations

import math

from ventwright.air import kernels
from ventwright.air.errors import air_state_error
from ventwright.quantities.records import dataclass
from ventwright.quantities.words import HumidityOver

LOWEST_TEMPERATURE_C = -40.0
HIGHEST_TEMPERATURE_C = 90.0
LOWEST_DEW_POINT_C = -95.0
LOWEST_WET_BULB_C = -45.0
LOWEST_PRESSURE_PA = 50_000.0
HIGHEST_PRESSURE_PA = 110_000.0
LOWEST_HUMIDITY_RATIO_KG_KG = 1e-7
HIGHEST_HUMIDITY_RATIO_KG_KG = 1.5
SATURATION_ROUNDING_FRAC = 0.002
"""A reading this little above saturation is rounding and is read as saturated (about 0.03 K)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MoistAir:
    """One state of moist air; made by `moist_air_from`, which checks it.

    What every state needs is stored; the rest is computed when asked for. Quantities "per kg" are
    per kilogram of dry air, the mass that does not change when air is humidified.

    Parameters
    ----------
    temperature_c
        Dry-bulb temperature [°C].
    pressure_pa
        Barometric pressure [Pa].
    humidity_ratio_kg_kg
        Mass of vapour per mass of dry air [kg/kg].
    rel_humidity_frac
        Vapour pressure over saturation vapour pressure at this temperature [0..1].
    humidity_over
        Plane below freezing of the relative humidity, the dew point and the wet bulb. Above
        freezing, where humidity has only one meaning, it still says what a dew point or wet bulb
        below 0 °C is meant over.
    vapour_pressure_pa
        Partial pressure of the vapour [Pa].
    saturation_pressure_pa
        Saturation vapour pressure in air at this temperature over `humidity_over` [Pa].
    is_enhanced
        Whether saturation carries the enhancement factor.
    """

    temperature_c: float
    pressure_pa: float
    humidity_ratio_kg_kg: float
    rel_humidity_frac: float
    humidity_over: HumidityOver
    vapour_pressure_pa: float
    saturation_pressure_pa: float
    is_enhanced: bool = True

    @property
    def dew_point_c(self) -> float:
        """Temperature at which this air saturates over `humidity_over` [°C].

        Below 0 °C over `ICE` it is the frost point; over `WATER` it is the dew point over
        supercooled water, which is what a probe that computes it usually shows.
        """
        return self._saturation_temperature_c(self.humidity_over)

    @property
    def frost_point_c(self) -> float:
        """Temperature at which a clean surface begins to gather frost, or dew above 0 °C [°C].

        Always over ice below 0 °C, whatever `humidity_over`; never below `dew_point_c` but for
        0.0004 K at the ice point itself.
        """
        return self._saturation_temperature_c(HumidityOver.ICE)

    @property
    def wet_bulb_c(self) -> float:
        """Thermodynamic wet-bulb temperature [°C]; below 0 °C the bulb bears `humidity_over`."""
        return float(
            kernels.wet_bulb_c(
                math,
                temperature_c=self.temperature_c,
                humidity_ratio_kg_kg=self.humidity_ratio_kg_kg,
                pressure_pa=self.pressure_pa,
                over=self.humidity_over,
                is_enhanced=self.is_enhanced,
            )
        )

    @property
    def enthalpy_j_kg(self) -> float:
        """Enthalpy [J per kg of dry air], zero for dry air and liquid water at 0 °C."""
        return float(
            kernels.enthalpy_j_kg(
                temperature_c=self.temperature_c, humidity_ratio_kg_kg=self.humidity_ratio_kg_kg
            )
        )

    @property
    def specific_volume_m3_kg(self) -> float:
        """Volume of moist air that holds a kilogram of dry air [m³/kg]."""
        return float(
            kernels.specific_volume_m3_kg(
                temperature_c=self.temperature_c,
                humidity_ratio_kg_kg=self.humidity_ratio_kg_kg,
                pressure_pa=self.pressure_pa,
            )
        )

    @property
    def density_kg_m3(self) -> float:
        """Mass of moist air, vapour included, per volume [kg/m³]."""
        return (1.0 + self.humidity_ratio_kg_kg) / self.specific_volume_m3_kg

    def _saturation_temperature_c(self, over: HumidityOver) -> float:
        return float(
            kernels.saturation_temperature_c(
                math,
                vapour_pressure_pa=self.vapour_pressure_pa,
                pressure_pa=self.pressure_pa,
                over=over,
                is_enhanced=self.is_enhanced,
            )
        )


def state_at(
    *,
    temperature_c: float,
    pressure_pa: float,
    humidity_over: HumidityOver,
    is_enhanced: bool,
    vapour_pressure_pa: float | None = None,
    rel_humidity_frac: float | None = None,
) -> MoistAir:
    """State from its temperature and either its vapour pressure or its relative humidity.

    Parameters
    ----------
    temperature_c
        Dry-bulb temperature [°C].
    pressure_pa
        Barometric pressure [Pa].
    humidity_over
        Plane below freezing.
    is_enhanced
        Whether saturation carries the enhancement factor.
    vapour_pressure_pa
        Vapour pressure [Pa].
    rel_humidity_frac
        Relative humidity [0..1]; exactly one of the two is given.

    Returns
    -------
    MoistAir
        The state.

    Raises
    ------
    AirStateError
        Out of range, or above saturation by more than rounding.
    """
    check_range("temperature_c", temperature_c, LOWEST_TEMPERATURE_C, HIGHEST_TEMPERATURE_C)
    saturation: float = kernels.saturation_pressure_pa(
        math,
        temperature_c=temperature_c,
        pressure_pa=pressure_pa,
        over=humidity_over,
        is_enhanced=is_enhanced,
    )
    if saturation >= pressure_pa:
        raise air_state_error(
            "air-out-of-range",
            "temperature_c",
            f"water boils below {temperature_c:g} °C at {pressure_pa:g} Pa",
            "give a temperature below boiling",
        )
    if rel_humidity_frac is None:
        assert vapour_pressure_pa is not None
        rel_humidity_frac = vapour_pressure_pa / saturation
    if rel_humidity_frac > 1.0:
        _refuse_above_saturation(rel_humidity_frac, temperature_c, humidity_over)
        rel_humidity_frac, vapour_pressure_pa = 1.0, saturation
    elif vapour_pressure_pa is None:
        vapour_pressure_pa = rel_humidity_frac * saturation
    humidity_ratio: float = kernels.humidity_ratio_kg_kg(
        vapour_pressure_pa=vapour_pressure_pa, pressure_pa=pressure_pa
    )
    check_range(
        "humidity_ratio_kg_kg",
        humidity_ratio,
        LOWEST_HUMIDITY_RATIO_KG_KG,
        HIGHEST_HUMIDITY_RATIO_KG_KG,
    )
    return MoistAir(
        temperature_c=temperature_c,
        pressure_pa=pressure_pa,
        humidity_ratio_kg_kg=humidity_ratio,
        rel_humidity_frac=rel_humidity_frac,
        humidity_over=humidity_over,
        vapour_pressure_pa=vapour_pressure_pa,
        saturation_pressure_pa=saturation,
        is_enhanced=is_enhanced,
    )


def check_range(where: str, value: float, lowest: float, highest: float) -> None:
    """Refuse a value outside the range served; not-a-number is outside every range.

    Parameters
    ----------
    where
        Name of the field, with its unit suffix.
    value
        What was given, in the field's unit.
    lowest
        Least value accepted.
    highest
        Greatest value accepted.

    Raises
    ------
    AirStateError
        If it is outside.
    """
    if not lowest <= value <= highest:
        raise air_state_error(
            "air-out-of-range",
            where,
            f"{where} = {value:g} is outside the range served",
            f"give {lowest:g} to {highest:g}",
        )


def _refuse_above_saturation(
    rel_humidity_frac: float, temperature_c: float, over: HumidityOver
) -> None:
    if rel_humidity_frac <= 1.0 + SATURATION_ROUNDING_FRAC:
        return
    remedy = "check both readings; dew point and wet bulb can't exceed the dry bulb"
    plane = ""
    if temperature_c < 0.0:
        plane = f" over {over}"
        if over is HumidityOver.ICE:
            remedy += ", or state the humidity over water if the probe reports so"
    raise air_state_error(
        "air-above-saturation",
        "humidity",
        f"the air would be {100.0 * (rel_humidity_frac - 1.0):.2g} % above saturation{plane} at "
        f"{temperature_c:g} °C",
        remedy,
    )
