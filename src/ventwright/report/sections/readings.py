"""Readings as they were typed, and how each became a figure."""

from __future__ import annotations

from ventwright.findings import ReadingFinding
from ventwright.house import Method, Reading
from ventwright.quantities import Dimension
from ventwright.report.model import Cell, Mark, Section
from ventwright.report.pen import Pen, cells, lines_of, table_if

_SCALARS = {
    "surface_temperature": Dimension.TEMPERATURE,
    "power": Dimension.POWER,
    "barometer": Dimension.PRESSURE,
}


def readings_section(pen: Pen) -> Section:
    """Every reading in force as it was typed, with its result and whether it was used.

    Parameters
    ----------
    pen
        What is written about.
    """
    typed = {r.id: r for r in pen.snapshot.visit.readings}
    in_force = {f.reading_id for f in pen.findings.readings}
    rows = [_reading(pen, f, typed.get(f.reading_id)) for f in pen.findings.readings]
    gone = [r.id for r in pen.snapshot.visit.readings if r.id not in in_force]
    superseded = pen.say("readings.superseded", ids=", ".join(gone)) if gone else ""
    return Section(
        id="readings",
        title=pen.say("section.readings"),
        lines=lines_of([superseded]),
        tables=table_if(
            rows,
            id="readings",
            title=pen.say("readings.table"),
            columns=pen.columns(
                "id", "station", "state_of", "how", "typed", "result", numbers=("result",)
            ),
        ),
    )


def _reading(pen: Pen, f: ReadingFinding, typed: Reading | None) -> tuple[Cell, ...]:
    how = [pen.say(f"method.{f.method.value}"), f.instrument_id or ""]
    result = Cell(text=_result(pen, f))
    if not f.is_used:
        why = pen.say("readings.unused", why=pen.say(f"unused.{f.unused_code}"))
        result = Cell(text="; ".join(t for t in (result.text, why) if t), mark=Mark.NOT_SHOWN)
    return cells(
        f.reading_id,
        pen.station(f.station),
        f"{f.setting}, {pen.phase(f.phase)}",
        ", ".join(t for t in how if t),
        "" if typed is None else _as_typed(pen, typed),
        result,
    )


def _as_typed(pen: Pen, reading: Reading) -> str:
    """Fields as typed, the places of a list behind its name; then the samples of a mean."""
    fields: dict[str, list[str]] = {}
    for t in reading.typed:
        fields.setdefault(t.key.partition("[")[0], []).append(t.text)
    text = "; ".join(f"{_words(key)} {', '.join(v)}" for key, v in fields.items())
    return "; ".join(part for part in (text, _samples(pen, reading), reading.note) if part)


def _samples(pen: Pen, reading: Reading) -> str:
    kept = reading.samples
    if kept is None:
        return ""
    count = len(kept.texts)
    return pen.say("readings.samples", count=str(count), time=f"{count * kept.interval_s:.0f}")


def _words(key: str) -> str:
    """A field as it is spoken; its table's name goes before it."""
    return key.replace(".", " ").replace("_", " ")


def _result(pen: Pen, f: ReadingFinding) -> str:
    m = pen.measures
    if f.flow is not None:
        return m.estimate(f.flow.flow_m3_s, Dimension.FLOW)
    if f.air is not None:
        t = m.estimate(f.air.temperature_c, Dimension.TEMPERATURE)
        return f"{t}, {m.estimate(f.air.rel_humidity_frac, Dimension.FRACTION)}"
    if f.method is Method.PRESSURE_DIFFERENCE and f.scalar_si is not None:
        return m.house_pressure(f.scalar_si)
    dimension = _SCALARS.get(f.method.value)
    return m.estimate(f.scalar_si, dimension) if f.scalar_si is not None and dimension else ""


def methods_section(pen: Pen) -> Section:
    """How each reading became a flow; readings worked out alike share a row.

    Parameters
    ----------
    pen
        What is written about.
    """
    notes: dict[str, list[str]] = {}
    for f in pen.findings.readings:
        if f.method_note:
            notes.setdefault(pen.told(f.method_note), []).append(f.reading_id)
    return Section(
        id="methods",
        title=pen.say("section.methods"),
        tables=table_if(
            [cells(", ".join(ids), note) for note, ids in notes.items()],
            id="methods",
            title=pen.say("methods.table"),
            columns=pen.columns("readings", "worked_out"),
        ),
    )
