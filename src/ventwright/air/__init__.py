"""Moist air: states from any two properties, altitude, flow as mass, the four streams.

`moist_air_from` makes and checks one `MoistAir`; `kernels` holds the same equations for arrays.
"""

from ventwright.air.altitude import altitude_from_pressure_m, pressure_from_altitude_pa
from ventwright.air.errors import AirStateError
from ventwright.air.estimates import AirEstimate, air_estimate_from
from ventwright.air.flows import (
    actual_flow_from_std_m3_s,
    actual_flow_m3_s,
    dry_air_mass_flow_from_std_kg_s,
    dry_air_mass_flow_kg_s,
    std_flow_m3_s,
)
from ventwright.air.pairs import density_kg_m3_from, dew_point_c_from, moist_air_from
from ventwright.air.slopes import Sensitivities, Slopes, sensitivities
from ventwright.air.states import MoistAir
from ventwright.air.streams import FourStreams

__all__ = [
    "AirEstimate",
    "AirStateError",
    "FourStreams",
    "MoistAir",
    "Sensitivities",
    "Slopes",
    "actual_flow_from_std_m3_s",
    "actual_flow_m3_s",
    "air_estimate_from",
    "altitude_from_pressure_m",
    "density_kg_m3_from",
    "dew_point_c_from",
    "dry_air_mass_flow_from_std_kg_s",
    "dry_air_mass_flow_kg_s",
    "moist_air_from",
    "pressure_from_altitude_pa",
    "sensitivities",
    "std_flow_m3_s",
]
