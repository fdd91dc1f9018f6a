"""Recovery: the four streams with their chart, figures or refusals, closures, flags."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.air import AirEstimate
from ventwright.findings import RecoveryFinding, SystemFindings
from ventwright.quantities import AirKind, Dimension, Problem, Severity
from ventwright.report.model import Cell, Line, Mark, Picture, Section, Table
from ventwright.report.pen import Pen, cells, lines_of, mark_of, table_if
from ventwright.report.pictures.psychrometric import StreamPoint, psychrometric_chart
from ventwright.uncertainty import Verdict

_CLOSURES = ("energy", "sensible", "moisture", "mass")


def recovery_section(pen: Pen) -> Section:
    """One block for each setting and phase with air states at the unit.

    Parameters
    ----------
    pen
        What is written about.
    """
    lines: list[Line] = []
    tables: list[Table] = []
    pictures: list[Picture] = []
    for _, found in pen.systems():
        for one in found.recoveries:
            lines += _lines(pen, found, one)
            tables += _states(pen, found, one)
            tables += _ratios(pen, found, one)
            tables += _rated(pen, found, one)
            tables += _refused(pen, found, one)
            tables += _closures(pen, found, one)
            pictures.append(_chart(pen, found, one))
    return Section(
        id="recovery",
        title=pen.say("section.recovery"),
        lines=tuple(lines),
        tables=tuple(tables),
        pictures=tuple(pictures),
    )


def problem_line(pen: Pen, problem: Problem, *, reading_ids: tuple[str, ...] = ()) -> Line:
    """A problem as one line: what was found, then what to do.

    Parameters
    ----------
    pen
        What is written about.
    problem
        Any problem.
    reading_ids
        Readings it speaks of.
    """
    parts = [s for s in (pen.told(problem.message), pen.told(problem.remedy)) if s]
    mark = Mark.NOTE if problem.severity is Severity.NOTE else Mark.CAUTION
    if problem.severity in (Severity.REFUSAL, Severity.MISTAKE):
        mark = Mark.NOT_SHOWN
    return Line(text=" ".join(parts), mark=mark, reading_ids=reading_ids)


def _place(pen: Pen, one: RecoveryFinding) -> dict[str, str]:
    return {"setting": pen.setting(one.setting), "phase": pen.phase(one.phase)}


def _suffix(found: SystemFindings, one: RecoveryFinding) -> str:
    return f"{found.system_id}-{one.setting}-{one.phase.value}"


def _lines(pen: Pen, found: SystemFindings, one: RecoveryFinding) -> Iterator[Line]:
    head = pen.of_system(found.system_id)
    if one.missing:
        text = pen.say("recovery.missing", missing=pen.streams(one.missing), **_place(pen, one))
        yield Line(text=head + text, mark=Mark.NOT_SHOWN, reading_ids=one.reading_ids)
    result = one.result
    if result is None:
        return
    m = pen.measures
    heat, water = result.recovered_heat_w, result.recovered_moisture_kg_s
    texts = []
    if heat is not None:
        texts.append(
            pen.say("recovery.recovered-heat", value=m.estimate(heat, Dimension.HEAT_RATE))
        )
    if water is not None:
        texts.append(
            pen.say("recovery.recovered-moisture", value=m.estimate(water, Dimension.MOISTURE_RATE))
        )
    place = f"{head}{one.setting}, {pen.phase(one.phase)}: "
    yield from lines_of(place + t for t in texts)
    closures = [getattr(result, f"{c}_closure") for c in _CLOSURES]
    told = [f for c in closures for f in c.flags if f.severity is not Severity.NOTE]
    flags = [*result.flags, *told]
    for problem in dict.fromkeys(f for f in flags if f.severity is not Severity.REFUSAL):
        line = problem_line(pen, problem, reading_ids=one.reading_ids)
        yield Line(text=place + line.text, mark=line.mark, reading_ids=line.reading_ids)
    yield from lines_of(place + pen.told(a.message) for a in result.advice)


def _states(pen: Pen, found: SystemFindings, one: RecoveryFinding) -> tuple[Table, ...]:
    m = pen.measures
    flows = {
        name: f.figure.flow_m3_s
        for name, f in found.flows
        if f.setting == one.setting and f.phase is one.phase
    }
    rows = [
        cells(
            f"{pen.stream(kind)} ({pen.say(f'habit.{kind.value}')})",
            m.estimate_number(air.temperature_c, Dimension.TEMPERATURE),
            m.estimate_number(air.rel_humidity_frac, Dimension.FRACTION),
            m.estimate_number(air.dew_point_c, Dimension.TEMPERATURE),
            m.estimate_number(air.humidity_ratio_kg_kg, Dimension.HUMIDITY_RATIO),
            m.estimate_number(flows.get(kind.value), Dimension.FLOW),
        )
        for kind, air in one.streams
    ]
    numbers = ("temperature", "humidity", "dew_point", "humidity_ratio", "flow")
    return table_if(
        rows,
        id=f"streams-{_suffix(found, one)}",
        title=pen.of_system(found.system_id) + pen.say("recovery.states", **_place(pen, one)),
        columns=pen.columns(
            "stream",
            *numbers,
            numbers=numbers,
            temperature=m.symbol(Dimension.TEMPERATURE),
            humidity=m.symbol(Dimension.FRACTION),
            dew_point=m.symbol(Dimension.TEMPERATURE),
            humidity_ratio=m.symbol(Dimension.HUMIDITY_RATIO),
            flow=m.symbol(Dimension.FLOW),
        ),
        note=pen.say("recovery.states-note"),
    )


def _ratios(pen: Pen, found: SystemFindings, one: RecoveryFinding) -> tuple[Table, ...]:
    if one.result is None:
        return ()
    rows = []
    for r in one.result.ratios():
        if r.estimate is None or r.interval is None:
            continue
        rows.append(
            cells(
                r.definition,
                pen.measures.value(r.estimate, Dimension.FRACTION),
                pen.measures.interval(r.interval, Dimension.FRACTION),
                f"{r.standard}; {pen.say(f'known.{r.trust.value}')}",
                "; ".join(pen.in_measures(f.message) for f in r.flags),
            )
        )
    return table_if(
        rows,
        id=f"ratios-{_suffix(found, one)}",
        title=pen.of_system(found.system_id) + pen.say("recovery.ratios", **_place(pen, one)),
        columns=pen.columns(
            "figure",
            "value",
            "interval",
            "named_and_known",
            "note",
            numbers=("value", "interval"),
            optional=("note",),
        ),
        note=pen.say("recovery.ratios-note"),
    )


def _rated(pen: Pen, found: SystemFindings, one: RecoveryFinding) -> tuple[Table, ...]:
    """Each measured figure against the rating of the same kind at the measured flow."""
    if one.result is None:
        return ()
    figures = {r.kind: r for r in one.result.ratios()}
    m = pen.measures
    rows = []
    for kind, c in one.rated:
        figure = figures[kind]
        note = " ".join(pen.told(t) for f in c.flags for t in (f.message, f.remedy) if t)
        verdict = Cell(text=pen.verdict(Verdict.NOT_SHOWN), mark=Mark.NOT_SHOWN)
        if c.decision is not None:
            word = pen.say(f"recovery.rated-{c.decision.verdict.value}")
            verdict = Cell(text=word, mark=mark_of(c.decision.verdict))
        rows.append(
            cells(
                figure.definition,
                m.estimate_number(figure.estimate, Dimension.FRACTION),
                m.estimate_number(c.rated_ratio, Dimension.FRACTION),
                m.estimate_number(c.gap_ratio, Dimension.FRACTION),
                verdict,
                note,
            )
        )
    share = m.symbol(Dimension.FRACTION)
    numbers = ("measured", "rated", "gap")
    return table_if(
        rows,
        id=f"rated-{_suffix(found, one)}",
        title=pen.of_system(found.system_id) + pen.say("recovery.rated", **_place(pen, one)),
        columns=pen.columns(
            "figure",
            *numbers,
            "reaches",
            "note",
            numbers=numbers,
            optional=("note",),
            **dict.fromkeys(numbers, share),
        ),
        note=pen.say("recovery.rated-note"),
    )


def _refused(pen: Pen, found: SystemFindings, one: RecoveryFinding) -> tuple[Table, ...]:
    """Refusals of one cause stand in one row."""
    if one.result is None:
        return ()
    by_cause: dict[tuple[str, str], list[str]] = {}
    for r in one.result.ratios():
        for flag in r.flags:
            if flag.severity is Severity.REFUSAL:
                by_cause.setdefault((flag.message, flag.remedy), []).append(r.definition)
    rows = [
        cells(Cell(text="; ".join(names), mark=Mark.NOT_SHOWN), pen.told(message), pen.told(remedy))
        for (message, remedy), names in by_cause.items()
    ]
    return table_if(
        rows,
        id=f"refused-ratios-{_suffix(found, one)}",
        title=pen.say("recovery.refused"),
        columns=pen.columns("figure", "cause", "remedy"),
    )


def _closures(pen: Pen, found: SystemFindings, one: RecoveryFinding) -> tuple[Table, ...]:
    if one.result is None:
        return ()
    rows = []
    for name in _CLOSURES:
        c = getattr(one.result, f"{name}_closure")
        label = pen.say(f"recovery.closure-{name}")
        if c.estimate is None or c.decision is None:
            cause = "; ".join(pen.in_measures(f.message) for f in c.flags)
            rows.append(cells(label, "", "", cause, Cell(text="")))
            continue
        key = "explained" if c.is_explained else "unexplained"
        rows.append(
            cells(
                label,
                pen.measures.estimate(c.estimate, Dimension.FRACTION),
                "± " + pen.measures.text(c.limit_frac, Dimension.FRACTION, digits=0),
                pen.say(f"recovery.{key}"),
                Cell(text=pen.verdict(c.decision.verdict), mark=mark_of(c.decision.verdict)),
            )
        )
    return table_if(
        rows,
        id=f"closures-{_suffix(found, one)}",
        title=pen.say("recovery.closures"),
        columns=pen.columns(
            "balance_of",
            "gap_closure",
            "limit",
            "explained",
            "verdict",
            numbers=("gap_closure", "limit"),
        ),
        note=pen.say("recovery.closures-note"),
    )


def _chart(pen: Pen, found: SystemFindings, one: RecoveryFinding) -> Picture:
    m = pen.measures
    pressure = pen.findings.pressure_pa.value
    points = [
        StreamPoint(
            kind=kind,
            temperature_c=air.temperature_c,
            humidity_ratio_kg_kg=air.humidity_ratio_kg_kg,
        )
        for kind, air in one.streams
    ]
    words = " ".join(_spoken(pen, kind, air) for kind, air in one.streams)
    title = pen.of_system(found.system_id) + pen.say("recovery.chart", **_place(pen, one))
    note = pen.say("recovery.chart-note", pressure=f"{pressure / 100.0:.0f} hPa")
    return Picture(
        id=f"psychrometric-{_suffix(found, one)}",
        svg=psychrometric_chart(points, pressure_pa=pressure, measures=m, words=pen.words),
        alt=pen.say("recovery.chart-alt", rows=words),
        caption=f"{title}. {note}",
        follows=f"streams-{_suffix(found, one)}",
    )


def _spoken(pen: Pen, kind: AirKind, air: AirEstimate) -> str:
    m = pen.measures
    return pen.say(
        "recovery.chart-row",
        stream=pen.stream(kind),
        temperature=m.value(air.temperature_c, Dimension.TEMPERATURE),
        humidity=m.value(air.rel_humidity_frac, Dimension.FRACTION),
        ratio=m.value(air.humidity_ratio_kg_kg, Dimension.HUMIDITY_RATIO),
    )
