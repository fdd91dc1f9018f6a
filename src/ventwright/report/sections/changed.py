"""What was changed in the visit, for those who live there, and each room before and after."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ventwright.findings import SystemFindings
from ventwright.house import Adjustment, AdjustmentKind, SettingRole
from ventwright.report.model import Picture, Section
from ventwright.report.pen import Pen, lines_of
from ventwright.report.sections.flows import flow_picture

_TURNED = (AdjustmentKind.TERMINAL, AdjustmentKind.DAMPER)


def changed_section(pen: Pen) -> Section:
    """Changes in a few sentences, with the everyday setting as found and as left.

    Parameters
    ----------
    pen
        What is written about.
    """
    texts = list(_texts(pen))
    if not texts and pen.findings.readings:
        texts = [pen.say("changed.nothing")]
    return Section(
        id="changed",
        title=pen.say("section.changed"),
        lines=lines_of(texts),
        pictures=tuple(_pictures(pen)) if pen.snapshot.visit.adjustments else (),
    )


def _texts(pen: Pen) -> Iterator[str]:
    changes = pen.snapshot.visit.adjustments
    fans = [pen.setting_name(a.target) for a in changes if a.kind is AdjustmentKind.FAN]
    if fans:
        yield pen.say("changed.fans", names=", ".join(dict.fromkeys(fans)))
    turned = list(dict.fromkeys(_place(pen, a) for a in changes if a.kind in _TURNED))
    if turned:
        yield pen.words.count("changed.turned", len(turned), names=", ".join(turned))
    for a in changes:
        if a.kind is AdjustmentKind.FILTER:
            yield pen.say("changed.filter", note=a.note) if a.note else pen.say("changed.filters")
        elif a.kind is AdjustmentKind.OTHER and a.note:
            yield pen.say("changed.other", place=_place(pen, a), note=a.note)
    for fault in pen.findings.punch_list:
        if fault.is_mended:
            what = f"{fault.what} ({fault.where})" if fault.where else fault.what
            yield pen.say("changed.mended", what=what)


def _place(pen: Pen, a: Adjustment) -> str:
    """Room of a terminal, or the id of a branch with its damper's place."""
    house = pen.snapshot.house
    rooms = {r.id: r.name or r.id for r in house.rooms}
    for system in house.systems:
        for t in system.terminals:
            if t.id == a.target:
                return rooms.get(t.room, "") or t.name or t.id
        for b in system.branches:
            if b.id == a.target:
                return b.name or b.id
    return a.target


def _pictures(pen: Pen) -> Iterator[Picture]:
    """The chart of each system's everyday setting, if both phases were read somewhere in it."""
    for system, found in pen.systems():
        everyday = [f.id for f in system.fan_settings if f.role is SettingRole.CONTINUOUS]
        for setting in everyday[:1]:
            yield from _chart(pen, found, setting)


def _chart(pen: Pen, found: SystemFindings, setting: str) -> Iterator[Picture]:
    terminals = [t for t in found.terminals if t.setting == setting]
    if any(t.as_found for t in terminals) and any(t.as_left for t in terminals):
        drawn = flow_picture(pen, found, setting, terminals, is_plain=True)
        yield replace(
            drawn,
            id=f"changed-{found.system_id}",
            caption=pen.of_system(found.system_id)
            + pen.say("changed.picture", setting=pen.setting_name(setting)),
            follows="",
        )
