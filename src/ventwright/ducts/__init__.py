"""The law of each piece of a duct system: pressure drop and its slope for a signed flow.

Every law is a frozen dataclass; it knows its range and source and nothing of the tree it sits in.
"""

from ventwright.ducts.curves import FrictionCurve, PowerCurve
from ventwright.ducts.fans import FanLaw, ParabolicFan
from ventwright.ducts.friction import STANDARD_DUCT_AIR, DuctAir, RoundDuct
from ventwright.ducts.parts import (
    Closed,
    FlowFactorOpening,
    Polynomial,
    PowerLaw,
    flow_factor_at_density,
)
from ventwright.ducts.terms import Curve, Law, Terms, series, usable_terms

__all__ = [
    "STANDARD_DUCT_AIR",
    "Closed",
    "Curve",
    "DuctAir",
    "FanLaw",
    "FlowFactorOpening",
    "FrictionCurve",
    "Law",
    "ParabolicFan",
    "Polynomial",
    "PowerCurve",
    "PowerLaw",
    "RoundDuct",
    "Terms",
    "flow_factor_at_density",
    "series",
    "usable_terms",
]
