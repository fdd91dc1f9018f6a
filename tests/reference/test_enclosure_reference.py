"""House pressure, room air and transfer openings against printed and independent values."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.reference import shelves
from ventwright.enclosure import (
    Zone,
    air_paths,
    check_transfer,
    course_of_levels,
    leakage_from_test,
    opening_flow_m3_s,
    supply_for_limit_m3_s,
    undercut_height_m,
    usual_generation_rates,
)
from ventwright.uncertainty import exact

CUBIC_FOOT = 0.3048**3
CFM = CUBIC_FOOT / 60.0
INCH = 0.0254
HOUR = 3600.0


def pressure(*, leakage_m3_s: float, net_m3_s: float) -> float:
    law = leakage_from_test(leakage_flow_m3_s=leakage_m3_s, exponent=0.65)
    return law.house_pressure(net_exhaust_m3_s=exact(net_m3_s)).value


def largest_cfm(*, leakage_cfm: float, limit_pa: float) -> float:
    law = leakage_from_test(leakage_flow_m3_s=leakage_cfm * CFM, exponent=0.65)
    return law.leak_flow(pressure_pa=-limit_pa).value / CFM


def co2_flow_m3_h(*, litre_h: float, limit_ppm: float, outdoor_ppm: float) -> float:
    flow = supply_for_limit_m3_s(
        [Zone(id="room", volume_m3=50.0, supply_m3_s=0.001, extract_m3_s=0.001)],
        [],
        root="room",
        zone_id="room",
        generation_m3_s={"room": litre_h * 1e-3 / HOUR},
        outdoor_frac=outdoor_ppm * 1e-6,
        limit_frac=limit_ppm * 1e-6,
    )
    assert flow is not None
    return flow * HOUR


def build_up(*, source_m3_s: float, flow_m3_s: float, volume_m3: float, time_s: float) -> float:
    room = Zone(id="room", volume_m3=volume_m3, supply_m3_s=flow_m3_s, extract_m3_s=flow_m3_s)
    level = (
        course_of_levels(
            air_paths([room], [], root="room"),
            generation_m3_s={"room": source_m3_s},
            start_frac={},
            duration_s=time_s,
        )
        .levels[-1]
        .of("room")
    )
    assert level is not None
    return level


def undercut_cfm(*, width_in: float, gap_in: float, drop_pa: float) -> float:
    area = width_in * gap_in * INCH**2
    assert undercut_height_m(area_m2=area, door_width_m=width_in * INCH) == pytest.approx(
        gap_in * INCH
    )
    return opening_flow_m3_s(area_m2=area, drop_pa=drop_pa) / CFM


def gap_speed_m_s(*, width_m: float, gap_m: float, flow_m3_h: float) -> float:
    check = check_transfer(
        surplus_m3_s=exact(flow_m3_h / HOUR), area_m2=width_m * gap_m, limit_pa=3.0
    )
    return check.speed_m_s.value


def rate(id: str) -> float:
    return next(r.rate_m3_s for r in usual_generation_rates() if r.id == id)


FUNCTIONS: dict[str, Callable[..., float]] = {
    "pressure_cfm": lambda leakage_cfm, net_cfm: pressure(
        leakage_m3_s=leakage_cfm * CFM, net_m3_s=net_cfm * CFM
    ),
    "pressure_m3_h": lambda leakage_m3_h, net_m3_h: pressure(
        leakage_m3_s=leakage_m3_h / HOUR, net_m3_s=net_m3_h / HOUR
    ),
    "largest_cfm": largest_cfm,
    "co2_flow_m3_h": co2_flow_m3_h,
    "build_up_ppm": lambda source_cfm, flow_cfm, volume_ft3, minutes: (
        1e6
        * build_up(
            source_m3_s=source_cfm * CFM,
            flow_m3_s=flow_cfm * CFM,
            volume_m3=volume_ft3 * CUBIC_FOOT,
            time_s=60.0 * minutes,
        )
    ),
    "build_up_share": lambda source_m3_h, flow_m3_h, volume_m3, hours: build_up(
        source_m3_s=source_m3_h / HOUR,
        flow_m3_s=flow_m3_h / HOUR,
        volume_m3=volume_m3,
        time_s=HOUR * hours,
    ),
    "undercut_cfm": undercut_cfm,
    "gap_speed_m_s": gap_speed_m_s,
    "box_cfm": lambda area_in2, drop_pa: (
        opening_flow_m3_s(
            area_m2=area_in2 * INCH**2,
            drop_pa=drop_pa,
            discharge_coeff=0.606,
            density_kg_m3=1.2,
        )
        / CFM
    ),
    "rate_l_s": lambda id: 1e3 * rate(id),
    "rate_l_h": lambda id: 3.6e6 * rate(id),
}


@pytest.mark.parametrize("row", shelves.rows("enclosure.csv"), ids=str)
def test_enclosure(row: shelves.Row) -> None:
    row.check(FUNCTIONS[row["function"]](**row.inputs))
