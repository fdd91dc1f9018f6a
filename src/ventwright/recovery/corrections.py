"""From what was measured to what the exchanger itself does: fan heat, casing, cross leakage."""

from __future__ import annotations

import math

from ventwright.quantities import AirKind, Problem, Severity
from ventwright.quantities.records import dataclass, replace
from ventwright.recovery.definitions import RatioKind
from ventwright.recovery.ratios import (
    RatioResult,
    Span,
    ratio_of,
    ratio_over,
    refusal,
    refused,
    weighted,
)
from ventwright.recovery.streams import Carried, Situation, flow_missing
from ventwright.uncertainty import (
    Distribution,
    Estimate,
    combine,
    difference,
    measured,
    product,
    ratio,
    total,
    u_from_half_width,
)

SUPPLY_FAN_SHARE_FRAC = 0.5
SUPPLY_FAN_SHARE_HALF_WIDTH_FRAC = 0.15
"""Share of the electric power that warms the supply air where only the whole is known. Judgement:
two like fans and some controls."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrections:
    """What is known of the heat and air that the exchanger did not move.

    Parameters
    ----------
    fan_power_w
        Electric power of both fans and the controls [W].
    supply_share_frac
        Share of it that warms the supply air between its two stations.
    casing_gain_w
        Heat the supply air gains through the casing [W].
    exhaust_transfer_frac
        Share of extract air in the supply air, by tracer gas.
    """

    fan_power_w: Estimate | None = None
    supply_share_frac: Estimate | None = None
    casing_gain_w: Estimate | None = None
    exhaust_transfer_frac: Estimate | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing at all is known."""
        known = (self.fan_power_w, self.casing_gain_w, self.exhaust_transfer_frac)
        return all(k is None for k in known)

    def supply_heat_w(self) -> Estimate:
        """Heat the supply air gains from its fan and through the casing [W]."""
        parts = [self.casing_gain_w] if self.casing_gain_w is not None else []
        if self.fan_power_w is not None:
            parts.append(product(self.fan_power_w, self._share()))
        return total(parts)

    def extract_fan_w(self) -> Estimate:
        """Electric power that ends in the extract air [W], 0 where no power is known."""
        if self.fan_power_w is None:
            return total([])
        return difference(self.fan_power_w, product(self.fan_power_w, self._share()))

    def _share(self) -> Estimate:
        if self.supply_share_frac is not None:
            return self.supply_share_frac
        return measured(
            SUPPLY_FAN_SHARE_FRAC,
            u_std=u_from_half_width(
                SUPPLY_FAN_SHARE_HALF_WIDTH_FRAC, distribution=Distribution.RECTANGULAR
            ),
            id="recovery:supply-fan-share",
            label="share of fan power in the supply air",
            distribution=Distribution.RECTANGULAR,
        )

    def notes(self, where: str) -> tuple[Problem, ...]:
        """What could not be taken out for want of data."""
        missing = [
            words
            for words, known in (
                ("fan heat", self.fan_power_w),
                ("casing gain", self.casing_gain_w),
                ("cross leakage", self.exhaust_transfer_frac),
            )
            if known is None
        ]
        if not missing:
            return ()
        return (
            Problem(
                code="correction-incomplete",
                where=where,
                message=f"{', '.join(missing)} not known and still in the figure",
                severity=Severity.NOTE,
            ),
        )


def net_sensible(
    situation: Situation, corrections: Corrections, *, max_u_frac: float
) -> RatioResult:
    """Sensible effectiveness of the exchanger itself, from the supply side.

    The supply air is a mixture, ``T2' = (1 − x) T_x + x T3``, of air that passed the exchanger and
    extract air that leaked across; its fan and the casing then warm it. So
    ``T_x − T1 = (T2 − T1 − (P_sf + Q)/C_s − x (T3 − T1))/(1 − x)``. The signs carry through, so it
    holds for cooling as for heating.

    Parameters
    ----------
    situation
        The test.
    corrections
        What is known.
    max_u_frac
        Widest half interval stated [1].
    """
    kind = RatioKind.NET_SENSIBLE
    span, problem = _ready(kind, situation, AirKind.OUTDOOR, AirKind.SUPPLY, AirKind.EXTRACT)
    if problem is None and corrections.is_empty:
        problem = refusal(
            code="correction-unknown",
            where=kind.value,
            message="neither fan power nor casing gain nor cross leakage is known: there is only "
            "the apparent figure",
            remedy="measure the electric power in this setting",
        )
    rate = situation.supply_rate(Carried.SENSIBLE)
    weight = situation.weight(Carried.SENSIBLE, is_supply=True)
    gain = situation.step(Carried.SENSIBLE, start=AirKind.OUTDOOR, end=AirKind.SUPPLY)
    if problem is not None or span is None or rate is None or weight is None or gain is None:
        return refused(kind, problem or flow_missing(kind.value))
    rise = difference(gain, ratio(corrections.supply_heat_w(), rate))
    found = ratio_over(
        kind,
        numerator_si=weighted(_without_leakage(rise, span, corrections), weight),
        span=span,
        max_u_frac=max_u_frac,
    )
    return _with_notes(found, corrections)


def _without_leakage(rise: Estimate, span: Span, corrections: Corrections) -> Estimate:
    """``(rise − x D)/(1 − x)``: take the extract air out of the mixture."""
    x = corrections.exhaust_transfer_frac
    if x is None:
        return rise
    through = 1.0 - x.value
    value = (rise.value - x.value * span.difference_si.value) / through
    slopes = (1.0 / through, -x.value / through, (value - span.difference_si.value) / through)
    return combine(value, zip(slopes, (rise, span.difference_si, x), strict=True))


def sensible_recovery_efficiency(
    situation: Situation, corrections: Corrections, *, max_u_frac: float
) -> RatioResult:
    """Sensible recovery efficiency in the shape of CSA C439, heating only.

    Shape known second-hand; its wording for cooling is not known to us (whether fan heat is a
    penalty or a credit there), so cooling is refused.

    Parameters
    ----------
    situation
        The test.
    corrections
        What is known; the fan power is needed.
    max_u_frac
        Widest half interval stated [1].
    """
    kind = RatioKind.SENSIBLE_RECOVERY_EFFICIENCY
    span, problem = _ready(kind, situation, AirKind.OUTDOOR, AirKind.SUPPLY, AirKind.EXTRACT)
    problem = problem or _heating_with_power(kind, span, corrections)
    supply = situation.supply_rate(Carried.SENSIBLE)
    extract = situation.extract_rate(Carried.SENSIBLE)
    gain = situation.step(Carried.SENSIBLE, start=AirKind.OUTDOOR, end=AirKind.SUPPLY)
    if problem is not None or span is None or supply is None or extract is None or gain is None:
        return refused(kind, problem or flow_missing(kind.value))
    x = corrections.exhaust_transfer_frac
    leaked = total([]) if x is None else product(x, span.difference_si)
    net = difference(product(supply, difference(gain, leaked)), corrections.supply_heat_w())
    possible = total([product(extract, span.difference_si), corrections.extract_fan_w()])
    found = ratio_of(kind, numerator_si=net, denominator_si=possible, max_u_frac=max_u_frac)
    return _with_notes(found, corrections)


def dry_heat_recovery(
    situation: Situation, corrections: Corrections, *, max_u_frac: float
) -> RatioResult:
    """Effective dry heat recovery from the extract side, heating only.

    ``[(T3 − T4) + P_el/C_e]/(T3 − T1)``, meant for dry air at balanced flows.

    Parameters
    ----------
    situation
        The test.
    corrections
        The fan power is needed.
    max_u_frac
        Widest half interval stated [1].
    """
    kind = RatioKind.DRY_HEAT_RECOVERY
    span, problem = _ready(kind, situation, AirKind.OUTDOOR, AirKind.EXTRACT, AirKind.EXHAUST)
    problem = problem or _heating_with_power(kind, span, corrections)
    rate, power = situation.extract_rate(Carried.SENSIBLE), corrections.fan_power_w
    drop = situation.step(Carried.SENSIBLE, start=AirKind.EXHAUST, end=AirKind.EXTRACT)
    if problem is not None or span is None or rate is None or power is None or drop is None:
        return refused(kind, problem or flow_missing(kind.value))
    numerator = total([drop, ratio(power, rate)])
    return ratio_over(kind, numerator_si=numerator, span=span, max_u_frac=max_u_frac)


def _ready(
    kind: RatioKind, situation: Situation, *needed: AirKind
) -> tuple[Span | None, Problem | None]:
    span = situation.span(Carried.SENSIBLE)
    problem = situation.missing(kind.value, *needed)
    if problem is None and span is not None:
        problem = span.refusal(kind.value)
    return span, problem


def _heating_with_power(
    kind: RatioKind, span: Span | None, corrections: Corrections
) -> Problem | None:
    if corrections.fan_power_w is None:
        return refusal(
            code="power-missing",
            where=kind.value,
            message="the electric power is needed",
            remedy="measure the electric power of fans and controls in this setting",
        )
    if span is not None and span.difference_si.value < 0.0:
        return refusal(
            code="heating-only",
            where=kind.value,
            message="this figure is defined for heating; how its text treats fan heat in cooling "
            "is not known here",
            remedy="use the sensible effectiveness, or repeat in the heating season",
        )
    return None


def _with_notes(found: RatioResult, corrections: Corrections) -> RatioResult:
    return replace(found, flags=(*found.flags, *corrections.notes(found.kind.value)))


def transfer_share(exhaust_transfer_frac: Estimate | float | None) -> Estimate | None:
    """Check a share of extract air in the supply air and make it an estimate.

    Parameters
    ----------
    exhaust_transfer_frac
        In [0, 1), typed or measured.

    Raises
    ------
    ValueError
        Out of range.
    """
    if exhaust_transfer_frac is None:
        return None
    share = (
        exhaust_transfer_frac
        if isinstance(exhaust_transfer_frac, Estimate)
        else Estimate(value=float(exhaust_transfer_frac))
    )
    if not (math.isfinite(share.value) and 0.0 <= share.value < 1.0):
        raise ValueError(f"exhaust transfer share {share.value!r} is not in [0, 1)")
    return share
