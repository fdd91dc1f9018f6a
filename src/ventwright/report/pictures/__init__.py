"""Pictures of our own as SVG: drawn once, used on page and in PDF, each with words of its own."""

from ventwright.report.pictures.flows import FlowRow, flow_chart
from ventwright.report.pictures.ladder import LadderRow, dew_point_ladder
from ventwright.report.pictures.psychrometric import StreamPoint, psychrometric_chart

__all__ = [
    "FlowRow",
    "LadderRow",
    "StreamPoint",
    "dew_point_ladder",
    "flow_chart",
    "psychrometric_chart",
]
