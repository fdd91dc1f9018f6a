"""Requirements: what rule sets ask of the dwelling and its rooms, against what was measured."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ventwright.findings import JudgedLine
from ventwright.quantities import Dimension, Severity
from ventwright.report.measures import percent
from ventwright.report.model import Cell, Line, Mark, Section, Table
from ventwright.report.pen import Pen, cells, mark_of, table_if
from ventwright.requirements import (
    Citation,
    RateFindings,
    RateState,
    RateStep,
    RateVerdict,
    RoomVerdict,
    RuleSet,
    Trust,
    cited_in,
    is_claimable,
)
from ventwright.uncertainty import Verdict


def asking(pen: Pen) -> list[RateFindings]:
    """The rule sets that ask something of this house beyond the balance told elsewhere.

    Parameters
    ----------
    pen
        What is written about.
    """
    return [f for f in pen.findings.rates if f.rooms or f.result.state is not RateState.NO_RULE]


def rates_section(pen: Pen) -> Section:
    """The dwelling and its rooms against each rule set, and what may be called compliance.

    Parameters
    ----------
    pen
        What is written about.
    """
    found = asking(pen)
    dwelling = [row for f in found for row in _dwelling(pen, f)]
    rooms = [row for f in found for row in _rooms(pen, f)]
    flow = pen.measures.symbol(Dimension.FLOW)
    tables = table_if(
        dwelling,
        id="rates",
        title=pen.say("rates.table"),
        columns=pen.columns(
            "rule_set",
            "asked",
            "limit",
            "measured",
            "odds",
            "verdict",
            "trust",
            numbers=("measured", "odds"),
            optional=("odds",),
        ),
        note=pen.say("rates.note"),
    ) + table_if(
        rooms,
        id="rates-rooms",
        title=pen.say("rates.rooms"),
        columns=pen.columns(
            "rule_set",
            "room",
            "side",
            "asked",
            "limit",
            "measured",
            "verdict",
            "trust",
            numbers=("limit", "measured"),
            measured=flow,
            limit=flow,
        ),
        note=pen.say("rates.rooms-note"),
    )
    return Section(
        id="rates",
        title=pen.say("section.rates"),
        lines=tuple(line for f in found for line in _lines(pen, f)),
        tables=tables,
    )


def rate_steps_section(pen: Pen) -> Section:
    """How each required rate was worked out, step by step, with what each step rests on.

    Parameters
    ----------
    pen
        What is written about.
    """
    rows = [row for f in asking(pen) for row in _steps(pen, f)]
    flow = pen.measures.symbol(Dimension.FLOW)
    tables: tuple[Table, ...] = table_if(
        rows,
        id="rate-steps",
        title=pen.say("rates.steps"),
        columns=pen.columns(
            "rule_set",
            "step",
            "gives",
            "note",
            "source",
            "trust",
            numbers=("gives",),
            gives=flow,
            optional=("note",),
        ),
        note=pen.say("rates.steps-note"),
    )
    return Section(id="rate-steps", title=pen.say("section.rate-steps"), tables=tables)


def _rule_set(pen: Pen, rule_set_id: str) -> RuleSet | None:
    return next((r for r in pen.snapshot.rule_sets if r.id == rule_set_id), None)


def trust_cell(pen: Pen, trust: Trust) -> Cell:
    """How surely a rule is known; recalled rules are marked.

    Parameters
    ----------
    pen
        What is written about.
    trust
        Weakest trust of all that a verdict rests on.
    """
    mark = Mark.CAUTION if trust is Trust.MEMORY else None
    return Cell(text=pen.say(f"trust-brief.{trust.value}"), mark=mark)


def _verdict_cell(
    pen: Pen, verdict: Verdict, trust: Trust, *, reason_code: str = "", is_judged: bool = True
) -> Cell:
    word = pen.verdict(verdict)
    if reason_code and not is_judged:
        word = pen.say("rates.open", verdict=word, reason=reason_text(pen, reason_code))
    elif trust is Trust.MEMORY and verdict is not Verdict.NOT_SHOWN:
        word = pen.say("verdict.memory", verdict=word)
    return Cell(text=word, mark=mark_of(verdict))


def reason_text(pen: Pen, code: str) -> str:
    """Why a rate or a room could not be judged, or why a step was not taken.

    Parameters
    ----------
    pen
        What is written about.
    code
        Of the engine.
    """
    if code.startswith("missing-"):
        fact = code.removeprefix("missing-").replace("_", " ")
        return pen.say("rate-reason.missing", fact=fact)
    return pen.say(f"rate-reason.{code}")


def _dwelling(pen: Pen, f: RateFindings) -> Iterator[tuple[Cell, ...]]:
    name = pen.rule_name(f.rule_set_id)
    m = pen.measures
    for verdict in (f.rate, f.capacity):
        if verdict is None or verdict.reason_code == "no-rule":
            continue
        needed = f.result.running_m3_s if verdict is f.rate else f.result.capacity_m3_s
        limit = (
            ""
            if needed is None
            else pen.say("rates.least", value=m.text(needed, Dimension.FLOW, digits=1))
        )
        if verdict is f.rate and f.result.most_m3_s is not None:
            most = m.text(f.result.most_m3_s, Dimension.FLOW, digits=1)
            limit = pen.say("rates.between", least=limit, most=most)
        yield _dwelling_row(pen, name, verdict, limit, Dimension.FLOW)
    if f.exchange_m3_s is not None:
        exchange = m.text(f.exchange_m3_s, Dimension.FLOW, digits=0)
        yield cells(name, pen.say("rates.exchange"), "", exchange, "", "", "")


def _dwelling_row(
    pen: Pen, name: str, verdict: RateVerdict, limit: str, dimension: Dimension
) -> tuple[Cell, ...]:
    judgement = verdict.judgement
    return cells(
        name,
        pen.say(f"rates.{verdict.subject.value}"),
        limit,
        "" if judgement is None else pen.measures.estimate(judgement.judged_si, dimension),
        "" if judgement is None else percent(judgement.decision.prob_within_frac),
        _verdict_cell(
            pen,
            verdict.verdict,
            verdict.trust,
            reason_code=verdict.reason_code,
            is_judged=judgement is not None,
        ),
        trust_cell(pen, verdict.trust),
    )


def _rooms(pen: Pen, f: RateFindings) -> Iterator[tuple[Cell, ...]]:
    names = {r.id: r.name or r.id for r in pen.snapshot.house.rooms}
    for v in f.rooms:
        yield cells(
            pen.rule_name(f.rule_set_id),
            names.get(v.room, v.room),
            pen.say(f"side.{v.side.value}"),
            pen.say(f"room-mode.{v.rate.rule.mode.value}"),
            _asked(pen, v),
            _measured(pen, v),
            _verdict_cell(
                pen,
                v.verdict,
                v.rate.rule.citation.trust,
                reason_code=v.reason_code,
                is_judged=v.judgement is not None,
            ),
            trust_cell(pen, v.rate.rule.citation.trust),
        )


def _asked(pen: Pen, v: RoomVerdict) -> str:
    if v.rate.flow_m3_s is None:
        return ""
    return pen.measures.number(v.rate.flow_m3_s, Dimension.FLOW, digits=1)


def _measured(pen: Pen, v: RoomVerdict) -> str:
    if v.judgement is None:
        return ""
    return pen.measures.estimate_number(v.judgement.judged_si, Dimension.FLOW)


def lines_by(pen: Pen, rule_set_id: str) -> list[JudgedLine]:
    """What a rule set says of terminals, totals and pairs, each as last read.

    Parameters
    ----------
    pen
        What is written about.
    rule_set_id
        The rule set.
    """
    last: dict[tuple[str, ...], tuple[JudgedLine, ...]] = {}
    for _, found in pen.systems():
        for t in found.terminals:
            last[(found.system_id, t.setting, t.terminal_id)] = t.lines
        for d in found.designs:
            last[(found.system_id, d.setting, d.side.value, "total")] = d.lines
        for b in found.balances:
            key = (found.system_id, b.setting, b.pair.value, "pair")
            is_read = b.first is not None or b.second is not None
            if is_read or key not in last:
                last[key] = b.lines
    return [line for lines in last.values() for line in lines if line.rule_set_id == rule_set_id]


def _verdicts(f: RateFindings, others: Sequence[JudgedLine]) -> list[tuple[Verdict, bool]]:
    """Each verdict of a rule set, with whether it may be called compliance."""
    asked = [v for v in (f.rate, f.capacity) if v is not None and v.reason_code != "no-rule"]
    found = [(v.verdict, v.is_compliance_claimable) for v in asked]
    found += [
        (line.verdict, line.judgement is not None and is_claimable(line.judgement.citation.trust))
        for line in others
    ]
    return found + [(v.verdict, v.is_compliance_claimable) for v in f.rooms]


def compliance_code(f: RateFindings, others: Sequence[JudgedLine] = ()) -> str:
    """What may be said of a rule set as a whole: claimable, recalled, some-not-met, some-open.

    *Claimable* only where every verdict is met and none rests on memory, on the designer's own
    targets or on a balance that was only planned.

    Parameters
    ----------
    f
        One rule set against the house.
    others
        What it says besides of terminals, totals and pairs of streams.
    """
    verdicts = _verdicts(f, others)
    if any(v is Verdict.NOT_MET for v, _ in verdicts):
        return "some-not-met"
    if not verdicts or any(v is Verdict.NOT_SHOWN for v, _ in verdicts):
        return "some-open"
    is_known = f.result.is_compliance_claimable or f.result.state is RateState.NO_RULE
    # A credit for balance is as good as the rule that found the balance, be it another set's.
    if any(step.is_applied and step.behind is not None for step in f.result.steps):
        is_known = is_known and f.balance.is_compliance_claimable
    return "claimable" if is_known and all(c for _, c in verdicts) else "recalled"


_CODE_MARKS = {
    "claimable": Mark.MET,
    "recalled": Mark.CAUTION,
    "some-not-met": Mark.NOT_MET,
    "some-open": Mark.NOT_SHOWN,
}


def compliance_lines(pen: Pen) -> list[Line]:
    """One line for each rule set: whether what was measured may be called compliance with it.

    Parameters
    ----------
    pen
        What is written about.
    """
    return [_compliance_line(pen, f) for f in asking(pen)]


def _compliance_line(pen: Pen, f: RateFindings) -> Line:
    others = lines_by(pen, f.rule_set_id)
    code = compliance_code(f, others)
    found = [verdict for verdict, _ in _verdicts(f, others)]
    text = pen.say(
        f"rates.{code}",
        name=pen.rule_name(f.rule_set_id),
        count=str(len(found)),
        met=str(found.count(Verdict.MET)),
        failed=str(found.count(Verdict.NOT_MET)),
        open=str(found.count(Verdict.NOT_SHOWN)),
    )
    return Line(text=text, mark=_CODE_MARKS[code])


def _lines(pen: Pen, f: RateFindings) -> Iterator[Line]:
    name = pen.rule_name(f.rule_set_id)
    yield _compliance_line(pen, f)
    if f.balance_rule_set_id and f.balance_rule_set_id != f.rule_set_id:
        other = pen.rule_name(f.balance_rule_set_id)
        yield Line(text=pen.say("rates.balance-from", name=name, other=other), mark=Mark.NOTE)
    for problem in f.result.problems:
        told = (pen.told(problem.message), pen.told(problem.remedy))
        text = " ".join([f"{name}:", *(t for t in told if t)])
        is_note = problem.severity is Severity.NOTE
        yield Line(text=text, mark=Mark.NOTE if is_note else Mark.NOT_SHOWN)


def _steps(pen: Pen, f: RateFindings) -> Iterator[tuple[Cell, ...]]:
    name, rules = pen.rule_name(f.rule_set_id), _rule_set(pen, f.rule_set_id)
    m = pen.measures
    for method in f.result.methods:
        note = "" if method.is_used else pen.say("rates.not-used")
        if method.reason_code:
            note = reason_text(pen, method.reason_code)
        yield cells(
            name,
            pen.say("rates.method", id=method.id.replace("_", " ")),
            m.number(method.flow_m3_s, Dimension.FLOW, digits=1),
            note,
            _source(rules, method.citation),
            trust_cell(pen, method.trust),
        )
    for step in f.result.steps:
        yield cells(
            name,
            pen.say(f"rate-step.{step.kind.value}"),
            m.number(step.after_m3_s, Dimension.FLOW, digits=1),
            _step_note(pen, step),
            _source(rules, step.citation),
            trust_cell(pen, step.trust),
        )
    shown = {c for method in f.result.methods for c in (method.citation,)}
    shown |= {step.citation for step in f.result.steps}
    for citation in cited_in(f.result):
        if citation not in shown:
            text = _source(rules, citation)
            cell = trust_cell(pen, citation.trust)
            yield cells(name, pen.say("rates.term"), "", citation.note, text, cell)


def _step_note(pen: Pen, step: RateStep) -> str:
    parts = [] if step.factor is None else [f"× {step.factor:.3g}"]
    if not step.is_applied:
        parts.append(pen.say("rates.not-applied"))
    parts += [reason_text(pen, code) for code in step.reason_codes]
    if step.behind is not None:
        parts.append(pen.say(f"balance-behind.{step.behind.value}"))
    return "; ".join(parts)


def _source(rules: RuleSet | None, citation: Citation) -> str:
    title = citation.source if rules is None else rules.title_of(citation.source)
    return ", ".join(t for t in (title, citation.edition, citation.clause) if t)
