"""What the readings taught: the annex shows what guidance learnt, beside what it assumed."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from math import exp, log

import pytest

from tests.unit.report import cases
from ventwright.findings import SideLearnt, assess, learn
from ventwright.house import station_text
from ventwright.quantities import UnitPreference
from ventwright.report import Mark, Part, ReportModel, compose, csv_files

every_example = pytest.mark.parametrize("name", sorted(cases.EXAMPLES))


@cache
def written(name: str) -> ReportModel:
    found = cases.assessed(name)
    return compose(
        found.findings,
        found.snapshot,
        preference=UnitPreference.SI_LS,
        snapshot_sha256=found.snapshot_sha256,
        parts=(Part.ANNEX,),
    )


@cache
def learnt(name: str) -> tuple[SideLearnt, ...]:
    found = cases.assessed(name)
    return learn(found.snapshot, found.findings)


@every_example
def test_each_side_has_a_picture_with_words_or_a_reason(name: str) -> None:
    section = written(name).section("learnt")
    assert section is not None
    told = [side for side in learnt(name) if not side.reason_code]
    assert [p.id for p in section.pictures] == [f"learnt-{s.system_id}-{s.side}" for s in told]
    reasons = [line for line in section.lines if line.mark is Mark.NOT_SHOWN]
    assert len(reasons) == len(learnt(name)) - len(told)
    for picture, side in zip(section.pictures, told, strict=True):
        for terminal in side.terminals:
            flow = terminal.predicted.flow_m3_s * 1000.0
            pattern = rf"{re.escape(terminal.predicted.outlet_id)}\b[^:]*: predicted ([\d.]+) ±"
            shown = re.search(pattern, picture.alt)
            assert shown is not None
            assert float(shown[1]) == pytest.approx(flow, abs=0.51)
        assert picture.alt.count("assumed") == len(side.shares)
        tables = {t.id: t for t in section.tables}
        key = picture.id.removeprefix("learnt-")
        assert len(tables[f"learnt-shares-{key}"].rows) == len(side.shares)
        assert len(tables[f"learnt-flows-{key}"].rows) == len(side.terminals)


@every_example
def test_readings_never_widen_what_was_assumed(name: str) -> None:
    for side in learnt(name):
        for share in side.shares:
            assert 0.0 < share.narrowed_ratio <= 1.0 + 1e-9
            assert 0.0 < share.learnt.low < share.learnt_frac < share.learnt.high < 1.0


def test_turns_teach_the_losses_and_one_state_does_not() -> None:
    """Without turns, the as-found flows fit at any shares: the interval stays as assumed."""
    sides = [side for side in learnt("harbour_terrace") if not side.reason_code]
    assert min(s.narrowed_ratio for side in sides for s in side.shares) < 0.9
    found = cases.assessed("harbour_terrace")
    visit = replace(
        found.snapshot.visit,
        adjustments=(),
        readings=tuple(r for r in found.snapshot.visit.readings if str(r.phase) == "as_found"),
    )
    snapshot = replace(found.snapshot, visit=visit)
    still = learn(snapshot, assess(snapshot))
    ratios = [s.narrowed_ratio for side in still for s in side.shares]
    assert ratios
    assert all(ratio == pytest.approx(1.0, abs=1e-6) for ratio in ratios)


def test_intervals_are_symmetric_in_the_logarithm_of_odds() -> None:
    """Independent of the engine's own function: ends at ± 2 spreads from the middle."""

    def ln_odds(frac: float) -> float:
        return log(frac / (1.0 - frac))

    for side in learnt("harbour_terrace"):
        for share in side.shares:
            middle = 0.5 * (ln_odds(share.learnt.low) + ln_odds(share.learnt.high))
            odds = exp(middle)
            assert odds / (1.0 + odds) == pytest.approx(share.learnt_frac)


def test_too_few_readings_are_named() -> None:
    found = cases.assessed("harbour_terrace")
    snapshot = replace(
        found.snapshot, visit=replace(found.snapshot.visit, readings=(), adjustments=())
    )
    model = compose(
        assess(snapshot),
        snapshot,
        preference=UnitPreference.SI_LS,
        snapshot_sha256="0" * 64,
        parts=(Part.ANNEX,),
    )
    section = model.section("learnt")
    assert section is not None
    assert not section.pictures
    assert not section.tables
    assert all("fewer than two" in line.text for line in section.lines)


def test_a_slip_is_named_with_its_odds() -> None:
    found = cases.assessed("harbour_terrace")
    flows = {r.reading_id: r for r in found.findings.readings}
    last = max(
        (
            r
            for r in found.snapshot.visit.readings
            if station_text(r.station).endswith("s2") and r.id in flows and flows[r.id].flow
        ),
        key=lambda r: str(r.at),
    )
    wrong = flows[last.id]
    assert wrong.flow is not None
    estimate = wrong.flow.flow_m3_s
    slipped = replace(
        wrong, flow=replace(wrong.flow, flow_m3_s=replace(estimate, value=3.0 * estimate.value))
    )
    findings = replace(
        found.findings,
        readings=tuple(slipped if r is wrong else r for r in found.findings.readings),
    )
    model = compose(
        findings,
        found.snapshot,
        preference=UnitPreference.SI_LS,
        snapshot_sha256=found.snapshot_sha256,
        parts=(Part.ANNEX,),
    )
    section = model.section("learnt")
    assert section is not None
    named = [line for line in section.lines if line.mark is Mark.CAUTION]
    assert named[0].reading_ids == (last.id,)
    assert "to 1" in named[0].text


def test_both_tables_are_among_the_csv_files() -> None:
    names = " ".join(csv_files(written("harbour_terrace")))
    assert "learnt-shares-" in names
    assert "learnt-flows-" in names
