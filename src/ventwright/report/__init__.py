"""From findings to words, tables, pictures and a PDF; all wording and rounding for people.

`compose` makes the `ReportModel`, from which screen, page and PDF are drawn; `render_pdf` makes the
document that is filed.
"""

from ventwright.report.cautions import Caution, all_cautions, cautions_for
from ventwright.report.compose import compose
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
from ventwright.report.pdf import render_page, render_pdf
from ventwright.report.plan_pages import PLAN_SECTION_IDS, compose_plan
from ventwright.report.plan_picture import plan_drawing
from ventwright.report.wording import LANGUAGES, Words, words_of

__all__ = [
    "LANGUAGES",
    "PLAN_SECTION_IDS",
    "Align",
    "Caution",
    "Cell",
    "Column",
    "Line",
    "Mark",
    "Measures",
    "Part",
    "Picture",
    "ReportModel",
    "Section",
    "Table",
    "Words",
    "all_cautions",
    "cautions_for",
    "compose",
    "compose_plan",
    "plan_drawing",
    "render_page",
    "render_pdf",
    "words_of",
]
