"""Any text a keyboard or a file can bring prints, and what the typefaces have comes out again."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.report import cases
from ventwright.report import (
    Cell,
    Column,
    Line,
    Picture,
    ReportModel,
    Section,
    Table,
    render_pdf,
)
from ventwright.report.pictures import svg
from ventwright.report.printable import Printer

ALPHABET = (
    "ab1 #é\u0301\u05e9\u05c1\u0645\u062d\u0651\u0644\u0627\u06cc\u067e\u0661\u0915\u094d\u0937"
    "\u093f\u0e2b\u0e49\u0e33日か\u3099한\u1112\u1161☎✓☇✕★⚠\ufe0f\ufe0e\u200c\u200d\u20e3👍🏽👨👩🏳🌈🇫🇷😀—…±²\u202e\u2068"
)
"""Letters, marks, joiners and emoji of which some are drawn as one, in every face there is."""
mixed = st.text(alphabet=ALPHABET, min_size=1, max_size=24)
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


@given(text=st.one_of(mixed, any_text))
@settings(max_examples=60)
def test_any_text_prints_in_a_drawing(text: str) -> None:
    drawn = svg.picture([svg.text(text, (4.0, 20.0))], width=400.0, height=40.0)
    section = Section(id="a", title="A", pictures=(Picture(id="p", svg=drawn, alt=text),))
    model = replace(model_with("x"), sections=(section,))
    assert render_pdf(model, snapshot=b"{}").startswith(b"%PDF-")


@given(text=mixed)
@settings(max_examples=60)
def test_any_mixture_of_scripts_prints(text: str) -> None:
    assert render_pdf(model_with(text), snapshot=b"{}").startswith(b"%PDF-")


@given(text=marks)
@settings(max_examples=30)
def test_markup_comes_out_as_it_went_in(text: str) -> None:
    document = cases.text_of(render_pdf(model_with(text), snapshot=b"{}"))
    assert document.count(cases.squeezed(text)) >= 5 or not cases.squeezed(text)


@given(text=any_text)
def test_breaks_change_nothing_but_where_a_line_may_end(text: str) -> None:
    printer = Printer()
    broken = printer.breakable(text).replace("\u200b", "").replace("\u00a0", " ")
    assert broken == printer.text(text).replace("\u00a0", " ")
