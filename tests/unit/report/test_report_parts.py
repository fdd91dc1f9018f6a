"""Three readers: what each part holds, how long it gets, and that no caution is lost."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from tests.unit.report import cases
from tests.unit.report.twelve import SPLIT, twelve
from ventwright.actions import Assessment
from ventwright.quantities import UnitPreference
from ventwright.report import Part, Particulars, ReportModel, compose, render_pdf

HABITS = {name: preference for name, (_, preference) in cases.EXAMPLES.items()}
MOST_PAGES = {Part.OWNER: 2, Part.RECORD: 4}

every_example = pytest.mark.parametrize("name", sorted(cases.EXAMPLES))
every_part = pytest.mark.parametrize("part", list(Part))


def part_of(found: Assessment, *parts: Part, preference: UnitPreference) -> ReportModel:
    return compose(
        found.findings,
        found.snapshot,
        preference=preference,
        snapshot_sha256=found.snapshot_sha256,
        parts=parts,
    )


def pages(model: ReportModel, found: Assessment, paper: str | None = None) -> int:
    content = render_pdf(model, snapshot=found.snapshot_bytes, paper=paper)
    return len(cases.read_pdf(content).pages)


@pytest.mark.parametrize("name", sorted(SPLIT))
def test_a_house_of_twelve_terminals_moves_the_air_of_the_house_it_is_made_of(name: str) -> None:
    (before,), (after,) = cases.assessed(name).findings.systems, twelve(name).findings.systems
    judged = [t for t in after.terminals if t.setting == "continuous" and t.judged_phase]
    assert len(judged) == 12
    gaps = [
        max(abs(g.gap_share_frac.value) for g in found.totals if g.gap_share_frac is not None)
        for found in (before, after)
    ]
    assert gaps[1] < gaps[0] + 0.02


@pytest.mark.parametrize("name", sorted(SPLIT))
@pytest.mark.parametrize("part", list(MOST_PAGES))
@pytest.mark.parametrize("paper", ["a4", "us-letter"])
@pytest.mark.parametrize("preference", [UnitPreference.IP, UnitPreference.SI_M3H])
def test_parts_keep_to_their_pages_in_a_house_of_twelve_terminals(
    name: str, part: Part, paper: str, preference: UnitPreference
) -> None:
    found = twelve(name)
    model = part_of(found, part, preference=preference)
    assert pages(model, found, paper) <= MOST_PAGES[part]


@every_example
@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_the_owner_of_any_example_reads_two_pages(name: str, paper: str) -> None:
    found = cases.assessed(name)
    model = part_of(found, Part.OWNER, preference=HABITS[name])
    assert pages(model, found, paper) <= MOST_PAGES[Part.OWNER]


@every_example
@every_part
def test_a_part_alone_has_its_own_sections_and_every_caution(name: str, part: Part) -> None:
    found = cases.assessed(name)
    whole = cases.model_of(name, HABITS[name])
    model = part_of(found, part, preference=HABITS[name])
    assert [s.id for s in model.sections] == [s.id for s in whole.sections if s.part is part]
    told = [line.text for s in model.sections for line in s.cautions]
    assert sorted(told) == sorted(line.text for line in whole.cautions)


@every_example
def test_two_parts_stand_in_the_order_of_the_whole(name: str) -> None:
    found = cases.assessed(name)
    model = part_of(found, Part.ANNEX, Part.OWNER, preference=HABITS[name])
    assert list(dict.fromkeys(s.part for s in model.sections)) == [Part.OWNER, Part.ANNEX]


def test_the_first_page_names_number_hash_and_how_to_verify() -> None:
    found = cases.assessed("juniper_mesa")
    issued = compose(
        found.findings,
        found.snapshot,
        preference=UnitPreference.IP,
        snapshot_sha256=found.snapshot_sha256,
        particulars=Particulars(report_number="2026-0007"),
    )
    content = render_pdf(issued, snapshot=found.snapshot_bytes)
    first = cases.squeezed(cases.read_pdf(content).pages[0].extract_text())
    assert found.snapshot_sha256 in first
    assert cases.squeezed("2026-0007") in first
    assert "ventwrightverify" in first
    draft = dict(cases.model_of("juniper_mesa", UnitPreference.IP).facts)
    assert draft["Report number"] == "draft, not issued"
    assert "To check it" not in draft


def test_the_owner_reads_what_to_look_after_by_the_names_of_the_settings() -> None:
    section = cases.model_of("juniper_mesa", UnitPreference.IP).section("care")
    assert section is not None
    text = " ".join(c.text for row in section.tables[0].rows for c in row)
    for fan in cases.assessed("juniper_mesa").snapshot.house.systems[0].fan_settings:
        assert f"“{fan.name.partition(',')[0]}”" in text
    for word in ("Filters", "Boost", "Condensate", "Call for service"):
        assert word in text


def test_a_signature_given_leaves_room_for_the_others() -> None:
    from ventwright.house import Signature, SignerRole

    one = cases.assessed("juniper_mesa").snapshot
    signed = replace(one.visit, signatures=(Signature(id="a", name="B. #[Sample]"),))
    section = cases.composed(cases.with_snapshot("juniper_mesa", visit=signed)).section(
        "signatures"
    )
    assert section is not None
    given, room = section.tables
    assert [c.text for c in given.rows[0]][:2] == ["technician", "B. #[Sample]"]
    left = [row[0].text for row in room.rows]
    assert left == [r.value for r in (SignerRole.OWNER, SignerRole.OFFICIAL)]
    assert room.is_form and all(row[1].text == " " for row in room.rows)


def test_instruments_say_which_readings_they_gave() -> None:
    found = cases.assessed("juniper_mesa").findings
    section = cases.model_of("juniper_mesa", UnitPreference.IP).section("instruments")
    assert section is not None
    counted = sum(
        int(use.rpartition("× ")[2])
        for row in section.tables[0].rows
        for use in row[-1].text.split(", ")
        if use
    )
    assert counted == sum(r.instrument_id is not None for r in found.readings)


@every_example
def test_the_owner_reads_names_and_no_ids(name: str) -> None:
    found = cases.assessed(name)
    model = part_of(found, Part.OWNER, preference=HABITS[name])
    texts = [line.text for s in model.sections for line in s.lines]
    texts += [c.text for s in model.sections for t in s.tables for row in t.rows for c in row]
    drawn = [p.svg for s in model.sections for p in s.pictures]
    texts += [t for svg in drawn for t in re.findall(r"<text [^>]*>([^<]*)<", svg)]
    told = " | ".join(texts)
    for system in found.snapshot.house.systems:
        ids = [*(t.id for t in system.terminals), *(b.id for b in system.branches)]
        for one in ids:
            assert not re.search(rf"(?<![\w-]){re.escape(one)}(?![\w-])", told), one
        for setting in system.fan_settings:
            assert f"setting {setting.id}" not in told
            if setting.id in {t.setting for s in found.findings.systems for t in s.terminals}:
                assert f"“{setting.name.partition(',')[0]}”" in told
