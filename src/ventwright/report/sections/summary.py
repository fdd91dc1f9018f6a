"""The first page: what was found, in sentences an owner can read, and what to do next."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.findings import (
    BalanceFinding,
    DesignFinding,
    HouseEffect,
    JudgedLine,
    RecoveryFinding,
    RetargetFinding,
    SystemFindings,
    TerminalFinding,
    rests_on_memory,
)
from ventwright.house import Phase
from ventwright.quantities import Dimension, Severity
from ventwright.report.measures import percent
from ventwright.report.model import Line, Mark, Section
from ventwright.report.pen import Pen, mark_of
from ventwright.report.sections.balance import balance_rule_of, effect_odds, limit_text
from ventwright.report.sections.doubts import problems_of
from ventwright.report.sections.rates import compliance_lines
from ventwright.requirements import BalancePair
from ventwright.uncertainty import Verdict, u_expanded

_SIDE_KEYS = {Verdict.MET: "met", Verdict.NOT_MET: "not-met", Verdict.NOT_SHOWN: "not-shown"}


def summary_section(pen: Pen) -> Section:
    """Headlines with their marks.

    Parameters
    ----------
    pen
        What is written about.
    """
    lines: list[Line] = []
    if not pen.findings.readings:
        lines.append(Line(text=pen.say("summary.nothing"), mark=Mark.NOT_SHOWN))
    elif pen.findings.phase is Phase.AS_FOUND:
        lines.append(Line(text=pen.say("summary.phase-found"), mark=Mark.NOTE))
    for _, found in pen.systems():
        for one in (_totals, _rooms, _balances, _effects, _recoveries):
            prefix = pen.of_system(found.system_id)
            lines += [
                Line(
                    text=prefix + line.text,
                    mark=line.mark,
                    reading_ids=line.reading_ids,
                    source_keys=line.source_keys,
                )
                for line in one(pen, found)
            ]
    lines += compliance_lines(pen)
    lines += _surfaces(pen)
    lines += _safe_dew_point(pen)
    lines += _reservations(pen)
    return Section(id="summary", title=pen.say("section.summary"), lines=tuple(lines))


def _last_of(found: SystemFindings) -> Iterator[BalanceFinding]:
    """Each pair of each setting in the last phase that it was read in."""
    last: dict[tuple[str, BalancePair], BalanceFinding] = {}
    for b in found.balances:
        if b.first is not None or b.second is not None or (b.setting, b.pair) not in last:
            last[(b.setting, b.pair)] = b
    return iter(last.values())


def _balances(pen: Pen, found: SystemFindings) -> Iterator[Line]:
    """What rules say of each pair; pairs that no rule speaks of stand in the record."""
    for b in _last_of(found):
        for line in b.lines:
            text = _balance_text(pen, b, line)
            if len(pen.snapshot.rule_sets) > 1:
                text = f"{text} ({pen.rule_name(line.rule_set_id)})"
            source = () if line.judgement is None else (line.judgement.citation.source,)
            yield Line(
                text=text, mark=mark_of(line.verdict), reading_ids=_ids(b), source_keys=source
            )


def _balance_text(pen: Pen, b: BalanceFinding, line: JudgedLine) -> str:
    m = pen.measures
    pair, setting = pen.say(f"pair.{b.pair.value}"), pen.setting_name(b.setting)
    rule = balance_rule_of(pen, line.rule_set_id)
    if line.judgement is None or b.gap_m3_s is None or rule is None:
        missing = pen.say("summary.missing", streams=pen.streams(b.missing)) if b.missing else ""
        reason = missing or pen.reason(line.reason_code)
        return pen.say("summary.balance-missing", pair=pair, setting=setting, reason=reason)
    is_floor = line.judgement.is_floor_governing
    return pen.say(
        f"summary.balance-{_SIDE_KEYS[line.verdict]}",
        pair=pair if line.verdict is Verdict.NOT_SHOWN else pair[0].upper() + pair[1:],
        setting=setting,
        gap=m.estimate(b.gap_m3_s, Dimension.FLOW),
        share=m.estimate(
            line.judgement.judged_si, Dimension.FLOW if is_floor else Dimension.FRACTION
        ),
        size=_size(pen, b),
        limit=limit_text(pen, rule, line),
        more=_more(pen, b),
    )


def _size(pen: Pen, b: BalanceFinding) -> str:
    if b.gap_m3_s is None:
        return ""
    return pen.measures.text(
        abs(b.gap_m3_s.value), Dimension.FLOW, u_si=u_expanded(b.gap_m3_s) or None
    )


def _more(pen: Pen, b: BalanceFinding) -> str:
    gap = 0.0 if b.gap_m3_s is None else b.gap_m3_s.value
    return streams_by_size(pen, b.pair, gap)[0]


def streams_by_size(pen: Pen, pair: BalancePair, gap_m3_s: float) -> tuple[str, str]:
    """Words of the stream that carries more, and of the one that carries less.

    Parameters
    ----------
    pen
        What is written about.
    pair
        Which two.
    gap_m3_s
        Second less first [m³/s].
    """
    kinds = ("SUP", "ETA") if pair is BalancePair.SUPPLY_EXTRACT else ("ODA", "EHA")
    first, second = (pen.say(f"stream.{k}") for k in kinds)
    return (second, first) if gap_m3_s > 0.0 else (first, second)


def _ids(b: BalanceFinding) -> tuple[str, ...]:
    return tuple(i for f in (b.first, b.second) if f is not None for i in f.reading_ids)


def _effects(pen: Pen, found: SystemFindings) -> Iterator[Line]:
    """The pair that crosses the envelope where it was read, else the rooms' pair."""
    best: dict[str, BalanceFinding] = {}
    for b in _last_of(found):
        if b.prob_pulled_frac is None:
            continue
        if b.setting not in best or b.pair is BalancePair.OUTDOOR_EXHAUST:
            best[b.setting] = b
    for b in best.values():
        if b.effect is HouseEffect.UNDECIDED:
            # The record tells the odds; here they would say that nothing can be said.
            continue
        is_pulled = b.effect is HouseEffect.PULLED
        text = pen.say(
            f"summary.effect-{b.effect.value}",
            setting=pen.setting_name(b.setting),
            odds=effect_odds(b),
        )
        yield Line(text=text, mark=Mark.CAUTION if is_pulled else Mark.NOTE, reading_ids=_ids(b))


def _rooms(pen: Pen, found: SystemFindings) -> Iterator[Line]:
    for setting in dict.fromkeys(t.setting for t in found.terminals):
        judged = [t for t in found.terminals if t.setting == setting and t.lines]
        if judged:
            yield _rooms_line(pen, setting, judged)


def _verdict_of(t: TerminalFinding) -> Verdict | None:
    """The worst verdict of a terminal; None where it was not measured."""
    if any(line.reason_code == "not-measured" for line in t.lines):
        return None
    verdicts = {line.verdict for line in t.lines}
    for verdict in (Verdict.NOT_MET, Verdict.NOT_SHOWN):
        if verdict in verdicts:
            return verdict
    return Verdict.MET


def _rooms_line(pen: Pen, setting: str, judged: list[TerminalFinding]) -> Line:
    groups: dict[Verdict | None, list[TerminalFinding]] = {}
    for t in judged:
        groups.setdefault(_verdict_of(t), []).append(t)
    setting, count = pen.setting_name(setting), str(len(judged))
    met = len(groups.get(Verdict.MET, ()))
    if met == len(judged):
        return Line(text=pen.say("summary.rooms-all", count=count, setting=setting), mark=Mark.MET)
    parts = []
    for verdict, key in (
        (Verdict.NOT_MET, "rooms-failed"),
        (Verdict.NOT_SHOWN, "rooms-open"),
        (None, "rooms-unread"),
    ):
        group = groups.get(verdict, [])
        if group:
            names = ", ".join(room_of(t, judged) for t in group)
            parts.append(pen.words.count(f"summary.{key}", len(group), names=names))
    text = pen.say(
        "summary.rooms-some", met=str(met), count=count, setting=setting, rest="; ".join(parts)
    )
    return Line(text=text, mark=Mark.NOT_MET if groups.get(Verdict.NOT_MET) else Mark.NOT_SHOWN)


def room_of(t: TerminalFinding, others: list[TerminalFinding]) -> str:
    """Name of a terminal's room, with its id where the room has more than one.

    Parameters
    ----------
    t
        The terminal.
    others
        All of its setting.
    """
    is_shared = sum(o.room_name == t.room_name for o in others) > 1
    if not t.room_name:
        return t.terminal_id
    return f"{t.room_name} ({t.terminal_id})" if is_shared else t.room_name


def _totals(pen: Pen, found: SystemFindings) -> Iterator[Line]:
    last: dict[tuple[str, str], DesignFinding] = {}
    for d in found.designs:
        last[(d.setting, d.side.value)] = d
    for setting in dict.fromkeys(d.setting for d in last.values()):
        both = [d for d in last.values() if d.setting == setting]
        groups: dict[tuple[tuple[Verdict, ...], float | None], list[DesignFinding]] = {}
        for d in both:
            key = (tuple(line.verdict for line in d.lines), d.design_m3_s)
            groups.setdefault(key, []).append(d)
        for group in groups.values():
            yield from _total_lines(pen, group)
    for new in found.retargets:
        if new.limited_by is new.side:
            is_idle = new.shortfall_m3_s > 0.0
            text = pen.say(
                "summary.retarget-impossible" if is_idle else "summary.retarget",
                setting=pen.setting_name(new.setting),
                design=pen.measures.plain(new.design_total_m3_s, Dimension.FLOW),
                reach=reachable_text(pen, found, new),
            )
            yield Line(text=text, mark=Mark.NOTE)


def _total_lines(pen: Pen, sides: list[DesignFinding]) -> Iterator[Line]:
    """What the unit moves in one setting, for the sides of which the same can be said."""
    m = pen.measures
    moved = [
        pen.say(f"summary.moves-{d.side.value}", flow=m.estimate(d.measured_m3_s, Dimension.FLOW))
        for d in sides
    ]
    values = {
        "moves": pen.say("summary.and").join(moved),
        "setting": pen.setting_name(sides[0].setting),
        "design": m.plain(sides[0].design_m3_s, Dimension.FLOW),
    }
    if not sides[0].lines:
        yield Line(text=pen.say("summary.total-plain", **values), mark=Mark.NOTE)
    for line in sides[0].lines:
        source = () if line.judgement is None else (line.judgement.citation.source,)
        text = pen.say(f"summary.total-{_SIDE_KEYS[line.verdict]}", **values)
        if len(sides[0].lines) > 1:
            text = f"{text} ({pen.rule_name(line.rule_set_id)})"
        yield Line(text=text, mark=mark_of(line.verdict), source_keys=source)


def reachable_text(pen: Pen, found: SystemFindings, new: RetargetFinding) -> str:
    """The total that both sides can reach, rounded as the measured total it comes from.

    Parameters
    ----------
    pen
        What is written about.
    found
        Its system.
    new
        The re-targeting of one side.
    """
    side = new.limited_by or new.side
    measured = [
        d.measured_m3_s
        for d in found.designs
        if d.setting == new.setting and d.side is side and d.measured_m3_s is not None
    ]
    u = u_expanded(measured[-1]) if measured else None
    return pen.measures.text(new.reachable_m3_s, Dimension.FLOW, u_si=u or None)


def _recoveries(pen: Pen, found: SystemFindings) -> Iterator[Line]:
    last: dict[str, RecoveryFinding] = {r.setting: r for r in found.recoveries}
    for r in last.values():
        if r.result is None:
            text = pen.say(
                "summary.recovery-missing",
                setting=pen.setting_name(r.setting),
                missing=pen.streams(r.missing),
            )
            yield Line(text=text, mark=Mark.NOT_SHOWN, reading_ids=r.reading_ids)
            continue
        yield from _recovery_lines(pen, r)


def _recovery_lines(pen: Pen, r: RecoveryFinding) -> Iterator[Line]:
    if r.result is None:
        return
    heat, water = r.result.supply_temperature_ratio, r.result.latent_supply
    if heat.estimate is None:
        cause = next(
            (pen.in_measures(f.message) for f in heat.flags if f.severity is Severity.REFUSAL), ""
        )
        text = pen.say("summary.recovery-refused", setting=pen.setting_name(r.setting), cause=cause)
        yield Line(text=text, mark=Mark.NOT_SHOWN, reading_ids=r.reading_ids)
    else:
        text = pen.say(
            "summary.recovery",
            setting=pen.setting_name(r.setting),
            value=pen.measures.value(heat.estimate, Dimension.FRACTION),
            interval=pen.measures.interval(heat.interval, Dimension.FRACTION),
        )
        if water.estimate is not None and water.interval is not None:
            text += " " + pen.say(
                "summary.recovery-moisture",
                value=pen.measures.value(water.estimate, Dimension.FRACTION),
                interval=pen.measures.interval(water.interval, Dimension.FRACTION),
            )
        yield Line(
            text=text,
            mark=Mark.NOTE,
            reading_ids=r.reading_ids,
            source_keys=(heat.source_key,),
        )


def _surfaces(pen: Pen) -> Iterator[Line]:
    m = pen.measures
    checks = [(s, s.check) for s in pen.findings.surfaces]
    dry = [s for s, c in checks if c is not None and c.decision.verdict is Verdict.MET]
    if checks and len(dry) == len(checks):
        yield Line(text=pen.words.count("summary.surfaces-dry", len(dry)), mark=Mark.MET)
    unknown: dict[str, list[str]] = {}
    for s, check in checks:
        if check is None:
            unknown.setdefault(s.reason_code, []).append(s.name)
        elif check.decision.verdict is Verdict.NOT_MET:
            margin = m.text(
                -check.margin_k.value,
                Dimension.TEMPERATURE_DIFF,
                u_si=u_expanded(check.margin_k) or None,
            )
            text = pen.say("summary.surface-wet", name=s.name, margin=margin)
            yield Line(text=text, mark=Mark.NOT_MET)
        elif check.decision.verdict is Verdict.NOT_SHOWN:
            odds = percent(check.prob_wet_frac)
            yield Line(
                text=pen.say("summary.surface-open", name=s.name, odds=odds), mark=Mark.NOT_SHOWN
            )
    for code, names in unknown.items():
        text = pen.say("summary.surface-unknown", names=", ".join(names), reason=pen.reason(code))
        yield Line(text=text, mark=Mark.NOT_SHOWN)
    mouldy = [s.name for s, c in checks if c and c.mould_decision.verdict is not Verdict.MET]
    if mouldy:
        text = pen.say("summary.mould", names=", ".join(mouldy))
        yield Line(text=text, mark=Mark.CAUTION, source_keys=("iso_13788",))


def _safe_dew_point(pen: Pen) -> Iterator[Line]:
    safe = pen.findings.safe_dew_point
    if safe is not None:
        limit = pen.measures.at_most(safe.limit_c, Dimension.TEMPERATURE)
        name = pen.surface(safe.surface_id)
        text = pen.say("summary.safe-dew-point", limit=limit, name=name)
        yield Line(text=text, mark=Mark.NOTE)


def _reservations(pen: Pen) -> Iterator[Line]:
    severities = [p.severity for p in problems_of(pen)]
    refusals = sum(s in (Severity.REFUSAL, Severity.MISTAKE) for s in severities)
    warnings = sum(s is Severity.WARNING for s in severities)
    if refusals:
        yield Line(text=pen.words.count("summary.refusals", refusals), mark=Mark.CAUTION)
    if warnings:
        yield Line(text=pen.words.count("summary.doubts", warnings), mark=Mark.CAUTION)
    if rests_on_memory(pen.findings):
        yield Line(text=pen.say("summary.memory"), mark=Mark.CAUTION)
    still_open = sum(not f.is_mended for f in pen.findings.punch_list)
    if still_open:
        yield Line(text=pen.words.count("summary.punch-open", still_open), mark=Mark.NOTE)
