"""The report as data: words, tables and pictures, rounded and in the reader's units.

Made once by `compose` from findings; the PDF, the screen and the pages are drawn from it and
compute nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Mark(StrEnum):
    """A verdict or weight of a line or cell; always shown with its word, never by colour alone."""

    MET = "met"
    NOT_MET = "not met"
    NOT_SHOWN = "not shown"
    CAUTION = "caution"
    NOTE = "note"


class Part(StrEnum):
    """Whom a section is written for."""

    OWNER = "owner"
    RECORD = "record"
    ANNEX = "annex"


class Align(StrEnum):
    """How a column's cells stand."""

    TEXT = "text"
    NUMBER = "number"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of a table; `unit_of_measure` stands under its title.

    An optional column is left out where no row has anything to say in it.
    """

    title: str
    unit_of_measure: str = ""
    align: Align = Align.TEXT
    is_optional: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One cell. An empty text means that nothing is known there, and is shown as a dash."""

    text: str
    mark: Mark | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table with its note; `id` is stable, for tests and for the CSV of the same name.

    `total_row_index` are the places of rows that add up others. A form has rows high enough to be
    filled in by hand; a cell of one space is a blank to write in.
    """

    id: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""
    total_row_index: tuple[int, ...] = ()
    is_form: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture of our own making, as SVG, with its words for those who can't see it.

    `follows` is the id of the table that it draws, to stand behind it; empty for the section's end.
    """

    id: str
    svg: str
    alt: str
    caption: str = ""
    follows: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One sentence with its weight, and the readings and sources it rests on."""

    text: str
    mark: Mark | None = None
    reading_ids: tuple[str, ...] = ()
    source_keys: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A part of the report.

    Which sections there are, in which part and order, stands in `compose`.
    Its own cautions are those of the whole report that belong here.
    """

    id: str
    title: str
    part: Part = Part.RECORD
    lines: tuple[Line, ...] = ()
    tables: tuple[Table, ...] = ()
    pictures: tuple[Picture, ...] = ()
    cautions: tuple[Line, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportModel:
    """The whole report. `language` is a tag of BCP 47, `paper` the size its readers print on."""

    language: str = "en"
    paper: str = "a4"
    title: str
    subtitle: str
    facts: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    cautions: tuple[Line, ...]
    snapshot_sha256: str
    engine: str
    dated: str
    """Day of the visit in ISO form; empty where nobody wrote it down. Never the day of printing:
    the same files give the same bytes."""

    def section(self, section_id: str) -> Section | None:
        """The section of that id, or None."""
        return next((s for s in self.sections if s.id == section_id), None)
