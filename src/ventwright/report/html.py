"""The report as one HTML file: the same model, the same pictures, nothing loaded from anywhere."""

from __future__ import annotations

import base64
import hashlib
import unicodedata
from collections.abc import Iterator
from html import escape
from importlib import resources

from ventwright.report.model import Align, Cell, Line, Mark, Picture, ReportModel, Section, Table
from ventwright.report.printable import tied

SIGNS = {
    Mark.MET: "✓",
    Mark.NOT_MET: "✗",
    Mark.NOT_SHOWN: "?",
    Mark.CAUTION: "!",
    Mark.NOTE: "·",
}
_LISTED = {"next", "next-visit"}
"""Sections whose lines are numbered."""
_MANY = 5
"""Columns that a phone shows only if it may scroll."""
_TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067")
"""Characters that could show a note in another order than it has; our own isolates are others."""


def render_html(model: ReportModel) -> str:
    """The report as one HTML file that needs nothing beside it.

    It runs no script and loads nothing: its own security policy allows one style sheet, by hash,
    and nothing else. All texts are escaped; pictures are the SVG of the PDF, each with its words.

    Parameters
    ----------
    model
        What to print.

    Returns
    -------
    str
        The file. The same model gives the same text.

    >>> model = ReportModel(title="Report", subtitle="<b>Barn", facts=(), sections=(), cautions=(),
    ...                     snapshot_sha256="0" * 64, engine="0", dated="2026-01-31")
    >>> "&lt;b&gt;Barn" in render_html(model)
    True
    """
    style = report_style()
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode("ascii")
    body = report_body(model)
    # Photos stand in their pictures as data; without any, not even those are allowed.
    images = "img-src data:; " if 'href="data:image/' in body else ""
    policy = (
        f"default-src 'none'; {images}style-src 'sha256-{digest}'; base-uri 'none'; "
        "form-action 'none'"
    )
    head = (
        '<!DOCTYPE html>\n<html lang="' + escape(model.language) + '">\n<head>\n'
        '<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{_text(model.title)}: {_text(model.subtitle)}</title>\n"
        f"<style>{style}</style>\n</head>\n<body>\n"
    )
    return head + body + "</body>\n</html>\n"


def report_style() -> str:
    """The style sheet of the report's HTML form, for pages that show it among other things.

    >>> ".report" in report_style()
    True
    """
    return resources.files(__package__).joinpath("report.css").read_text("utf-8")


def report_body(model: ReportModel) -> str:
    """The report as an element of a page, without head and style sheet.

    Parameters
    ----------
    model
        What to print.

    >>> model = ReportModel(title="Report", subtitle="Barn", facts=(), sections=(), cautions=(),
    ...                     snapshot_sha256="0" * 64, engine="0", dated="2026-01-31")
    >>> report_body(model).startswith('<main class="report">')
    True
    """
    facts = "".join(
        f"<dt>{_text(name)}</dt><dd>{_text(value)}</dd>\n" for name, value in model.facts
    )
    parts = [
        f'<main class="report">\n<h1>{_text(model.title)}</h1>\n<p>{_text(model.subtitle)}</p>\n',
        f"<dl>\n{facts}</dl>\n" if facts else "",
        *(_section(section) for section in model.sections),
        f"<footer>{_text(model.snapshot_sha256)} · {_text(model.engine)}</footer>\n</main>\n",
    ]
    return "".join(parts)


def _text(typed: str) -> str:
    """Escaped text; what would turn its direction or can't stand in a page is named instead."""
    return tied(_spoken(typed))


def _spoken(typed: str) -> str:
    """The same for those who hear it: no space is more than a space."""
    return escape("".join(_named(c) if _is_unsafe(c) else c for c in typed))


def _is_unsafe(character: str) -> bool:
    if character in "\n\t":
        return False
    return character in _TURNS or unicodedata.category(character) in ("Cc", "Cs")


def _named(character: str) -> str:
    name = unicodedata.name(character, "")
    return f"[U+{ord(character):04X}{' ' + name if name else ''}]"


def _section(section: Section) -> str:
    lines = [_line(one) for one in section.lines]
    tag = "ol" if section.id in _LISTED else "ul"
    ids = [t.id for t in section.tables]
    parts = [f'<section id="{escape(section.id)}" class="{section.part.value}">\n']
    parts.append(f"<h2>{_text(section.title)}</h2>\n")
    if lines:
        parts.append(f"<{tag}>\n{''.join(lines)}</{tag}>\n")
    if section.cautions:
        parts.append(f'<ul class="cautions">\n{"".join(map(_line, section.cautions))}</ul>\n')
    for table in section.tables:
        parts.append(_table(table))
        parts += [_picture(p) for p in section.pictures if p.follows == table.id]
    parts += [_picture(p) for p in section.pictures if p.follows not in ids]
    return "".join([*parts, "</section>\n"])


def _marked(mark: Mark | None, text: str) -> str:
    """A text behind the sign of its mark."""
    if mark is None or mark is Mark.NOTE:
        return text
    name = mark.value.replace(" ", "-")
    return f'<span class="{name}"><span aria-hidden="true">{SIGNS[mark]}</span> {text}</span>'


def _line(line: Line) -> str:
    word = ""
    if line.mark is not None and line.mark is not Mark.NOTE:
        word = _marked(line.mark, f"<b>{escape(line.mark.value)}:</b>") + " "
    return f"<li>{word}{_text(line.text)}</li>\n"


def _table(table: Table) -> str:
    heads = "".join(_heads(table))
    rows = "".join(
        f'<tr class="{"total" if i in table.total_row_index else "plain"}">'
        + "".join(
            f'<td class="{column.align.value}">{_cell(cell)}</td>'
            for cell, column in zip(row, table.columns, strict=True)
        )
        + "</tr>\n"
        for i, row in enumerate(table.rows)
    )
    note = f'<p class="note">{_text(table.note)}</p>\n' if table.note else ""
    kind = "form" if table.is_form else "data"
    if len(table.columns) >= _MANY:
        kind += " many"
    # What scrolls sideways must be within reach of a keyboard.
    return (
        f'<div class="wide" tabindex="0" role="region" aria-label="{_spoken(table.title)}">'
        f'<table class="{kind}">\n<caption>{_text(table.title)}</caption>\n'
        f"<thead><tr>{heads}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table></div>\n{note}"
    )


def _heads(table: Table) -> Iterator[str]:
    for column in table.columns:
        symbol = f"<br><small>{_text(column.unit_of_measure)}</small>"
        shown = _text(column.title) + (symbol if column.unit_of_measure else "")
        kind = Align.NUMBER if column.align is Align.NUMBER else Align.TEXT
        yield f'<th scope="col" class="{kind.value}">{shown}</th>'


def _cell(cell: Cell) -> str:
    return _marked(cell.mark, _text(cell.text)) if cell.text else "–"


def _picture(picture: Picture) -> str:
    # The SVG is our own writing: every text in it was escaped when it was drawn.
    caption = f"<figcaption>{_text(picture.caption)}</figcaption>" if picture.caption else ""
    return (
        f'<figure><div class="wide" tabindex="0" role="img" aria-label="{_spoken(picture.alt)}">'
        f"{picture.svg}</div>"
        f"{caption}</figure>\n"
    )
