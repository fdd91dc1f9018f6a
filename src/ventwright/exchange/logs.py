"""CSV files that loggers write: samples in time, one column for each thing measured.

A `LogMapping` says which column is which. Times are checked: each needs its offset from UTC, and
they must go forward. Units of measure are checked: each must measure what its column is said to
hold, and must not contradict one that the header itself names.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path

from ventwright.exchange.tables import DELIMITERS
from ventwright.exchange.text import decode, refusal
from ventwright.house import LogColumn, LogMapping, near_words
from ventwright.quantities import (
    Dimension,
    NumberStyle,
    Problem,
    QuantityError,
    Severity,
    UnitOfMeasure,
    parse,
    unit_of_measure,
)
from ventwright.quantities.records import dataclass

LOG_KEYS = {
    "temperature": Dimension.TEMPERATURE,
    "rel_humidity": Dimension.FRACTION,
    "dew_point": Dimension.TEMPERATURE,
    "wet_bulb": Dimension.TEMPERATURE,
    "velocities": Dimension.VELOCITY,
    "flows": Dimension.FLOW,
    "drops": Dimension.PRESSURE,
    "pressure_diff": Dimension.PRESSURE,
    "pressure": Dimension.PRESSURE,
    "power": Dimension.POWER,
}
"""Keys of a reading that a column can fill, and what they measure."""

_MOST_PREAMBLE_ROWS = 60
_MOST_PROBLEMS = 20
_GAP_STEPS = 5
_UNIT_IN_HEADER = re.compile(r"[\[(]\s*([^\])]+?)\s*[\])]\s*$")


@dataclass(frozen=True, slots=True, kw_only=True)
class LogSample:
    """One row: its time in UTC, and the numbers of its columns in their units of measure."""

    at: datetime
    numbers: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbeSamples:
    """What a logger's file holds, and what is doubtful about it."""

    samples: tuple[LogSample, ...]
    problems: tuple[Problem, ...]


def read_log(data: bytes, mapping: LogMapping, *, path: Path) -> ProbeSamples:
    """Read a logger's file.

    Parameters
    ----------
    data
        The file.
    mapping
        Which column is which. Where it does not say how numbers with a lone comma are meant, they
        have decimal commas if semicolons stand between the cells, and are refused where ambiguous
        elsewhere.
    path
        Its name, for messages.

    Returns
    -------
    ProbeSamples
        Rows whose time can't be read or goes back are left out and named, as are cells that hold
        no number. A gap in time is noted.

    Raises
    ------
    UserError
        ``no-header``, ``unknown-column``, ``unknown-key``, ``wrong-unit``, ``unit-contradicts``,
        ``unknown-offset``: the mapping does not fit the file.

    >>> mapping = LogMapping(time_header="Time", offset="+01:00", columns=(
    ...     LogColumn(header="T1", key="temperature", unit_of_measure="°C"),))
    >>> text = "Time;T1\\n2026-03-04 09:00:00;21,5\\n2026-03-04 09:00:10;21,7\\n"
    >>> found = read_log(text.encode(), mapping, path=Path("log.csv"))
    >>> found.samples[0].at.hour, found.samples[1].numbers
    (8, (('temperature', 21.7),))
    """
    text = decode(data, path=path)
    try:
        delimiter, header_line = _header(text, mapping, path)
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    except csv.Error as trouble:
        raise refusal(
            "malformed-csv", path, f"{path.name}: {trouble}", "check that it is a table"
        ) from None
    head = [cell.strip() for cell in rows[header_line]]
    places = {column.key: _column_place(head, column, path) for column in mapping.columns}
    time_place = head.index(mapping.time_header.strip())
    has_comma = mapping.has_decimal_comma
    style = NumberStyle.DECIMAL_COMMA if has_comma or delimiter == ";" else None
    if has_comma is False:
        style = NumberStyle.DECIMAL_POINT
    reading = _Reading(mapping=mapping, path=path, style=style, places=places)
    samples = tuple(reading.samples(rows[header_line + 1 :], header_line + 2, time_place))
    return ProbeSamples(samples=samples, problems=reading.all_problems(samples))


def _header(text: str, mapping: LogMapping, path: Path) -> tuple[str, int]:
    """The mark between cells and the row of headers; loggers write some lines about themselves."""
    wanted = mapping.time_header.strip()
    lines = text.splitlines()[:_MOST_PREAMBLE_ROWS]
    for delimiter in DELIMITERS:
        for number, row in enumerate(csv.reader(lines, delimiter=delimiter)):
            if len(row) > 1 and wanted in [cell.strip() for cell in row]:
                return delimiter, number
    raise refusal(
        "no-header",
        path,
        f"{path.name} has no column {wanted!r} in its first {_MOST_PREAMBLE_ROWS} rows",
        "name the column of times as it is written in the file",
    )


def _column_place(head: list[str], column: LogColumn, path: Path) -> int:
    header = column.header.strip()
    if column.key not in LOG_KEYS:
        raise refusal(
            "unknown-key",
            path,
            f"column {header!r} is said to hold {column.key!r}",
            f"accepted: {', '.join(LOG_KEYS)}",
        )
    dimension = LOG_KEYS[column.key]
    measure = _measure(column.unit_of_measure, dimension)
    if measure is None:
        raise refusal(
            "wrong-unit",
            path,
            f"column {header!r}: {column.unit_of_measure!r} does not measure {dimension.label}",
            "write the unit of measure that the logger uses",
        )
    if header not in head:
        near = near_words(header, head)
        raise refusal(
            "unknown-column",
            path,
            f"{path.name} has no column {header!r}",
            f"did you mean {near}?" if near else f"it has: {', '.join(filter(None, head))}",
        )
    said = _UNIT_IN_HEADER.search(header)
    by_header = _measure(said[1], dimension) if said else None
    if by_header is not None and by_header != measure:
        raise refusal(
            "unit-contradicts",
            path,
            f"the header {header!r} names another unit than {column.unit_of_measure!r}",
            "write the unit of the header, or ask what the logger was set to",
        )
    return head.index(header)


def _measure(symbol: str, dimension: Dimension) -> UnitOfMeasure | None:
    try:
        return unit_of_measure(symbol, dimension=dimension)
    except QuantityError:
        return None


class _Reading:
    """Rows of one file, and the problems met in them."""

    def __init__(
        self,
        *,
        mapping: LogMapping,
        path: Path,
        style: NumberStyle | None,
        places: dict[str, int],
    ) -> None:
        self.mapping, self.path, self.style, self.places = mapping, path, style, places
        self.problems: list[Problem] = []
        self.more_count = 0
        self.offset = self._offset()

    def _offset(self) -> object:
        if not self.mapping.offset:
            return None
        try:
            return datetime.fromisoformat(f"2000-01-01T00:00:00{self.mapping.offset}").tzinfo
        except ValueError:
            raise refusal(
                "unknown-offset",
                self.path,
                f"{self.mapping.offset!r} is no offset from UTC",
                "write hours and minutes, e.g. -07:00",
            ) from None

    def samples(
        self, rows: list[list[str]], first_line: int, time_place: int
    ) -> Iterator[LogSample]:
        last: datetime | None = None
        for line, row in enumerate(rows, start=first_line):
            if not any(cell.strip() for cell in row):
                continue
            at = self._time(row[time_place].strip() if time_place < len(row) else "", line)
            if at is None:
                continue
            if last is not None and at <= last:
                self._say(
                    "time-goes-back",
                    line,
                    f"{row[time_place].strip()} is not later than the row before; left out",
                    "check the logger's clock: a change to or from summer time does this",
                )
                continue
            last = at
            numbers = [
                (key, value)
                for key, place in self.places.items()
                if (value := self._number(row, place, line)) is not None
            ]
            if numbers:
                yield LogSample(at=at, numbers=tuple(numbers))

    def _time(self, text: str, line: int) -> datetime | None:
        form = self.mapping.time_form
        try:
            found = datetime.strptime(text, form) if form else datetime.fromisoformat(text)  # noqa: DTZ007
            if found.tzinfo is None:
                if self.offset is None:
                    self._say(
                        "time-without-zone",
                        line,
                        f"{text} has no offset from UTC; left out",
                        "say how the logger's clock stands against UTC, e.g. -07:00",
                    )
                    return None
                found = found.replace(tzinfo=self.offset)  # type: ignore[arg-type]
            return found.astimezone(UTC)
        except (ValueError, OverflowError):
            wanted = f"of the form {form}" if form else "in ISO 8601"
            self._say(
                "unreadable-time", line, f"{text!r} is no time {wanted}; left out", "mend the form"
            )
            return None

    def _number(self, row: list[str], place: int, line: int) -> float | None:
        text = row[place].strip() if place < len(row) else ""
        if not text:
            return None
        try:
            return parse(text, dimension=Dimension.COUNT, number_style=self.style).value_si
        except QuantityError as mistake:
            self._say("not-a-number", line, f"{text!r}: {mistake.message}", mistake.remedy)
            return None

    def _say(self, code: str, line: int, message: str, remedy: str) -> None:
        if len(self.problems) >= _MOST_PROBLEMS:
            self.more_count += 1
            return
        self.problems.append(
            Problem(
                code=code,
                where=f"{self.path.name}:{line}",
                message=message,
                remedy=remedy,
                severity=Severity.WARNING,
            )
        )

    def all_problems(self, samples: tuple[LogSample, ...]) -> tuple[Problem, ...]:
        found = [*self.problems, *self._gaps(samples)]
        if self.more_count:
            found.append(
                Problem(
                    code="more-of-the-same",
                    where=self.path.name,
                    message=f"{self.more_count} more rows or cells could not be used",
                    severity=Severity.NOTE,
                )
            )
        return tuple(found)

    def _gaps(self, samples: tuple[LogSample, ...]) -> Iterator[Problem]:
        steps = [(b.at - a.at).total_seconds() for a, b in pairwise(samples)]
        if len(steps) < 3:
            return
        usual_s = sorted(steps)[len(steps) // 2]
        for sample, step_s in zip(samples, steps, strict=False):
            if step_s > _GAP_STEPS * usual_s:
                yield Problem(
                    code="gap",
                    where=f"{self.path.name}: {sample.at.isoformat()}",
                    message=f"nothing was logged for {step_s:.0f} s; the usual step is "
                    f"{usual_s:.0f} s",
                    severity=Severity.NOTE,
                )
