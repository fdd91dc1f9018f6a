"""Charts of a year as pictures of the report, each with words for those who can't see it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ventwright.quantities import WATER_DENSITY_20C_KG_M3, Dimension, from_si, unit_of_measure
from ventwright.report.model import Picture
from ventwright.report.pictures.year_cloud import CloudHours, psychrometric_cloud
from ventwright.report.pictures.year_dew_points import DewHours, hours_by_dew_point
from ventwright.report.pictures.year_months import MonthStack, StackPart, month_bars
from ventwright.report.year_pen import YearPen

if TYPE_CHECKING:
    from ventwright.climate import CloudCell


def dew_chart(pen: YearPen) -> Picture:
    """Hours by dew point of the three airs.

    Parameters
    ----------
    pen
        What is written about.
    """
    airs = [
        DewHours(
            label=pen.say(f"year-air.{s.name}"),
            bins=tuple((b.low_c, b.hours_h) for b in s.dew_point_bins),
        )
        for s in pen.found.streams
    ]
    rows = " ".join(
        pen.say(
            "year-picture.dew-row",
            air=pen.say(f"year-air.{s.name}"),
            low=pen.temperature(s.low_dew_point_c),
            high=pen.temperature(s.high_dew_point_c),
        )
        for s in pen.found.streams
    )
    return Picture(
        id="year-dew-points",
        svg=hours_by_dew_point(airs, measures=pen.measures, words=pen.words),
        alt=pen.say("year-picture.dew-alt", rows=rows),
        caption=pen.say("year-picture.dew-caption"),
        follows="year-airs",
    )


def cloud_chart(pen: YearPen, *, pressure_pa: float) -> Picture:
    """Where outdoor and indoor hours lie on the psychrometric chart.

    Parameters
    ----------
    pen
        What is written about.
    pressure_pa
        Of the curves [Pa].
    """
    outdoor = _cells(pen, "outdoor")
    indoor = _cells(pen, "indoor")
    return Picture(
        id="year-cloud",
        svg=psychrometric_cloud(
            outdoor=outdoor,
            indoor=indoor,
            pressure_pa=pressure_pa,
            measures=pen.measures,
            words=pen.words,
        ),
        alt=pen.say(
            "year-picture.cloud-alt", outdoor=_fullest(pen, outdoor), indoor=_fullest(pen, indoor)
        ),
        caption=pen.say("year-picture.cloud-caption"),
    )


def _cells(pen: YearPen, stream: str) -> list[CloudHours]:
    own: list[CloudCell] = [c for c in pen.found.cloud if c.stream == stream]
    return [CloudHours(low_c=c.low_c, low_kg_kg=c.low_kg_kg, hours=c.hours_h) for c in own]


def _fullest(pen: YearPen, cells: list[CloudHours]) -> str:
    cell = max(cells, key=lambda c: c.hours)
    ratio = pen.measures.text(cell.low_kg_kg, Dimension.HUMIDITY_RATIO, digits=1)
    return f"{pen.temperature(cell.low_c)}, {ratio}"


def heat_chart(pen: YearPen) -> tuple[Picture, ...]:
    """Heat by month: heating up, cooling down; none in a year without any.

    Parameters
    ----------
    pen
        What is written about.
    """
    measure = unit_of_measure(pen.measures.symbol(Dimension.ENERGY), dimension=Dimension.ENERGY)
    names = (
        "recovered_heating_j",
        "lost_heating_j",
        "kept_out_cooling_j",
        "brought_in_cooling_j",
    )
    months = pen.found.months
    stacks = [
        MonthStack(
            label=pen.say(f"year-month.{m.month_number}"),
            amounts=tuple(max(0.0, from_si(getattr(m, n), unit_of_measure=measure)) for n in names),
        )
        for m in months
    ]
    parts = [
        StackPart(label=pen.say("year-picture.recovered")),
        StackPart(label=pen.say("year-picture.lost"), is_light=True),
        StackPart(label=pen.say("year-picture.kept-out"), hangs_down=True),
        StackPart(label=pen.say("year-picture.brought-in"), hangs_down=True, is_light=True),
    ]
    rows = " ".join(
        pen.say(
            "year-picture.heat-row",
            month=pen.say(f"year-month.{m.month_number}"),
            recovered=pen.energy(m.recovered_heating_j),
            lost=pen.energy(m.lost_heating_j),
            kept=pen.energy(m.kept_out_cooling_j),
            brought=pen.energy(m.brought_in_cooling_j),
        )
        for m in months
    )
    svg = _bars(stacks, parts, measure.symbol)
    if not svg:
        return ()
    picture = Picture(
        id="year-heat-months",
        svg=svg,
        alt=pen.say("year-picture.heat-alt", rows=rows),
        caption=pen.say("year-picture.heat-caption"),
        follows="year-heat",
    )
    return (picture,)


def water_chart(pen: YearPen) -> tuple[Picture, ...]:
    """Water by month: kept out and brought in up, taken out down; none in a year without any.

    Parameters
    ----------
    pen
        What is written about.
    """
    measure = unit_of_measure(pen.water_symbol, dimension=Dimension.VOLUME)

    def shown(mass_kg: float) -> float:
        return max(0.0, from_si(mass_kg / WATER_DENSITY_20C_KG_M3, unit_of_measure=measure))

    months = pen.found.months
    stacks = [
        MonthStack(
            label=pen.say(f"year-month.{m.month_number}"),
            amounts=(shown(m.kept_out_kg), shown(m.brought_in_kg), shown(m.dehumidifier_kg)),
        )
        for m in months
    ]
    parts = [
        StackPart(label=pen.say("year-picture.water-kept")),
        StackPart(label=pen.say("year-picture.water-in"), is_light=True),
        StackPart(label=pen.say("year-picture.water-dried"), hangs_down=True),
    ]
    rows = " ".join(
        pen.say(
            "year-picture.water-row",
            month=pen.say(f"year-month.{m.month_number}"),
            kept=pen.water(m.kept_out_kg),
            brought=pen.water(m.brought_in_kg),
            dried=pen.water(m.dehumidifier_kg),
        )
        for m in months
    )
    svg = _bars(stacks, parts, measure.symbol)
    if not svg:
        return ()
    picture = Picture(
        id="year-water-months",
        svg=svg,
        alt=pen.say("year-picture.water-alt", rows=rows),
        caption=pen.say("year-picture.water-caption"),
        follows="year-water",
    )
    return (picture,)


def _bars(stacks: list[MonthStack], parts: list[StackPart], axis_label: str) -> str:
    """Bars of the parts that have an amount in any month; empty where none has."""
    kept = [i for i in range(len(parts)) if any(s.amounts[i] > 0.0 for s in stacks)]
    if not kept:
        return ""
    return month_bars(
        [MonthStack(label=s.label, amounts=tuple(s.amounts[i] for i in kept)) for s in stacks],
        parts=[parts[i] for i in kept],
        axis_label=axis_label,
    )
