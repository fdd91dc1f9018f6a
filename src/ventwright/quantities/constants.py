"""Constants that several rooms share, each with its source; the only home they have.

Gas constants and everything else about moist air belong to `air`.
"""

from __future__ import annotations

from typing import Final

STANDARD_GRAVITY_M_S2: Final = 9.80665
"""Conventional free fall, exact. Source: nist_sp811"""

STANDARD_ATMOSPHERE_PA: Final = 101_325.0
"""Standard atmosphere, exact. Source: nist_sp811"""

ICE_POINT_K: Final = 273.15
"""0 °C on the kelvin scale, exact (T0). Source: nist_sp811"""

ABSOLUTE_ZERO_C: Final = -ICE_POINT_K
"""Lowest temperature there is. Source: nist_sp811"""

STANDARD_AIR_DENSITY_KG_M3: Final = 0.075 * 0.45359237 / 0.3048**3
"""Density of the trade's standard air, 0.075 lb/ft³ by convention: 1.2014 kg/m³.

Source: standard_air
"""

WATER_DENSITY_20C_KG_M3: Final = 998.2
"""Density of liquid water at 20 °C, by which a drained volume becomes a mass.

Valid within 0.2 % from 4 to 27 °C. Source: water_density
"""

CONVENTIONAL_WATER_DENSITY_KG_M3: Final = 1000.0
"""Density by which a column of water is converted to a pressure, by convention.

Source: nist_sp811
"""
