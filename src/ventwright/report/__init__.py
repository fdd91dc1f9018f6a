"""From findings to words, tables, pictures and a PDF; all wording and rounding for people.

`compose` makes the `ReportModel`, from which screen, page and PDF are drawn; `render_pdf` makes the
document that is filed.
"""

from ventwright.report.cautions import Caution, all_cautions, cautions_for
from ventwright.report.compose import Particulars, compose
from ventwright.report.html import render_html, report_body, report_style
from ventwright.report.measures import Measures
from ventwright.report.model import (
    Align,
    Cell,
    Column,
    Line,
    Mark,
    Part,
    Picture,
    ReportModel,
    Section,
    Table,
)
from ventwright.report.next_pages import NEXT_SECTION_IDS, compose_next
from ventwright.report.pdf import render_page, render_pdf
from ventwright.report.plan_pages import PLAN_SECTION_IDS, compose_plan
from ventwright.report.plan_picture import plan_drawing
from ventwright.report.sections.year import AnnexYear
from ventwright.report.sheet import compose_sheet
from ventwright.report.tables import csv_files, report_json, table_csv
from ventwright.report.wording import LANGUAGES, Words, words_of
from ventwright.report.year_pages import YEAR_SECTION_IDS, compose_year

__all__ = [
    "LANGUAGES",
    "NEXT_SECTION_IDS",
    "PLAN_SECTION_IDS",
    "YEAR_SECTION_IDS",
    "Align",
    "AnnexYear",
    "Caution",
    "Cell",
    "Column",
    "Line",
    "Mark",
    "Measures",
    "Part",
    "Particulars",
    "Picture",
    "ReportModel",
    "Section",
    "Table",
    "Words",
    "all_cautions",
    "cautions_for",
    "compose",
    "compose_next",
    "compose_plan",
    "compose_sheet",
    "compose_year",
    "csv_files",
    "plan_drawing",
    "render_html",
    "render_page",
    "render_pdf",
    "report_body",
    "report_json",
    "report_style",
    "table_csv",
    "words_of",
]
