"""The year in the annex: months of heat and water, or how they are had."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ventwright.quantities import NumberStyle
from ventwright.report.model import Line, Mark, Section
from ventwright.report.pen import Pen
from ventwright.report.wording import words_of
from ventwright.report.year_charts import heat_chart, water_chart
from ventwright.report.year_pen import YearPen
from ventwright.report.year_tables import heat_table, water_table

if TYPE_CHECKING:
    from ventwright.climate import YearFindings


@dataclass(frozen=True, slots=True, kw_only=True)
class AnnexYear:
    """A year's findings for the annex, and what they rest on.

    `measured` names the figures of the visit that replaced planned ones: `supply`, `extract`,
    `sensible`, `latent`.
    """

    found: YearFindings
    weather_name: str
    weather_sha256: str
    measured: tuple[str, ...] = ()


def year_section(
    pen: Pen, year: AnnexYear | None, *, language: str, number_style: NumberStyle
) -> Section:
    """Month bars and the tables they belong to; without a year, the way to one.

    Parameters
    ----------
    pen
        What is written about.
    year
        Findings of a year, or None.
    language, number_style
        Of the catalogue and its numbers.
    """
    title = pen.say("section.year")
    if year is None:
        return Section(id="year", title=title, lines=(Line(text=pen.say("annex-year.how")),))
    own = YearPen(
        found=year.found,
        measures=pen.measures,
        words=words_of(language, "words_year", number_style=number_style),
    )
    names = [pen.say(f"annex-year.{name}") for name in year.measured]
    basis = (
        pen.say("annex-year.measured", names=", ".join(names))
        if names
        else pen.say("annex-year.planned")
    )
    weather = pen.say("annex-year.weather", name=year.weather_name, sha256=year.weather_sha256)
    return Section(
        id="year",
        title=title,
        lines=(
            Line(text=weather),
            Line(text=basis),
            Line(text=pen.say("annex-year.caution"), mark=Mark.CAUTION),
        ),
        tables=(*heat_table(own), *water_table(own)),
        pictures=(*heat_chart(own), *water_chart(own)),
    )
