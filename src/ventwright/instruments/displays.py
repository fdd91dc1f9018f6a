"""A flow taken from a display or another person's record."""

from __future__ import annotations

from ventwright.house import DirectFlow, InstrumentKind
from ventwright.instruments.case import Case, Indicated, Scaling, check_range
from ventwright.instruments.classes import Channel, Figures, figures_of
from ventwright.instruments.indication import indication, positive_values
from ventwright.instruments.reference import flow_scaling
from ventwright.instruments.wording import percent_text


def read_direct_flow(case: Case, look: DirectFlow) -> Indicated:
    """A flow as shown; its accuracy as stated, as the instrument's channel, or wide.

    Parameters
    ----------
    case
        The reading.
    look
        What was looked at.

    Source: method_judgement
    """
    values = positive_values(look.flows_m3_s, flags=case.flags, channel=Channel.FLOW)
    figures = _figures(case, look)
    flow = indication(
        values,
        reading=case.reading,
        instrument=case.instrument,
        channel=Channel.FLOW,
        figures=figures,
        flags=case.flags,
    )
    check_range(case.flags, flow.value, figures=figures, channel=Channel.FLOW)
    if look.is_standard_air is not None:
        scaling, is_open = (Scaling.STANDARD if look.is_standard_air else Scaling.ACTUAL), False
    else:
        scaling, is_open = flow_scaling(case)
        if is_open:
            case.flags.note(
                "standard-air-unknown",
                "whether this flow is of standard air (scfm) or actual air is not given",
                "write is_standard_air = true or false",
            )
    return Indicated(
        flow_m3_s=flow,
        scaling=scaling,
        method_note=f"flow as shown, ± {percent_text(figures.half_width_si(1.0))} of reading"
        if figures.fixed_si == 0.0
        else "flow as shown",
        is_reference_open=is_open,
    )


def _figures(case: Case, look: DirectFlow) -> Figures:
    stated = look.accuracy_frac
    if stated is not None and 0.0 <= stated <= 1.0:
        return Figures(of_reading_frac=stated)
    figures = figures_of(case.instrument, Channel.FLOW, usual=InstrumentKind.BUILT_IN)
    if case.instrument is None:
        case.flags.warn(
            "accuracy-unknown",
            "a flow without an instrument or an accuracy; "
            f"± {percent_text(figures.of_reading_frac)} is allowed for",
            "write accuracy, or name the instrument",
        )
    return figures
