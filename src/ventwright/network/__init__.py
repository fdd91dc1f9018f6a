"""The network of a house: trees of duct laws, solved by one sweep a step, with sensitivities.

`prepare` checks a `Network` and lays it out, `solve` finds flows and pressures or says why it
can't, `sensitivities` gives the derivative of any flow with respect to any parameter.

What stands behind `TYPE_CHECKING` is imported when it is first asked for: reading and judging a
visit needs none of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ventwright.network.checks import check
from ventwright.network.model import Link, LinkRole, Network, Opening, Tree, Zone, pressure_law
from ventwright.network.newton import solve
from ventwright.network.prepared import Prepared, prepare
from ventwright.network.results import FailureCause, Solution, SolveFailure
from ventwright.quantities.later import later

if TYPE_CHECKING:
    from ventwright.network.sensitivity import (
        FanSpeed,
        LnLoss,
        OtherInflow,
        Parameter,
        Response,
        Rise,
        ZonePressure,
        respond,
        sensitivities,
    )
else:
    __getattr__ = later(__name__, "sensitivity")

__all__ = [
    "FailureCause",
    "FanSpeed",
    "Link",
    "LinkRole",
    "LnLoss",
    "Network",
    "Opening",
    "OtherInflow",
    "Parameter",
    "Prepared",
    "Response",
    "Rise",
    "Solution",
    "SolveFailure",
    "Tree",
    "Zone",
    "ZonePressure",
    "check",
    "prepare",
    "pressure_law",
    "respond",
    "sensitivities",
    "solve",
]
