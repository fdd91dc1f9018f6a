"""The report model on a terminal: tables by rich, words as they stand in the model."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table as RichTable
from rich.text import Text

from ventwright.report import Align, Cell, Line, Mark, ReportModel, Table

_STYLE = {
    Mark.MET: "green",
    Mark.NOT_MET: "bold red",
    Mark.NOT_SHOWN: "yellow",
    Mark.CAUTION: "bold yellow",
    Mark.NOTE: "dim",
}
_SIGN = {
    Mark.MET: "✓",
    Mark.NOT_MET: "✗",
    Mark.NOT_SHOWN: "?",
    Mark.CAUTION: "!",
    Mark.NOTE: "·",
}
SHOWN_SECTIONS = (
    *("summary", "next", "next-visit", "flows", "balance", "totals", "rates", "rooms-air"),
    *("recovery", "surfaces", "doubts"),
)


def show(
    model: ReportModel, console: Console, *, section_ids: Sequence[str] = SHOWN_SECTIONS
) -> None:
    """Print what a technician needs at once; the report holds the rest.

    Parameters
    ----------
    model
        The composed report.
    console
        Where to print.
    section_ids
        Sections to print, in their order.
    """
    console.print(Text(model.title, style="bold"))
    if model.subtitle:
        console.print(Text(model.subtitle))
    for section_id in section_ids:
        section = model.section(section_id)
        if section is None or not (section.lines or section.tables):
            continue
        console.print()
        console.rule(Text(section.title), align="left")
        for line in section.lines:
            console.print(_line(line))
        for table in section.tables:
            console.print(_table(table))
    console.print()
    for line in model.cautions:
        console.print(_line(line))


def _line(line: Line) -> Text:
    sign = _SIGN[line.mark] + " " if line.mark else ""
    return Text(sign + line.text, style=_STYLE.get(line.mark, "") if line.mark else "")


def _table(table: Table) -> RichTable:
    shown = RichTable(title=Text(table.title), title_justify="left", caption_justify="left")
    if table.note:
        shown.caption = Text(table.note)
    for column in table.columns:
        head = column.title + (f"\n{column.unit_of_measure}" if column.unit_of_measure else "")
        shown.add_column(Text(head), justify="right" if column.align is Align.NUMBER else "left")
    for row in table.rows:
        shown.add_row(*(_cell(cell) for cell in row))
    return shown


def _cell(cell: Cell) -> Text:
    return Text(cell.text or "–", style=_STYLE[cell.mark] if cell.mark else "")
