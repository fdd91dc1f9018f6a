"""Decimal commas: the report says the same as with points, and typed text stays as typed."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from tests.unit.report import cases
from ventwright.quantities import NumberStyle, UnitPreference
from ventwright.report import ReportModel, Words, compose, render_pdf, words_of
from ventwright.report.engine_words import in_measures
from ventwright.report.measures import Measures

POINT = re.compile(r"(?<=\d)\.(?=\d)")
AS_WRITTEN = {"As typed", "Name", "Source", "Edition", "Clause", "Where", "Note", "Serial no."}
"""Columns of what somebody wrote, and of texts of standards."""

every_example = pytest.mark.parametrize("name", sorted(cases.EXAMPLES))
every_habit = pytest.mark.parametrize("preference", list(UnitPreference))


def with_comma(name: str, preference: UnitPreference) -> ReportModel:
    found = cases.assessed(name)
    return compose(
        found.findings,
        found.snapshot,
        preference=preference,
        snapshot_sha256=found.snapshot_sha256,
        number_style=NumberStyle.DECIMAL_COMMA,
    )


def own_texts(model: ReportModel) -> Iterator[str]:
    """Texts of the report's own making: sentences, captions, cells that nobody typed, pictures."""
    for section in model.sections:
        yield from (line.text for line in section.lines)
        for table in section.tables:
            yield table.note
            for row in table.rows:
                for cell, column in zip(row, table.columns, strict=True):
                    if column.title not in AS_WRITTEN:
                        yield cell.text
        for picture in section.pictures:
            yield picture.alt
            yield from re.findall(r"<text [^>]*>([^<]*)<", picture.svg)


@every_example
@every_habit
def test_no_point_is_left_between_digits_of_the_reports_own(
    name: str, preference: UnitPreference
) -> None:
    pointed = [t for t in own_texts(cases.model_of(name, preference)) if POINT.search(t)]
    assert len(pointed) > 50
    texts = list(own_texts(with_comma(name, preference)))
    left = {t for t in texts if POINT.search(re.sub(r"(?:Standard|ASHRAE|EN|ISO) [\d.]+", "", t))}
    assert not {t for t in left if not t.startswith("Engine")}


@every_example
def test_both_reports_say_the_same(name: str) -> None:
    point = cases.all_texts(cases.model_of(name, UnitPreference.SI_LS))
    comma = cases.all_texts(with_comma(name, UnitPreference.SI_LS))
    assert len(point) == len(comma)
    for one, other in zip(point, comma, strict=True):
        assert one.replace(",", ".") == other.replace(",", ".")


def test_what_was_typed_stays_as_it_was_typed() -> None:
    def typed(model: ReportModel) -> list[str]:
        (table,) = [t for s in model.sections for t in s.tables if t.id == "readings"]
        place = [c.title for c in table.columns].index("As typed")
        return [row[place].text for row in table.rows]

    comma = typed(with_comma("juniper_mesa", UnitPreference.IP))
    assert comma == typed(cases.model_of("juniper_mesa", UnitPreference.IP))
    assert any(POINT.search(t) for t in comma)


def test_numbers_of_standards_and_quoted_words_keep_their_points() -> None:
    measures = Measures(preference=UnitPreference.SI_LS, number_style=NumberStyle.DECIMAL_COMMA)
    text = "factor 1.04 by Standard 62.2 for '3.5 in', 0.5 Pa and 2.5 K; version 0.1.0"
    told = "factor 1,04 by Standard 62.2 for '3.5 in', 0,5 Pa and 2,5 K; version 0.1.0"
    assert in_measures(text, measures) == told


def test_the_catalogue_takes_the_mark_too() -> None:
    def numbers(words: Words) -> int:
        return sum(len(POINT.findall(words._sentences[key])) for key in words)

    assert numbers(words_of()) > 0
    assert numbers(words_of(number_style=NumberStyle.DECIMAL_COMMA)) == 0


def test_a_document_with_commas_is_set() -> None:
    found = cases.assessed("harbour_terrace")
    model = with_comma("harbour_terrace", UnitPreference.SI_M3H)
    text = cases.text_of(render_pdf(model, snapshot=found.snapshot_bytes))
    assert "22,2±2,6" in text and "22.2±2.6" not in text
