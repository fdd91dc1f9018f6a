"""Photos as pictures: turned upright, and without what a file tells of place, camera and hour."""

from __future__ import annotations

import base64
import struct
from collections.abc import Iterator

from ventwright.report.pictures import svg

MOST_BYTES = 2_000_000
"""A larger photo is named and not printed: a report is sent by mail."""
_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = frozenset({b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND"})
_JPEG_KEPT = frozenset({0xE0, 0xEE})
"""Of the segments for applications: the frame's own and that on colour. Place, camera and hour
stand in others."""
_SCAN, _EXIF, _ORIENTATION = 0xDA, 0xE1, 0x0112
_TURNS = {3: 180, 6: 90, 8: 270}


def photo_svg(content: bytes) -> str | None:
    """A photo in a drawing of its own size, turned upright.

    Parameters
    ----------
    content
        JPEG or PNG.

    Returns
    -------
    str or None
        None for another kind of file, a damaged one, or one over `MOST_BYTES`.
    """
    if len(content) > MOST_BYTES:
        return None
    try:
        if content.startswith(_PNG):
            return _drawing(*_png(content), "image/png", turn_deg=0)
        if content.startswith(b"\xff\xd8"):
            return _jpeg(content)
    except (struct.error, IndexError, ValueError):
        # Cut off in the middle: nothing can be shown of it.
        return None
    return None


def _drawing(
    kept: bytes, width_count: int, height_count: int, media_type: str, *, turn_deg: int
) -> str:
    if not 0 < width_count <= 20_000 or not 0 < height_count <= 20_000:
        raise ValueError("no picture has such a size")
    wide, tall = float(width_count), float(height_count)
    data = base64.b64encode(kept).decode("ascii")
    image = svg.tag(
        "image", x=0.0, y=0.0, width=wide, height=tall, href=f"data:{media_type};base64,{data}"
    )
    if turn_deg == 0:
        return svg.picture([image], width=wide, height=tall)
    moves = {90: (tall, 0.0), 180: (wide, tall), 270: (0.0, wide)}
    x, y = (svg.number(v) for v in moves[turn_deg])
    turned = svg.tag("g", image, transform=f"translate({x} {y}) rotate({turn_deg})")
    size = (wide, tall) if turn_deg == 180 else (tall, wide)
    return svg.picture([turned], width=size[0], height=size[1])


def _png(content: bytes) -> tuple[bytes, int, int]:
    kept, at = [_PNG], len(_PNG)
    width, height = struct.unpack(">II", content[16:24])
    while at < len(content):
        (size,) = struct.unpack(">I", content[at : at + 4])
        chunk = content[at : at + 12 + size]
        if len(chunk) != 12 + size:
            raise ValueError("the file is cut off")
        if chunk[4:8] in _PNG_KEPT:
            kept.append(chunk)
        at += 12 + size
    if kept[-1][4:8] != b"IEND":
        raise ValueError("the file has no end")
    return b"".join(kept), width, height


def _segments(content: bytes) -> Iterator[tuple[int, bytes]]:
    """Markers of a JPEG with their segments, up to the scan, which comes with all that follows."""
    at = 2
    while True:
        if content[at] != 0xFF:
            raise ValueError("no marker where one must be")
        marker = content[at + 1]
        if marker == _SCAN:
            yield marker, content[at:]
            return
        (size,) = struct.unpack(">H", content[at + 2 : at + 4])
        yield marker, content[at : at + 2 + size]
        at += 2 + size


def _jpeg(content: bytes) -> str:
    kept, turn_deg, size = [b"\xff\xd8"], 0, (0, 0)
    for marker, segment in _segments(content):
        if marker == _EXIF and segment[4:10] == b"Exif\0\0":
            turn_deg = _TURNS.get(_orientation(segment[10:]), 0)
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            tall, wide = struct.unpack(">HH", segment[5:9])
            size = (wide, tall)
        is_of_application = 0xE0 <= marker <= 0xEF or marker == 0xFE
        if marker in _JPEG_KEPT or not is_of_application:
            kept.append(segment)
    return _drawing(b"".join(kept), *size, "image/jpeg", turn_deg=turn_deg)


def _orientation(exif: bytes) -> int:
    order = "<" if exif[:2] == b"II" else ">"
    (first,) = struct.unpack(order + "I", exif[4:8])
    (count,) = struct.unpack(order + "H", exif[first : first + 2])
    for i in range(count):
        entry = exif[first + 2 + 12 * i : first + 14 + 12 * i]
        tag, _, _, value = struct.unpack(order + "HHIH", entry[:10])
        if tag == _ORIENTATION:
            return int(value)
    return 1
