"""Rows of a weather file on their way to a year: columns, missing values, problems with lines."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from ventwright.quantities import Problem, Severity

MOST_PROBLEMS = 12
"""Problems of one kind that are listed; the rest are counted."""

DRY_BULB, DEW_POINT, REL_HUMIDITY = "dry bulb", "dew point", "relative humidity"
PRESSURE, HUMIDITY_RATIO = "pressure", "humidity ratio"
# Lowest and highest value that weather has, in SI; a dew point may lie far below any temperature.
RANGES = {
    DRY_BULB: (-70.0, 60.0),
    DEW_POINT: (-80.0, 40.0),
    REL_HUMIDITY: (0.001, 1.1),
    PRESSURE: (45_000.0, 110_000.0),
    HUMIDITY_RATIO: (1e-6, 0.06),
}
_SHOWN = {
    DRY_BULB: "−70 to 60 °C",
    DEW_POINT: "−80 to 40 °C",
    REL_HUMIDITY: "0.1 to 110 %",
    PRESSURE: "45 to 110 kPa",
    HUMIDITY_RATIO: "0.001 to 60 g/kg",
}


@dataclass(slots=True)
class Columns:
    """What the rows of a file say, in SI; NaN where a value is missing.

    `hour` counts from 0, the hour that begins at midnight. Several rows may fall into one hour.
    """

    file_name: str
    month: list[int] = field(default_factory=list)
    day: list[int] = field(default_factory=list)
    hour: list[int] = field(default_factory=list)
    line: list[int] = field(default_factory=list)
    values: dict[str, list[float]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    _counts: dict[str, int] = field(default_factory=dict)

    def add_row(
        self, *, line: int, month: int, day: int, hour: int, values: dict[str, float]
    ) -> None:
        """Add a row, values out of range taken as missing and named."""
        self.line.append(line)
        self.month.append(month)
        self.day.append(day)
        self.hour.append(hour)
        for name, value in values.items():
            low, high = RANGES[name]
            is_weather = math.isnan(value) or low <= value <= high
            if not is_weather:
                self.say(
                    f"{name.replace(' ', '-')}-out-of-range",
                    line,
                    f"{name} {value:g} (SI) is no weather",
                    f"{_SHOWN[name]} is taken; the hour's {name} counts as missing",
                )
            self.values.setdefault(name, []).append(value if is_weather else math.nan)

    def say(self, code: str, line: int, message: str, remedy: str) -> None:
        """Note a mistake in a line; the same kind is listed a few times and then counted."""
        self._counts[code] = self._counts.get(code, 0) + 1
        if self._counts[code] <= MOST_PROBLEMS:
            self.problems.append(
                Problem(
                    code=code,
                    where=f"{self.file_name}:{line}",
                    message=message,
                    remedy=remedy,
                    severity=Severity.MISTAKE,
                )
            )

    def all_problems(self) -> tuple[Problem, ...]:
        """Problems so far, with a count of those that are not listed."""
        more = [
            Problem(
                code=f"more-{code}",
                where=self.file_name,
                message=f"{count - MOST_PROBLEMS} more lines like these ({code})",
                remedy="mend them as those named",
                severity=Severity.MISTAKE,
            )
            for code, count in sorted(self._counts.items())
            if count > MOST_PROBLEMS
        ]
        return (*self.problems, *more)

    def number(
        self, text: str, *, name: str, line: int, factor: float = 1.0, missing_from: float
    ) -> float:
        """A printed number in SI, NaN where it is the format's sign for missing or no number.

        `missing_from` is the printed value that stands for missing: the value itself and all
        beyond it, above where it is positive, below where it is negative.
        """
        try:
            value = float(text)
        except ValueError:
            self.say(
                "not-a-number",
                line,
                f"{name} {text.strip()!r} is no number",
                "write a number with a decimal point; the hour's value counts as missing",
            )
            return math.nan
        is_missing = value >= missing_from if missing_from > 0.0 else value <= missing_from
        return math.nan if is_missing or not math.isfinite(value) else value * factor
