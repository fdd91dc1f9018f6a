"""Whatever is typed stands in the page and in the tables as text, and as nothing else."""

from __future__ import annotations

import csv
import io
import unicodedata
from html.parser import HTMLParser

from hypothesis import given, settings
from hypothesis import strategies as st

from ventwright.report import (
    Cell,
    Column,
    Line,
    ReportModel,
    Section,
    Table,
    render_html,
    table_csv,
)

typed = st.text(max_size=60) | st.text(alphabet="<>&\"'/=!-[]`\\x", max_size=30)


class Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self.tags: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def page(text: str) -> ReportModel:
    table = Table(
        id="t", title=text, columns=(Column(title="c"),), rows=((Cell(text=f"[{text}]"),),)
    )
    section = Section(id="doubts", title="t", lines=(Line(text=f"({text})"),), tables=(table,))
    return ReportModel(
        title="r",
        subtitle=text,
        facts=(("n", text),),
        sections=(section,),
        cautions=(),
        snapshot_sha256="0" * 64,
        engine="0",
        dated="",
    )


def is_plain(character: str) -> bool:
    """Whether a character stands as itself: controls and turns of direction are named instead."""
    is_turn = character in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067"
    return character in "\n\t" or not (is_turn or unicodedata.category(character) in ("Cc", "Cs"))


@settings(derandomize=True, deadline=None, max_examples=150)
@given(text=typed)
def test_any_text_is_a_text_of_the_page(text: str) -> None:
    reader = Reader()
    reader.feed(render_html(page(text)))
    reader.close()
    told = "".join(reader.texts)
    known = {"html", "head", "meta", "title", "style", "body", "main", "h1", "h2", "p", "dl", "dt"}
    known |= {"dd", "section", "ul", "li", "div", "table", "caption", "thead", "tbody", "tr", "th"}
    assert reader.tags <= known | {"td", "footer"}
    if all(is_plain(c) for c in text):
        assert f"({text})" in told and f"[{text}]" in told
    assert not any(c in told for c in "\u202e\u2067\x00\x1b")


@settings(derandomize=True, deadline=None, max_examples=150)
@given(text=typed)
def test_any_text_comes_back_from_csv_and_begins_no_formula(text: str) -> None:
    table = Table(id="t", title="t", columns=(Column(title="c"),), rows=((Cell(text=text),),))
    rows = list(csv.reader(io.StringIO(table_csv(table), newline="")))
    assert len(rows) == 2
    back = rows[1][0] if rows[1] else ""
    assert back in (text, f"'{text}")
    assert not back.startswith(("=", "+", "-", "@", "\t", "\r"))
