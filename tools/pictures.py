"""Draw the pictures that README and docs show, from the invented houses in ``examples``.

``python tools/pictures.py`` writes ``docs/pictures``; a name after it draws that one alone;
``--check`` compares the pixels without writing and exits 1 where a picture is stale or missing.
To add a picture: write a function that returns PNG bytes and list it in `PICTURES`.
"""

from __future__ import annotations

import argparse
import struct
import sys
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ventwright.actions import assess_files, preference_of
from ventwright.report import compose, render_page

ROOT = Path(__file__).resolve().parent.parent
EXAMPLES = ROOT / "examples"
FOLDER = ROOT / "docs" / "pictures"
_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_MOST_COLOURS = 256
_LEAST_CHROMA, _WEIGHT_OF_COLOUR = 40, 20

Pixels = NDArray[np.uint8]


def report_page() -> bytes:
    """Return the first page of the report of juniper_mesa, about 1000 px wide."""
    folder = EXAMPLES / "juniper_mesa"
    one = assess_files(folder / "house.toml", folder / "visit.toml")
    model = compose(
        one.findings,
        one.snapshot,
        preference=preference_of(one.snapshot),
        snapshot_sha256=one.snapshot_sha256,
    )
    return render_page(model, snapshot=one.snapshot_bytes, page_index=0, pixel_count=1000)


PICTURES: dict[str, Callable[[], bytes]] = {"report_page": report_page}


def pixels_of(png: bytes) -> Pixels:
    """Return the colours of a PNG of 8 bits a channel, with or without a palette.

    Parameters
    ----------
    png
        The file.
    """
    chunks: dict[bytes, bytes] = {}
    at = len(_SIGNATURE)
    while at < len(png):
        (size,) = struct.unpack(">I", png[at : at + 4])
        kind = png[at + 4 : at + 8]
        chunks[kind] = chunks.get(kind, b"") + png[at + 8 : at + 8 + size]
        at += size + 12
    width, height, depth, colour, _, _, interlaced = struct.unpack(">IIBBBBB", chunks[b"IHDR"])
    channels = {2: 3, 3: 1, 6: 4}[colour]
    if depth != 8 or interlaced:
        raise ValueError(f"a PNG of {depth} bits, interlaced {interlaced}, is not read here")
    raw = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), dtype=np.uint8)
    lines = raw.reshape(height, 1 + width * channels)
    plain = _unfiltered(lines, channels).reshape(height, width, channels)
    if colour == 3:
        palette = np.frombuffer(chunks[b"PLTE"], dtype=np.uint8).reshape(-1, 3)
        return palette[plain[:, :, 0]]
    return plain[:, :, :3]


def _unfiltered(lines: Pixels, channels: int) -> Pixels:
    """Undo the five filters of PNG, line by line (PNG specification, section 9)."""
    height, width = lines.shape[0], lines.shape[1] - 1
    out = np.zeros((height, width), dtype=np.uint8)
    above = np.zeros(width, dtype=np.int64)
    for y in range(height):
        kind, line = int(lines[y, 0]), lines[y, 1:].astype(np.int64)
        if kind == 1:
            line = np.cumsum(line.reshape(-1, channels), axis=0).reshape(-1) % 256
        elif kind == 2:
            line = (line + above) % 256
        elif kind in (3, 4):
            line = _running(line, above, channels, is_average=kind == 3)
        out[y] = line
        above = line
    return out


def _running(
    line: NDArray[np.int64], above: NDArray[np.int64], channels: int, *, is_average: bool
) -> NDArray[np.int64]:
    """Undo the filters that look left, where no sum of a whole line serves."""
    values, over = line.tolist(), above.tolist()
    for x in range(len(values)):
        left = values[x - channels] if x >= channels else 0
        corner = over[x - channels] if x >= channels else 0
        up = over[x]
        if is_average:
            guess = (left + up) // 2
        else:
            nearest = min((abs(up - corner), 0, left), (abs(left - corner), 1, up))
            far = abs(left + up - 2 * corner)
            guess = nearest[2] if nearest[0] <= far else corner
        values[x] = (values[x] + guess) % 256
    return np.array(values, dtype=np.int64)


def small_png(pixels: Pixels) -> bytes:
    """Return a PNG with a palette: a page of print has few colours.

    Parameters
    ----------
    pixels
        Height × width × 3.
    """
    flat = pixels.reshape(-1, 3).astype(np.int64)
    code = (flat[:, 0] << 16) | (flat[:, 1] << 8) | flat[:, 2]
    found, which, count = np.unique(code, return_inverse=True, return_counts=True)
    colours = np.stack([found >> 16, (found >> 8) & 255, found & 255], axis=1)
    # A verdict's few coloured letters must not be crowded out by the many greys of the others.
    is_coloured = np.ptp(colours, axis=1) > _LEAST_CHROMA
    weight = np.where(is_coloured, _WEIGHT_OF_COLOUR, 1) * count
    palette = colours[np.argsort(-weight, kind="stable")[:_MOST_COLOURS]]
    gaps = ((colours[:, None, :] - palette[None, :, :]) ** 2).sum(axis=2)
    index = gaps.argmin(axis=1).astype(np.uint8)[which].reshape(pixels.shape[:2])
    height, width = index.shape
    lines = np.concatenate([np.zeros((height, 1), dtype=np.uint8), index], axis=1)
    parts = (
        (b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)),
        (b"PLTE", palette.astype(np.uint8).tobytes()),
        (b"IDAT", zlib.compress(lines.tobytes(), 9)),
        (b"IEND", b""),
    )
    return _SIGNATURE + b"".join(_chunk(kind, content) for kind, content in parts)


def _chunk(kind: bytes, content: bytes) -> bytes:
    checked = struct.pack(">I", zlib.crc32(kind + content))
    return struct.pack(">I", len(content)) + kind + content + checked


def _is_fresh(name: str, png: bytes) -> bool:
    path = FOLDER / f"{name}.png"
    return path.is_file() and np.array_equal(pixels_of(path.read_bytes()), pixels_of(png))


def main() -> int:
    """Run as a script."""
    parser = argparse.ArgumentParser(description="Draw docs/pictures.")
    parser.add_argument("names", nargs="*", metavar="NAME", help="draw these alone")
    parser.add_argument("--check", action="store_true", help="compare, write nothing")
    options = parser.parse_args()
    wrong = []
    for name in options.names or PICTURES:
        png = small_png(pixels_of(PICTURES[name]()))
        path = FOLDER / f"{name}.png"
        if options.check:
            wrong += [] if _is_fresh(name, png) else [f"stale: docs/pictures/{name}.png"]
            continue
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(png)
        print(f"wrote docs/pictures/{name}.png: {len(png) // 1024} kB")
    print("\n".join(wrong), end="\n" if wrong else "")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
