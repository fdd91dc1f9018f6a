"""Photos and drawn signatures: bytes kept by their hash, and the entry that says what they show."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from hashlib import sha256

from ventwright.actions.record.ledger import Handed, Ledger, refuse_unknown
from ventwright.actions.record.visits import put_entry
from ventwright.house import Photo, Signature, entry_of
from ventwright.quantities import UserError

MOST_BYTES = 24 * 1024 * 1024
"""A phone's photo is a third of this."""

_MARKS = (
    (0, b"\xff\xd8\xff", "image/jpeg"),
    (0, b"\x89PNG\r\n\x1a\n", "image/png"),
    (8, b"WEBP", "image/webp"),
    (4, b"ftypheic", "image/heic"),
    (4, b"ftypmif1", "image/heif"),
    (4, b"ftypavif", "image/avif"),
)


def picture_type(content: bytes) -> str:
    """Media type of a picture, from its first bytes and not from its name.

    Parameters
    ----------
    content
        The file.

    Raises
    ------
    UserError
        If it is no picture of a known kind, or longer than 24 MiB.

    >>> picture_type(b"\\x89PNG\\r\\n\\x1a\\n....")
    'image/png'
    """
    if len(content) > MOST_BYTES:
        raise UserError(
            f"the picture is {len(content)} bytes long; at most {MOST_BYTES} are kept: "
            "send a smaller one"
        )
    for start, mark, media_type in _MARKS:
        if content[start : start + len(mark)] == mark:
            return media_type
    raise UserError("this is no picture that is known here; send JPEG, PNG, WebP, HEIF or AVIF")


def attach_photo(
    ledger: Ledger,
    visit_id: str,
    content: bytes,
    *,
    photo_id: str,
    caption: str = "",
    where: str = "",
    about: str | None = None,
    taken_at: datetime | None = None,
) -> Handed:
    """Add a photo to a visit.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    content
        The file as the phone gave it.
    photo_id
        Id made on the phone.
    caption, where
        What it shows and where.
    about
        Id of the fault, reading or note it belongs to.
    taken_at
        When.

    Raises
    ------
    UserError
        As `picture_type` and `add_entry`.

    >>> from ventwright.actions.record import look_at_visit, practice_ledger
    >>> with practice_ledger() as ledger:
    ...     _ = attach_photo(ledger, "v", b"\\xff\\xd8\\xff....", photo_id="p1", where="loft")
    ...     photo = look_at_visit(ledger, "v").visit.photos[0]
    ...     read_picture(ledger, photo.sha256)
    (b'\\xff\\xd8\\xff....', 'image/jpeg')
    """
    media_type = picture_type(content)
    photo = Photo(
        id=photo_id,
        sha256=sha256(content).hexdigest(),
        media_type=media_type,
        caption=caption,
        where=where,
        about=about,
        taken_at=taken_at,
    )
    with ledger.store.writing() as change:
        change.put_blob(content, media_type=media_type)
        return put_entry(change, ledger, visit_id, entry_of(photo))


def sign_visit(
    ledger: Ledger, visit_id: str, signature: Signature, *, picture: bytes | None = None
) -> Handed:
    """Put a person's name under a statement, with the drawn signature where there is one.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    signature
        Who signs what.
    picture
        The drawing.

    Raises
    ------
    UserError
        As `attach_photo`.

    >>> from ventwright.actions.record import look_at_visit, practice_ledger
    >>> with practice_ledger() as ledger:
    ...     _ = sign_visit(ledger, "v", Signature(id="s1", name="A. Reed", statement="seen"))
    ...     look_at_visit(ledger, "v").visit.signatures[0].name
    'A. Reed'
    """
    with ledger.store.writing() as change:
        if picture is not None:
            name = change.put_blob(picture, media_type=picture_type(picture))
            signature = replace(signature, picture_sha256=name)
        return put_entry(change, ledger, visit_id, entry_of(signature))


def read_picture(ledger: Ledger, name: str) -> tuple[bytes, str]:
    """A kept file by its hash, with its media type.

    Parameters
    ----------
    ledger
        The record.
    name
        SHA-256 of its bytes, as a photo or signature gives it.

    Raises
    ------
    UserError
        ``unknown-file``.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     try:
    ...         read_picture(ledger, "0" * 64)
    ...     except Exception as mistake:
    ...         print(mistake.problems[0].code)
    unknown-file
    """
    with ledger.store.reading() as now:
        found = now.blob(name)
    if found is None:
        raise refuse_unknown("file", name, remedy="attach it again")
    return found
