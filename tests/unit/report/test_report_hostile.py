"""Whatever a person typed is printed as it stands and can't do anything."""

from __future__ import annotations

import dataclasses

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
    "quotes": "'single' \"double\" ‘curly’ “curly” -- --- ... ~ ^ | 1/2 '90s",
}
NAMED = {
    "emoji": ("fan \U0001f300 on", "[U+1F300 CYCLONE]"),
    "override": ("abc\u202edef", "[U+202E RIGHT-TO-LEFT OVERRIDE]"),
    "control": ("bell\x07nul\x00", "[U+0007]"),
    "private": ("\ue000", "[U+E000]"),
    "kanji": ("日", "[U+65E5 CJK UNIFIED IDEOGRAPH-65E5]"),
    "join": ("a\u200db", "[U+200D ZERO WIDTH JOINER]"),
    "mark": ("\ufeffstart", "[U+FEFF ZERO WIDTH NO-BREAK SPACE]"),
}


def poisoned(text: str) -> Assessment:
    """Juniper Mesa with a text wherever a person may type one."""
    snapshot = cases.assessed("juniper_mesa").snapshot
    house, visit = snapshot.house, snapshot.visit
    system = house.systems[0]
    house = dataclasses.replace(
        house,
        name=text,
        place=text,
        rooms=tuple(dataclasses.replace(r, name=text) for r in house.rooms),
        surfaces=tuple(dataclasses.replace(s, name=text) for s in house.surfaces),
        combustion_appliances=tuple(
            dataclasses.replace(a, name=text) for a in house.combustion_appliances
        ),
        systems=(
            dataclasses.replace(
                system,
                name=text,
                ventilation_unit=dataclasses.replace(system.ventilation_unit, name=text),
                terminals=tuple(dataclasses.replace(t, name=text) for t in system.terminals),
                fan_settings=tuple(dataclasses.replace(f, name=text) for f in system.fan_settings),
            ),
        ),
    )
    visit = dataclasses.replace(
        visit,
        technician=text,
        firm=text,
        note=text,
        conditions=dataclasses.replace(visit.conditions, note=text),
        instruments=tuple(
            dataclasses.replace(i, name=text, serial_no=text, certificate_no=text, note=text)
            for i in visit.instruments
        ),
        walk_through=tuple(
            dataclasses.replace(e, note=text, place=text, photo=text) for e in visit.walk_through
        ),
        readings=tuple(dataclasses.replace(r, note=text) for r in visit.readings),
        faults=tuple(
            dataclasses.replace(f, what=text, where=text, who=text, photo=text)
            for f in visit.faults
        ),
        final_settings=tuple(dataclasses.replace(f, note=text) for f in visit.final_settings),
        adjustments=tuple(
            dataclasses.replace(a, note=text, target=text) for a in visit.adjustments
        ),
    )
    return cases.with_snapshot("juniper_mesa", house=house, visit=visit)


def printed(text: str) -> bytes:
    found = poisoned(text)
    return render_pdf(cases.composed(found, UnitPreference.IP), snapshot=found.snapshot_bytes)


@pytest.mark.parametrize("kind", sorted(HOSTILE))
def test_hostile_text_is_printed_as_it_stands(kind: str) -> None:
    text = HOSTILE[kind]
    content = printed(text)
    document = cases.text_of(content)
    shown = Printer().text(text)
    if kind in ("hebrew", "arabic"):
        # A reader of PDF may give words of such scripts in the order they are drawn in.
        letters = [c for c in shown if c.isalpha()]
        assert all(document.count(c) >= 10 for c in letters)
    else:
        assert document.count(cases.squeezed(shown)) >= 20
    found = poisoned(text)
    assert cases.read_pdf(content).attachments["snapshot.json"] == [found.snapshot_bytes]


@pytest.mark.parametrize("kind", sorted(NAMED))
def test_what_no_typeface_has_is_printed_by_name(kind: str) -> None:
    text, name = NAMED[kind]
    assert cases.squeezed(name) in cases.text_of(printed(text))


def test_accents_typed_in_two_characters_print_as_one() -> None:
    assert Printer().text("Cafe\u0301") == "Café"


def test_hostile_text_stays_on_the_page() -> None:
    for page in cases.read_pdf(printed(HOSTILE["long"])).pages:
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
