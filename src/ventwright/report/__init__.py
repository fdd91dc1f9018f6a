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
from ventwright.report.pdf import render_pdf
from ventwright.report.wording import LANGUAGES, Words, words_of

__all__ = [
    "LANGUAGES",
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
    "render_pdf",
    "words_of",
]
