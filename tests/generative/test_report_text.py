"""Any text a keyboard or a file can bring prints, and what the typefaces have comes out again."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.report import cases
from ventwright.report import Cell, Column, Line, ReportModel, Section, Table, render_pdf
from ventwright.report.printable import Printer

any_text = st.text(min_size=1, max_size=60)
marks = st.text(alphabet="#[]{}*_$\\`<>@=-+/~\"'&%^|;: ab12", min_size=1, max_size=60)


def model_with(text: str) -> ReportModel:
    table = Table(
        id="t",
        title=text,
        columns=(Column(title="A"), Column(title=text)),
        rows=((Cell(text="x"), Cell(text=text)),),
        note=text,
    )
    section = Section(id="flows", title=text, lines=(Line(text=text),), tables=(table,))
    return ReportModel(
        title="Report",
        subtitle=text,
        facts=(("House", text),),
        sections=(section,),
        cautions=(),
        snapshot_sha256="0" * 64,
        engine="0",
        dated="2026-01-31",
    )


@given(text=any_text)
def test_any_text_prints(text: str) -> None:
    assert render_pdf(model_with(text), snapshot=b"{}").startswith(b"%PDF-")


@given(text=marks)
@settings(max_examples=30)
def test_markup_comes_out_as_it_went_in(text: str) -> None:
    document = cases.text_of(render_pdf(model_with(text), snapshot=b"{}"))
    assert document.count(cases.squeezed(text)) >= 5 or not cases.squeezed(text)


@given(text=any_text)
def test_breaks_change_nothing_but_where_a_line_may_end(text: str) -> None:
    printer = Printer()
    assert printer.breakable(text).replace("\u200b", "") == printer.text(text)
