"""What the figures rest on: rules with their trust, budgets, and how to read the report."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.findings import SystemFindings
from ventwright.quantities import Dimension
from ventwright.report.model import Cell, Mark, Section, Table
from ventwright.report.pen import Pen, cells, lines_of, table_if
from ventwright.report.sections.balance import limit_text
from ventwright.requirements import Citation, FlowRule, RuleSet, Trust
from ventwright.uncertainty import Estimate, budget

_MOST_ROWS = 4
_LEAST_SHARE_FRAC = 0.05


def rules_section(pen: Pen) -> Section:
    """Each rule with its source, edition, clause and trust.

    Parameters
    ----------
    pen
        What is written about.
    """
    rows = [row for rules in pen.snapshot.rule_sets for row in _rows_of(pen, rules)]
    return Section(
        id="rules",
        title=pen.say("section.rules"),
        lines=() if rows else lines_of([pen.say("rules.none")]),
        tables=table_if(
            rows,
            id="rules",
            title=pen.say("rules.table"),
            columns=pen.columns("rule_set", "says", "source", "edition", "clause", "trust"),
            note=pen.say("rules.note"),
        ),
    )


def _rows_of(pen: Pen, rules: RuleSet) -> Iterator[tuple[Cell, ...]]:
    """Rules of one citation share a row."""
    says: dict[Citation, list[str]] = {}
    for text, citation in _rules(pen, rules):
        says.setdefault(citation, []).append(text)
    for citation, texts in says.items():
        mark = Mark.CAUTION if citation.trust is Trust.MEMORY else None
        yield cells(
            rules.name,
            "; ".join(texts),
            rules.title_of(citation.source),
            citation.edition or rules.edition,
            citation.clause,
            Cell(text=pen.say(f"trust.{citation.trust.value}"), mark=mark),
        )


def _rules(pen: Pen, rules: RuleSet) -> Iterator[tuple[str, Citation]]:
    if rules.balance is not None:
        says = pen.say(
            "rules.balance",
            pair=pen.say(f"pair.{rules.balance.pair.value}"),
            limit=limit_text(pen, rules.balance),
        )
        if rules.balance.floor_m3_s > 0.0:
            floor = pen.measures.plain(rules.balance.floor_m3_s, Dimension.FLOW)
            says += ", " + pen.say("rules.floor", value=floor)
        yield says, rules.balance.citation
    for key, rule in (("terminal", rules.terminal), ("total", rules.total)):
        if rule is not None:
            yield pen.say(f"rules.{key}", limit=_allowance(pen, rule)), rule.citation


def _allowance(pen: Pen, rule: FlowRule) -> str:
    m = pen.measures
    parts = []
    if rule.below_frac is not None:
        parts.append(pen.say("rules.below", value=m.plain(rule.below_frac, Dimension.FRACTION)))
    if rule.above_frac is not None:
        parts.append(pen.say("rules.above", value=m.plain(rule.above_frac, Dimension.FRACTION)))
    if rule.floor_m3_s > 0.0:
        parts.append(pen.say("rules.floor", value=m.plain(rule.floor_m3_s, Dimension.FLOW)))
    return ", ".join(parts)


def budgets_section(pen: Pen) -> Section:
    """The largest influences on the figures that decide.

    Parameters
    ----------
    pen
        What is written about.
    """
    rows: list[tuple[Cell, ...]] = []
    for _, found in pen.systems():
        for name, estimate, dimension in _figures(pen, found):
            rows += _budget(pen, pen.of_system(found.system_id) + name, estimate, dimension)
    for s in pen.findings.surfaces:
        if s.check is not None:
            name = pen.say("budgets.margin", name=s.name)
            rows += _budget(pen, name, s.check.margin_k, Dimension.TEMPERATURE_DIFF)
    tables: tuple[Table, ...] = table_if(
        rows,
        id="budgets",
        title=pen.say("budgets.table"),
        columns=pen.columns(
            "figure",
            "influence",
            "contribution",
            "variance_share",
            numbers=("contribution", "variance_share"),
        ),
        note=pen.say("budgets.note"),
    )
    return Section(id="budgets", title=pen.say("section.budgets"), tables=tables)


def _figures(pen: Pen, found: SystemFindings) -> Iterator[tuple[str, Estimate, Dimension]]:
    for b in found.balances:
        if b.gap_m3_s is not None and b.phase is pen.findings.phase:
            name = pen.say(
                "budgets.gap",
                pair=pen.say(f"pair.{b.pair.value}"),
                setting=b.setting,
                phase=pen.phase(b.phase),
            )
            yield name, b.gap_m3_s, Dimension.FLOW
    for d in found.designs:
        if d.measured_m3_s is not None and d.phase is pen.findings.phase:
            name = pen.say(
                "budgets.total",
                side=pen.say(f"side.{d.side.value}"),
                setting=d.setting,
                phase=pen.phase(d.phase),
            )
            yield name, d.measured_m3_s, Dimension.FLOW
    for r in found.recoveries:
        heat = None if r.result is None else r.result.supply_temperature_ratio
        if heat is not None and heat.estimate is not None:
            name = pen.say("budgets.ratio", kind=heat.definition, setting=r.setting)
            yield name, heat.estimate, Dimension.FRACTION


def _budget(
    pen: Pen, name: str, estimate: Estimate, dimension: Dimension
) -> Iterator[tuple[Cell, ...]]:
    """The first lines of a budget; the figure is named on the first of them."""
    for i, row in enumerate(budget(estimate)):
        if i and (row.share_frac < _LEAST_SHARE_FRAC or i >= _MOST_ROWS):
            break
        figure = f"{name}: {pen.measures.estimate(estimate, dimension)}" if i == 0 else " "
        u = abs(row.contribution)
        yield cells(
            figure,
            row.label,
            pen.measures.text(u, dimension, u_si=u or None),
            f"{100.0 * row.share_frac:.0f} %",
        )


def reading_aid_section(pen: Pen, *, snapshot_sha256: str) -> Section:
    """How to read verdicts and figures, and what the report was made from.

    Parameters
    ----------
    pen
        What is written about.
    snapshot_sha256
        Hash of the attached snapshot.
    """
    keys = ("verdicts", "uncertainty", "rules", "refusals", "snapshot", "substituted")
    return Section(
        id="reading-aid",
        title=pen.say("section.reading-aid"),
        lines=lines_of(
            [
                *(pen.say(f"reading-aid.{key}") for key in keys),
                f"{pen.say('reading-aid.hash')}: {snapshot_sha256}",
                f"{pen.say('reading-aid.engine')}: {pen.findings.engine}",
            ]
        ),
    )
