"""Fan charts of a plan: each side's curve with the points where it will work."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.findings import SettingPlan, SidePlan, SystemPlan
from ventwright.report.model import Picture
from ventwright.report.pictures.fan import DesignPoint, FanLine, WorkingPoint, fan_chart
from ventwright.report.plan_pen import PlanPen
from ventwright.uncertainty import u_expanded


def fan_pictures(pen: PlanPen) -> Iterator[Picture]:
    """One chart for each side whose unit has a curve in the house file.

    Parameters
    ----------
    pen
        What is written about.
    """
    for system in pen.found.systems:
        for side in system.sides:
            # Where the fan holds its flow, a speed says nothing and no curve belongs to a setting.
            if any(s.curve for s in side.settings):
                yield _picture(pen, system, side)


def _curves(side: SidePlan) -> list[FanLine]:
    """Each speed once, full speed first."""
    lines = [curve for s in side.settings for curve in (s.full_curve, s.curve) if curve]
    by_speed = {line[0].speed_frac: line for line in lines}
    return [
        FanLine(speed_frac=speed, points=tuple((p.flow_m3_s, p.external_pa) for p in line))
        for speed, line in sorted(by_speed.items(), reverse=True)
    ]


def _points(pen: PlanPen, one: SettingPlan) -> Iterator[WorkingPoint]:
    for point, is_set in ((one.open_point, False), (one.set_point, True)):
        if point is not None:
            yield WorkingPoint(
                label=pen.setting(one.setting),
                flow_m3_s=point.flow_m3_s,
                rise_pa=point.external_pa,
                is_set=is_set,
            )


def _picture(pen: PlanPen, system: SystemPlan, side: SidePlan) -> Picture:
    points = [p for one in side.settings for p in _points(pen, one)]
    design = None
    if side.design_m3_s is not None and side.needed_pa is not None:
        design = DesignPoint(
            flow_m3_s=side.design_m3_s,
            rise_pa=side.needed_pa.value,
            u_rise_pa=u_expanded(side.needed_pa),
        )
    speeds = {pen.setting(s.setting): pen.speed(s) for s in side.settings}
    told = " ".join(
        pen.say(
            f"fan.told-{'set' if p.is_set else 'open'}",
            setting=p.label,
            flow=pen.flow(p.flow_m3_s),
            rise=pen.pressure(p.rise_pa),
            speed=speeds[p.label],
        )
        for p in points
    )
    name = pen.of_system(system) + pen.side(side.side)
    return Picture(
        id=f"fan-{system.system_id}-{side.side.value}",
        svg=fan_chart(
            _curves(side),
            points,
            design=design,
            side=side.side,
            measures=pen.measures,
            words=pen.words,
        ),
        alt=pen.say("fan.alt", name=name, points=told),
        caption=pen.say("fan.caption", name=name),
        follows=f"plan-settings-{system.system_id}",
    )
