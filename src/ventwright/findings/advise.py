"""What to do next, in the order of weight, and what the conditions of a visit put in doubt."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.findings.model import (
    Advice,
    Findings,
    HouseEffect,
    JudgedLine,
    SystemFindings,
    TerminalFinding,
)
from ventwright.house import House, Outcome, SettingRole, Visit
from ventwright.quantities import Problem, Severity
from ventwright.requirements import Trust
from ventwright.uncertainty import Verdict

CALM_WIND_M_S = 5.0
"""Above this, wind moves house pressure and terminal readings. Judgement; the published limits for
pressure tests seen so far are 15 km/h (4.2 m/s) to 6 m/s."""
GAP_WORTH_A_LOOK_FRAC = 0.5
"""Terminals against duct: advice once the odds of 'within uncertainty' fall below this."""


def advise(findings: Findings, house: House) -> Iterator[Advice]:
    """Things to do next, the weightiest first.

    Safety and moisture before balance, balance before rooms, rooms before records.

    Parameters
    ----------
    findings
        Everything found so far.
    house
        For combustion appliances.
    """
    if not findings.readings:
        yield Advice(code="nothing-read", subject=findings.visit_id)
        return
    yield from _pressure_and_combustion(findings, house)
    yield from _wet(findings)
    for system in findings.systems:
        yield from _faults_of_exchange(system)
        yield from _balance(system)
        yield from _rooms(system, house)
        yield from _gaps(system)
    yield from _rooms_air(findings)
    open_faults = [f for f in findings.punch_list if not f.is_mended]
    for fault in open_faults:
        yield Advice(code="mend", subject=fault.id)
    unread = sum(not r.is_used for r in findings.readings)
    if unread:
        yield Advice(code="read-again", subject=findings.visit_id, value_si=float(unread))
    seen = [e for e in findings.walk_through if e.outcome is not Outcome.NOT_SEEN]
    if not seen:
        yield Advice(code="walk-through-missing", subject=findings.visit_id)


def _pressure_and_combustion(findings: Findings, house: House) -> Iterator[Advice]:
    pulled = [
        b
        for s in findings.systems
        for b in s.balances
        if b.phase is findings.phase and b.effect is HouseEffect.PULLED
    ]
    for appliance in house.combustion_appliances:
        code = "combustion-while-pulled" if pulled else "combustion-test"
        yield Advice(code=code, subject=appliance.id)
    yield from _past_limit(findings)


def _past_limit(findings: Findings) -> Iterator[Advice]:
    """Appliances whose screen of house pressure is failed, with the most make-up air it takes."""
    worst: dict[str, Advice] = {}
    for found in findings.house_pressures:
        for one in found.appliances:
            if one.verdict is not Verdict.NOT_MET or one.screen is None or found.makeup is None:
                continue
            need = found.makeup.flow_m3_s.value
            earlier = worst.get(one.appliance_id)
            if earlier is None or need > (earlier.value_si or 0.0):
                worst[one.appliance_id] = Advice(
                    code="combustion-pressure",
                    subject=one.appliance_id,
                    setting=found.setting,
                    value_si=need,
                )
    yield from worst.values()


def _rooms_air(findings: Findings) -> Iterator[Advice]:
    """Closed doors that let too little pass, and bedrooms that are stale behind them."""
    for door in findings.doors:
        if door.check is not None and door.check.decision.verdict is Verdict.NOT_MET:
            yield Advice(
                code="room-door",
                subject=door.room_id,
                value_si=door.area_needed_m2,
                goal_si=door.area_m2,
            )
    told = set()
    for room in findings.rooms_air:
        is_stale = room.decision is None or room.decision.verdict is Verdict.NOT_MET
        if room.room_id in told or not is_stale:
            continue
        if room.supply_m3_s is not None and room.supply_needed_m3_s is not None:
            told.add(room.room_id)
            yield Advice(
                code="room-stale",
                subject=room.room_id,
                setting=room.setting,
                value_si=room.supply_needed_m3_s,
                goal_si=room.supply_m3_s.value,
            )


def _wet(findings: Findings) -> Iterator[Advice]:
    risky = [
        s for s in findings.surfaces if s.check and s.check.decision.verdict is not Verdict.MET
    ]
    risky.sort(key=lambda s: -(s.check.prob_wet_frac if s.check else 0.0))
    for surface in risky:
        if surface.check is not None:
            yield Advice(
                code="surface-wet"
                if surface.check.decision.verdict is Verdict.NOT_MET
                else "surface-not-shown-dry",
                subject=surface.surface_id,
                value_si=surface.check.prob_wet_frac,
                goal_si=surface.check.margin_k.value,
            )


def _faults_of_exchange(system: SystemFindings) -> Iterator[Advice]:
    for recovery in system.recoveries:
        if recovery.missing:
            yield Advice(
                code="streams-missing",
                subject=", ".join(k.value for k in recovery.missing),
                setting=recovery.setting,
            )


def _balance(system: SystemFindings) -> Iterator[Advice]:
    for balance in system.balances:
        if balance.phase is not _last(system, balance.setting):
            continue
        for line in balance.lines:
            if line.judgement is None:
                yield Advice(
                    code="measure-pair",
                    subject=balance.pair.value,
                    setting=balance.setting,
                )
            elif line.verdict is not Verdict.MET and balance.gap_m3_s is not None:
                code = "equalise" if line.verdict is Verdict.NOT_MET else "balance-not-shown"
                yield Advice(
                    code=code,
                    subject=balance.pair.value,
                    setting=balance.setting,
                    value_si=balance.gap_m3_s.value,
                    goal_si=balance.gap_m3_s.u_std,
                )
    for new in system.retargets:
        if new.limited_by is not None and new.limited_by is new.side:
            yield Advice(
                code="retarget",
                subject=new.side.value,
                setting=new.setting,
                value_si=new.reachable_m3_s,
                goal_si=new.design_total_m3_s,
            )
        if new.shortfall_m3_s > 0.0:
            yield Advice(
                code="bands-impossible",
                subject=new.side.value,
                setting=new.setting,
                value_si=new.shortfall_m3_s,
            )


def _last(system: SystemFindings, setting: str) -> object:
    return [b.phase for b in system.balances if b.setting == setting][-1]


def _rooms(system: SystemFindings, house: House) -> Iterator[Advice]:
    boosts = {
        f.id
        for listed in house.systems
        if listed.id == system.system_id
        for f in listed.fan_settings
        if f.role is SettingRole.BOOST
    }
    doubts: dict[tuple[str, str], list[str]] = {}
    for terminal in system.terminals:
        for line in terminal.lines:
            if line.settling is not None:
                key = (terminal.setting, line.settling.largest_label)
                doubts.setdefault(key, []).append(terminal.terminal_id)
            else:
                yield from _about_terminal(terminal, line, is_boost=terminal.setting in boosts)
    for (setting, label), ids in doubts.items():
        yield Advice(
            code="sharpen-terminals",
            subject=", ".join(dict.fromkeys(ids)),
            setting=setting,
            detail=label,
        )


def _about_terminal(
    terminal: TerminalFinding, line: JudgedLine, *, is_boost: bool
) -> Iterator[Advice]:
    judged = terminal.as_left or terminal.as_found
    code = ""
    if line.reason_code in ("not-measured", "band-excludes-target"):
        code = {"not-measured": "measure-terminal"}.get(line.reason_code, line.reason_code)
    elif line.verdict is Verdict.NOT_MET:
        # Dampers are set in the continuous setting; in boost only the fan is left to turn.
        code = "boost-off-target" if is_boost else "set-terminal"
    if code:
        yield Advice(
            code=code,
            subject=terminal.terminal_id,
            setting=terminal.setting,
            value_si=None if judged is None else judged.figure.flow_m3_s.value,
            goal_si=terminal.target_m3_s,
        )


def _gaps(system: SystemFindings) -> Iterator[Advice]:
    for one in system.totals:
        if not one.explanations or one.gap_share_frac is None:
            continue
        first = one.explanations[0]
        if first.code != "within-uncertainty" or first.prob_frac < GAP_WORTH_A_LOOK_FRAC:
            yield Advice(
                code=f"gap-{first.code}",
                subject=one.side.value,
                setting=one.setting,
                value_si=one.gap_share_frac.value,
                goal_si=first.prob_frac,
            )


def rests_on_memory(findings: Findings) -> bool:
    """Whether any verdict rests on a rule known from memory, which can't be called compliance.

    Parameters
    ----------
    findings
        Any findings.

    >>> from ventwright.findings import VisitSnapshot, assess
    >>> from ventwright.house import House, Visit
    >>> rests_on_memory(assess(VisitSnapshot(engine="0", rule_sets=(),
    ...     house=House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0),
    ...     visit=Visit(schema="ventwright-visit-1", id="v", house="h"))))
    False
    """
    lines = [
        line
        for s in findings.systems
        for group in (s.balances, s.designs, s.terminals)
        for one in group
        for line in one.lines
    ]
    return any(
        line.judgement is not None and line.judgement.citation.trust is Trust.MEMORY
        for line in lines
    )


_CONDITIONS = (
    ("are_windows_shut", "windows-open", "windows stood open", "shut them and read again"),
    ("are_other_fans_off", "other-fans-on", "other fans ran", "switch them off and read again"),
    (
        "are_filters_clean",
        "filters-dirty",
        "the filters were not clean",
        "change them, then read totals again: flows fall and drift apart as filters load",
    ),
    (
        "are_combustion_appliances_off",
        "combustion-on",
        "a combustion appliance was running",
        "switch it off while flows are changed; a qualified person tests draught and CO",
    ),
)


def note_conditions(visit: Visit) -> Iterator[Problem]:
    """What the conditions of a visit put in doubt, and what nobody wrote down.

    Parameters
    ----------
    visit
        The visit.
    """
    conditions = visit.conditions
    unknown = [name for name, *_ in _CONDITIONS if getattr(conditions, name) is None]
    for name, code, message, remedy in _CONDITIONS:
        if getattr(conditions, name) is False:
            yield Problem(
                code=code,
                where=f"conditions.{name}",
                message=message,
                remedy=remedy,
                severity=Severity.WARNING,
            )
    if unknown and visit.readings:
        yield Problem(
            code="conditions-unknown",
            where="conditions",
            message="not written down: " + ", ".join(unknown),
            remedy="note them; a reading without its conditions is hard to repeat",
            severity=Severity.NOTE,
        )
    wind = conditions.wind_speed_m_s
    if wind is not None and wind > CALM_WIND_M_S:
        yield Problem(
            code="windy",
            where="conditions.wind_speed",
            message=f"wind of {wind:.1f} m/s moves house pressure and terminal flows",
            remedy="read again on a calmer day, or average longer",
            severity=Severity.WARNING,
        )
