"""Photos of the visit: each with what it shows; those at hand are printed."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.house import Photo
from ventwright.report.model import Cell, Mark, Picture, Section
from ventwright.report.pen import Pen, cells, table_if
from ventwright.report.photos import photo_svg


def photos_section(pen: Pen) -> Section:
    """A list of all photos of the visit, and the pictures.

    Parameters
    ----------
    pen
        What is written about.
    """
    photos = pen.snapshot.visit.photos
    drawn = list(_pictures(pen, photos))
    shown = {picture.id for picture in drawn}
    rows = [_row(pen, p, is_shown=_id(p) in shown) for p in photos]
    return Section(
        id="photos",
        title=pen.say("section.photos"),
        tables=table_if(
            rows,
            id="photos",
            title=pen.say("photos.table"),
            columns=pen.columns(
                "id", "what", "about", "place", "day", "state", optional=("about", "place", "day")
            ),
            note=pen.say("photos.note"),
        ),
        pictures=tuple(drawn),
    )


def _id(photo: Photo) -> str:
    return f"photo-{photo.id}"


def _about(pen: Pen, photo: Photo) -> str:
    """The fault a photo belongs to in its own words, else the id of what it belongs to."""
    faults = {f.id: f.what for f in pen.findings.punch_list}
    return faults.get(photo.about or "", photo.about or "")


def _row(pen: Pen, photo: Photo, *, is_shown: bool) -> tuple[Cell, ...]:
    word = pen.say("photos.shown" if is_shown else "photos.kept", hash=photo.sha256[:16])
    return cells(
        photo.id,
        photo.caption,
        _about(pen, photo),
        photo.where,
        "" if photo.taken_at is None else photo.taken_at.date().isoformat(),
        Cell(text=word, mark=None if is_shown else Mark.NOTE),
    )


def _pictures(pen: Pen, photos: tuple[Photo, ...]) -> Iterator[Picture]:
    for photo in photos:
        content = pen.photos.get(photo.sha256)
        drawing = None if content is None else photo_svg(content)
        if drawing is not None:
            words = [photo.caption or _about(pen, photo) or photo.id, photo.where]
            told = ", ".join(w for w in words if w)
            yield Picture(
                id=_id(photo),
                svg=drawing,
                alt=pen.say("photos.alt", what=told),
                caption=f"{photo.id}: {told}",
                follows="photos",
            )
