"""``ventwright requirements compare``: one house under several rule sets."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from ventwright.actions import compare_house
from ventwright.cli.requirements import trust_words
from ventwright.quantities import (
    Dimension,
    QuantityError,
    UnitPreference,
    UserError,
    format_quantity,
    parse,
)

if TYPE_CHECKING:
    from ventwright.actions import ComparisonRow

EXIT_DONE = 0


def run_compare(options: argparse.Namespace) -> int:
    """Print what each rule set asks of a house.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0.
    """
    compared = compare_house(
        options.house,
        options.ids,
        supply_m3_s=_typed(options.supply, "--supply", Dimension.FLOW),
        extract_m3_s=_typed(options.extract, "--extract", Dimension.FLOW),
        weather_shielding_factor=_typed(options.weather_factor, "--weather-factor"),
        exterior_share_frac=_typed(options.exterior_share, "--exterior-share", Dimension.FRACTION),
    )
    if options.json:
        from ventwright.actions import comparison_json

        sys.stdout.buffer.write(comparison_json(compared))
        sys.stdout.flush()
        return EXIT_DONE
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    preference = UnitPreference(options.units)
    is_judged = options.supply is not None
    table = Table(title=Text(compared.house), title_justify="left")
    heads = ["rule set", "by its methods", "must flow all the time", "balance asked"]
    heads += ["rate", "balance"] if is_judged else []
    for head in (*heads, "known from", "remarks"):
        table.add_column(head, overflow="fold")
    for row in compared.rows:
        table.add_row(*(Text(cell) for cell in _cells(row, preference, is_judged=is_judged)))
    console = Console()
    console.print(table)
    console.print(
        Text(
            "* used. A verdict that rests on memory is no compliance. Flows are judged as readings "
            "here; `assess` weighs their uncertainty."
        )
    )
    return EXIT_DONE


def _typed(text: str | None, option: str, dimension: Dimension = Dimension.COUNT) -> float | None:
    if text is None:
        return None
    try:
        return parse(text, dimension=dimension).value_si
    except QuantityError as mistake:
        raise UserError(f"{option}: {mistake.message}; {mistake.remedy}") from mistake


def _cells(row: ComparisonRow, preference: UnitPreference, *, is_judged: bool) -> list[str]:
    result = row.result
    cells = [
        row.rule_set_id,
        "\n".join(
            f"{m.id} {_flow(m.flow_m3_s, preference)}{' *' if m.is_used else ''}"
            for m in result.methods
        ),
        _flow(result.required_m3_s, preference) + _most_text(result.most_m3_s, preference),
        _balance_text(row, preference),
    ]
    findings = row.findings
    if is_judged and findings is not None:
        cells += [
            findings.rate.verdict.value if findings.rate.judgement else "–",
            findings.balance.verdict.value if findings.balance.judgement else "–",
        ]
    reasons = [
        f"{step.kind.value}: {code}".replace("_", " ").replace("-", " ")
        for step in result.steps
        for code in step.reason_codes
    ]
    reasons += [problem.message for problem in result.problems]
    trust = trust_words(result.trust.value) if result.methods else "–"
    return [*cells, trust, "\n".join(reasons)]


def _flow(flow_m3_s: float | None, preference: UnitPreference) -> str:
    if flow_m3_s is None:
        return "–"
    symbol = preference.symbol(Dimension.FLOW)
    return format_quantity(flow_m3_s, dimension=Dimension.FLOW, unit_symbol=symbol)


def _most_text(most_m3_s: float | None, preference: UnitPreference) -> str:
    return "" if most_m3_s is None else f", at most {_flow(most_m3_s, preference)}"


def _balance_text(row: ComparisonRow, preference: UnitPreference) -> str:
    rule = row.balance_rule
    if rule is None:
        return "–"
    limit = f"{100.0 * rule.limit_frac:g} %"
    basis = rule.basis.value.replace("_", " ")
    floor = f", or {_flow(rule.floor_m3_s, preference)}" if rule.floor_m3_s else ""
    return f"{limit} of {basis}{floor}"
