"""Whatever a person typed is printed as it stands and can't do anything."""

from __future__ import annotations

import dataclasses
import functools
import itertools
from collections.abc import Iterable, Sequence
from typing import Any

import pypdf
import pytest

from tests.unit.report import cases
from ventwright.actions import Assessment
from ventwright.quantities import UnitPreference
from ventwright.report import render_pdf
from ventwright.report.printable import Printer

HOSTILE = {
    "markup": '#[*_$ #panic("x") = Head / *bold* _em_ `raw` <label> @ref $x^2$ \\ // gone',
    "html": '<script>alert(1)</script> &amp; <b onload="x">"quoted"</b> \' ]]> <!-- -->',
    "svg": '"/><image href="file:///etc/hostname"/><text x="0',
    "template": "{subject} {0} %s ${HOME} {{x}}",
    "long": "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft" * 3,
    "hebrew": "שלום עולם",
    "arabic": "مرحبا بالعالم",
    "accents": "Škoda Ærø Þórshöfn naïve Ελλάδα Київ Đặng",
    "combining": "Cafe\u0301 de\u0301ja\u0300",
    "emoji": "fan \U0001f300 on \U0001f600, \u26a0\ufe0f \u2764 hot",
    "family": "\U0001f468\u200d\U0001f469\u200d\U0001f467 at home",
    "skin and flags": "\U0001f44d\U0001f3fd 1\ufe0f\u20e3 \U0001f1eb\U0001f1f7",
    "chinese": "新风系统 濕度",
    "japanese": "換気ユニット・ダクト",
    "korean": "환기 장치",
    "devanagari": "रसोईघर की हवा, क्षत्रिय",
    "persian": "خانه\u200cهای گرم",
    "thai": "ห้องน้ำชั้นสอง",
    "quotes": "'single' \"double\" ‘curly’ “curly” -- --- ... ~ ^ | 1/2 '90s",
}
SHAPED = ("hebrew", "arabic", "persian", "devanagari", "thai")
"""Scripts whose letters change places or shapes as they are drawn."""
NAMED = {
    "override": ("abc\u202edef", "[U+202E RIGHT-TO-LEFT OVERRIDE]"),
    "control": ("bell\x07nul\x00", "[U+0007]"),
    "private": ("\ue000", "[U+E000]"),
    "hieroglyph": ("\U00013000", "[U+13000 EGYPTIAN HIEROGLYPH A001]"),
    "style": ("a\ufe0f", "[U+FE0F VARIATION SELECTOR-16]"),
    "join": ("a\u200db", "[U+200D ZERO WIDTH JOINER]"),
    "mark": ("\ufeffstart", "[U+FEFF ZERO WIDTH NO-BREAK SPACE]"),
}


def poisoned(texts: Sequence[str]) -> Assessment:
    """Juniper Mesa with the texts, in turn, wherever a person may type one."""
    turn = itertools.cycle(texts)
    snapshot = cases.assessed("juniper_mesa").snapshot
    house, visit = snapshot.house, snapshot.visit

    def each(records: Iterable[Any], *fields: str) -> tuple[Any, ...]:
        return tuple(
            dataclasses.replace(r, **{field: next(turn) for field in fields}) for r in records
        )

    unit = each([house.systems[0].ventilation_unit], "name", "place", "serial_no")[0]
    system = dataclasses.replace(
        house.systems[0],
        name=next(turn),
        ventilation_unit=unit,
        terminals=each(house.systems[0].terminals, "name"),
        fan_settings=each(house.systems[0].fan_settings, "name"),
    )
    house = dataclasses.replace(
        house,
        name=next(turn),
        place=next(turn),
        rooms=each(house.rooms, "name"),
        surfaces=each(house.surfaces, "name"),
        combustion_appliances=each(house.combustion_appliances, "name"),
        systems=(system,),
    )
    visit = dataclasses.replace(
        visit,
        technician=next(turn),
        firm=next(turn),
        note=next(turn),
        conditions=dataclasses.replace(visit.conditions, note=next(turn)),
        instruments=each(visit.instruments, "name", "serial_no", "certificate_no", "note"),
        walk_through=each(visit.walk_through, "note", "place", "photo"),
        readings=each(visit.readings, "note"),
        faults=each(visit.faults, "what", "where", "who", "photo"),
        final_settings=each(visit.final_settings, "note"),
        adjustments=each(visit.adjustments, "note", "target"),
    )
    return cases.with_snapshot("juniper_mesa", house=house, visit=visit)


@functools.cache
def printed(texts: tuple[str, ...]) -> bytes:
    found = poisoned(texts)
    return render_pdf(cases.composed(found, UnitPreference.IP), snapshot=found.snapshot_bytes)


@functools.cache
def document(texts: tuple[str, ...]) -> str:
    return cases.text_of(printed(texts))


@pytest.mark.parametrize("kind", sorted(HOSTILE))
def test_hostile_text_is_printed_as_it_stands(kind: str) -> None:
    text = document(tuple(HOSTILE.values()))
    shown = Printer().text(HOSTILE[kind])
    assert "U+" not in shown
    if kind in SHAPED:
        # A reader of PDF may give letters of such scripts in the order they are drawn in.
        assert all(text.count(c) >= 5 for c in shown if c.isalpha())
    else:
        assert text.count(cases.squeezed(shown)) >= 5


def codes_drawn(holder: Any, found: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Font and code of each glyph that a page, or a drawing on it, shows."""
    resources = holder["/Resources"]
    stream = pypdf.generic.ContentStream(holder.get("/Contents", holder), holder.pdf)
    font = ""
    for operands, operator in stream.operations:
        if operator == b"Tf":
            font = str(operands[0])
        if operator not in (b"Tj", b"TJ"):
            continue
        face = resources["/Font"][font]
        assert face["/Encoding"] == "/Identity-H", "codes of two bytes"
        for piece in operands[0] if operator == b"TJ" else operands:
            if not hasattr(piece, "original_bytes"):
                continue
            shown = piece.original_bytes.hex()
            name = str(face["/BaseFont"]).partition("+")[2]
            found += [(name, shown[i : i + 4]) for i in range(0, len(shown), 4)]
    for drawing in resources.get("/XObject", {}).values():
        if drawing["/Subtype"] == "/Form" and "/Resources" in drawing:
            codes_drawn(drawing, found)
    return found


def test_no_character_is_drawn_as_a_box_for_what_is_missing() -> None:
    """ISO 32000-1, 9.7.6.3: glyph 0 of a font is what stands for a missing character."""
    codes: list[tuple[str, str]] = []
    for page in cases.read_pdf(printed(tuple(HOSTILE.values()))).pages:
        codes_drawn(page, codes)
    faces = {name for name, _ in codes}
    for face in ("NotoEmoji", "NotoSansArabic", "DroidSansFallback", "NotoSansThai"):
        assert any(name.startswith(face) for name in faces), faces
    assert len(codes) > 20_000
    assert not {name for name, code in codes if code == "0000"}


def test_the_snapshot_holds_hostile_text_as_it_was_typed() -> None:
    texts = tuple(HOSTILE.values())
    attached = cases.read_pdf(printed(texts)).attachments["snapshot.json"]
    assert attached == [poisoned(texts).snapshot_bytes]


@pytest.mark.parametrize("kind", sorted(NAMED))
def test_what_no_typeface_has_is_printed_by_name(kind: str) -> None:
    text = document(tuple(typed for typed, _ in NAMED.values()))
    assert text.count(cases.squeezed(NAMED[kind][1])) >= 5


def test_accents_typed_in_two_characters_print_as_one() -> None:
    assert Printer().text("Cafe\u0301") == "Café"


def test_hostile_text_stays_on_the_page() -> None:
    for page in cases.read_pdf(printed((HOSTILE["long"],))).pages:
        width = float(page.mediabox[2])
        ends: list[float] = []

        def visit(
            text: str,
            cm: list[float],
            tm: list[float],
            font: object,
            size: float,
            ends: list[float] = ends,
        ) -> None:
            # The widest letter of a serif typeface is one em; a line of pieces has few letters more
            # than fit, so half an em a letter is a cautious width of German words.
            if text.strip():
                start = cm[0] * tm[4] + cm[2] * tm[5] + cm[4]
                ends.append(start + 0.42 * size * len(text.strip()))

        page.extract_text(visitor_text=visit)
        assert max(ends) < width


def test_a_break_is_never_put_between_a_letter_and_its_mark() -> None:
    text = Printer().breakable("a" + "\u05b0\u05d1" * 20)
    assert "\u200b\u05b0" not in text
