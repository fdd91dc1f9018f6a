"""From four states and the flows to every figure of recovery, or its refusal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ventwright.quantities import AirKind, Problem, Severity
from ventwright.quantities.records import dataclass, replace
from ventwright.recovery.advice import WANTED_U_FRAC, Advice, missing_readings, sharpening
from ventwright.recovery.closure import Closure, mass_closure, property_closure
from ventwright.recovery.corrections import (
    Corrections,
    dry_heat_recovery,
    net_sensible,
    sensible_recovery_efficiency,
    transfer_share,
)
from ventwright.recovery.definitions import RatioKind
from ventwright.recovery.ratios import (
    MOST_U_FRAC,
    RatioResult,
    ratio_of,
    ratio_over,
    refusal,
    refused,
    weighted,
)
from ventwright.recovery.signs import (
    Condensate,
    condensate_flags,
    condensate_of,
    fan_heat_flags,
    frost_flags,
    imbalance_flags,
    transfer_flags,
)
from ventwright.recovery.streams import Carried, Situation, Stream, flow_missing, situation_of
from ventwright.uncertainty import Estimate, product

_SENSIBLE_ONLY = (RatioKind.LATENT_SUPPLY, RatioKind.LATENT_EXTRACT)


@dataclass(frozen=True, slots=True, kw_only=True)
class RecoveryResult:
    """Every figure of one test, each a `RatioResult` by its own definition.

    Parameters
    ----------
    supply_temperature_ratio, extract_temperature_ratio
        Without flow weighting.
    supply_humidity_ratio, extract_humidity_ratio
        Without flow weighting.
    sensible_supply, sensible_extract, latent_supply, latent_extract, total_supply, total_extract
        Effectiveness, weighted by the smaller side.
    enthalpy_recovery_ratio
        Without flow weighting.
    apparent_sensible
        What the supply air shows at equal flows.
    net_sensible
        Of the exchanger itself.
    sensible_recovery_efficiency, dry_heat_recovery
        Two net figures of heating as published texts define them.
    leakage_by_moisture
        Only for an exchanger without moisture transfer: vapour as a tracer of cross leakage.
    outdoor_air_correction
        Outdoor air taken in over supply air delivered, where both flows were measured.
    energy_closure, sensible_closure, moisture_closure, mass_closure
        Whether the streams agree.
    recovered_heat_w
        Enthalpy the supply air gained on its way [W]; negative where it was relieved of heat.
    recovered_moisture_kg_s
        Water the supply air gained [kg/s]; negative where it was dried.
    condensate
        Whether water condenses in the exchanger.
    flags
        What holds for the test as a whole.
    advice
        What would make it say more.
    """

    supply_temperature_ratio: RatioResult
    extract_temperature_ratio: RatioResult
    supply_humidity_ratio: RatioResult
    extract_humidity_ratio: RatioResult
    sensible_supply: RatioResult
    sensible_extract: RatioResult
    latent_supply: RatioResult
    latent_extract: RatioResult
    total_supply: RatioResult
    total_extract: RatioResult
    enthalpy_recovery_ratio: RatioResult
    apparent_sensible: RatioResult
    net_sensible: RatioResult
    sensible_recovery_efficiency: RatioResult
    dry_heat_recovery: RatioResult
    leakage_by_moisture: RatioResult | None
    outdoor_air_correction: RatioResult | None
    energy_closure: Closure
    sensible_closure: Closure
    moisture_closure: Closure
    mass_closure: Closure
    recovered_heat_w: Estimate | None
    recovered_moisture_kg_s: Estimate | None
    condensate: Condensate
    flags: tuple[Problem, ...]
    advice: tuple[Advice, ...]

    def ratios(self) -> tuple[RatioResult, ...]:
        """All figures and refusals, in the order of the fields."""
        found = (getattr(self, name) for name in self.__dataclass_fields__)
        return tuple(f for f in found if isinstance(f, RatioResult))


def assess_recovery(  # noqa: PLR0913 - the states and what else may be known of one test
    streams: Mapping[AirKind, Stream],
    *,
    is_energy_exchanger: bool,
    fan_power_w: Estimate | None = None,
    supply_fan_share_frac: Estimate | None = None,
    casing_gain_w: Estimate | None = None,
    exhaust_transfer_frac: Estimate | float | None = None,
    condensate_kg_s: Estimate | None = None,
    max_u_frac: float = MOST_U_FRAC,
    wanted_u_frac: float = WANTED_U_FRAC,
) -> RecoveryResult:
    """Assess heat and moisture recovery from the states and flows of one setting.

    All ratios take differences from outdoor air over the difference of extract and outdoor air, so
    they hold for heating and cooling alike. A ratio is refused where that difference is not more
    than three times its standard uncertainty, or where half its 95 % interval exceeds `max_u_frac`.

    Parameters
    ----------
    streams
        States of outdoor, supply, extract and exhaust air with the dry-air mass flows that were
        measured; any may be missing, and what needs it is refused.
    is_energy_exchanger
        Whether the exchanger passes moisture.
    fan_power_w
        Electric power of both fans and the controls in this setting [W].
    supply_fan_share_frac
        Share of it that warms the supply air; half, ± 0.15, where not known.
    casing_gain_w
        Heat the supply air gains through the casing [W].
    exhaust_transfer_frac
        Share of extract air in the supply air, by tracer gas.
    condensate_kg_s
        Water caught at the drain [kg/s].
    max_u_frac
        Half width of the widest 95 % interval that is stated [1].
    wanted_u_frac
        Expanded uncertainty that advice aims at [1].

    Returns
    -------
    RecoveryResult
        Figures, refusals, closures, flags and advice.

    Raises
    ------
    ValueError
        A stream under another's key, or a transfer share outside [0, 1).

    Source: ashrae_84, en_13141_7, energyplus_engineering

    >>> from ventwright.air import air_estimate_from
    >>> from ventwright.uncertainty import exact
    >>> def stream(kind, t, rh, kg_s):
    ...     air = air_estimate_from(pressure_pa=exact(101325.0), temperature_c=exact(t),
    ...                             rel_humidity_frac=exact(rh))
    ...     return Stream(kind=kind, air=air, mass_flow_kg_s=exact(kg_s))
    >>> result = assess_recovery({k: stream(k, *x) for k, x in {
    ...     AirKind.OUTDOOR: (30.0, 0.68, 0.055), AirKind.SUPPLY: (26.67, 0.62, 0.055),
    ...     AirKind.EXTRACT: (23.89, 0.52, 0.051), AirKind.EXHAUST: (27.5, 0.585, 0.051),
    ... }.items()}, is_energy_exchanger=True)
    >>> round(result.supply_humidity_ratio.estimate.value, 2)
    0.54
    >>> result.moisture_closure.decision.verdict.value
    'met'
    """
    situation = situation_of(streams)
    corrections = Corrections(
        fan_power_w=fan_power_w,
        supply_share_frac=supply_fan_share_frac,
        casing_gain_w=casing_gain_w,
        exhaust_transfer_frac=transfer_share(exhaust_transfer_frac),
    )
    ratios = {kind: _plain(situation, kind, max_u_frac) for kind in _PLAN}
    if not is_energy_exchanger:
        ratios |= {kind: _no_moisture_transfer(kind) for kind in _SENSIBLE_ONLY}
    condensate = condensate_of(
        situation, is_energy_exchanger=is_energy_exchanger, drained_kg_s=condensate_kg_s
    )
    by_moisture = None
    if not is_energy_exchanger:
        by_moisture = _leakage_by_moisture(situation, condensate, max_u_frac)
    closures = {c: property_closure(situation, c, drained_kg_s=condensate_kg_s) for c in Carried}
    transfer = transfer_flags(corrections.exhaust_transfer_frac, by_moisture)
    return RecoveryResult(
        **{kind.value.replace("-", "_"): found for kind, found in ratios.items()},
        net_sensible=net_sensible(situation, corrections, max_u_frac=max_u_frac),
        sensible_recovery_efficiency=sensible_recovery_efficiency(
            situation, corrections, max_u_frac=max_u_frac
        ),
        dry_heat_recovery=dry_heat_recovery(situation, corrections, max_u_frac=max_u_frac),
        leakage_by_moisture=by_moisture,
        outdoor_air_correction=_outdoor_air_correction(situation, max_u_frac),
        energy_closure=closures[Carried.ENERGY],
        sensible_closure=closures[Carried.SENSIBLE],
        moisture_closure=closures[Carried.MOISTURE],
        mass_closure=mass_closure(situation),
        recovered_heat_w=_recovered(situation, Carried.ENERGY),
        recovered_moisture_kg_s=_recovered(situation, Carried.MOISTURE),
        condensate=condensate,
        flags=(
            *situation.problems,
            *imbalance_flags(situation),
            *condensate_flags(condensate),
            *frost_flags(situation, is_energy_exchanger=is_energy_exchanger),
            *fan_heat_flags(situation, corrections.supply_heat_w()),
            *transfer,
        ),
        advice=(
            *_sharpening(situation, ratios, is_energy_exchanger, wanted_u_frac),
            *missing_readings(
                situation,
                is_condensate_due=condensate is Condensate.PRESENT and condensate_kg_s is None,
                is_power_known=fan_power_w is not None,
                is_leak_suspected=exhaust_transfer_frac is None
                and _is_leak_suspected(closures.values(), transfer),
            ),
        ),
    )


_PLAN: Mapping[RatioKind, tuple[Carried, bool, bool]] = {
    RatioKind.SUPPLY_TEMPERATURE_RATIO: (Carried.SENSIBLE, True, False),
    RatioKind.EXTRACT_TEMPERATURE_RATIO: (Carried.SENSIBLE, False, False),
    RatioKind.SUPPLY_HUMIDITY_RATIO: (Carried.MOISTURE, True, False),
    RatioKind.EXTRACT_HUMIDITY_RATIO: (Carried.MOISTURE, False, False),
    RatioKind.SENSIBLE_SUPPLY: (Carried.SENSIBLE, True, True),
    RatioKind.SENSIBLE_EXTRACT: (Carried.SENSIBLE, False, True),
    RatioKind.LATENT_SUPPLY: (Carried.MOISTURE, True, True),
    RatioKind.LATENT_EXTRACT: (Carried.MOISTURE, False, True),
    RatioKind.TOTAL_SUPPLY: (Carried.ENERGY, True, True),
    RatioKind.TOTAL_EXTRACT: (Carried.ENERGY, False, True),
    RatioKind.ENTHALPY_RECOVERY_RATIO: (Carried.ENERGY, True, False),
    RatioKind.APPARENT_SENSIBLE: (Carried.SENSIBLE, True, False),
}
"""What each figure carries, whether it looks at the supply side, whether flows weight it."""


def _plain(situation: Situation, kind: RatioKind, max_u_frac: float) -> RatioResult:
    carried, is_supply, is_weighted = _PLAN[kind]
    start, end = (
        (AirKind.OUTDOOR, AirKind.SUPPLY) if is_supply else (AirKind.EXHAUST, AirKind.EXTRACT)
    )
    problem = situation.missing(kind.value, AirKind.OUTDOOR, AirKind.EXTRACT, start, end)
    span, step = situation.span(carried), situation.step(carried, start=start, end=end)
    weight = situation.weight(carried, is_supply=is_supply) if is_weighted else None
    if problem is None and is_weighted and weight is None:
        problem = flow_missing(kind.value)
    if problem is not None or span is None or step is None:
        assert problem is not None
        return refused(kind, problem)
    return ratio_over(kind, numerator_si=weighted(step, weight), span=span, max_u_frac=max_u_frac)


def _sharpening(
    situation: Situation,
    ratios: Mapping[RatioKind, RatioResult],
    is_energy_exchanger: bool,
    wanted_u_frac: float,
) -> tuple[Advice, ...]:
    heat = ratios[RatioKind.SUPPLY_TEMPERATURE_RATIO]
    advice = sharpening(situation, Carried.SENSIBLE, heat, wanted_u_frac=wanted_u_frac)
    if not is_energy_exchanger:
        return advice
    water = ratios[RatioKind.SUPPLY_HUMIDITY_RATIO]
    return (
        *advice,
        *sharpening(situation, Carried.MOISTURE, water, wanted_u_frac=wanted_u_frac),
    )


def _is_leak_suspected(closures: Iterable[Closure], transfer: tuple[Problem, ...]) -> bool:
    return bool(transfer) or any(c.is_explained is False for c in closures)


def _no_moisture_transfer(kind: RatioKind) -> RatioResult:
    problem = refusal(
        code="no-moisture-transfer",
        where=kind.value,
        message="the exchanger passes heat alone, so it has no latent effectiveness",
        remedy="if it is an energy exchanger, say so in the house file",
    )
    return refused(kind, problem)


def _leakage_by_moisture(
    situation: Situation, condensate: Condensate, max_u_frac: float
) -> RatioResult:
    """Vapour as tracer; not where it may have condensed out of the supply air."""
    kind = RatioKind.EXHAUST_TRANSFER
    problem = situation.missing(kind.value, AirKind.OUTDOOR, AirKind.SUPPLY, AirKind.EXTRACT)
    span = situation.span(Carried.MOISTURE)
    gain = situation.step(Carried.MOISTURE, start=AirKind.OUTDOOR, end=AirKind.SUPPLY)
    warmth = situation.span(Carried.SENSIBLE)
    if problem is not None or span is None or gain is None or warmth is None:
        assert problem is not None
        return refused(kind, problem)
    if warmth.difference_si.value < 0.0 and condensate is not Condensate.ABSENT:
        return refused(
            kind,
            refusal(
                code="tracer-may-condense",
                where=kind.value,
                message="vapour may condense out of the supply air here and is no tracer then",
                remedy="use tracer gas, or repeat in the heating season",
            ),
        )
    return ratio_over(kind, numerator_si=gain, span=span, max_u_frac=max_u_frac)


def _outdoor_air_correction(situation: Situation, max_u_frac: float) -> RatioResult | None:
    oda = situation.streams.get(AirKind.OUTDOOR)
    sup = situation.streams.get(AirKind.SUPPLY)
    taken = None if oda is None else oda.mass_flow_kg_s
    delivered = None if sup is None else sup.mass_flow_kg_s
    if (
        taken is None
        or delivered is None
        or taken == delivered
        or min(taken.value, delivered.value) <= 0.0
    ):
        return None
    found = ratio_of(
        RatioKind.OUTDOOR_AIR_CORRECTION,
        numerator_si=taken,
        denominator_si=delivered,
        max_u_frac=max_u_frac,
    )
    # A leak from outside into the supply air makes it lie below 1, and above 1 is a leak outwards:
    # neither is impossible here.
    kept = tuple(f for f in found.flags if f.severity is Severity.REFUSAL)
    return replace(found, flags=kept)


def _recovered(situation: Situation, carried: Carried) -> Estimate | None:
    gain = situation.step(carried, start=AirKind.OUTDOOR, end=AirKind.SUPPLY)
    if gain is None or situation.supply_kg_s is None:
        return None
    return product(situation.supply_kg_s, gain)
