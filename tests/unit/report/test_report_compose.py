"""The model says what the findings say: numbers converted and rounded, verdicts in words."""

from __future__ import annotations

import dataclasses
import re

import pytest

from tests.unit.report import cases
from ventwright.findings import TerminalFinding
from ventwright.house import Note, Phase, StationKind, station_text
from ventwright.quantities import UnitPreference
from ventwright.report import Align, Mark, Particulars, ReportModel, all_cautions, compose
from ventwright.report.engine_words import in_measures
from ventwright.report.measures import Measures
from ventwright.requirements import Trust
from ventwright.uncertainty import Verdict

# Exact: foot 0.3048 m, minute 60 s, hour 3600 s.
FLOW = {
    UnitPreference.IP: 0.3048**3 / 60.0,
    UnitPreference.SI_LS: 1e-3,
    UnitPreference.SI_M3H: 1.0 / 3600.0,
}
ORDER = (
    *("summary", "next", "changed", "care", "flows", "balance", "doubts", "next-visit"),
    *(
        "conditions",
        "walk-through",
        "punch-list",
        "settings",
        "instruments",
        "rules",
        "signatures",
        "ducts",
        "shares",
        "learnt",
        "totals",
    ),
    *("rooms-air", "recovery", "surfaces", "changes", "readings", "methods", "budgets"),
    "year",
    "reading-aid",
)
FIELDS = {
    "rel_humidity_frac": "relative humidity",
    "are_inner_doors_shut": "inner doors shut",
}
MAY_BE_EMPTY = {"rooms-air", "changes"}
WITH_U = re.compile(r"(−?\d+(?:\.\d+)?) ± (\d+(?:\.\d+)?)")

every_example = pytest.mark.parametrize("name", sorted(cases.EXAMPLES))
every_habit = pytest.mark.parametrize("preference", list(UnitPreference))


def numbers(text: str) -> tuple[float, float]:
    found = WITH_U.fullmatch(text)
    assert found, text
    return float(found[1].replace("−", "-")), float(found[2])


def rows_of(model: ReportModel, table_id: str) -> list[dict[str, str]]:
    tables = [t for s in model.sections for t in s.tables if t.id == table_id]
    assert len(tables) == 1, table_id
    heads = [c.title for c in tables[0].columns]
    return [dict(zip(heads, (c.text for c in row), strict=True)) for row in tables[0].rows]


@every_example
@every_habit
def test_sections_stand_in_their_order(name: str, preference: UnitPreference) -> None:
    ids = [s.id for s in cases.model_of(name, preference).sections]
    assert ids == [i for i in ORDER if i in ids]
    assert set(ORDER) - set(ids) <= MAY_BE_EMPTY


@every_example
@every_habit
def test_every_flow_of_a_terminal_is_told_with_its_uncertainty(
    name: str, preference: UnitPreference
) -> None:
    found = cases.assessed(name).findings
    told = 0
    for system in found.systems:
        for t in system.terminals:
            table = f"flows-{system.system_id}-{t.setting}"
            rows = rows_of(cases.model_of(name, preference), table)
            row = next(r for r in rows if r["Terminal"] == t.terminal_id)
            for flow, cell in ((t.as_found, "As found ± U"), (t.as_left, "As left ± U")):
                if flow is None:
                    assert row[cell] == ""
                    continue
                value, u = numbers(row[cell])
                e = flow.figure.flow_m3_s
                # Rounded to the place of U's first or second digit: half a step of that place.
                assert u == pytest.approx(2.0 * e.u_std / FLOW[preference], rel=0.26)
                assert value == pytest.approx(e.value / FLOW[preference], abs=0.51 * u)
                told += 1
    assert told


@every_example
@every_habit
def test_value_and_uncertainty_have_the_same_decimals(
    name: str, preference: UnitPreference
) -> None:
    seen = 0
    for text in cases.all_texts(cases.model_of(name, preference)):
        for value, u in WITH_U.findall(text):
            assert len(value.partition(".")[2]) == len(u.partition(".")[2]), text
            seen += 1
    assert seen > 20


@every_example
@every_habit
def test_no_number_has_a_hyphen_for_a_minus(name: str, preference: UnitPreference) -> None:
    for section in cases.model_of(name, preference).sections:
        for table in section.tables:
            if table.id in ("readings", "settings-changes", "settings-final"):
                continue  # texts as typed stand there
            for row in table.rows:
                for column, cell in zip(table.columns, row, strict=True):
                    if column.align is Align.NUMBER:
                        assert not re.search(r"(?<!\w)-\d", cell.text), (table.id, cell.text)


def worst(t: TerminalFinding) -> Verdict:
    verdicts = [line.verdict for line in t.lines]
    return min(verdicts, key=[Verdict.NOT_MET, Verdict.NOT_SHOWN, Verdict.MET].index)


@every_example
def test_verdicts_of_terminals_are_told_in_words_and_marks(name: str) -> None:
    found = cases.assessed(name).findings
    model = cases.model_of(name, UnitPreference.SI_LS)
    for system in found.systems:
        for t in system.terminals:
            table_id = f"flows-{system.system_id}-{t.setting}"
            table = next(s for s in model.sections if s.id == "flows").tables
            rows = next(x for x in table if x.id == table_id).rows
            row = next(r for r in rows if r[0].text == t.terminal_id)
            marks = [c.mark for c in row if c.mark is not None]
            assert marks == [Mark(line.verdict.value) for line in t.lines]
            if t.lines and t.lines[0].judgement is not None:
                assert row[-1].text.startswith(worst(t).value)


@every_example
def test_nothing_is_told_by_a_mark_alone(name: str) -> None:
    for section in cases.model_of(name, UnitPreference.SI_LS).sections:
        assert all(line.text for line in (*section.lines, *section.cautions))
        for table in section.tables:
            assert all(c.text for row in table.rows for c in row if c.mark is not None)


@every_example
def test_every_doubt_and_refusal_is_told_with_its_remedy(name: str) -> None:
    found = cases.assessed(name).findings
    told = cases.squeezed(
        " ".join(
            c.text.lower()
            for row in next(
                s for s in cases.model_of(name, UnitPreference.IP).sections if s.id == "doubts"
            )
            .tables[0]
            .rows
            for c in row
        )
    ).replace("−", "")
    problems = [*found.problems, *(p for r in found.readings for p in r.flags)]
    assert problems
    for p in problems:
        for text in (p.message, p.remedy):
            shown = in_measures(text, Measures(preference=UnitPreference.IP))
            # A field's name is told in words where a reader would not know it.
            for field, words in FIELDS.items():
                shown = re.sub(rf"\b{field}\b", words, shown)
            assert cases.squeezed(shown.lower()).replace("−", "") in told


@every_example
def test_refusals_come_before_doubts_and_notes(name: str) -> None:
    section = cases.model_of(name, UnitPreference.IP).section("doubts")
    assert section is not None
    order = ["refused", "unreadable", "doubt", "note"]
    weights = [order.index(row[0].text) for row in section.tables[0].rows]
    assert weights == sorted(weights)


@every_example
def test_every_reading_in_force_stands_as_typed(name: str) -> None:
    snapshot = cases.assessed(name).snapshot
    rows = {r["Id"]: r for r in rows_of(cases.model_of(name, UnitPreference.IP), "readings")}
    gone = {r.supersedes for r in snapshot.visit.readings}
    for reading in snapshot.visit.readings:
        if reading.id in gone:
            continue
        for typed in reading.typed:
            assert typed.text in rows[reading.id]["As typed"]


@every_example
def test_every_refused_ratio_has_its_cause(name: str) -> None:
    model = cases.model_of(name, UnitPreference.IP)
    text = " ".join(cases.all_texts(model)).lower()
    for system in cases.assessed(name).findings.systems:
        for recovery in system.recoveries:
            for ratio in recovery.result.ratios() if recovery.result else ():
                if ratio.estimate is None:
                    assert ratio.definition.lower() in text
                    assert ratio.flags[0].message.lower() in text


def test_a_rule_from_memory_is_never_called_compliance() -> None:
    base = cases.assessed("juniper_mesa").snapshot
    rules = base.rule_sets[0]
    assert rules.terminal is not None and rules.balance is not None
    from_memory = {
        key: dataclasses.replace(
            rule, citation=dataclasses.replace(rule.citation, trust=Trust.MEMORY)
        )
        for key, rule in (("terminal", rules.terminal), ("balance", rules.balance))
    }
    found = cases.with_snapshot(
        "juniper_mesa", rule_sets=(dataclasses.replace(rules, **from_memory),)
    )
    model = cases.composed(found)
    summary = model.section("summary")
    assert summary is not None
    assert any("no statement of compliance" in line.text for line in summary.lines)
    verdicts = [r["Verdict"] for r in rows_of(model, "balance-rules-hrv")]
    assert all("recalled, not confirmed" in v for v in verdicts if v != "not shown")
    assert "recalled, not confirmed" in rows_of(model, "rules")[0]["Known from"]


def test_two_rule_sets_stand_side_by_side() -> None:
    base = cases.assessed("juniper_mesa").snapshot
    other = dataclasses.replace(base.rule_sets[0], id="stricter", name="The owner's wish")
    found = cases.with_snapshot("juniper_mesa", rule_sets=(*base.rule_sets, other))
    model = cases.composed(found)
    row = rows_of(model, "flows-hrv-continuous")[0]
    assert [k for k in row if k.startswith("Verdict")] == [
        f"Verdict: {base.rule_sets[0].name}",
        "Verdict: The owner's wish",
    ]


def test_two_systems_are_told_apart() -> None:
    snapshot = cases.assessed("juniper_mesa").snapshot
    first = snapshot.house.systems[0]
    second = dataclasses.replace(
        first,
        id="annex",
        name="Annex unit",
        terminals=tuple(dataclasses.replace(t, id=f"a-{t.id}") for t in first.terminals),
    )
    house = dataclasses.replace(snapshot.house, systems=(first, second))
    readings = tuple(
        dataclasses.replace(r, station=dataclasses.replace(r.station, system=first.id))
        for r in snapshot.visit.readings
    )
    visit = dataclasses.replace(snapshot.visit, readings=readings)
    model = cases.composed(cases.with_snapshot("juniper_mesa", house=house, visit=visit))
    flows = model.section("flows")
    assert flows is not None
    assert {t.title.partition(":")[0] for t in flows.tables} == {first.name, "Annex unit"}


@every_example
def test_ids_are_unique_and_pictures_follow_a_table_of_their_section(name: str) -> None:
    model = cases.model_of(name, UnitPreference.SI_LS)
    ids = [x.id for s in model.sections for x in (*s.tables, *s.pictures)]
    assert len(ids) == len(set(ids))
    for section in model.sections:
        for picture in section.pictures:
            assert picture.follows in {"", *(t.id for t in section.tables)}
        for table in section.tables:
            assert all(len(row) == len(table.columns) for row in table.rows)


def test_an_empty_visit_says_that_nothing_was_read() -> None:
    model = cases.composed(cases.empty())
    summary = model.section("summary")
    assert summary is not None and summary.lines[0].mark is Mark.NOT_SHOWN
    assert model.dated == "" and "not written down" in model.subtitle


@every_example
@every_habit
def test_the_same_findings_give_the_same_model(name: str, preference: UnitPreference) -> None:
    again = cases.composed(cases.assessed(name), preference)
    assert again == cases.model_of(name, preference)


@every_example
def test_each_caution_stands_where_it_belongs(name: str) -> None:
    model = cases.model_of(name, UnitPreference.IP)
    house = cases.assessed(name).snapshot.house
    for caution in all_cautions():
        section = model.section(caution.section)
        assert section is not None, caution.id
        is_there = caution.line in section.cautions
        is_due = {
            "always": True,
            "combustion": bool(house.combustion_appliances),
            "no-combustion": not house.combustion_appliances,
            "surfaces": bool(house.surfaces),
        }[caution.when]
        assert is_there is is_due
        assert (caution.line in model.cautions) is is_due


def test_cautions_name_every_danger() -> None:
    text = " ".join(c.text.lower() for c in all_cautions())
    for word in ("combustion", "carbon monoxide", "mould", "electric", "ladder", "crawl", "codes"):
        assert word in text
    assert "not a combustion-safety test" in text


def test_a_pulled_house_is_told_first_to_those_who_must_act() -> None:
    advice = cases.assessed("hard_visit").findings.advice
    if not any(a.code == "combustion-while-pulled" for a in advice):
        pytest.fail("the hard visit no longer shows a pulled house with a combustion appliance")
    section = cases.model_of("hard_visit", UnitPreference.SI_LS).section("next")
    assert section is not None and "suction" in section.lines[0].text


@every_example
def test_totals_and_phases_are_told(name: str) -> None:
    for system in cases.assessed(name).findings.systems:
        for setting in {t.setting for t in system.terminals}:
            designs = [d for d in system.designs if d.setting == setting]
            rows = rows_of(
                cases.model_of(name, UnitPreference.SI_LS), f"flows-{system.system_id}-{setting}"
            )
            sides = {d.side.value for d in designs}
            told = {r["Side"] for r in rows if r["Terminal"] == "Total"}
            assert told <= sides
            for d in designs:
                key = {Phase.AS_FOUND: "As found ± U", Phase.AS_LEFT: "As left ± U"}.get(d.phase)
                total = [r for r in rows if r["Terminal"] == "Total" and r["Side"] == d.side.value]
                if key and total and d.measured_m3_s is not None:
                    value, u = numbers(total[0][key])
                    assert value == pytest.approx(1e3 * d.measured_m3_s.value, abs=0.51 * u)


def test_notes_taken_on_site_stand_in_the_record_with_their_places() -> None:
    name = sorted(cases.EXAMPLES)[0]
    visit = cases.assessed(name).snapshot.visit
    station = next(r.station for r in visit.readings if r.station.kind is StationKind.TERMINAL)
    notes = (
        Note(id="n1", text="Damper spindle squeaks *badly*", where=station_text(station)),
        Note(id="n2", text="Key under the mat", where="porch"),
    )
    changed = dataclasses.replace(visit, notes=notes)
    model = cases.composed(cases.with_snapshot(name, visit=changed))
    rows = rows_of(model, "notes")
    assert [row["Note"] for row in rows] == ["Damper spindle squeaks *badly*", "Key under the mat"]
    assert rows[1]["Place"] == "porch"
    assert str(station.ref) in rows[0]["Place"] and "terminal:" not in rows[0]["Place"]
    assert not [
        t
        for s in cases.model_of(name, UnitPreference.IP).sections
        for t in s.tables
        if t.id == "notes"
    ]


@every_example
def test_some_sections_alone_are_those_of_the_whole(name: str) -> None:
    """A page that shows some pays for those only; nothing in them changes."""
    whole = cases.model_of(name, UnitPreference.SI_LS)
    found = cases.assessed(name)
    only = ("recovery", "summary", "walk-through")
    some = compose(
        found.findings,
        found.snapshot,
        preference=UnitPreference.SI_LS,
        snapshot_sha256=found.snapshot_sha256,
        particulars=Particulars(only=only),
    )
    assert some.sections == tuple(s for s in whole.sections if s.id in only)
    assert some.cautions == whole.cautions


def test_sections_are_listed_under_their_ids() -> None:
    found = cases.empty()
    for id_ in ORDER[:-1]:
        some = compose(
            found.findings,
            found.snapshot,
            preference=UnitPreference.SI_LS,
            snapshot_sha256="0" * 64,
            particulars=Particulars(only=[id_]),
        )
        assert {s.id for s in some.sections} <= {id_}
