"""One method of a rate worked out for a house: its terms, or its cell of a table."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.quantities.records import dataclass
from ventwright.requirements.citation import Citation, Trust, weakest
from ventwright.requirements.facts import HouseFacts
from ventwright.requirements.rate_rules import Counts, RateMethod, RateTable, RateTerm, TableRow

_HOUR_S = 3600.0
_SLACK = 1e-9
"""An area typed as the upper end of its band belongs to it, whatever rounding made of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TermResult:
    """One term: how much of what was counted, and the flow it gives (negative if subtracted)."""

    counts: Counts
    amount_count: float
    flow_m3_s: float
    is_assumed: bool
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class CellResult:
    """The cell of a table: its row by largest area (None if open) and column by most bedrooms."""

    up_to_area_m2: float | None
    up_to_bedrooms: float
    further_bedrooms: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodResult:
    """A method worked out, or the reason why it gives nothing.

    Parameters
    ----------
    id
        The method's.
    flow_m3_s
        Its rate; None with a reason.
    most_flow_m3_s
        The most a table allows, where it does.
    terms
        Addends of a formula.
    cell
        Place in a table.
    is_used
        Whether the rate rests on this method.
    trust
        Weakest trust of what contributed.
    citation
        Where the method stands.
    reason_code
        ``missing-`` and the fact that is wanting, ``beyond-table`` or ``beyond-range``.
    """

    id: str
    flow_m3_s: float | None
    most_flow_m3_s: float | None = None
    terms: tuple[TermResult, ...] = ()
    cell: CellResult | None = None
    is_used: bool = False
    trust: Trust
    citation: Citation
    reason_code: str = ""


class MissingFactError(Exception):
    """Raised inside this room where a term asks for a fact nobody gave."""


def method_result(method: RateMethod, facts: HouseFacts) -> MethodResult:
    """Work out one method.

    Parameters
    ----------
    method
        Terms or table.
    facts
        The house.

    >>> from ventwright.requirements.citation import Citation
    >>> cited = Citation(source="own", trust=Trust.OWN)
    >>> term = RateTerm(counts=Counts.BEDROOMS, flow_m3_s=0.004, added_count=1)
    >>> method = RateMethod(id="sum", terms=(term,), citation=cited)
    >>> method_result(method, HouseFacts(bedrooms=3)).flow_m3_s
    0.016
    >>> method_result(method, HouseFacts()).reason_code
    'missing-bedrooms'
    """
    try:
        if not _is_in_range(method, facts):
            return _without(method, "beyond-range")
        if method.table is not None:
            return _from_table(method, method.table, facts)
        terms = tuple(_term_result(term, method, facts) for term in method.terms)
    except MissingFactError as missing:
        return _without(method, f"missing-{missing}")
    contributing = [term.citation.trust for term in terms if term.amount_count]
    return MethodResult(
        id=method.id,
        flow_m3_s=max(0.0, sum(term.flow_m3_s for term in terms)),
        terms=terms,
        trust=weakest([method.citation.trust, *contributing]),
        citation=method.citation,
    )


def _without(method: RateMethod, reason_code: str) -> MethodResult:
    return MethodResult(
        id=method.id,
        flow_m3_s=None,
        trust=method.citation.trust,
        citation=method.citation,
        reason_code=reason_code,
    )


def _is_in_range(method: RateMethod, facts: HouseFacts) -> bool:
    low, high = method.from_area_m2, method.up_to_area_m2
    if low is None and high is None:
        return True
    area = _given(facts.floor_area_m2, "floor_area")
    return (low is None or area >= low) and (high is None or area <= high)


def _term_result(term: RateTerm, method: RateMethod, facts: HouseFacts) -> TermResult:
    amount, is_assumed = _amount(term, facts)
    each = term.flow_m3_s or 0.0
    if term.counts is Counts.VOLUME:
        each = (term.air_changes_1_h or 0.0) / _HOUR_S
    return TermResult(
        counts=term.counts,
        amount_count=amount,
        flow_m3_s=-amount * each if term.is_subtracted else amount * each,
        is_assumed=is_assumed,
        citation=term.citation or method.citation,
    )


def _amount(term: RateTerm, facts: HouseFacts) -> tuple[float, bool]:
    """How much there is of what the term counts, and whether that was assumed."""
    if term.counts in (Counts.PEOPLE, Counts.EXTRA_PEOPLE):
        return _people(term, facts)
    return _things(term, facts), False


def _people(term: RateTerm, facts: HouseFacts) -> tuple[float, bool]:
    people, is_extra = facts.people, term.counts is Counts.EXTRA_PEOPLE
    if people is None and is_extra:
        return 0.0, False
    if people is not None and not is_extra:
        return people, False
    of_bedrooms = _kept(term, _given(facts.bedrooms, "bedrooms"))
    return (of_bedrooms, True) if people is None else (max(0.0, people - of_bedrooms), False)


def _things(term: RateTerm, facts: HouseFacts) -> float:
    if term.counts is Counts.DWELLING:
        return 1.0
    if term.counts is Counts.VOLUME:
        return _given(facts.volume_m3, "volume")
    if term.counts is Counts.BEDROOMS:
        return _kept(term, _given(facts.bedrooms, "bedrooms"))
    if term.counts in (Counts.FLOOR_AREA, Counts.FLOOR_AREA_SQUARED):
        steps = _given(facts.floor_area_m2, "floor_area") / (term.per_area_m2 or 1.0)
        return steps if term.counts is Counts.FLOOR_AREA else steps * steps
    return _rooms(term, facts)


def _rooms(term: RateTerm, facts: HouseFacts) -> float:
    if not facts.rooms:
        raise MissingFactError("rooms")
    if term.counts is Counts.BASEMENT:
        return float(any(room.storey < 0 for room in facts.rooms))
    return _kept(term, float(sum(room.kind in term.room_kinds for room in facts.rooms)))


def _kept(term: RateTerm, number: float) -> float:
    if term.least_count is not None:
        number = max(number, term.least_count)
    if term.most_count is not None:
        number = min(number, term.most_count)
    return max(0.0, number - term.skipped_count) + term.added_count


def _given(value: float | None, name: str) -> float:
    if value is None:
        raise MissingFactError(name)
    return value


def _from_table(method: RateMethod, table: RateTable, facts: HouseFacts) -> MethodResult:
    bedrooms = _given(facts.bedrooms, "bedrooms")
    row = _row(table, facts)
    column = next((i for i, most in enumerate(table.bedrooms) if bedrooms <= most + _SLACK), None)
    further = 0.0
    if column is None and (table.is_last_column_open or table.further_bedroom_m3_s is not None):
        column = len(table.bedrooms) - 1
        further = 0.0 if table.is_last_column_open else bedrooms - table.bedrooms[-1]
    if row is None or column is None:
        return _without(method, "beyond-table")
    more = further * (table.further_bedroom_m3_s or 0.0)
    most = row.most_flows_m3_s[column] + more if row.most_flows_m3_s else None
    return MethodResult(
        id=method.id,
        flow_m3_s=row.flows_m3_s[column] + more,
        most_flow_m3_s=most,
        cell=CellResult(
            up_to_area_m2=row.up_to_area_m2,
            up_to_bedrooms=table.bedrooms[column],
            further_bedrooms=further,
        ),
        trust=method.citation.trust,
        citation=method.citation,
    )


def _row(table: RateTable, facts: HouseFacts) -> TableRow | None:
    if all(row.up_to_area_m2 is None for row in table.rows):
        return table.rows[0]
    area = _given(facts.floor_area_m2, "floor_area")
    return next(_rows_from(table, area), None)


def _rows_from(table: RateTable, area_m2: float) -> Iterator[TableRow]:
    for row in table.rows:
        if row.up_to_area_m2 is None or area_m2 <= row.up_to_area_m2 * (1.0 + _SLACK):
            yield row
