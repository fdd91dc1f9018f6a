"""The PDF: one template, all content handed in as data, the snapshot attached."""

from __future__ import annotations

import json
import math
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from ventwright.report.model import Align, Cell, Line, ReportModel, Section, Table
from ventwright.report.printable import Printer

if TYPE_CHECKING:
    import typst

SNAPSHOT_NAME = "snapshot.json"
STANDARDS: tuple[Literal["a-3a"], Literal["ua-1"]] = ("a-3a", "ua-1")
"""Claimed by the document and checked by the program that writes it as far as it checks."""
PAPERS = ("a4", "us-letter")
_WIDTH_IN = {"a4": 210.0 / 25.4, "us-letter": 8.5}
BLANK = " "
"""A cell left free to write in."""
_BLANK_SHARE = 12.0
_LINE_PT, _LETTER_PT, _GUTTER_PT = 495.0, 4.0, 6.4
"""Of the narrower paper's line; a letter is taken wider than most are."""
_WIDE = 600.0
_SHORT = 21
_SHORT_NUMBER = 24


def render_pdf(model: ReportModel, *, snapshot: bytes, paper: str | None = None) -> bytes:
    """The report as tagged PDF/A-3 with the snapshot attached.

    No text of the model is ever read as markup. The document carries the day of the visit and
    never that of printing, and only typefaces that the program brings along, so the same model
    and snapshot give the same bytes.

    Parameters
    ----------
    model
        What to print.
    snapshot
        The snapshot's bytes, attached as they are.
    paper
        ``a4`` or ``us-letter``; None takes the model's own.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    ValueError
        For another paper, or a snapshot that is not UTF-8: faults of the caller.

    >>> model = ReportModel(title="Report", subtitle="Barn", facts=(), sections=(), cautions=(),
    ...                     snapshot_sha256="0" * 64, engine="0", dated="2026-01-31")
    >>> render_pdf(model, snapshot=b"{}")[:5]
    b'%PDF-'
    """
    document = _compiled(model, snapshot, paper, format="pdf")
    if not isinstance(document, bytes):
        raise TypeError(f"the document came as {type(document).__name__}, not as bytes")
    return document


def render_page(
    model: ReportModel,
    *,
    snapshot: bytes,
    page_index: int,
    pixel_count: int,
    paper: str | None = None,
) -> bytes:
    """One page of the report as PNG, for those who show it before they open it.

    Parameters
    ----------
    model
        What to print.
    snapshot
        The snapshot's bytes.
    page_index
        From 0.
    pixel_count
        How many pixels the picture is wide.
    paper
        As in `render_pdf`.

    Raises
    ------
    ValueError
        For another paper, or a page that the report does not have.

    >>> model = ReportModel(title="Report", subtitle="Barn", facts=(), sections=(), cautions=(),
    ...                     snapshot_sha256="0" * 64, engine="0", dated="2026-01-31")
    >>> render_page(model, snapshot=b"{}", page_index=0, pixel_count=100)[1:4]
    b'PNG'
    """
    chosen = paper or model.paper
    inches = _WIDTH_IN.get(chosen, 1.0)
    pages = _compiled(model, snapshot, paper, format="png", ppi=pixel_count / inches)
    listed = [p for p in pages if p] if isinstance(pages, list) else [pages]
    if not 0 <= page_index < len(listed) or not isinstance(listed[page_index], bytes):
        raise ValueError(f"page_index is {page_index}; the report has {len(listed)} pages")
    return bytes(listed[page_index] or b"")


def _compiled(
    model: ReportModel,
    snapshot: bytes,
    paper: str | None,
    *,
    format: Literal["pdf", "png"],
    ppi: float | None = None,
) -> Any:
    # typst is slow to import and not needed for a report on a screen.
    import typst

    chosen = paper or model.paper
    if chosen not in PAPERS:
        raise ValueError(f"paper is {chosen!r}, not one of {PAPERS}")
    source = resources.files(__package__).joinpath("template.typ").read_bytes()
    return typst.compile(
        source,
        format=format,
        ppi=ppi,
        font_paths=_typefaces(),
        ignore_system_fonts=True,
        sys_inputs={
            "model": json.dumps(_model(model, chosen), ensure_ascii=False),
            "snapshot": snapshot.decode("utf-8"),
        },
        pdf_standards=list(STANDARDS) if format == "pdf" else [],
        timestamp=0,
    )


@lru_cache(maxsize=1)
def _typefaces() -> typst.Fonts:
    """The program's own typefaces and those beside the template, none of the machine's."""
    import typst

    folder = Path(__file__).parent / "typefaces"
    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(folder)]
    )


def _model(model: ReportModel, paper: str) -> dict[str, Any]:
    printer = Printer()
    text, breakable = printer.text, printer.breakable
    return {
        "paper": paper,
        "language": model.language,
        "title": text(model.title),
        "subtitle": breakable(model.subtitle),
        "dated": model.dated,
        "facts": [[text(name), breakable(value)] for name, value in model.facts],
        "snapshot_name": SNAPSHOT_NAME,
        "snapshot_sha256": model.snapshot_sha256,
        "engine": text(model.engine),
        "sections": [_section(s, printer) for s in model.sections],
    }


def _section(section: Section, printer: Printer) -> dict[str, Any]:
    return {
        "id": section.id,
        "part": section.part.value,
        "title": printer.text(section.title),
        "lines": [_line(one, printer) for one in section.lines],
        "cautions": [_line(one, printer) for one in section.cautions],
        "tables": [_table(one, printer) for one in section.tables],
        "pictures": [
            {
                "svg": printer.drawn(one.svg),
                "alt": printer.text(one.alt),
                "caption": printer.breakable(one.caption),
                "follows": one.follows,
                "is_wide": _is_wide(one.svg),
            }
            for one in section.pictures
        ],
    }


def _is_wide(svg: str) -> bool:
    """Whether a drawing needs the whole line for its lettering to be read."""
    stated = svg.partition(' width="')[2].partition('"')[0]
    return float(stated or 0.0) > _WIDE


def _line(line: Line, printer: Printer) -> dict[str, Any]:
    return {
        "text": printer.breakable(line.text),
        "mark": line.mark.value if line.mark else "",
        "readings": list(line.reading_ids),
    }


def _table(table: Table, printer: Printer) -> dict[str, Any]:
    shares = _shares(table)
    return {
        "id": table.id,
        "title": printer.breakable(table.title),
        "note": printer.breakable(table.note),
        "columns": [
            {
                "title": [printer.text(line) for line in _heading(table, i)],
                "unit": printer.text(c.unit_of_measure),
                "is_number": c.align is Align.NUMBER,
                "share": share,
            }
            for i, (c, share) in enumerate(zip(table.columns, shares, strict=True))
        ],
        "rows": [[_cell(c, printer) for c in row] for row in table.rows],
        "total_row_index": list(table.total_row_index),
        "is_form": table.is_form,
    }


def _cell(cell: Cell, printer: Printer) -> dict[str, str]:
    return {
        "text": printer.breakable(cell.text),
        "mark": cell.mark.value if cell.mark else "",
    }


def _shares(table: Table) -> list[float]:
    """Share of the free width for columns of long texts; 0 for those as wide as their content.

    Without long texts the last column takes the rest of the line, if it is one of text.
    """
    shares = [_share(table, i) for i in range(len(table.columns))]
    if not table.is_form and sum(_width_pt(table, i) for i in range(len(shares))) < _LINE_PT:
        shares = [0.0] * len(shares)
    if not any(shares) and table.columns[-1].align is Align.TEXT:
        shares[-1] = 1.0
    return shares


def _width_pt(table: Table, index: int) -> float:
    """Width of a column that never breaks a line, at the size of type in tables."""
    head = _heading(table, index)
    texts = [*head, table.columns[index].unit_of_measure, *(row[index].text for row in table.rows)]
    return _LETTER_PT * max(map(len, texts)) + _GUTTER_PT


def _heading(table: Table, index: int) -> list[str]:
    """Title of a column in lines no longer than its cells, as far as its words allow."""
    column = table.columns[index]
    longest = max((len(row[index].text) for row in table.rows), default=0)
    most = max(10, longest)
    lines: list[str] = []
    for word in column.title.replace("± U", "±\u00a0U").split(" "):
        if lines and len(lines[-1]) + 1 + len(word) <= most:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def _share(table: Table, index: int) -> float:
    lengths = [len(row[index].text) for row in table.rows]
    if table.is_form and any(row[index].text == BLANK for row in table.rows):
        return _BLANK_SHARE
    longest = max(lengths, default=0)
    is_number = table.columns[index].align is Align.NUMBER
    if longest <= (_SHORT_NUMBER if is_number else _SHORT):
        return 0.0
    # Between the mean and the longest: a single long note must not starve its neighbours, nor
    # they it.
    mean = sum(lengths) / len(lengths)
    return round(math.pow(0.4 * mean + 0.6 * min(longest, 90), 0.8), 3)
