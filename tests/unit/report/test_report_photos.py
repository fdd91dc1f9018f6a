"""Photos in a report: printed, turned upright, rid of place and camera; damaged ones only named."""

from __future__ import annotations

import base64
import hashlib
import io
import re
import struct
import zlib
from dataclasses import replace
from pathlib import Path

import numpy
import pytest
from PIL import Image

from tests.unit.report import cases
from ventwright.actions import photos_in, report_model
from ventwright.actions.field import visit_report
from ventwright.actions.record import attach_photo, issue_report, practice_ledger
from ventwright.house import Fault, Photo
from ventwright.quantities import NumberStyle, UnitPreference
from ventwright.report import Part, ReportModel, render_html, render_pdf
from ventwright.report.photos import MOST_BYTES, MOST_PIXELS, photo_svg

# 24 × 16 pixels from red to blue, written by a browser.
JPEG = base64.b64decode(
    "/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDABQODxIPDRQSEBIXFRQYHjIhHhwcHj0sLiQySUBMS0dARkVQWnNiUFVtVkVG"
    "ZIhlbXd7gYKBTmCNl4x9lnN+gXz/2wBDARUXFx4aHjshITt8U0ZTfHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8"
    "fHx8fHx8fHx8fHx8fHx8fHx8fHz/wAARCAAQABgDASIAAhEBAxEB/8QAFgABAQEAAAAAAAAAAAAAAAAAAAQF/8QAFhAB"
    "AQEAAAAAAAAAAAAAAAAAABIT/8QAFQEBAQAAAAAAAAAAAAAAAAAAAAX/xAAXEQADAQAAAAAAAAAAAAAAAAAAFGEV/9oA"
    "DAMBAAIRAxEAPwDG0NEtlqGdCo/SrQS2GdA/T//Z"
)
SECRET = b"N 51 30 W 0 7 camera"


def with_exif(orientation: int, order: str = "<") -> bytes:
    """The JPEG with an Exif segment as a phone writes one (Exif 2.3: IFD entries of 12 bytes)."""
    head = b"II*\0" if order == "<" else b"MM\0*"
    ifd = struct.pack(order + "IH", 8, 1) + struct.pack(
        order + "HHIHH", 0x0112, 3, 1, orientation, 0
    )
    exif = b"Exif\0\0" + head + ifd + struct.pack(order + "I", 0) + SECRET
    segment = b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif
    return JPEG[:2] + segment + JPEG[2:]


def png(width: int, height: int) -> bytes:
    """A grey picture with a comment (PNG specification, section 5)."""

    def chunk(kind: bytes, content: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + content))
        return struct.pack(">I", len(content)) + kind + content + check

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    lines = zlib.compress((b"\0" + b"\x80" * width) * height)
    parts = (
        (b"IHDR", header),
        (b"tEXt", b"Place\0" + SECRET),
        (b"IDAT", lines),
        (b"IEND", b""),
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunk(*part) for part in parts)


def size_of(svg: str | None) -> tuple[str, str]:
    found = re.match(r'<svg [^>]*width="([\d.]+)" height="([\d.]+)"', svg or "")
    assert found, svg
    return found[1], found[2]


def test_a_photo_keeps_its_size_and_sheds_what_it_tells_of_place() -> None:
    for content in (with_exif(1), png(24, 16)):
        svg = photo_svg(content)
        assert size_of(svg) == ("24", "16")
        data = re.search(r"base64,([^\"]+)", svg or "")
        assert data
        kept = base64.b64decode(data[1])
        assert SECRET in content and SECRET not in kept
        assert b"Exif" not in kept
    assert base64.b64encode(JPEG).decode() in (photo_svg(with_exif(1)) or "")


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize(
    ("orientation", "size", "turn"),
    [
        (1, ("24", "16"), None),
        (3, ("24", "16"), "translate(24 16) rotate(180)"),
        (6, ("16", "24"), "translate(16 0) rotate(90)"),
        (8, ("16", "24"), "translate(0 24) rotate(270)"),
        (99, ("24", "16"), None),
    ],
)
def test_a_photo_stands_upright(
    orientation: int, order: str, size: tuple[str, str], turn: str | None
) -> None:
    svg = photo_svg(with_exif(orientation, order))
    assert size_of(svg) == size
    assert svg is not None and ("rotate" in svg) == (turn is not None)
    if turn:
        assert turn in svg


@pytest.mark.parametrize("content", [JPEG, png(9, 7), with_exif(6)])
def test_a_damaged_photo_is_none_and_no_fault(content: bytes) -> None:
    scan = content.find(b"\xff\xda")
    for length in range(len(content) if scan < 0 else scan):
        assert photo_svg(content[:length]) is None
    for junk in (b"", b"GIF89a", b"<svg/>", b"RIFF\0\0\0\0WEBPjunk", content[:20]):
        assert photo_svg(junk) is None


def of_a_phone(wide: int, tall: int, *, form: str = "JPEG", orientation: int = 1) -> bytes:
    """A grainy picture, red above and blue below as it is to be seen, with place and camera."""
    grain = numpy.random.default_rng(9).integers(0, 60, (tall, wide, 3), dtype=numpy.uint8)
    grain[:, :, 0] += numpy.where(numpy.arange(tall) < tall // 2, 190, 0)[:, None].astype("uint8")
    grain[:, :, 2] += numpy.where(numpy.arange(tall) < tall // 2, 0, 190)[:, None].astype("uint8")
    seen = Image.fromarray(grain)
    lies = {1: seen, 6: seen.transpose(Image.Transpose.ROTATE_90)}[orientation]
    notes = Image.Exif()
    notes[0x0112], notes[0x010F] = orientation, SECRET.decode()
    out = io.BytesIO()
    lies.save(out, form, quality=95, exif=notes)
    return out.getvalue()


def shown_in(svg: str | None) -> Image.Image:
    data = re.search(r"base64,([^\"]+)", svg or "")
    assert data
    kept = base64.b64decode(data[1])
    assert SECRET not in kept and b"Exif" not in kept
    return Image.open(io.BytesIO(kept))


@pytest.mark.parametrize(
    ("form", "size", "orientation"),
    [
        ("JPEG", (4000, 3000), 1),
        ("JPEG", (3000, 4000), 6),
        ("PNG", (1800, 900), 1),
        ("WEBP", (1600, 1200), 1),
    ],
)
def test_a_large_photo_is_printed_smaller_and_upright(
    form: str, size: tuple[int, int], orientation: int
) -> None:
    content = of_a_phone(*size, form=form, orientation=orientation)
    assert SECRET in content
    if form == "JPEG":
        assert len(content) > 1.5 * MOST_BYTES
    svg = photo_svg(content)
    assert svg == photo_svg(content)
    wide, tall = (float(x) for x in size_of(svg))
    assert max(wide, tall) == MOST_PIXELS
    assert wide / tall == pytest.approx(size[0] / size[1], rel=2e-3)
    shown = shown_in(svg)
    assert len(svg or "") < 1_400_000
    above, below = (shown.getpixel((int(wide / 2), int(tall * y))) for y in (0.2, 0.8))
    assert isinstance(above, tuple) and isinstance(below, tuple)
    assert above[0] > 150 > below[0] and below[2] > 150 > above[2]


def test_a_photo_that_claims_to_be_endless_is_not_unpacked() -> None:
    flat = Image.new("1", (20_000, 19_000))
    out = io.BytesIO()
    flat.save(out, "PNG")
    assert len(out.getvalue()) < 100_000
    assert photo_svg(out.getvalue()) is None


def test_a_phones_photo_stands_in_the_document() -> None:
    content = of_a_phone(2400, 1800)
    with practice_ledger() as ledger:
        attach_photo(ledger, "v", photo_id="p", content=content, caption="the attic")
        kept = issue_report(ledger, "v")
    assert len(kept.document) < len(content)
    (image,) = [i for page in cases.read_pdf(kept.document).pages for i in page.images]
    assert image.image is not None and max(image.image.size) == MOST_PIXELS


def images_in(document: bytes) -> int:
    """Pictures of pixels in a PDF; a stream never lies inside another object's stream."""
    return len(re.findall(rb"/Subtype ?/Image", document))


def with_photos() -> tuple[ReportModel, dict[str, bytes], bytes]:
    one = cases.assessed("juniper_mesa").snapshot
    contents = {hashlib.sha256(c).hexdigest(): c for c in (with_exif(6), png(30, 20))}
    first, second = contents
    fault = Fault(id="f9", what="torn #[jacket]", where="loft")
    photos = (
        Photo(id="p1", sha256=first, media_type="image/jpeg", about="f9", where="loft"),
        Photo(id="p2", sha256=second, media_type="image/png", caption="<b>intake</b>"),
        Photo(id="p3", sha256="0" * 64, media_type="image/png", caption="lost"),
    )
    visit = replace(one.visit, photos=photos, faults=(*one.visit.faults, fault))
    found = cases.with_snapshot("juniper_mesa", visit=visit)
    model = report_model(found, preference=UnitPreference.IP, parts=("record",), photos=contents)
    return model, contents, found.snapshot_bytes


def test_photos_are_printed_with_what_they_show() -> None:
    model, _, snapshot = with_photos()
    section = model.section("photos")
    assert section is not None and section.part is Part.RECORD
    assert [p.id for p in section.pictures] == ["photo-p1", "photo-p2"]
    assert section.pictures[0].alt == "Photo: torn #[jacket], loft."
    states = [row[-1].text for row in section.tables[0].rows]
    assert states == ["printed below", "printed below", f"not printed, {'0' * 16}…"]
    content = render_pdf(model, snapshot=snapshot)
    assert images_in(content) >= 2
    assert "torn#[jacket]" in cases.text_of(content)
    assert render_pdf(model, snapshot=snapshot) == content


def test_a_page_with_photos_allows_data_and_one_without_does_not() -> None:
    model, _, _ = with_photos()
    page = render_html(model)
    assert "img-src data:;" in page
    assert page.count("<image ") == 2 and "&lt;b&gt;intake" in page
    assert "img-src" not in render_html(cases.model_of("juniper_mesa", UnitPreference.IP))


def test_a_folder_gives_only_photos_that_are_what_their_names_say(tmp_path: Path) -> None:
    one = cases.assessed("juniper_mesa").snapshot.visit
    good, other = hashlib.sha256(JPEG).hexdigest(), "1" * 64
    (tmp_path / f"{good}.jpg").write_bytes(JPEG)
    (tmp_path / f"{other}.jpg").write_bytes(JPEG)
    (tmp_path / "notes.txt").write_text("x")
    photos = tuple(
        Photo(id=f"p{i}", sha256=h, media_type="image/jpeg") for i, h in enumerate((good, other))
    )
    assert photos_in(tmp_path, replace(one, photos=photos)) == {good: JPEG}


def test_an_issued_report_shows_the_photos_of_the_record() -> None:
    with practice_ledger() as ledger:
        attach_photo(ledger, "v", photo_id="p", content=JPEG, caption="the attic")
        kept = issue_report(ledger, "v")
    assert images_in(kept.document) >= 1
    assert "theattic" in cases.text_of(kept.document)


def test_a_draft_shows_the_photos_too_and_takes_the_mark_it_is_asked_for() -> None:
    with practice_ledger() as ledger:
        attach_photo(ledger, "v", photo_id="p", content=JPEG, caption="the attic")
        draft = visit_report(
            ledger,
            "v",
            preference=UnitPreference.SI_LS,
            number_style=NumberStyle.DECIMAL_COMMA,
        )
    assert images_in(draft) >= 1
    text = cases.text_of(draft)
    assert "theattic" in text and "draft,notissued" in text
