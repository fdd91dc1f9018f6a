"""Moist air: states from any two properties, altitude, flow as mass, the four streams.

`moist_air_from` makes and checks one `MoistAir`; `kernels` holds the same equations
for arrays.
"""

from ventwright.air.errors import AirStateError
from ventwright.air.estimates import AirEstimate, air_estimate_from
from ventwright.air.pairs import moist_air_from
from ventwright.air.states import MoistAir

__all__ = ["AirEstimate", "AirStateError", "MoistAir", "air_estimate_from", "moist_air_from"]
