"""Fan charts of a plan, read back from their SVG: curves by speed, points where the fan works."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from ventwright.actions import examples_folder, plan_file
from ventwright.findings import PlanSnapshot, plan_house
from ventwright.house import FanControl
from ventwright.quantities import Side, UnitPreference
from ventwright.report import Picture, ReportModel, compose_plan
from ventwright.report.measures import Measures
from ventwright.report.pictures.fan import DesignPoint, FanLine, WorkingPoint, fan_chart
from ventwright.report.wording import words_of

CURVE = [(0.0, 200.0), (0.04, 150.0), (0.065, 40.0)]


def planned(snapshot: PlanSnapshot, preference: UnitPreference) -> ReportModel:
    found = plan_house(snapshot)
    return compose_plan(found, snapshot, preference=preference, snapshot_sha256="0" * 64)


def fans(model: ReportModel) -> list[Picture]:
    return [p for s in model.sections for p in s.pictures if p.id.startswith("fan-")]


@pytest.mark.parametrize("preference", list(UnitPreference))
def test_each_side_with_a_curve_has_a_chart_that_tells_every_point(
    preference: UnitPreference,
) -> None:
    plan = plan_file(examples_folder() / "harbour_terrace" / "house.toml")
    pictures = fans(planned(plan.snapshot, preference))
    assert [p.id for p in pictures] == ["fan-erv-supply", "fan-erv-extract"]
    for picture, side in zip(pictures, plan.found.systems[0].sides, strict=True):
        told = picture.alt.count(" all open: ") + picture.alt.count(" set as planned: ")
        drawn = sum(1 + (s.set_point is not None) for s in side.settings)
        assert told == drawn
        # Two more circles stand in the legend.
        assert picture.svg.count("<circle") == drawn + 2


def paths(svg: str) -> list[list[tuple[float, float]]]:
    return [
        [(float(x), float(y)) for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", d)]
        for d in re.findall(r'<path d="([^"]+)"', svg)
    ]


def test_curves_keep_to_the_fan_laws_and_points_lie_on_their_own() -> None:
    # Fan laws (any handbook): flow goes with speed, rise with its square. The exchanger inside
    # this unit is part of the maker's curve, so they hold at the ports as well.
    plan = plan_file(examples_folder() / "harbour_terrace" / "house.toml")
    for side in plan.found.systems[0].sides:
        for one in side.settings:
            full, slow = one.full_curve, one.curve
            assert len(full) == len(slow) > 10
            for a, b in zip(full, slow, strict=True):
                assert b.flow_m3_s == pytest.approx(one.speed_frac * a.flow_m3_s, rel=1e-9)
                expected = one.speed_frac**2 * a.external_pa
                assert b.external_pa == pytest.approx(expected, rel=0.02, abs=0.5)
            for point in (one.open_point, one.set_point):
                assert point is not None
                after = next(i for i, p in enumerate(slow) if p.flow_m3_s >= point.flow_m3_s)
                low, high = slow[after], slow[after - 1]
                assert low.external_pa - 0.5 <= point.external_pa <= high.external_pa + 0.5


def test_drawn_curves_and_points_stand_where_their_numbers_are() -> None:
    svg = drawn([WorkingPoint(label="day", flow_m3_s=0.04, rise_pa=150.0, is_set=True)])
    line = paths(svg)[0]
    left, bottom = line[0][0], 250.0 - 36.0
    for (x, y), (flow, rise) in zip(line, CURVE, strict=True):
        assert (x - left) / (line[1][0] - left) == pytest.approx(flow / 0.04, abs=0.001)
        assert (bottom - y) / (bottom - line[1][1]) == pytest.approx(rise / 150.0, abs=0.001)
    circle = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', svg)[-1]
    assert (float(circle[0]), float(circle[1])) == pytest.approx(line[1], abs=0.02)


def test_settings_that_run_at_one_place_share_a_label() -> None:
    here = WorkingPoint(label="day", flow_m3_s=0.04, rise_pa=150.0, is_set=True)
    far = replace(here, label="boost", flow_m3_s=0.06, rise_pa=60.0)
    svg = drawn([here, replace(here, label="night"), far])
    told = re.findall(r"<text [^>]*>([^<]*)</text>", svg)
    assert "day, night" in told and "boost" in told
    assert "day" not in told and "night" not in told


def drawn(points: list[WorkingPoint]) -> str:
    return fan_chart(
        [FanLine(speed_frac=1.0, points=tuple(CURVE))],
        points,
        design=DesignPoint(flow_m3_s=0.03, rise_pa=90.0, u_rise_pa=10.0),
        side=Side.SUPPLY,
        measures=Measures(preference=UnitPreference.SI_LS),
        words=words_of(),
    )


def test_a_fan_that_holds_its_flow_has_no_chart_by_speed() -> None:
    snapshot = plan_file(examples_folder() / "harbour_terrace" / "house.toml").snapshot
    system = snapshot.house.systems[0]
    unit = replace(system.ventilation_unit, fan_control=FanControl.CONSTANT_FLOW)
    house = replace(snapshot.house, systems=(replace(system, ventilation_unit=unit),))
    assert not fans(planned(replace(snapshot, house=house), UnitPreference.SI_LS))


def test_names_in_a_chart_are_escaped() -> None:
    svg = drawn([WorkingPoint(label="<b>&\"'", flow_m3_s=0.03, rise_pa=100.0, is_set=True)])
    assert "<b>" not in svg and "&lt;b&gt;" in svg
