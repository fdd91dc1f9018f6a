"""From a year's findings to the report model: words, tables and charts; nothing is computed again.

The findings live in a room that stands on NumPy; they are read here by their type alone, so that a
page or a PDF of something else never loads it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ventwright.moisture import ton_hours_per_scfm
from ventwright.quantities import NumberStyle, Severity, UnitPreference
from ventwright.report.measures import Measures
from ventwright.report.model import Line, Mark, ReportModel, Section
from ventwright.report.wording import words_of
from ventwright.report.year_charts import cloud_chart, dew_chart, heat_chart, water_chart
from ventwright.report.year_pen import YearPen
from ventwright.report.year_tables import (
    airs_table,
    budgets_table,
    design_table,
    doubts_table,
    heat_table,
    indoor_table,
    surfaces_table,
    water_table,
)
from ventwright.uncertainty import exact

if TYPE_CHECKING:
    from ventwright.climate import YearFindings

YEAR_SECTION_IDS = (
    "year-summary",
    "year-dew",
    "year-surfaces",
    "year-heat",
    "year-water",
    "year-indoor",
    "year-doubts",
)


def compose_year(
    found: YearFindings,
    *,
    pressure_pa: float,
    preference: UnitPreference,
    snapshot_sha256: str,
    engine: str,
    language: str = "en",
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> ReportModel:
    """Write a year as a model that screen, page and PDF are drawn from.

    Parameters
    ----------
    found
        What the year says.
    pressure_pa
        Mean barometric pressure of the place, for the chart's curves [Pa].
    preference
        Habit of units; it also names the usual paper.
    snapshot_sha256
        Hash of house and weather.
    engine
        Version.
    language
        Of the catalogue, a tag of BCP 47.
    number_style
        Decimal mark of the numbers shown.

    Returns
    -------
    ReportModel
        The same findings and habit give the same model.

    >>> from ventwright.climate import YearPlan, follow_year, parse_weather
    >>> flat = parse_weather(b"temperature [C],rh [%]\\n" + b"5,70\\n" * 8760, name="Flatland")
    >>> none = exact(0.0)
    >>> barn = YearPlan(name="Barn", volume_m3=300.0, supply_m3_s=exact(0.05),
    ...     extract_m3_s=exact(0.05), infiltration_m3_s=none, sensible_effectiveness=exact(0.8),
    ...     latent_effectiveness=none, exhaust_transfer_frac=none, release_kg_s=exact(1e-4))
    >>> compose_year(follow_year(barn, flat), pressure_pa=101325.0, engine="0",
    ...     preference=UnitPreference.SI_LS, snapshot_sha256="").subtitle
    'Barn in the weather of Flatland'
    """
    pen = YearPen(
        found=found,
        measures=Measures(preference=preference, number_style=number_style),
        words=words_of(language, "words_year", number_style=number_style),
    )
    sections = (
        Section(
            id="year-summary", title=pen.say("year-section.summary"), lines=tuple(_summary(pen))
        ),
        Section(
            id="year-dew",
            title=pen.say("year-section.dew"),
            lines=(Line(text=_index(pen)),),
            tables=airs_table(pen),
            pictures=(dew_chart(pen), cloud_chart(pen, pressure_pa=pressure_pa)),
        ),
        Section(
            id="year-surfaces",
            title=pen.say("year-section.surfaces"),
            tables=surfaces_table(pen),
            cautions=(Line(text=pen.say("year.mould-caution"), mark=Mark.CAUTION),),
        ),
        Section(
            id="year-heat",
            title=pen.say("year-section.heat"),
            tables=heat_table(pen),
            pictures=heat_chart(pen),
        ),
        Section(
            id="year-water",
            title=pen.say("year-section.water"),
            tables=(*water_table(pen), *design_table(pen)),
            pictures=water_chart(pen),
        ),
        Section(id="year-indoor", title=pen.say("year-section.indoor"), tables=indoor_table(pen)),
        Section(
            id="year-doubts",
            title=pen.say("year-section.doubts"),
            tables=(*budgets_table(pen), *doubts_table(pen)),
        ),
    )
    return ReportModel(
        language=language,
        paper="us-letter" if pen.is_ip else "a4",
        title=pen.say("year.title"),
        subtitle=pen.say("year.subtitle", house=found.house, place=found.place),
        facts=tuple(_facts(pen)),
        sections=tuple(s for s in sections if s.lines or s.tables),
        cautions=(Line(text=pen.say("year.caution"), mark=Mark.CAUTION),),
        snapshot_sha256=snapshot_sha256,
        engine=engine,
        dated="",
    )


def _facts(pen: YearPen) -> Iterator[tuple[str, str]]:
    found = pen.found
    yield pen.say("year-fact.house"), found.house
    yield pen.say("year-fact.place"), found.place
    yield pen.say("year-fact.hours"), _hours(pen)
    plane = found.plane
    key = plane.basis.value
    if key == "compared":
        key = f"compared-{plane.over.value}"
    yield (
        pen.say("year-fact.plane"),
        pen.say(f"year-plane.{key}", count=str(plane.cold_count))
        if "compared" in key
        else pen.say(f"year-plane.{key}"),
    )
    yield pen.say("year-fact.wanted"), pen.percent(found.wanted_rel_humidity_frac)


def _hours(pen: YearPen) -> str:
    found = pen.found
    is_whole = not found.missing_h and not found.filled_h
    return pen.say(
        "year-line.hours-whole" if is_whole else "year-line.hours",
        known=pen.hours(found.known_h),
        all=pen.hours(found.known_h + found.missing_h),
        filled=pen.hours(found.filled_h),
    )


def _summary(pen: YearPen) -> Iterator[Line]:
    found = pen.found
    yield Line(text=_hours(pen), mark=Mark.CAUTION if found.missing_h else None)
    yield Line(
        text=pen.say(
            "year-line.supply-dew",
            high=pen.temperature(found.stream("supply").high_dew_point_c),
            outdoor=pen.temperature(found.stream("outdoor").high_dew_point_c),
        )
    )
    yield from _heat_lines(pen)
    yield from _water_lines(pen)
    yield from _wet_lines(pen)
    yield from _exchanger_lines(pen)
    mistakes = sum(p.severity is Severity.MISTAKE for p in found.problems)
    if mistakes:
        yield Line(text=pen.words.count("year-line.mistakes", mistakes), mark=Mark.CAUTION)


def _heat_lines(pen: YearPen) -> Iterator[Line]:
    energy = pen.found.energy
    if energy.recovered_heating_j > 0.0:
        yield Line(
            text=pen.say(
                "year-line.heat",
                recovered=pen.energy(energy.recovered_heating_j),
                lost=pen.energy(energy.lost_heating_j),
            )
        )
    if energy.kept_out_cooling_j > 0.0:
        yield Line(
            text=pen.say(
                "year-line.cooling",
                kept=pen.energy(energy.kept_out_cooling_j),
                brought=pen.energy(energy.brought_in_cooling_j),
            )
        )


def _water_lines(pen: YearPen) -> Iterator[Line]:
    found = pen.found
    water = found.moisture
    wanted = pen.percent(found.wanted_rel_humidity_frac)
    is_dried = water.dehumidifier_kg > 0.0
    if water.worst_day_kg_s <= 0.0:
        yield Line(text=pen.say("year-line.no-drying", wanted=wanted))
    else:
        values = {
            "wanted": wanted,
            "day": pen.day(water.worst_month_number, water.worst_day_number),
            "worst": pen.figure("worst_day_kg_s", exact(water.worst_day_kg_s))[0],
        }
        if is_dried:
            values["amount"] = pen.water(water.dehumidifier_kg)
        yield Line(text=pen.say("year-line.dryer" if is_dried else "year-line.no-dryer", **values))
    heat_only = found.heat_only
    if heat_only is None:
        return
    if is_dried:
        yield Line(
            text=pen.say(
                "year-line.heat-only",
                amount=pen.water(heat_only.moisture.dehumidifier_kg),
                more=pen.water(heat_only.moisture.dehumidifier_kg - water.dehumidifier_kg),
            )
        )
    else:
        yield Line(
            text=pen.say(
                "year-line.heat-only-undried",
                hours=pen.hours(heat_only.indoor.above_60_h),
                now=pen.hours(found.indoor.above_60_h),
                worst=pen.figure("worst_day_kg_s", exact(heat_only.moisture.worst_day_kg_s))[0],
            )
        )


def _wet_lines(pen: YearPen) -> Iterator[Line]:
    followed = [s for s in pen.found.surfaces if s.wet_h is not None]
    wet = [s for s in followed if s.wet_h]
    for surface in wet:
        yield Line(
            text=pen.say(
                "year-line.wet",
                name=surface.name,
                hours=pen.hours(surface.wet_h),
                longest=pen.hours(surface.longest_wet_h),
            ),
            mark=Mark.CAUTION,
        )
    if followed and not wet:
        yield Line(text=pen.say("year-line.dry"))


def _exchanger_lines(pen: YearPen) -> Iterator[Line]:
    found = pen.found
    frost = found.frost
    yield Line(
        text=pen.say(
            "year-line.humid",
            above=pen.hours(found.indoor.above_60_h),
            below=pen.hours(found.indoor.below_30_h),
        )
    )
    for key, hours, mark in (
        ("frost", frost.frost_h, None),
        ("defrost", frost.lost_ventilation_h, None),
        ("condensate", frost.condensate_h, None),
        ("supply-water", frost.supply_saturated_h, Mark.CAUTION),
    ):
        if hours:
            yield Line(text=pen.say(f"year-line.{key}", hours=pen.hours(hours)), mark=mark)


def _index(pen: YearPen) -> str:
    index = pen.found.load_index
    return pen.say(
        "year-line.index",
        latent=pen.measures.decimal(ton_hours_per_scfm(index.latent_j_s_m3), digits=1),
        sensible=pen.measures.decimal(ton_hours_per_scfm(index.sensible_j_s_m3), digits=1),
    )
