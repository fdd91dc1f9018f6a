"""What the ventilation unit does: exchange of heat and moisture, power, effective ventilation."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ventwright.air import AirEstimate
from ventwright.findings.model import (
    EffectiveFinding,
    PowerFinding,
    RecoveryFinding,
)
from ventwright.findings.scope import Scope, efficacy_flow, side_total
from ventwright.house import (
    Method,
    Phase,
    RatedBasis,
    RatedPoint,
    Recovery,
)
from ventwright.quantities import AirKind, Side
from ventwright.recovery import (
    RatedComparison,
    RatioKind,
    RecoveryResult,
    Stream,
    assess_recovery,
    compare_rated,
    fan_efficacy,
)
from ventwright.recovery import RatedPoint as PointOfRating
from ventwright.uncertainty import (
    Estimate,
    combine,
    scale,
    total,
    weighted_mean,
)


def recoveries(scope: Scope) -> Iterator[RecoveryFinding]:
    """Exchange of heat and moisture in each setting and phase with air states at the unit.

    Only states read in the same setting and phase are put together; where one of the four is
    missing the finding says which and gives no result.

    Parameters
    ----------
    scope
        The system.
    """
    for setting in scope.settings():
        for phase in scope.phases(setting):
            found = {
                kind: scope.looks.air.look_up(f"{scope.system.id}/{kind.value}", setting, phase)
                for kind in AirKind
            }
            seen = {kind: f for kind, f in found.items() if f is not None}
            if not seen:
                continue
            missing = tuple(kind for kind in AirKind if kind not in seen)
            states = {kind: f[0] for kind, f in seen.items()}
            result = None if missing else _recovery(scope, setting, phase, states)
            yield RecoveryFinding(
                setting=setting,
                phase=phase,
                streams=tuple(states.items()),
                reading_ids=tuple(f[1] for f in seen.values()),
                missing=missing,
                result=result,
                rated=tuple(rated(scope, result, setting, phase, states)) if result else (),
            )


def _recovery(
    scope: Scope, setting: str, phase: Phase, states: dict[AirKind, AirEstimate]
) -> RecoveryResult:
    streams = {}
    for kind, air in states.items():
        flow = scope.port(kind, setting, phase)
        if flow is None:
            # The two ducts of one stream through the exchanger carry the same dry air but for its
            # leakage, so the other end of the stream stands in.
            flow = scope.port(_OTHER_END[kind], setting, phase)
        mass = None if flow is None else flow.figure.mass_flow_kg_s
        streams[kind] = Stream(kind=kind, air=air, mass_flow_kg_s=mass)
    unit = scope.system.ventilation_unit
    power = _power(scope, setting, phase)
    return assess_recovery(
        streams,
        is_energy_exchanger=unit.recovery is Recovery.ENERGY,
        fan_power_w=None if power is None else power[0],
        exhaust_transfer_frac=unit.exhaust_transfer_frac,
    )


_RATED_KINDS = {
    RatedBasis.TEMPERATURE_RATIO: (
        RatioKind.SUPPLY_TEMPERATURE_RATIO,
        RatioKind.SUPPLY_HUMIDITY_RATIO,
    ),
    RatedBasis.EFFECTIVENESS: (RatioKind.SENSIBLE_SUPPLY, RatioKind.LATENT_SUPPLY),
    RatedBasis.APPARENT: (RatioKind.APPARENT_SENSIBLE, None),
    RatedBasis.NET: (RatioKind.SENSIBLE_RECOVERY_EFFICIENCY, None),
}


def rated(
    scope: Scope,
    result: RecoveryResult,
    setting: str,
    phase: Phase,
    states: Mapping[AirKind, AirEstimate],
) -> Iterator[tuple[RatioKind, RatedComparison]]:
    """The measured figures against the unit's rated points, each with its own kind only.

    Parameters
    ----------
    scope
        The system.
    result
        The measured figures.
    setting, phase
        Where they were measured.
    states
        The four streams, for the outdoor temperature.
    """
    points = [p for one in scope.system.ventilation_unit.rated_points for p in _points(one)]
    sides = [side_total(scope, side, setting, phase) for side in Side]
    known = [flow for flow in sides if flow is not None]
    if len(known) < len(sides):
        return
    flow = scale(total(known), 1.0 / len(known))
    figures = {figure.kind: figure for figure in result.ratios()}
    for kind in dict.fromkeys(p.kind for p in points):
        if kind in figures:
            yield (
                kind,
                compare_rated(
                    figures[kind],
                    flow_m3_s=flow,
                    points=points,
                    outdoor_c=states[AirKind.OUTDOOR].temperature_c.value,
                ),
            )


def _points(one: RatedPoint) -> Iterator[PointOfRating]:
    if one.basis is None:
        return
    values = (one.sensible_frac, one.latent_frac)
    for kind, value in zip(_RATED_KINDS[one.basis], values, strict=True):
        if kind is not None and value is not None:
            yield PointOfRating(
                kind=kind,
                flow_m3_s=one.flow_m3_s,
                rated_ratio=value,
                outdoor_c=one.outdoor_temperature_c,
            )


_OTHER_END = {
    AirKind.OUTDOOR: AirKind.SUPPLY,
    AirKind.SUPPLY: AirKind.OUTDOOR,
    AirKind.EXTRACT: AirKind.EXHAUST,
    AirKind.EXHAUST: AirKind.EXTRACT,
}


def _power(scope: Scope, setting: str, phase: Phase) -> tuple[Estimate, tuple[str, ...]] | None:
    found = [
        r
        for r in scope.looks.readings
        if r.method is Method.POWER
        and r.is_used
        and r.scalar_si is not None
        and r.setting == setting
        and r.phase is phase
        and r.station.system in (None, scope.system.id)
    ]
    values = [r.scalar_si for r in found if r.scalar_si is not None]
    return (weighted_mean(values), tuple(r.reading_id for r in found)) if values else None


def powers(scope: Scope) -> Iterator[PowerFinding]:
    """Electrical power in each setting and phase, with fan efficacy where both flows are known.

    Parameters
    ----------
    scope
        The system.
    """
    for setting in scope.settings():
        for phase in scope.phases(setting):
            power = _power(scope, setting, phase)
            if power is None:
                continue
            flow = efficacy_flow(scope, setting, phase)
            known = flow is not None and flow.value > 0.0 and power[0].value > 0.0
            yield PowerFinding(
                setting=setting,
                phase=phase,
                power_w=power[0],
                efficacy=fan_efficacy(flow_m3_s=flow, power_w=power[0])
                if known and flow is not None
                else None,
                reading_ids=power[1],
            )


def effective(scope: Scope) -> Iterator[EffectiveFinding]:
    """Ventilation averaged over the day by the run time of each setting.

    Parameters
    ----------
    scope
        The system.
    """
    listed = scope.system.fan_settings
    if not any(f.hours_per_day is not None or f.run_time_s is not None for f in listed):
        return
    for side in Side:
        parts: list[tuple[float, Estimate]] = []
        missing = []
        running = 0.0
        for f in listed:
            share = (f.hours_per_day / 24.0) if f.hours_per_day is not None else 1.0
            if f.run_time_s is not None and f.period_s:
                share *= f.run_time_s / f.period_s
            elif f.hours_per_day is None:
                continue
            running += share
            if share == 0.0:
                continue
            flow = _last_total(scope, side, f.id)
            if flow is None:
                missing.append(f.id)
            else:
                parts.append((share, scope.as_room_air(flow)))
        mean = None
        if parts and not missing:
            mean = combine(sum(w * e.value for w, e in parts), parts)
        yield EffectiveFinding(
            side=side,
            mean_m3_s=mean,
            running_frac=running,
            settings=tuple(f.id for f in listed),
            missing_settings=tuple(missing),
        )


def _last_total(scope: Scope, side: Side, setting: str) -> Estimate | None:
    for phase in (Phase.AS_LEFT, Phase.INTERIM, Phase.AS_FOUND):
        found = side_total(scope, side, setting, phase)
        if found is not None:
            return found
    return None
