"""A sheet for those who live with the ventilation: filters, boost, drains, when to call."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.house import FanSetting, SettingRole
from ventwright.report.model import Cell, Line, Picture, Section
from ventwright.report.pen import Pen, cells, table_if
from ventwright.report.photos import photo_svg


def care_section(pen: Pen) -> Section:
    """What to look after, how often, and whom to call; none for a house without a system.

    Parameters
    ----------
    pen
        What is written about.
    """
    if not pen.snapshot.house.systems:
        return Section(id="care", title=pen.say("section.care"))
    rows = [
        cells(
            pen.say(f"care.{key}"),
            pen.say(f"care.{key}-do", **values),
            pen.say(f"care.{key}-when"),
        )
        for key, values in _items(pen)
    ]
    return Section(
        id="care",
        title=pen.say("section.care"),
        lines=tuple(_lines(pen)),
        tables=table_if(
            rows,
            id="care",
            title=pen.say("care.table"),
            columns=pen.columns("item", "what_to_do", "when"),
            note=pen.say("care.note"),
        ),
    )


def _lines(pen: Pen) -> Iterator[Line]:
    for system in pen.snapshot.house.systems:
        unit = system.ventilation_unit
        place = pen.say("care.place", place=unit.place) if unit.place else ""
        head = pen.of_system(system.id)
        yield Line(text=head + pen.say("care.unit", name=unit.name, place=place).strip())


def _settings(pen: Pen, role: SettingRole) -> list[FanSetting]:
    return [f for s in pen.snapshot.house.systems for f in s.fan_settings if f.role is role]


def _items(pen: Pen) -> Iterator[tuple[str, dict[str, str]]]:
    everyday = _settings(pen, SettingRole.CONTINUOUS)
    if everyday:
        yield "everyday", {"names": _names(pen, everyday)}
    boost = _settings(pen, SettingRole.BOOST)
    if boost:
        yield "boost", {"names": _names(pen, boost)}
    yield "filters", {}
    yield "intake", {}
    yield "terminals", {}
    yield "doors", {}
    yield "drain", {}
    if pen.snapshot.house.surfaces:
        yield "wet", {}
    yield "call", {}


def _names(pen: Pen, settings: list[FanSetting]) -> str:
    return ", ".join(dict.fromkeys(pen.setting_name(f.id) for f in settings))


def signatures_section(pen: Pen) -> Section:
    """Names under the record as signed, and room for those still to sign.

    Parameters
    ----------
    pen
        What is written about.
    """
    signed = [
        cells(
            pen.say(f"signer.{s.role.value}"),
            s.name,
            s.signed_at.date().isoformat() if s.signed_at else "",
            s.statement,
        )
        for s in pen.snapshot.visit.signatures
    ]
    taken = {s.role.value for s in pen.snapshot.visit.signatures}
    blank = Cell(text=" ")
    room = [
        cells(pen.say(f"signer.{role}"), blank, blank, pen.say(f"signatures.{role}"))
        for role in ("technician", "owner", "official")
        if role not in taken
    ]
    columns = pen.columns("signed_for", "signature", "day", "statement")
    return Section(
        id="signatures",
        title=pen.say("section.signatures"),
        pictures=tuple(_drawn(pen)),
        tables=(
            *table_if(signed, id="signatures", title=pen.say("signatures.table"), columns=columns),
            *table_if(
                room,
                id="signatures-room",
                title=pen.say("signatures.room"),
                columns=columns,
                is_form=True,
            ),
        ),
    )


def _drawn(pen: Pen) -> Iterator[Picture]:
    """Signatures that were drawn, as far as the drawings are at hand."""
    for signature in pen.snapshot.visit.signatures:
        content = pen.photos.get(signature.picture_sha256 or "")
        drawing = None if content is None else photo_svg(content)
        if drawing is not None:
            yield Picture(
                id=f"signature-{signature.id}",
                svg=drawing,
                alt=pen.say("signatures.alt", name=signature.name),
                caption=signature.name,
                follows="signatures",
            )
