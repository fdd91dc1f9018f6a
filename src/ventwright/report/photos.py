"""Photos as pictures: upright, no larger than print needs, silent on place, camera and hour."""

from __future__ import annotations

import base64
import io
import struct
import warnings
from collections.abc import Iterator

from ventwright.report.pictures import svg

MOST_PIXELS = 1400
"""Longer side of a printed photo: 85 mm at 400 dots an inch. A larger one is made smaller."""
MOST_BYTES = 2_000_000
"""A photo of more is made anew at the same size: a report is sent by mail."""
_MOST_PIXELS_READ = 170_000_000
"""A file that claims more is taken for damaged, not unpacked."""
_QUALITY = 82
_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = frozenset({b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND"})
_JPEG_KEPT = frozenset({0xE0, 0xEE})
"""Of the segments for applications: the frame's own and that on colour. Place, camera and hour
stand in others."""
_SCAN, _EXIF, _ORIENTATION = 0xDA, 0xE1, 0x0112
_TURNS = {3: 180, 6: 90, 8: 270}


def photo_svg(content: bytes) -> str | None:
    """A photo in a drawing of its own size, turned upright.

    Pixels of a photo within `MOST_PIXELS` and `MOST_BYTES` stay as they were compressed; a larger
    one is made smaller, always in the same way.

    Parameters
    ----------
    content
        JPEG, PNG or WebP.

    Returns
    -------
    str or None
        None for another kind of file or a damaged one.
    """
    try:
        if content.startswith(_PNG):
            kept, wide, tall = _png(content)
            if _fits(content, wide, tall):
                return _drawing(kept, wide, tall, "image/png", turn_deg=0)
        elif content.startswith(b"\xff\xd8"):
            kept, wide, tall, turn_deg = _jpeg(content)
            if _fits(content, wide, tall):
                return _drawing(kept, wide, tall, "image/jpeg", turn_deg=turn_deg)
        elif not (content.startswith(b"RIFF") and content[8:12] == b"WEBP"):
            return None
        return _drawing(*_smaller(content), "image/jpeg", turn_deg=0)
    except (struct.error, IndexError, ValueError, OSError, SyntaxError):
        # Cut off in the middle: nothing can be shown of it.
        return None


def _fits(content: bytes, wide: int, tall: int) -> bool:
    return max(wide, tall) <= MOST_PIXELS and len(content) <= MOST_BYTES


def _smaller(content: bytes) -> tuple[bytes, int, int]:
    """The photo as JPEG, upright, without notes, no longer than `MOST_PIXELS`."""
    # Slow to import, and most reports have no such photo.
    from PIL import Image, ImageOps

    with warnings.catch_warnings():
        # Its own warning comes far below the size of a phone's photo; its refusal stands.
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        try:
            opened = Image.open(io.BytesIO(content), formats=("JPEG", "PNG", "WEBP"))
        except Image.DecompressionBombError as mistake:
            raise ValueError("no photo has so many pixels") from mistake
    with opened:
        if opened.width * opened.height > _MOST_PIXELS_READ:
            raise ValueError("no photo has so many pixels")
        # A JPEG can be read at half or a quarter of its size at once.
        opened.draft("RGB", (MOST_PIXELS, MOST_PIXELS))
        upright = ImageOps.exif_transpose(opened).convert("RGBA")
    paper = Image.new("RGBA", upright.size, "white")
    flat = Image.alpha_composite(paper, upright).convert("RGB")
    flat.thumbnail((MOST_PIXELS, MOST_PIXELS), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    flat.save(out, "JPEG", quality=_QUALITY, subsampling=2, optimize=False)
    return out.getvalue(), *flat.size


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


def _jpeg(content: bytes) -> tuple[bytes, int, int, int]:
    """What is kept of the file, its size as it lies, and the turn that sets it upright."""
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
    return b"".join(kept), *size, turn_deg


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
