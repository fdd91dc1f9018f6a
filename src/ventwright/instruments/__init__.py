"""From an indication to an estimate: what an instrument showed, made into a flow or a state of air.

Each method has its reader; range limits, corrections and the air an instrument is meant for are
applied and said, and every cause of uncertainty has an identity, so that what readings share
correlates by itself. Nothing is dropped silently and no reading is changed.

What stands behind `TYPE_CHECKING` is imported when it is first asked for: reading and judging a
visit needs none of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ventwright.instruments.box import box_flow_m3_s, box_opening_for
from ventwright.instruments.classes import instrument_flags
from ventwright.instruments.flow import FLOW_METHODS, interpret_flow
from ventwright.instruments.results import (
    AirInterpretation,
    FlowFigure,
    FlowInterpretation,
    ScalarInterpretation,
    StationAir,
    flow_figure_from,
    station_air_from,
)
from ventwright.instruments.rules import traverse_positions
from ventwright.instruments.states_read import interpret_air_state, interpret_scalar
from ventwright.quantities.later import later

if TYPE_CHECKING:
    from ventwright.instruments.advice import MethodAdvice, suitable_methods
else:
    __getattr__ = later(__name__, "advice")

__all__ = [
    "FLOW_METHODS",
    "AirInterpretation",
    "FlowFigure",
    "FlowInterpretation",
    "MethodAdvice",
    "ScalarInterpretation",
    "StationAir",
    "box_flow_m3_s",
    "box_opening_for",
    "flow_figure_from",
    "instrument_flags",
    "interpret_air_state",
    "interpret_flow",
    "interpret_scalar",
    "station_air_from",
    "suitable_methods",
    "traverse_positions",
]
