"""The record of the visit: conditions, faults, settings as left, instruments, readings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ventwright.house import Adjustment, Conditions, FinalSetting, Instrument, Method, Outcome
from ventwright.quantities import Dimension
from ventwright.report.model import Cell, Line, Mark, Section, Table
from ventwright.report.pen import Pen, cells, lines_of, table_if

_YES_NO = (
    "are_windows_shut",
    "are_inner_doors_shut",
    "are_other_fans_off",
    "are_combustion_appliances_off",
    "are_filters_clean",
)
_CHANNELS = (
    ("velocity", "m_s", Dimension.VELOCITY),
    ("pressure", "pa", Dimension.PRESSURE),
    ("flow", "m3_s", Dimension.FLOW),
    ("temperature", "k", Dimension.TEMPERATURE_DIFF),
    ("humidity", "frac", Dimension.FRACTION),
    ("power", "w", Dimension.POWER),
)


def conditions_section(pen: Pen) -> Section:
    """What the house and the weather were like; what nobody wrote down is said so.

    Parameters
    ----------
    pen
        What is written about.
    """
    c = pen.snapshot.visit.conditions
    unknown = Cell(text=pen.say("fact.unknown"), mark=Mark.NOTE)
    rows = [cells(pen.say(f"conditions.{key}"), text or unknown) for key, text in _weather(pen, c)]
    for value, key, mark in (
        (True, "conditions.yes", None),
        (False, "conditions.no", Mark.CAUTION),
        (None, "conditions.unsaid", Mark.NOTE),
    ):
        names = [pen.say(f"conditions.{n}") for n in _YES_NO if getattr(c, n) is value]
        if names:
            rows.append(cells(pen.say(key), Cell(text=", ".join(names), mark=mark)))
    rows += [
        cells(pen.say(f"conditions.{key}"), text)
        for key, text in (("note", c.note), ("visit-note", pen.snapshot.visit.note))
        if text
    ]
    return Section(
        id="conditions",
        title=pen.say("section.conditions"),
        tables=table_if(
            rows,
            id="conditions",
            title=pen.say("conditions.table"),
            columns=pen.columns("condition", "written"),
        ),
    )


def _weather(pen: Pen, c: Conditions) -> Iterator[tuple[str, str]]:
    m = pen.measures
    for key, t, rh in (
        ("outdoor", c.outdoor_temperature_c, c.outdoor_rel_humidity_frac),
        ("indoor", c.indoor_temperature_c, c.indoor_rel_humidity_frac),
    ):
        parts = [m.plain(t, Dimension.TEMPERATURE), m.plain(rh, Dimension.FRACTION)]
        yield key, ", ".join(p for p in parts if p)
    yield "wind", m.wind(c.wind_speed_m_s)


def walk_through_section(pen: Pen) -> Section:
    """What was looked at and what was found there.

    Parameters
    ----------
    pen
        What is written about.
    """
    rows = []
    alike: dict[Outcome, list[str]] = {}
    for e in pen.findings.walk_through:
        sound = pen.measures.text(e.sound_level_db_a, Dimension.SOUND_LEVEL, digits=0)
        item = pen.say(f"walk-through.{e.item.value}")
        note = "; ".join(t for t in (e.note, sound) if t)
        if note or e.place or e.photo:
            rows.append(cells(item, _outcome(pen, e.outcome), e.place, note, e.photo))
        else:
            alike.setdefault(e.outcome, []).append(item)
    # Where nothing more is said, what was found alike shares a row.
    rows += [cells(", ".join(i), _outcome(pen, o), "", "", "") for o, i in alike.items()]
    looked_at = table_if(
        rows,
        id="walk-through",
        title=pen.say("walk-through.table"),
        columns=pen.columns(
            "item", "outcome", "place", "note", "photo", optional=("place", "note", "photo")
        ),
    )
    return Section(
        id="walk-through",
        title=pen.say("section.walk-through"),
        lines=() if rows else lines_of([pen.say("walk-through.none")]),
        tables=(*looked_at, *_notes(pen)),
    )


def _notes(pen: Pen) -> tuple[Table, ...]:
    """Remarks written down on site, each with its place."""
    notes = pen.snapshot.visit.notes
    return table_if(
        [cells(n.text, pen.terminal(n.where.removeprefix("terminal:"))) for n in notes],
        id="notes",
        title=pen.say("walk-through.notes"),
        columns=pen.columns("note", "place", optional=("place",)),
    )


def _outcome(pen: Pen, outcome: Outcome) -> Cell:
    mark = Mark.CAUTION if outcome is Outcome.FAULT else None
    return Cell(text=pen.say(f"outcome.{outcome.value}"), mark=mark)


def punch_list_section(pen: Pen) -> Section:
    """Faults: what, where, who mends them, and whether they were tested again.

    Parameters
    ----------
    pen
        What is written about.
    """
    rows = []
    for f in pen.findings.punch_list:
        state = pen.say("punch-list.mended" if f.is_mended else "punch-list.open")
        if f.retest_reading:
            state += ", " + pen.say("punch-list.retest", id=f.retest_reading)
        mark = Mark.MET if f.is_mended else Mark.CAUTION
        rows.append(cells(f.id, f.what, f.where, f.photo, f.who, Cell(text=state, mark=mark)))
    return Section(
        id="punch-list",
        title=pen.say("section.punch-list"),
        lines=() if rows else lines_of([pen.say("punch-list.none")]),
        tables=table_if(
            rows,
            id="punch-list",
            title=pen.say("punch-list.table"),
            columns=pen.columns(
                "id", "what", "where", "photo", "who", "state", optional=("photo",)
            ),
        ),
    )


def settings_section(pen: Pen) -> Section:
    """How everything was left, so that it can be put back.

    Parameters
    ----------
    pen
        What is written about.
    """
    rows = [_final(pen, f) for f in pen.findings.final_settings]
    return Section(
        id="settings",
        title=pen.say("section.settings"),
        lines=() if rows else (Line(text=pen.say("settings.none"), mark=Mark.CAUTION),),
        tables=(
            *table_if(
                rows,
                id="settings-final",
                title=pen.say("settings.final"),
                columns=pen.columns(
                    "what", "kind", "setting", "left", "state", "note", optional=("setting", "note")
                ),
            ),
        ),
    )


def changes_section(pen: Pen) -> Section:
    """Every turn of a damper and step of a fan in the visit, in the order made.

    Parameters
    ----------
    pen
        What is written about.
    """
    changes = [_change(pen, a) for a in pen.snapshot.visit.adjustments]
    return Section(
        id="changes",
        title=pen.say("section.changes"),
        tables=table_if(
            changes,
            id="settings-changes",
            title=pen.say("settings.changes"),
            columns=pen.columns("what", "kind", "left", "note", optional=("note",)),
        ),
    )


def _target(pen: Pen, target: str, kind: str) -> str:
    if kind == "terminal":
        return pen.terminal(target)
    return pen.setting(target) if kind == "fan" else target


def _position(pen: Pen, one: FinalSetting | Adjustment) -> list[str]:
    m = pen.measures
    parts = [
        (one.opening_turns, Dimension.TURNS, "open", "turns"),
        (getattr(one, "turned_turns", None), Dimension.TURNS, "turned", "turns"),
        (one.position_deg, Dimension.ANGLE, "angle", "angle"),
        (one.speed_frac, Dimension.FRACTION, "speed", "speed"),
        (getattr(one, "stop_flow_m3_s", None), Dimension.FLOW, "stop", "flow"),
    ]
    return [
        pen.say(f"settings.{key}", **{place: m.plain(value, dimension)})
        for value, dimension, key, place in parts
        if value is not None
    ]


def _final(pen: Pen, f: FinalSetting) -> tuple[Cell, ...]:
    states = [
        pen.say(f"settings.{word if value else 'not-' + word}")
        for value, word in (
            (f.is_locked, "locked"),
            (f.is_marked, "marked"),
            (f.are_ports_plugged, "plugged"),
        )
        if value is not None
    ]
    return cells(
        _target(pen, f.target, f.kind.value),
        pen.say(f"settings.{f.kind.value}"),
        f.setting or "",
        ", ".join(_position(pen, f)),
        ", ".join(states),
        f.note,
    )


def _change(pen: Pen, a: Adjustment) -> tuple[Cell, ...]:
    parts = _position(pen, a)
    if a.after_reading:
        parts.append(pen.say("settings.after", id=a.after_reading))
    return cells(
        _target(pen, a.target, a.kind.value),
        pen.say(f"settings.{a.kind.value}"),
        ", ".join(parts),
        a.note,
    )


def instruments_section(pen: Pen) -> Section:
    """Instruments with calibration and accuracy.

    Parameters
    ----------
    pen
        What is written about.
    """
    used = Counter((f.instrument_id or "", f.method) for f in pen.findings.readings)
    rows = [
        cells(
            i.id,
            pen.say(f"instruments.{i.kind.value}"),
            i.name,
            i.serial_no,
            i.certificate_no,
            i.calibrated_on.isoformat() if i.calibrated_on else "",
            i.calibration_due.isoformat() if i.calibration_due else "",
            _accuracy(pen, i),
            _uses(pen, i.id, used),
        )
        for i in pen.snapshot.visit.instruments
    ]
    return Section(
        id="instruments",
        title=pen.say("section.instruments"),
        lines=() if rows else lines_of([pen.say("instruments.none")]),
        tables=table_if(
            rows,
            id="instruments",
            title=pen.say("instruments.table"),
            columns=pen.columns(
                "id",
                "kind",
                "name",
                "serial",
                "certificate",
                "calibrated",
                "due",
                "accuracy",
                "used_for",
            ),
            note=pen.say("instruments.note"),
        ),
    )


def _uses(pen: Pen, instrument_id: str, used: Counter[tuple[str, Method]]) -> str:
    """Methods an instrument served, with how many readings in force each gave."""
    return ", ".join(
        f"{pen.say(f'method.{method.value}')} × {count}"
        for (id_, method), count in used.items()
        if id_ == instrument_id
    )


def _accuracy(pen: Pen, i: Instrument) -> str:
    parts = []
    for name, suffix, dimension in _CHANNELS:
        channel = getattr(i, name)
        if channel is None:
            continue
        share = getattr(channel, "accuracy_of_reading_frac", None)
        fixed = getattr(channel, f"accuracy_fixed_{suffix}", None)
        limits = []
        if share is not None:
            value = pen.measures.plain(share, Dimension.FRACTION)
            limits.append(pen.say("instruments.of-reading", value=value))
        if fixed is not None:
            value = pen.measures.about(fixed, dimension)
            limits.append(pen.say("instruments.fixed", value=value))
        stated = ", ".join(limits) or pen.say("instruments.typical")
        parts.append(f"{pen.say(f'instruments.{name}')} {stated}")
    if not parts:
        parts.append(pen.say("instruments.typical"))
    if i.air_reference is not None:
        parts.append(pen.say(f"instruments.{i.air_reference.value}"))
    if i.note:
        parts.append(i.note)
    return "; ".join(parts)
