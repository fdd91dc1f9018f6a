"""The flow a box, cone or hood takes away by its own resistance, and how it is given back.

With the pressure behind the terminal read with and without the box, ``Q0 = Q1 √(p0 / (p1 − ph))``
(Q1 the flow with the box, ph the pressure lost in the box). With less knowledge the flow without it
lies between Q1 and a bound; the middle is taken and half the distance carried: an asymmetric cause
gets a shift and an interval, never a silent zero.
"""

from __future__ import annotations

import math

from ventwright.instruments.case import Case
from ventwright.instruments.indication import uncertain
from ventwright.instruments.wording import percent_text, pressure_text
from ventwright.uncertainty import Estimate, combine, product

LEAST_BRANCH_DROP_PA = 20.0
"""Least drop from the last common node to the room that is reckoned with (judgement)."""
LARGE_LOSS_FRAC = 0.05


def insertion_factor(
    *,
    hood_drop_pa: float,
    terminal_pressure_pa: float | None = None,
    terminal_pressure_free_pa: float | None = None,
) -> tuple[float, float]:
    """Flow without over flow with the box, and the half width of what is not known.

    Parameters
    ----------
    hood_drop_pa
        Pressure lost in the box, ph [Pa], ≥ 0.
    terminal_pressure_pa
        Pressure behind the terminal against the room with the box in place, p1 [Pa]; above
        `hood_drop_pa`.
    terminal_pressure_free_pa
        The same without the box, p0 [Pa].

    Returns
    -------
    tuple of float
        Factor ≥ 1 [1] and half width [1]. Both pressures give the factor itself; p1 alone gives
        the middle between 1 and √(p1/(p1 − ph)); neither, between 1 and √(1 + ph/20 Pa).

    Source: insertion_computed, method_judgement

    >>> factor, half = insertion_factor(hood_drop_pa=2.0, terminal_pressure_pa=30.7,
    ...                                 terminal_pressure_free_pa=30.0)
    >>> round(20.0 * factor, 2), half
    (20.45, 0.0)
    """
    if terminal_pressure_pa is None:
        bound = math.sqrt(1.0 + hood_drop_pa / LEAST_BRANCH_DROP_PA)
    elif terminal_pressure_free_pa is not None:
        return math.sqrt(terminal_pressure_free_pa / (terminal_pressure_pa - hood_drop_pa)), 0.0
    else:
        bound = math.sqrt(terminal_pressure_pa / (terminal_pressure_pa - hood_drop_pa))
    return 0.5 * (1.0 + bound), 0.5 * (bound - 1.0)


def without_insertion(
    case: Case,
    flow_m3_s: Estimate,
    *,
    hood_drop_pa: Estimate,
    terminal_pressure_pa: Estimate | None = None,
    terminal_pressure_free_pa: Estimate | None = None,
    device: str = "box",
) -> tuple[Estimate, str]:
    """The flow as it is with the box taken away again, and words for it.

    Parameters
    ----------
    case
        The reading; warned where the box takes more than 5 %.
    flow_m3_s
        Flow with the box [m³/s].
    hood_drop_pa
        Pressure lost in the box [Pa].
    terminal_pressure_pa, terminal_pressure_free_pa
        Pressure behind the terminal with and without the box [Pa]; left aside, with a warning,
        where they make no sense.
    device
        What it is, for the words.

    Source: insertion_computed
    """
    p1, p0 = terminal_pressure_pa, terminal_pressure_free_pa
    if p1 is not None and p1.value <= 1.1 * hood_drop_pa.value:
        case.flags.warn(
            "terminal-pressure-implausible",
            f"{pressure_text(p1.value)} behind the terminal leaves nothing for the terminal beside "
            f"the {device}'s {pressure_text(hood_drop_pa.value)}; the pressure is left aside",
            "read the pressure in the neck behind the terminal, against the room",
        )
        p1 = p0 = None
    if p1 is not None and p0 is not None and not p1.value - hood_drop_pa.value < p0.value:
        case.flags.warn(
            "terminal-pressure-implausible",
            f"without the {device} the terminal keeps {pressure_text(p0.value)}, less than the "
            f"{pressure_text(p1.value - hood_drop_pa.value)} it has with it; left aside",
            "read both pressures again with the fans steady",
        )
        p0 = None
    value, half = insertion_factor(
        hood_drop_pa=hood_drop_pa.value,
        terminal_pressure_pa=None if p1 is None else p1.value,
        terminal_pressure_free_pa=None if p1 is None or p0 is None else p0.value,
    )
    if p1 is not None and p0 is not None:
        rest = p1.value - hood_drop_pa.value
        factor = combine(
            value,
            [
                (0.5 * value / p0.value, p0),
                (-0.5 * value / rest, p1),
                (0.5 * value / rest, hood_drop_pa),
            ],
        )
        share = percent_text(value - 1.0)
        words = f"flow taken away by the {device} given back from the pressures ({share})"
    else:
        factor = uncertain(
            value,
            half_width=half,
            id=f"{case.station_id}:insertion",
            label=f"flow taken away at {case.place}",
        )
        words = f"half of the at most {percent_text(2.0 * half)} it takes away given back"
    if value - 1.0 > LARGE_LOSS_FRAC:
        case.flags.warn(
            "box-takes-flow",
            f"the {device} takes about {percent_text(1.0 - 1.0 / value)} of the flow away "
            f"by its own {pressure_text(hood_drop_pa.value)}",
            "use a larger opening, or a hood with its own fan, or read the pressure behind the "
            "terminal with and without the box",
        )
    return product(flow_m3_s, factor), words
