"""The report's tables as data: CSV for a spreadsheet, JSON for a program."""

from __future__ import annotations

import csv
import io
import json
import re
from typing import Any

from ventwright.report.model import Line, Mark, ReportModel, Section, Table

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for the beginning of a formula."""
REPORT_SCHEMA = "ventwright-report-1"


def table_csv(table: Table) -> str:
    """One table as CSV, its heads with their units of measure in the first row.

    Parameters
    ----------
    table
        Any table of a report.

    Returns
    -------
    str
        Rows end in CR LF, as RFC 4180 has it. A text that a spreadsheet would take for a formula
        begins with an apostrophe.

    >>> from ventwright.report.model import Cell, Column
    >>> table_csv(Table(id="t", title="T", columns=(Column(title="Flow", unit_of_measure="L/s"),),
    ...                 rows=((Cell(text="=1+1"),),)))
    "Flow [L/s]\\r\\n'=1+1\\r\\n"
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(
        _harmless(f"{c.title} [{c.unit_of_measure}]" if c.unit_of_measure else c.title)
        for c in table.columns
    )
    writer.writerows([_harmless(cell.text) for cell in row] for row in table.rows)
    return out.getvalue()


def _harmless(text: str) -> str:
    return f"'{text}" if text.startswith(_FORMULA) else text


def csv_files(model: ReportModel) -> dict[str, str]:
    """Every table of a report as CSV, by a file name made of the table's id.

    Parameters
    ----------
    model
        Any report.

    >>> model = ReportModel(title="R", subtitle="B", facts=(), sections=(), cautions=(),
    ...                     snapshot_sha256="0" * 64, engine="0", dated="")
    >>> csv_files(model)
    {}
    """
    files: dict[str, str] = {}
    for section in model.sections:
        for table in section.tables:
            name = re.sub(r"[^A-Za-z0-9_-]+", "_", table.id)[:80]
            number = 2
            while f"{name.lower()}.csv" in {known.lower() for known in files}:
                name = f"{name.rstrip('0123456789')}{number}"
                number += 1
            files[f"{name}.csv"] = table_csv(table)
    return files


def report_json(model: ReportModel) -> bytes:
    """A report as JSON: facts, sentences and tables as they are printed, pictures as their words.

    Numbers are rounded texts in the reader's units; findings in SI with their budgets are written
    by ``ventwright assess --json``.

    Parameters
    ----------
    model
        Any report.

    >>> model = ReportModel(title="R", subtitle="B", facts=(), sections=(), cautions=(),
    ...                     snapshot_sha256="0" * 64, engine="0", dated="")
    >>> json.loads(report_json(model))["schema"]
    'ventwright-report-1'
    """
    plain = {
        "schema": REPORT_SCHEMA,
        "title": model.title,
        "subtitle": model.subtitle,
        "language": model.language,
        "dated": model.dated,
        "engine": model.engine,
        "snapshot_sha256": model.snapshot_sha256,
        "facts": [{"name": name, "value": value} for name, value in model.facts],
        "sections": [_section(s) for s in model.sections],
        "cautions": [line.text for line in model.cautions],
    }
    return (json.dumps(plain, ensure_ascii=False, indent=1) + "\n").encode()


def _section(section: Section) -> dict[str, Any]:
    return {
        "id": section.id,
        "part": section.part.value,
        "title": section.title,
        "lines": [_line(one) for one in section.lines],
        "tables": [_table(one) for one in section.tables],
        "pictures": [{"id": p.id, "alt": p.alt, "caption": p.caption} for p in section.pictures],
    }


def _mark(mark: Mark | None) -> str | None:
    return None if mark is None else mark.value


def _line(line: Line) -> dict[str, Any]:
    return {
        "text": line.text,
        "mark": _mark(line.mark),
        "reading_ids": list(line.reading_ids),
        "source_keys": list(line.source_keys),
    }


def _table(table: Table) -> dict[str, Any]:
    return {
        "id": table.id,
        "title": table.title,
        "note": table.note,
        "columns": [
            {"title": c.title, "unit_of_measure": c.unit_of_measure} for c in table.columns
        ],
        "rows": [
            [{"text": cell.text, "mark": _mark(cell.mark)} for cell in row] for row in table.rows
        ],
    }
