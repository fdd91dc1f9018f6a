"""Doubts and refusals, the weightiest first, alike ones in one row."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.quantities import Problem, Severity
from ventwright.report.model import Cell, Mark, Section
from ventwright.report.pen import Pen, cells, lines_of, table_if

_ORDER = (Severity.REFUSAL, Severity.MISTAKE, Severity.WARNING, Severity.NOTE)
_MARKS = {
    Severity.REFUSAL: Mark.NOT_SHOWN,
    Severity.MISTAKE: Mark.NOT_SHOWN,
    Severity.WARNING: Mark.CAUTION,
    Severity.NOTE: Mark.NOTE,
}
_MOST_PLACES = 8


def problems_of(pen: Pen) -> Iterator[Problem]:
    """Problems of the files, of the visit, and of each reading.

    Parameters
    ----------
    pen
        What is written about.
    """
    yield from pen.findings.problems
    for reading in pen.findings.readings:
        yield from reading.flags


def doubts_section(pen: Pen) -> Section:
    """One table of all doubts, or the word that there are none.

    Parameters
    ----------
    pen
        What is written about.
    """
    groups: dict[tuple[Severity, str, str, str], list[str]] = {}
    for p in problems_of(pen):
        places = groups.setdefault((p.severity, p.code, p.message, p.remedy), [])
        if p.where not in places:
            places.append(p.where)
    ordered = sorted(groups.items(), key=lambda item: _ORDER.index(item[0][0]))
    rows = [
        cells(
            Cell(text=pen.say(f"severity.{severity.value}"), mark=_MARKS[severity]),
            _places(pen, places),
            pen.told(message),
            pen.told(remedy),
        )
        for (severity, _, message, remedy), places in ordered
    ]
    return Section(
        id="doubts",
        title=pen.say("section.doubts"),
        lines=() if rows else lines_of([pen.say("doubts.none")]),
        tables=table_if(
            rows,
            id="doubts",
            title=pen.say("doubts.table"),
            columns=pen.columns("weight", "where", "what", "remedy"),
        ),
    )


def _places(pen: Pen, places: list[str]) -> str:
    """Places in one phrase; readings share their word."""
    readings = [p.removeprefix("reading ") for p in places if _is_reading(p)]
    others = [_plain(pen, p) for p in places if not _is_reading(p)]
    shown = [", ".join(readings[:_MOST_PLACES])] if readings else []
    shown += others[:_MOST_PLACES]
    left = max(0, len(readings) - _MOST_PLACES) + max(0, len(others) - _MOST_PLACES)
    text = ", ".join(shown)
    return pen.say("doubts.more", places=text, count=str(left)) if left else text


def _plain(pen: Pen, place: str) -> str:
    """A place in words where the catalogue has them for its key."""
    key = place.replace("conditions.wind_speed", "conditions.wind")
    return pen.say(key) if key in pen.words else place


def _is_reading(where: str) -> bool:
    return where.startswith("reading ") and " " not in where.removeprefix("reading ")
