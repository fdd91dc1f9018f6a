"""Bathrooms while a shower runs: a table, a picture, and what nobody could work out."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ventwright.findings import ShowerCourse, WetRoomFinding
from ventwright.quantities import Dimension
from ventwright.report.model import Cell, Line, Mark, Picture, Table
from ventwright.report.pen import Pen, cells, table_if
from ventwright.report.pictures.fogging import ShowerCurve, ShowerPanel, fogging_chart

_TABLE = "wet-rooms"


def shower_lines(pen: Pen) -> tuple[Line, ...]:
    """Bathrooms that nothing could be worked out for, and air that is assumed.

    Parameters
    ----------
    pen
        What is written about.
    """
    found = pen.findings.wet_rooms
    texts = [
        pen.say("wet-rooms.unknown", name=f.room_name, reason=pen.reason(f.reason_code))
        for f in found
        if f.reason_code
    ]
    if any(f.is_air_assumed for f in found):
        texts.append(pen.say("wet-rooms.air-assumed"))
    return tuple(Line(text=t, mark=Mark.NOT_SHOWN) for t in texts)


def shower_tables(pen: Pen) -> tuple[Table, ...]:
    """A row for each bathroom and setting.

    Parameters
    ----------
    pen
        What is written about.
    """
    shown = [f for f in pen.findings.wet_rooms if f.courses]
    if not shown:
        return ()
    flow = pen.measures.symbol(Dimension.FLOW)
    low, middle, high = (f"{60e3 * v:.0f}" for v in shown[0].vapour_kg_s)
    numbers = (
        "room_volume",
        "shower_extract",
        "shower_fogs",
        "shower_clears",
        "shower_peak",
        "free_extract",
        "soon_extract",
    )
    return table_if(
        [_row(pen, f, course) for f in shown for course in f.courses],
        id=_TABLE,
        title=pen.say("wet-rooms.table"),
        columns=pen.columns(
            "room",
            "setting",
            *numbers,
            numbers=numbers,
            room_volume=pen.measures.symbol(Dimension.VOLUME),
            shower_extract=flow,
            shower_fogs="min",
            shower_clears="min",
            shower_peak="%",
            free_extract=flow,
            soon_extract=flow,
        ),
        note=pen.say(
            "wet-rooms.note",
            shower=_whole_minutes(pen, shown[0].shower_s),
            soon=_whole_minutes(pen, shown[0].soon_s),
            mirror=pen.measures.text(shown[0].mirror_m2, Dimension.AREA, digits=0),
            low=low,
            middle=middle,
            high=high,
        ),
    )


def _whole_minutes(pen: Pen, time_s: float) -> str:
    return pen.say("wet-rooms.minutes", minutes=f"{time_s / 60.0:.0f}")


def _row(pen: Pen, f: WetRoomFinding, course: ShowerCourse) -> tuple[Cell, ...]:
    m = pen.measures
    volume = m.number(f.volume_m3, Dimension.VOLUME, digits=0)
    if f.is_volume_assumed:
        volume = pen.say("wet-rooms.assumed-volume", value=volume)
    return cells(
        f.room_name,
        course.setting,
        volume,
        m.estimate_number(course.extract_m3_s, Dimension.FLOW),
        _range(pen, course.fogs_at_s, lambda t: _fogs(pen, t)),
        _range(pen, course.clears_after_s, lambda t: _clears(pen, f, t)),
        _range(pen, course.peak_rel_humidity_frac, lambda p: f"{100.0 * (p or 0.0):.0f}"),
        _need(pen, f.free_extract_m3_s),
        _need(pen, f.soon_extract_m3_s),
    )


def _range(pen: Pen, values: Sequence[float | None], write: Callable[[float | None], str]) -> str:
    """Middle, and in brackets the ends where they read otherwise."""
    low, middle, high = (write(v) for v in values)
    if low == middle == high:
        return middle
    return pen.say("wet-rooms.range", low=low, middle=middle, high=high)


def _fogs(pen: Pen, time_s: float | None) -> str:
    return pen.say("wet-rooms.never") if time_s is None else f"{time_s / 60.0:.0f}"


def _clears(pen: Pen, f: WetRoomFinding, time_s: float | None) -> str:
    if time_s is None:
        return pen.say("wet-rooms.still", minutes=f"{(f.run_s - f.shower_s) / 60.0:.0f}")
    return f"{time_s / 60.0:.0f}"


def _need(pen: Pen, flow_m3_s: float | None) -> str:
    if flow_m3_s is None:
        return pen.say("wet-rooms.out-of-reach")
    if flow_m3_s == 0.0:
        return pen.say("wet-rooms.not-needed")
    return pen.measures.number(flow_m3_s, Dimension.FLOW, digits=0)


def shower_pictures(pen: Pen) -> tuple[Picture, ...]:
    """Humidity over time, a panel for each bathroom.

    Parameters
    ----------
    pen
        What is written about.
    """
    shown = [f for f in pen.findings.wet_rooms if f.courses]
    if not shown:
        return ()
    rows = " ".join(_spoken(pen, f, course) for f in shown for course in f.courses)
    return (
        Picture(
            id="fogging",
            svg=fogging_chart([_panel(pen, f) for f in shown], words=pen.words),
            alt=pen.say("wet-rooms.picture-alt", minutes=f"{shown[0].run_s / 60.0:.0f}", rows=rows),
            caption=f"{pen.say('wet-rooms.picture')}. {pen.say('wet-rooms.picture-note')}",
            follows=_TABLE,
        ),
    )


def _spoken(pen: Pen, f: WetRoomFinding, course: ShowerCourse) -> str:
    name, peak = f.room_name, f"{100.0 * course.peak_rel_humidity_frac[1]:.0f} %"
    if course.fogs_at_s[1] is None:
        return pen.say("wet-rooms.picture-row-free", name=name, setting=course.setting, peak=peak)
    return pen.say(
        "wet-rooms.picture-row",
        name=name,
        setting=course.setting,
        peak=peak,
        fogs=_fogs(pen, course.fogs_at_s[1]),
        clears=_clears(pen, f, course.clears_after_s[1]),
    )


def _panel(pen: Pen, f: WetRoomFinding) -> ShowerPanel:
    first = f.courses[0]
    fogs_s, clears_s = first.fogs_at_s[1], first.clears_after_s[1]
    end_s = f.run_s if clears_s is None else f.shower_s + clears_s
    return ShowerPanel(
        label=f.room_name,
        shower_s=f.shower_s,
        run_s=f.run_s,
        fogged_s=None if fogs_s is None else (fogs_s, end_s),
        curves=tuple(
            ShowerCurve(
                label=f"{c.setting}, {pen.measures.value(c.extract_m3_s, Dimension.FLOW)}",
                points=tuple(zip(c.curve_time_s, c.curve_rel_humidity_frac, strict=True)),
            )
            for c in f.courses
        ),
    )
