"""What the states say beyond the figures: condensate, frost, cross-contamination, imbalance."""

from __future__ import annotations

from enum import StrEnum

from ventwright.quantities import AirKind, Problem, Severity
from ventwright.recovery.ratios import RatioResult
from ventwright.recovery.streams import Carried, Situation
from ventwright.uncertainty import (
    COVERAGE_FACTOR,
    Estimate,
    Verdict,
    combine,
    decide,
    difference,
    ratio,
)

PLATE_SENSIBLE_FROST_C = -1.1
PLATE_TOTAL_FROST_C = -12.2
"""Outdoor temperatures below which plate exchangers begin to frost, for sensible heat only and for
heat and moisture. Source: energyplus_input_output (credited there to a US EPA tool), read."""
LEAST_EXHAUST_C = 1.7
"""Exhaust temperature that frost controls keep. Source: energyplus_input_output, read."""
BALANCED_FRAC = 0.03
"""Imbalance up to which a test counts as balanced. Source: en_13141_7, from memory."""
MOST_IMBALANCE_RATIO = 2.0
"""Source: energyplus_engineering, read: "not recommended" beyond."""
TRANSFER_NOTE_FRAC = 0.05
TRANSFER_WARNING_FRAC = 0.10
"""Shares of extract air in supply air that are spoken of. Source: ashrae_62_1, from memory, written
for other buildings than houses."""

FAN_HEAT_NOTE_FRAC = 0.02
"""Share of the temperature difference from which fan heat is spoken of. Judgement."""


class Condensate(StrEnum):
    """Whether water condenses in the exchanger."""

    PRESENT = "present"
    """Caught at the drain, or air leaves colder than the dew point it came with."""
    POSSIBLE = "possible"
    """The cold end may lie below the dew point, or air leaves near its own."""
    ABSENT = "absent"
    """Nothing comes near the dew point."""
    UNKNOWN = "unknown"
    """A state is missing."""


def condensate_of(
    situation: Situation, *, is_energy_exchanger: bool, drained_kg_s: Estimate | None = None
) -> Condensate:
    """Judge condensation from the states and, where there is one, the drain.

    The air that is cooled is the warmer one of outdoor and extract air. In an exchanger for heat
    alone it condenses for certain where it leaves below the dew point it came with, and may where
    the cold end (the mean of what enters cold and what leaves cooled, equal film coefficients) lies
    below that. An energy exchanger draws moisture off on the way, so there only air that leaves
    near its own dew point tells of condensation, and never for certain.

    Parameters
    ----------
    situation
        The test.
    is_energy_exchanger
        Whether the exchanger passes moisture.
    drained_kg_s
        Condensate caught [kg/s].
    """
    if drained_kg_s is not None and drained_kg_s.value > COVERAGE_FACTOR * drained_kg_s.u_std:
        return Condensate.PRESENT
    oda, eta = situation.air(AirKind.OUTDOOR), situation.air(AirKind.EXTRACT)
    if oda is None or eta is None:
        return Condensate.UNKNOWN
    is_heating = eta.temperature_c.value > oda.temperature_c.value
    cooled, cold = (eta, oda) if is_heating else (oda, eta)
    leaving = situation.air(AirKind.EXHAUST if is_heating else AirKind.SUPPLY)
    if leaving is None:
        return Condensate.UNKNOWN
    if is_energy_exchanger:
        return _dry_or_possible(leaving.temperature_c, leaving.dew_point_c)
    margin = difference(leaving.temperature_c, cooled.dew_point_c)
    if decide(margin, low=0.0).verdict is Verdict.NOT_MET:
        return Condensate.PRESENT
    cold_end = combine(
        0.5 * (leaving.temperature_c.value + cold.temperature_c.value),
        [(0.5, leaving.temperature_c), (0.5, cold.temperature_c)],
    )
    return _dry_or_possible(cold_end, cooled.dew_point_c)


def _dry_or_possible(temperature_c: Estimate, dew_point_c: Estimate) -> Condensate:
    is_dry = decide(difference(temperature_c, dew_point_c), low=0.0).verdict is Verdict.MET
    return Condensate.ABSENT if is_dry else Condensate.POSSIBLE


def condensate_flags(condensate: Condensate) -> tuple[Problem, ...]:
    """What condensation means for the figures.

    Parameters
    ----------
    condensate
        As judged.
    """
    if condensate not in {Condensate.PRESENT, Condensate.POSSIBLE}:
        return ()
    is_present = condensate is Condensate.PRESENT
    return (
        Problem(
            code=f"condensate-{condensate.value}",
            where="exchanger",
            message="water condenses in the exchanger: its heat raises the temperatures both "
            "streams leave with, and its mass leaves by the drain"
            if is_present
            else "air may reach its dew point at the cold end of the exchanger",
            remedy="catch and weigh the condensate over a timed hour, and see that trap and drain "
            "run free",
            severity=Severity.WARNING if is_present else Severity.NOTE,
        ),
    )


def frost_flags(situation: Situation, *, is_energy_exchanger: bool) -> tuple[Problem, ...]:
    """Whether the exchanger may frost at these states.

    Parameters
    ----------
    situation
        The test.
    is_energy_exchanger
        Whether it passes moisture, which lowers the frost threshold.
    """
    oda, eha = situation.air(AirKind.OUTDOOR), situation.air(AirKind.EXHAUST)
    flags = []
    if oda is not None:
        threshold_c = PLATE_TOTAL_FROST_C if is_energy_exchanger else PLATE_SENSIBLE_FROST_C
        verdict = decide(oda.temperature_c, low=threshold_c).verdict
        if verdict is not Verdict.MET:
            word = "is" if verdict is Verdict.NOT_MET else "may be"
            flags.append(
                Problem(
                    code="frost-expected" if verdict is Verdict.NOT_MET else "frost-possible",
                    where=AirKind.OUTDOOR.value,
                    message=f"outdoor air at {oda.temperature_c.value:.1f} °C {word} below "
                    f"{threshold_c:.1f} °C, where plate exchangers of this kind begin to frost",
                    remedy="make sure that no defrost ran during the readings; a reading in "
                    "defrost is not a reading of recovery",
                )
            )
    if eha is not None and eha.temperature_c.value < LEAST_EXHAUST_C:
        flags.append(
            Problem(
                code="exhaust-near-freezing",
                where=AirKind.EXHAUST.value,
                message=f"exhaust air at {eha.temperature_c.value:.1f} °C is below "
                f"{LEAST_EXHAUST_C:.1f} °C, which frost controls keep",
                remedy="check that frost protection works and that supply flow does not exceed "
                "extract flow",
            )
        )
    return tuple(flags)


def imbalance_flags(situation: Situation) -> tuple[Problem, ...]:
    """Whether the flows are too far apart for the figures without flow weighting.

    Parameters
    ----------
    situation
        The test.
    """
    supply, extract = situation.supply_kg_s, situation.extract_kg_s
    if supply is None or extract is None:
        return ()
    larger, smaller = (supply, extract) if supply.value >= extract.value else (extract, supply)
    quotient = ratio(larger, smaller)
    if decide(quotient, high=MOST_IMBALANCE_RATIO).verdict is not Verdict.MET:
        return (
            Problem(
                code="flows-too-unbalanced",
                where="exchanger",
                message=f"one side carries {quotient.value:.1f} times the air of the other; rated "
                "points and interpolation don't reach that far",
                remedy="balance the flows before judging recovery",
            ),
        )
    if decide(quotient, high=1.0 + BALANCED_FRAC).verdict is Verdict.MET:
        return ()
    return (
        Problem(
            code="flows-unbalanced",
            where="exchanger",
            message=f"the mass flows are not shown to lie within {BALANCED_FRAC:.0%} of each other "
            f"({quotient.value - 1.0:.0%} as read): ratios without flow weighting flatter the side "
            "with less air",
            severity=Severity.NOTE,
        ),
    )


def fan_heat_flags(situation: Situation, supply_heat_w: Estimate) -> tuple[Problem, ...]:
    """How much of the supply air's warmth is not recovered but bought.

    Parameters
    ----------
    situation
        The test.
    supply_heat_w
        Heat that fan and casing put into the supply air [W].
    """
    rate, span = situation.supply_rate(Carried.SENSIBLE), situation.span(Carried.SENSIBLE)
    if rate is None or span is None or supply_heat_w.value <= 0.0:
        return ()
    rise_k = ratio(supply_heat_w, rate).value
    if rise_k < FAN_HEAT_NOTE_FRAC * abs(span.difference_si.value):
        return ()
    moves = "raises" if span.difference_si.value > 0.0 else "lowers"
    return (
        Problem(
            code="fan-heat",
            where=AirKind.SUPPLY.value,
            message=f"fan and casing alone warm the supply air by {rise_k:.1f} K, which {moves} "
            "the supply side's apparent figures; the net figure leaves it out",
            severity=Severity.NOTE,
        ),
    )


def transfer_flags(
    exhaust_transfer_frac: Estimate | None, by_moisture: RatioResult | None
) -> tuple[Problem, ...]:
    """Whether extract air is found in the supply air.

    Parameters
    ----------
    exhaust_transfer_frac
        By tracer gas, where measured.
    by_moisture
        In an exchanger that passes no moisture, vapour is a tracer of its own.
    """
    flags = []
    if exhaust_transfer_frac is not None and exhaust_transfer_frac.value > TRANSFER_NOTE_FRAC:
        is_large = exhaust_transfer_frac.value > TRANSFER_WARNING_FRAC
        flags.append(
            Problem(
                code="cross-contamination",
                where=AirKind.SUPPLY.value,
                message=f"{exhaust_transfer_frac.value:.0%} of the supply air is extract air: "
                "outdoor air is less by that share, and odours return",
                remedy="check seals, the exchanger's seating and the pressures on its two sides",
                severity=Severity.WARNING if is_large else Severity.NOTE,
            )
        )
    share = None if by_moisture is None else by_moisture.estimate
    if share is not None and decide(share, high=0.0).verdict is Verdict.NOT_MET:
        flags.append(
            Problem(
                code="leakage-by-moisture",
                where=AirKind.SUPPLY.value,
                message=f"the supply air carries {share.value:.0%} of the moisture difference, "
                "which an exchanger for heat alone can't pass: extract air leaks across",
                remedy="confirm with tracer gas, or check seals and the exchanger's seating; make "
                "sure the exchanger is not an energy exchanger",
            )
        )
    return tuple(flags)
