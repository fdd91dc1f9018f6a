"""Surfaces against the dew point of the air that touches them."""

from __future__ import annotations

from ventwright.findings import SurfaceFinding
from ventwright.moisture import SurfaceCheck
from ventwright.quantities import AirKind, Dimension, Severity
from ventwright.report.measures import percent
from ventwright.report.model import Cell, Line, Mark, Picture, Section
from ventwright.report.pen import Pen, cells, mark_of, table_if
from ventwright.report.pictures.ladder import LadderRow, dew_point_ladder
from ventwright.report.sections.recovery import problem_line
from ventwright.report.sections.wet_rooms import (
    shower_lines,
    shower_pictures,
    shower_tables,
)
from ventwright.uncertainty import Verdict


def surfaces_section(pen: Pen) -> Section:
    """Table, ladder and what to mind; bathrooms while a shower runs.

    Parameters
    ----------
    pen
        What is written about.
    """
    m = pen.measures
    rows = [_row(pen, s) for s in pen.findings.surfaces]
    numbers = ("temperature", "dew_point", "margin", "prob_wet", "surface_humidity")
    temperature = m.symbol(Dimension.TEMPERATURE)
    tables = table_if(
        rows,
        id="surfaces",
        title=pen.say("surfaces.table"),
        columns=pen.columns(
            "surface",
            "grounds",
            *numbers,
            "dry",
            "mould",
            numbers=numbers,
            temperature=temperature,
            dew_point=temperature,
            margin=m.symbol(Dimension.TEMPERATURE_DIFF),
            surface_humidity=m.symbol(Dimension.FRACTION),
        ),
        note=pen.say("surfaces.note"),
    )
    return Section(
        id="surfaces",
        title=pen.say("section.surfaces"),
        lines=(*_lines(pen), *shower_lines(pen)),
        tables=(*tables, *shower_tables(pen)),
        pictures=(*_ladder(pen), *shower_pictures(pen)),
    )


def _row(pen: Pen, s: SurfaceFinding) -> tuple[Cell, ...]:
    m, check = pen.measures, s.check
    origin = pen.say(f"origin.{s.origin_code}") if s.origin_code else ""
    if check is None:
        grounds = "; ".join(t for t in (origin, pen.reason(s.reason_code)) if t)
        verdict = Cell(text=pen.verdict(Verdict.NOT_SHOWN), mark=Mark.NOT_SHOWN)
        return cells(s.name, grounds, "", "", "", "", "", verdict, "")
    return cells(
        s.name,
        f"{origin}; {air_name(pen, check)}",
        m.estimate_number(check.surface_temperature_c, Dimension.TEMPERATURE),
        m.estimate_number(check.dew_point_c, Dimension.TEMPERATURE),
        m.estimate_number(check.margin_k, Dimension.TEMPERATURE_DIFF),
        percent(check.prob_wet_frac),
        m.estimate_number(check.surface_rel_humidity_frac, Dimension.FRACTION),
        Cell(text=pen.verdict(check.decision.verdict), mark=mark_of(check.decision.verdict)),
        Cell(
            text=pen.verdict(check.mould_decision.verdict),
            mark=mark_of(check.mould_decision.verdict),
        ),
    )


def air_name(pen: Pen, check: SurfaceCheck) -> str:
    """The air that touches a surface, in words.

    Parameters
    ----------
    pen
        What is written about.
    check
        A surface that was judged.
    """
    if check.air_name in {k.value for k in AirKind}:
        return pen.stream(AirKind(check.air_name))
    return pen.say(f"air-name.{check.air_name}")


def _lines(pen: Pen) -> list[Line]:
    lines = [*first_wet_lines(pen), *safe_dew_point_lines(pen)]
    for s in pen.findings.surfaces:
        for flag in s.check.flags if s.check is not None else ():
            if flag.severity is Severity.NOTE:
                continue
            line = problem_line(pen, flag)
            lines.append(Line(text=f"{s.name}: {line.text}", mark=line.mark))
    return lines


def first_wet_lines(pen: Pen) -> list[Line]:
    """Which surface gets wet first as the air grows moister.

    Parameters
    ----------
    pen
        What is written about.
    """
    first = pen.findings.first_to_wet
    if first is None or first.runner_up is None:
        return []
    text = pen.say(
        "surfaces.first-to-wet",
        name=pen.surface(first.check.surface_id),
        margin=pen.measures.estimate(first.check.margin_k, Dimension.TEMPERATURE_DIFF),
        other=pen.surface(first.runner_up.surface_id),
        odds=percent(first.prob_first_frac),
    )
    return [Line(text=text, mark=Mark.NOTE)]


def safe_dew_point_lines(pen: Pen) -> list[Line]:
    """How moist the rooms' air may be before a listed surface gets wet.

    Parameters
    ----------
    pen
        What is written about.
    """
    safe = pen.findings.safe_dew_point
    if safe is None:
        return []
    text = pen.say(
        "surfaces.safe-dew-point",
        limit=pen.measures.at_most(safe.limit_c, Dimension.TEMPERATURE),
        name=pen.surface(safe.surface_id),
        confidence=f"{100.0 * safe.confidence_frac:.0f} %",
    )
    return [Line(text=text, mark=Mark.NOTE, source_keys=("jcgm_106_2012",))]


def _ladder(pen: Pen) -> tuple[Picture, ...]:
    checks = [(s.name, s.check) for s in pen.findings.surfaces if s.check is not None]
    if not checks:
        return ()
    m = pen.measures
    rows = [
        LadderRow(label=name, surface_c=c.surface_temperature_c, dew_point_c=c.dew_point_c)
        for name, c in checks
    ]
    spoken = " ".join(
        pen.say(
            "surfaces.ladder-row",
            name=r.label,
            surface=m.estimate(r.surface_c, Dimension.TEMPERATURE),
            dew=m.estimate(r.dew_point_c, Dimension.TEMPERATURE),
        )
        for r in rows
    )
    return (
        Picture(
            id="dew-point-ladder",
            svg=dew_point_ladder(rows, measures=m, words=pen.words),
            alt=pen.say("surfaces.ladder-alt", rows=spoken),
            caption=f"{pen.say('surfaces.ladder')}. {pen.say('surfaces.ladder-note')}",
            follows="surfaces",
        ),
    )
