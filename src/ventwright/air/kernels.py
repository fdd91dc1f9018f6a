"""Moist-air equations, written once for one state and for many.

A kernel that needs a logarithm or an exponential takes the maths it is to use as its first
argument: `math` for floats, `numpy` for arrays, which broadcast. Nothing here checks a range: that
is the work of `moist_air_from` for one state and of the caller for arrays.

>>> import math
>>> from ventwright.quantities.words import HumidityOver
>>> saturated_pa = saturation_pressure_pa(
...     math, temperature_c=20.0, pressure_pa=101325.0, over=HumidityOver.ICE)
>>> ratio = humidity_ratio_kg_kg(vapour_pressure_pa=0.5 * saturated_pa, pressure_pa=101325.0)
>>> round(ratio, 5), round(enthalpy_j_kg(temperature_c=20.0, humidity_ratio_kg_kg=ratio))
(0.00729, 38626)
"""

from ventwright.air.mixture import (
    density_kg_m3,
    enthalpy_j_kg,
    humidity_ratio_kg_kg,
    specific_volume_m3_kg,
    vapour_pressure_pa,
)
from ventwright.air.saturation import (
    Maths,
    Number,
    enhancement_factor,
    log_pressure_slope,
    saturation_pressure_pa,
    saturation_temperature_c,
)
from ventwright.air.wet_bulb import (
    humidity_ratio_from_wet_bulb_kg_kg,
    temperature_from_wet_bulb_c,
    wet_bulb_c,
)

__all__ = [
    "Maths",
    "Number",
    "density_kg_m3",
    "enhancement_factor",
    "enthalpy_j_kg",
    "humidity_ratio_from_wet_bulb_kg_kg",
    "humidity_ratio_kg_kg",
    "log_pressure_slope",
    "saturation_pressure_pa",
    "saturation_temperature_c",
    "specific_volume_m3_kg",
    "temperature_from_wet_bulb_c",
    "vapour_pressure_pa",
    "wet_bulb_c",
]
