"""House pressure by imbalance and other exhausts, screened for each combustion appliance."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ventwright.enclosure import (
    LeakageLaw,
    OtherFan,
    PressureLimit,
    PressureState,
    leakage_from_coeff,
    leakage_from_test,
    makeup_air,
    pressure_states,
    screen_pressure,
    strictest_limit,
    usual_pressure_limits,
)
from ventwright.findings.house_air import ApplianceScreen, PressureFinding
from ventwright.findings.model import BalanceFinding, SystemFindings
from ventwright.findings.scope import PHASES, Scope
from ventwright.house import CombustionAppliance, House, OtherExhaust
from ventwright.requirements import BalancePair
from ventwright.uncertainty import (
    Distribution,
    Verdict,
    measured,
    total,
    u_from_half_width,
)

OTHER_EXHAUST_HALF_WIDTH_FRAC = 0.3
"""How far a fan outside the system may move from the flow typed for it. Judgement: rated flows are
reached with short wide ducts only."""


def house_pressures(
    house: House, found: Sequence[tuple[Scope, SystemFindings]]
) -> Iterator[PressureFinding]:
    """House pressure in each setting, at each combination of other exhausts.

    The pair that crosses the shell (outdoor air and exhaust) is taken where it was measured, else
    supply and extract; of the phases the last one read. Flows are volumes of room air, as those of
    leakage tests and hoods are.

    Parameters
    ----------
    house
        For leakage, other exhausts and appliances.
    found
        Each system with what was found about its balance.

    Yields
    ------
    PressureFinding
        One without a state where leakage or imbalance is not known.
    """
    if not any(f.balances for _, f in found):
        return
    law = _law(house)
    if law is None:
        yield PressureFinding(reason_code="no-leakage-test")
        return
    others = [_other_fan(e) for e in house.other_exhausts]
    limits = usual_pressure_limits()
    settings = dict.fromkeys(b.setting for _, f in found for b in f.balances)
    for setting in settings:
        gaps = [_last_gap(f.balances, setting) for _, f in found]
        known = [b for b in gaps if b is not None]
        if len(known) < len(gaps):
            yield PressureFinding(setting=setting, reason_code="imbalance-not-measured")
            continue
        imbalance = total(
            scope.as_room_air(b.gap_m3_s)
            for (scope, _), b in zip(found, known, strict=True)
            if b.gap_m3_s is not None
        )
        for state in pressure_states(law, imbalance_m3_s=imbalance, others=others):
            yield _finding(house.combustion_appliances, law, limits, known[0], state)


def _law(house: House) -> LeakageLaw | None:
    e = house.envelope
    if e is None:
        return None
    try:
        if e.test_pressure_pa <= 1.0 and e.leakage_exponent is not None:
            # Nobody tests at 1 Pa: this is the coefficient of a fit.
            return leakage_from_coeff(
                leakage_coeff=e.leakage_flow_m3_s / e.test_pressure_pa**e.leakage_exponent,
                exponent=e.leakage_exponent,
            )
        return leakage_from_test(
            leakage_flow_m3_s=e.leakage_flow_m3_s,
            test_pressure_pa=e.test_pressure_pa,
            exponent=e.leakage_exponent,
        )
    except ValueError:
        return None


def _other_fan(fan: OtherExhaust) -> OtherFan:
    return OtherFan(
        id=fan.id,
        flow_m3_s=measured(
            fan.flow_m3_s,
            u_std=u_from_half_width(
                OTHER_EXHAUST_HALF_WIDTH_FRAC * abs(fan.flow_m3_s),
                distribution=Distribution.RECTANGULAR,
            ),
            id=f"other-exhaust:{fan.id}",
            label=f"flow of {fan.name}, typed and not measured",
            distribution=Distribution.RECTANGULAR,
        ),
    )


def _last_gap(balances: Sequence[BalanceFinding], setting: str) -> BalanceFinding | None:
    read = [b for b in balances if b.setting == setting and b.gap_m3_s is not None]
    read.sort(key=lambda b: (PHASES.index(b.phase), b.pair is BalancePair.OUTDOOR_EXHAUST))
    return read[-1] if read else None


def _finding(
    appliances: Sequence[CombustionAppliance],
    law: LeakageLaw,
    limits: tuple[PressureLimit, ...],
    balance: BalanceFinding,
    state: PressureState,
) -> PressureFinding:
    screens = tuple(_screen(a, law, limits, state) for a in appliances)
    allowed = _strictest_open(screens)
    makeup = None
    if allowed is not None:
        makeup = makeup_air(law, net_exhaust_m3_s=state.net_exhaust_m3_s, allowed_pa=allowed)
    return PressureFinding(
        setting=balance.setting,
        phase=balance.phase,
        pair=balance.pair,
        running=state.running,
        state=state,
        appliances=screens,
        makeup=makeup,
        is_exponent_assumed=law.is_exponent_assumed,
    )


def _screen(
    appliance: CombustionAppliance,
    law: LeakageLaw,
    limits: tuple[PressureLimit, ...],
    state: PressureState,
) -> ApplianceScreen:
    limit = strictest_limit(limits, venting=appliance.venting.value)
    if limit is None:
        return ApplianceScreen(appliance_id=appliance.id, reason_code="no-pressure-limit")
    return ApplianceScreen(
        appliance_id=appliance.id, screen=screen_pressure(law, state, limit=limit)
    )


def _strictest_open(screens: Sequence[ApplianceScreen]) -> float | None:
    """The smallest limit that is not shown to be kept."""
    return min(
        (
            s.screen.limit.limit_pa
            for s in screens
            if s.screen is not None and s.verdict is not Verdict.MET
        ),
        default=None,
    )
