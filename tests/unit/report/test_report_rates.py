"""Requirements, shares, ratings and safe limits: what the findings hold is told, no more."""

from __future__ import annotations

import functools
from dataclasses import replace

import pytest

from tests.unit.report import cases
from ventwright.actions import Assessment, load_rule_sets, shipped_rule_sets
from ventwright.quantities import Dimension, NumberStyle, UnitPreference
from ventwright.report import Mark, Part, ReportModel
from ventwright.report.engine_words import in_measures
from ventwright.report.measures import Measures
from ventwright.report.pen import Pen
from ventwright.report.sections.rates import asking, compliance_code, lines_by
from ventwright.report.wording import words_of
from ventwright.requirements import BalanceBehind, RateFindings, Subject, Trust
from ventwright.uncertainty import Verdict


@functools.cache
def judged(name: str) -> Assessment:
    """An example against every rule set that ships."""
    return cases.with_snapshot(name, rule_sets=load_rule_sets(shipped_rule_sets()))


@functools.cache
def model(name: str) -> ReportModel:
    return cases.composed(judged(name), UnitPreference.SI_LS)


def pen_of(found: Assessment) -> Pen:
    return Pen(
        findings=found.findings,
        snapshot=found.snapshot,
        measures=Measures(preference=UnitPreference.SI_LS),
        words=words_of(),
    )


HOUSES = ("juniper_mesa", "harbour_terrace")


@pytest.mark.parametrize("name", HOUSES)
def test_every_rule_set_that_asks_has_one_line_on_compliance(name: str) -> None:
    found = judged(name)
    section = model(name).section("rates")
    assert section is not None
    asked = asking(pen_of(found))
    assert len(asked) > 5
    for one in asked:
        shown = pen_of(found).rule_name(one.rule_set_id)
        summary = model(name).section("summary")
        assert summary is not None
        for part in (section, summary):
            lines = [x.text for x in part.lines if x.text.startswith(f"{shown}: ")]
            told = [t for t in lines if "every rule judged" in t or " verdicts " in t]
            assert len(told) == 1, (shown, lines)


@pytest.mark.parametrize("name", HOUSES)
def test_every_verdict_on_dwelling_and_rooms_is_told_with_its_trust(name: str) -> None:
    found = judged(name)
    section = model(name).section("rates")
    assert section is not None
    tables = {t.id: t for t in section.tables}
    asked = asking(pen_of(found))
    rooms = tables["rates-rooms"].rows
    assert len(rooms) == sum(len(f.rooms) for f in asked)
    expected = [v for f in asked for v in f.rooms]
    for row, v in zip(rooms, expected, strict=True):
        assert row[6].mark is Mark(v.verdict.value)
        assert row[6].text.startswith(v.verdict.value)
        if v.rate.rule.citation.trust is Trust.MEMORY:
            assert row[7].mark is Mark.CAUTION


@pytest.mark.parametrize("name", HOUSES)
def test_compliance_is_never_called_where_memory_stands_behind(name: str) -> None:
    told = [line.text for s in model(name).sections for line in s.lines]
    for one in asking(pen_of(judged(name))):
        others = lines_by(pen_of(judged(name)), one.rule_set_id)
        code = compliance_code(one, others)
        if any(line.verdict is not Verdict.MET for line in others):
            assert code in ("some-not-met", "some-open")
        verdicts = [one.rate, *([one.capacity] if one.capacity else []), *one.rooms]
        from_memory = one.result.trust is Trust.MEMORY or any(
            not v.is_compliance_claimable
            for v in verdicts
            if getattr(v, "reason_code", "") != "no-rule"
        )
        if from_memory:
            assert code != "claimable"
        shown = pen_of(judged(name)).rule_name(one.rule_set_id)
        compliant = [t for t in told if t.startswith(f"{shown}: ") and "may be stated" in t]
        assert bool(compliant) == (code == "claimable")


def met(one: RateFindings, trust: Trust) -> RateFindings:
    """A finding with a met rate of a given trust and nothing else asked."""
    rate = replace(one.rate, verdict=Verdict.MET, trust=trust, reason_code="")
    result = replace(one.result, trust=trust, is_balance_planned=False)
    return replace(one, rate=rate, result=result, capacity=None, rooms=(), balance_rule_set_id="")


def test_the_code_follows_trust_and_verdict_alone() -> None:
    one = next(
        f
        for f in judged("juniper_mesa").findings.rates
        if f.rate.judgement is not None and f.rate.subject is Subject.RATE
    )
    assert compliance_code(met(one, Trust.READ)) == "claimable"
    assert compliance_code(met(one, Trust.SECOND_HAND)) == "claimable"
    assert compliance_code(met(one, Trust.MEMORY)) == "recalled"
    assert compliance_code(met(one, Trust.OWN)) == "recalled"
    planned = met(one, Trust.READ)
    planned = replace(planned, result=replace(planned.result, is_balance_planned=True))
    assert compliance_code(planned) == "recalled"
    credited = met(one, Trust.READ)
    steps = [s for f in judged("juniper_mesa").findings.rates for s in f.result.steps]
    step = replace(steps[-1], is_applied=True, behind=BalanceBehind.MEASURED, trust=Trust.READ)
    weak = replace(credited.balance, verdict=Verdict.MET, trust=Trust.MEMORY)
    credited = replace(credited, balance=weak, result=replace(credited.result, steps=(step,)))
    assert compliance_code(credited) == "recalled"
    open_ = replace(met(one, Trust.READ), rate=replace(one.rate, verdict=Verdict.NOT_SHOWN))
    assert compliance_code(open_) == "some-open"
    failed = replace(met(one, Trust.READ), rate=replace(one.rate, verdict=Verdict.NOT_MET))
    assert compliance_code(failed) == "some-not-met"


@pytest.mark.parametrize("name", HOUSES)
def test_steps_end_at_the_flow_that_must_run(name: str) -> None:
    section = model(name).section("rate-steps")
    assert section is not None and section.part is Part.ANNEX
    table = section.tables[0]
    for one in asking(pen_of(judged(name))):
        if one.result.required_m3_s is None or not one.result.steps:
            continue
        named = pen_of(judged(name)).rule_name(one.rule_set_id)
        rows = [r for r in table.rows if r[0].text == named and r[2].text]
        shown = {float(r[2].text) for r in rows}
        # Litres per second are thousandths of the SI unit; shown to one decimal.
        last = one.result.steps[-1].after_m3_s * 1000.0
        assert any(abs(value - last) < 0.051 for value in shown)


def test_a_total_out_of_tolerance_spoils_compliance_with_its_rule_set() -> None:
    pen = pen_of(judged("juniper_mesa"))
    failed = [
        line.rule_set_id
        for system in pen.findings.systems
        for d in system.designs
        if d.phase is pen.findings.phase
        for line in d.lines
        if line.verdict is Verdict.NOT_MET
    ]
    asked = [f for f in asking(pen) if f.rule_set_id in failed]
    assert asked
    for one in asked:
        others = lines_by(pen, one.rule_set_id)
        assert any(line.verdict is Verdict.NOT_MET for line in others)
        assert compliance_code(one, others) == "some-not-met"


def test_editions_of_one_text_are_told_apart() -> None:
    pen = pen_of(judged("juniper_mesa"))
    names = [pen.rule_name(r.id) for r in pen.snapshot.rule_sets]
    assert len(names) == len(set(names))
    assert "The designer's own targets" in names


def test_nothing_is_said_where_no_rule_set_asks() -> None:
    plain = cases.model_of("juniper_mesa", UnitPreference.IP)
    assert plain.section("rates") is None
    assert plain.section("rate-steps") is None


def test_shares_of_a_side_are_told_beside_those_of_the_targets() -> None:
    found = cases.assessed("juniper_mesa").findings.systems[0]
    section = cases.model_of("juniper_mesa", UnitPreference.IP).section("shares")
    assert section is not None
    known = [t for t in found.terminals if t.share_frac is not None]
    rows = [row for t in section.tables for row in t.rows]
    assert len(rows) == len(known) > 0
    for row, t in zip(rows, known, strict=True):
        assert t.share_frac is not None and t.share_target_frac is not None
        value = float(row[4].text.partition(" ±")[0])
        assert value == pytest.approx(100.0 * t.share_frac.value, abs=0.6)
        assert float(row[5].text) == pytest.approx(100.0 * t.share_target_frac, abs=0.6)


@pytest.mark.parametrize("name", HOUSES)
def test_measured_figures_stand_against_their_rating(name: str) -> None:
    found = cases.assessed(name).findings.systems[0]
    section = cases.model_of(name, UnitPreference.IP).section("recovery")
    assert section is not None
    told = {t.id: t for t in section.tables}
    compared = 0
    for one in found.recoveries:
        if not one.rated:
            continue
        table = told[f"rated-{found.system_id}-{one.setting}-{one.phase.value}"]
        heads = [c.title for c in table.columns]
        for row, (_, c) in zip(table.rows, one.rated, strict=True):
            verdict = row[heads.index("Reaches it?")]
            expected = Verdict.NOT_SHOWN if c.decision is None else c.decision.verdict
            assert verdict.mark is Mark(expected.value)
            compared += 1
    assert compared


@pytest.mark.parametrize("preference", list(UnitPreference))
def test_a_safe_dew_point_is_never_rounded_up(preference: UnitPreference) -> None:
    safe = cases.assessed("juniper_mesa").findings.safe_dew_point
    assert safe is not None
    text = Measures(preference=preference).at_most(safe.limit_c, Dimension.TEMPERATURE)
    shown = float(text.split()[0].replace("−", "-"))
    # Exact: °F = 1.8 °C + 32.
    limit = 1.8 * safe.limit_c + 32.0 if preference is UnitPreference.IP else safe.limit_c
    assert limit - 1.0 < shown <= limit
    section = cases.model_of("juniper_mesa", preference).section("surfaces")
    assert section is not None
    assert any(text in line.text for line in section.lines)


def test_the_surface_that_gets_wet_first_is_named() -> None:
    first = cases.assessed("juniper_mesa").findings.first_to_wet
    section = cases.model_of("juniper_mesa", UnitPreference.IP).section("surfaces")
    assert first is not None and section is not None
    house = cases.assessed("juniper_mesa").snapshot.house
    name = next(s.name for s in house.surfaces if s.id == first.check.surface_id)
    assert any(f"{name} gets wet first" in line.text for line in section.lines)


# Exact: 1 m³/s = 3600 m³/h = 1000 l/s; foot 0.3048 m; °F = 1.8 °C + 32; 1 K = 1.8 °F of difference.
SAID = [
    ("at 20 °C", UnitPreference.IP, "at 68 °F"),
    ("at -40.0 °C", UnitPreference.IP, "at −40.0 °F"),
    ("lies 5.0 K below", UnitPreference.IP, "lies 9.0 °F below"),
    ("0.05 m³/s", UnitPreference.SI_M3H, "180 m³/h"),
    ("0.05 to 0.1 m³/s", UnitPreference.SI_LS, "50.0 to 100 L/s"),
    ("moves at 0.508 m/s", UnitPreference.IP, "moves at 100 fpm"),
    ("wind of 4.4704 m/s", UnitPreference.IP, "wind of 10 mph"),
    ("at 20 °C", UnitPreference.SI_LS, "at 20 °C"),
    ("'20 °C' is typed", UnitPreference.IP, "'20 °C' is typed"),
    ("a drop of 5.0 Pa", UnitPreference.IP, "a drop of 5.0 Pa"),
    ("0.04 m² K/W and 3 kW", UnitPreference.IP, "0.04 m² K/W and 3 kW"),
    ("12 K/W", UnitPreference.IP, "12 K/W"),
]


@pytest.mark.parametrize(("typed", "preference", "shown"), SAID)
def test_the_engine_speaks_in_the_readers_units(
    typed: str, preference: UnitPreference, shown: str
) -> None:
    assert in_measures(typed, Measures(preference=preference)) == shown


def test_the_engine_speaks_in_the_readers_decimal_mark() -> None:
    comma = Measures(preference=UnitPreference.IP, number_style=NumberStyle.DECIMAL_COMMA)
    assert in_measures("lies 2.5 K below", comma) == "lies 4,5 °F below"
