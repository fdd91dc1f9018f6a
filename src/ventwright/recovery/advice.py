"""What would make the test say more: a larger difference, other probes, a reading not taken."""

from __future__ import annotations

import math

from ventwright.quantities import AirKind, Dimension
from ventwright.quantities.records import dataclass
from ventwright.recovery.ratios import LEAST_DIFFERENCE_FACTOR, RatioResult, Span
from ventwright.recovery.streams import Carried, Situation
from ventwright.uncertainty import COVERAGE_FACTOR, Estimate, combine

WANTED_U_FRAC = 0.10
"""Expanded uncertainty (k = 2) of a ratio that advice aims at. Judgement; the test standard for
laboratories wants 0.05 to 0.07 (from memory)."""
USUAL_RATIO = {Carried.SENSIBLE: 0.75, Carried.MOISTURE: 0.55, Carried.ENERGY: 0.65}
"""Ratio assumed for planning where the readings give none. Judgement."""
WORTHWHILE_RATIO = 0.8
"""Another procedure is proposed where it leaves at most this much of the uncertainty. Judgement."""
INSTRUMENT_PREFIX = "instrument:"
"""Influences whose id begins so are an instrument's own; one probe has them in common."""

_DIMENSIONS = {
    Carried.SENSIBLE: Dimension.TEMPERATURE_DIFF,
    Carried.MOISTURE: Dimension.HUMIDITY_RATIO,
    Carried.ENERGY: Dimension.ENTHALPY,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """One thing that would make the test valid or sharper.

    Parameters
    ----------
    code
        Stable: ``wait-for-difference``, ``use-one-probe``, ``measure-flows``, ``measure-state``,
        ``weigh-condensate``, ``measure-power``, ``measure-cross-leakage``.
    where
        Which figures or stream.
    message
        In plain words.
    present_si, needed_si
        The difference there is and the one needed, None where the advice is not about one.
    dimension
        What these two are, None with them.
    u_expanded_frac
        Expanded uncertainty (k = 2) of the ratio to be expected [1], None where it can't be told.
    """

    code: str
    where: str
    message: str
    present_si: float | None = None
    needed_si: float | None = None
    dimension: Dimension | None = None
    u_expanded_frac: float | None = None


def difference_needed_si(
    *, residual_si: Estimate, span_si: Estimate, wanted_u_frac: float = WANTED_U_FRAC
) -> float:
    """Difference between extract and outdoor air that brings a ratio to a wanted uncertainty.

    ``u(r) = u(N − r D)/|D|``, and the readings' uncertainties hardly change with D, so
    ``D = k u(N − r D)/U``, and never less than the rule of refusal asks. For independent
    thermometers of equal uncertainty this is ``k u_T √(1 + r² + (1 − r)²)/U``.

    Parameters
    ----------
    residual_si
        ``N − r D`` as an estimate; only its uncertainty counts.
    span_si
        D.
    wanted_u_frac
        Expanded uncertainty wanted, k = 2 [1].

    Returns
    -------
    float
        In the measure of the span.

    >>> from ventwright.uncertainty import exact, measured
    >>> r = measured(0.0, u_std=0.368, id="t", label="three thermometers")
    >>> round(difference_needed_si(residual_si=r, span_si=exact(5.0), wanted_u_frac=0.05), 1)
    14.7
    """
    return max(
        COVERAGE_FACTOR * residual_si.u_std / wanted_u_frac, LEAST_DIFFERENCE_FACTOR * span_si.u_std
    )


def u_std_with_one_probe(estimate_si: Estimate) -> float:
    """Standard uncertainty if one probe had read all that this estimate rests on.

    The calibration of one probe is common to all readings of one channel, so its contributions add
    with their signs; everything else stays as it is.

    Parameters
    ----------
    estimate_si
        Of readings by several probes, whose calibrations bear ids that begin with ``instrument:``,
        then the instrument, then channel and method.

    Returns
    -------
    float
        In the measure of the estimate.

    >>> from ventwright.uncertainty import difference, measured
    >>> a = measured(20.0, u_std=0.3, id="instrument:a:temperature:air_state", label="a")
    >>> b = measured(5.0, u_std=0.3, id="instrument:b:temperature:air_state", label="b")
    >>> round(difference(a, b).u_std, 2), u_std_with_one_probe(difference(a, b))
    (0.42, 0.0)
    """
    common: dict[str, float] = {}
    own = 0.0
    for c in estimate_si.components:
        if c.influence.id.startswith(INSTRUMENT_PREFIX):
            channel = c.influence.id.removeprefix(INSTRUMENT_PREFIX).partition(":")[2]
            common[channel] = common.get(channel, 0.0) + c.contribution
        else:
            own += c.contribution**2
    return math.sqrt(own + sum(c * c for c in common.values()))


def sharpening(
    situation: Situation, carried: Carried, found: RatioResult, *, wanted_u_frac: float
) -> tuple[Advice, ...]:
    """Advice for one property: a larger difference, one probe.

    Parameters
    ----------
    situation
        The test.
    carried
        Which property.
    found
        The supply side's ratio without flow weighting, or its refusal.
    wanted_u_frac
        Expanded uncertainty wanted, k = 2 [1].
    """
    span = situation.span(carried)
    gain = situation.step(carried, start=AirKind.OUTDOOR, end=AirKind.SUPPLY)
    if span is None or gain is None:
        return ()
    planned = USUAL_RATIO[carried] if found.estimate is None else found.estimate.value
    residual = combine(0.0, [(1.0, gain), (-planned, span.difference_si)])
    present = abs(span.difference_si.value)
    needed = difference_needed_si(
        residual_si=residual, span_si=span.difference_si, wanted_u_frac=wanted_u_frac
    )
    if present >= needed:
        return ()
    u_expected = COVERAGE_FACTOR * residual.u_std / needed
    advice = [
        Advice(
            code="wait-for-difference",
            where=carried.value,
            message=f"extract and outdoor air differ by {span.text(present)} in {span.name}; "
            f"{span.text(needed)} would bring the ratio to ± {u_expected:.2f}: wait for other "
            "weather or another hour",
            present_si=present,
            needed_si=needed,
            dimension=_DIMENSIONS[carried],
            u_expanded_frac=u_expected,
        )
    ]
    one_probe = _one_probe(carried, span, residual)
    return tuple(advice if one_probe is None else [*advice, one_probe])


def _one_probe(carried: Carried, span: Span, residual: Estimate) -> Advice | None:
    u_std = u_std_with_one_probe(residual)
    if span.difference_si.value == 0.0 or u_std > WORTHWHILE_RATIO * residual.u_std:
        return None
    u_expected = COVERAGE_FACTOR * u_std / abs(span.difference_si.value)
    return Advice(
        code="use-one-probe",
        where=carried.value,
        message="carry one probe through all four streams and back to the first, or swap the "
        f"probes and read again: their offsets cancel, and the ratio comes to ± {u_expected:.2f} "
        "in the same weather",
        u_expanded_frac=u_expected,
    )


def missing_readings(
    situation: Situation,
    *,
    is_condensate_due: bool,
    is_power_known: bool,
    is_leak_suspected: bool,
) -> tuple[Advice, ...]:
    """Advice on readings that were not taken.

    Parameters
    ----------
    situation
        The test.
    is_condensate_due
        Whether water condenses and was not weighed.
    is_power_known
        Whether fan power was measured.
    is_leak_suspected
        Whether the streams disagree and cross leakage was not measured.
    """
    advice = [
        Advice(
            code="measure-state",
            where=kind.value,
            message=f"read temperature and humidity of {kind.value} in the same setting",
        )
        for kind in AirKind
        if kind not in situation.streams
    ]
    if situation.supply_kg_s is None or situation.extract_kg_s is None:
        advice.append(
            Advice(
                code="measure-flows",
                where="exchanger",
                message="measure the flow of both sides in the same setting: without it only "
                "ratios without flow weighting can be given",
            )
        )
    if is_condensate_due:
        advice.append(
            Advice(
                code="weigh-condensate",
                where="exchanger",
                message="catch and weigh the condensate over a timed hour, to close the balance",
            )
        )
    if not is_power_known:
        advice.append(
            Advice(
                code="measure-power",
                where="exchanger",
                message="measure the electric power in this setting: fan heat is part of the "
                "apparent figure",
            )
        )
    if is_leak_suspected:
        advice.append(
            Advice(
                code="measure-cross-leakage",
                where="exchanger",
                message="the streams disagree: extract air that leaks into the supply air would do "
                "that, and tracer gas tells how much",
            )
        )
    return tuple(advice)
