"""Recovery of heat and moisture: figures from four states and the flows, closures, what they miss.

Every figure has a definition named after its text and the trust in it; a difference that can't
carry a ratio makes a refusal with its remedy, not a number.

What stands behind `TYPE_CHECKING` is imported when it is first asked for: reading and judging a
visit needs none of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ventwright.quantities.later import later
from ventwright.recovery.advice import Advice, difference_needed_si, u_std_with_one_probe
from ventwright.recovery.assess import RecoveryResult, assess_recovery
from ventwright.recovery.closure import Closure
from ventwright.recovery.definitions import DEFINITIONS, Definition, RatioKind
from ventwright.recovery.fans import FanEfficacy, fan_efficacy
from ventwright.recovery.frost import TYPICAL_DEFROST, DefrostKind, DefrostLaw, defrost_time_frac
from ventwright.recovery.rated import RatedComparison, RatedPoint, compare_rated
from ventwright.recovery.ratios import RatioResult, fieller_interval
from ventwright.recovery.signs import Condensate
from ventwright.recovery.streams import Stream

if TYPE_CHECKING:
    from ventwright.recovery.probes import (
        ProbeComparison,
        Procedure,
        Round,
        compare_probes,
        one_probe_round,
        procedure_budgets_si,
        remove_probe_offsets,
        swap_probes,
    )
    from ventwright.recovery.tracer import exhaust_transfer_by_tracer, net_outdoor_air_m3_s
else:
    __getattr__ = later(__name__, "probes", "tracer")

__all__ = [
    "DEFINITIONS",
    "TYPICAL_DEFROST",
    "Advice",
    "Closure",
    "Condensate",
    "Definition",
    "DefrostKind",
    "DefrostLaw",
    "FanEfficacy",
    "ProbeComparison",
    "Procedure",
    "RatedComparison",
    "RatedPoint",
    "RatioKind",
    "RatioResult",
    "RecoveryResult",
    "Round",
    "Stream",
    "assess_recovery",
    "compare_probes",
    "compare_rated",
    "defrost_time_frac",
    "difference_needed_si",
    "exhaust_transfer_by_tracer",
    "fan_efficacy",
    "fieller_interval",
    "net_outdoor_air_m3_s",
    "one_probe_round",
    "procedure_budgets_si",
    "remove_probe_offsets",
    "swap_probes",
    "u_std_with_one_probe",
]
