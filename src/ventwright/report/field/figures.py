"""What a reading amounts to, in one line: a flow, a state of air, a plain figure."""

from __future__ import annotations

from ventwright.findings import FlowFinding, ReadingFinding
from ventwright.house import Method
from ventwright.quantities import Dimension, format_with_uncertainty
from ventwright.report.pen import Pen
from ventwright.uncertainty import Estimate, u_expanded


def flow_text(pen: Pen, flow: FlowFinding | None) -> str:
    """A flow ± its expanded uncertainty; empty where there is none.

    Parameters
    ----------
    pen
        For the measures.
    flow
        What was found.
    """
    if flow is None:
        return ""
    return pen.measures.estimate(flow.figure.flow_m3_s, Dimension.FLOW)


def found_text(pen: Pen, found: ReadingFinding | None) -> str:
    """What one reading says; empty where it was refused.

    Parameters
    ----------
    pen
        For measures and words.
    found
        What was found.
    """
    m = pen.measures
    if found is None:
        return ""
    if found.flow is not None:
        return m.estimate(found.flow.flow_m3_s, Dimension.FLOW)
    if found.air is not None:
        dew = m.value(found.air.dew_point_c, Dimension.TEMPERATURE)
        return ", ".join(
            (
                m.estimate(found.air.temperature_c, Dimension.TEMPERATURE),
                m.estimate(found.air.rel_humidity_frac, Dimension.FRACTION),
                pen.say("field-station.dew-point", value=dew),
            )
        )
    return _plain_text(pen, found.method, found.scalar_si)


def _plain_text(pen: Pen, method: Method, estimate_si: Estimate | None) -> str:
    m = pen.measures
    if estimate_si is None:
        return ""
    if method is Method.PRESSURE_DIFFERENCE:
        return m.house_pressure(estimate_si)
    if method is Method.BAROMETER:
        # Barometers and weather reports speak of hectopascals in every habit.
        return format_with_uncertainty(
            estimate_si.value,
            u_si=u_expanded(estimate_si),
            dimension=Dimension.PRESSURE,
            unit_symbol="hPa",
            number_style=m.number_style,
        )
    is_power = method is Method.POWER
    return m.estimate(estimate_si, Dimension.POWER if is_power else Dimension.TEMPERATURE)
