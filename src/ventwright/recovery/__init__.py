"""Recovery of heat and moisture: figures from four states and the flows, closures, what they miss.

Every figure has a definition named after its text and the trust in it; a difference that can't
carry a ratio makes a refusal with its remedy, not a number.
"""

from ventwright.recovery.advice import Advice, difference_needed_si, u_std_with_one_probe
from ventwright.recovery.assess import RecoveryResult, assess_recovery
from ventwright.recovery.closure import Closure
from ventwright.recovery.definitions import DEFINITIONS, Definition, RatioKind
from ventwright.recovery.fans import FanEfficacy, fan_efficacy
from ventwright.recovery.ratios import RatioResult, fieller_interval
from ventwright.recovery.signs import Condensate
from ventwright.recovery.streams import Stream

__all__ = [
    "DEFINITIONS",
    "Advice",
    "Closure",
    "Condensate",
    "Definition",
    "FanEfficacy",
    "RatioKind",
    "RatioResult",
    "RecoveryResult",
    "Stream",
    "assess_recovery",
    "difference_needed_si",
    "fan_efficacy",
    "fieller_interval",
    "u_std_with_one_probe",
]
