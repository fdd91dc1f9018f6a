"""Every figure of the findings that a reader is owed stands in the PDF, rounded as it must be.

The findings are walked field by field; each estimate is either owed, with its unit of measure, or
named here with the reason why not, so that a new figure can't slip through. Rounding and units are
worked out in decimal arithmetic apart from the report's, and looked for in what pypdf reads.

Rounding by the uncertainty: two digits of U where it begins with 1 or 2, else one, and the value to
the same place (in the manner of the Particle Data Group's rule, JCGM 100:2008, 7.2.6). Units: foot
0.3048 m, minute 60 s, hour 3600 s, pound 0.45359237 kg of 7000 grains, Btu (IT) 1055.05585262 J.
"""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterator
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

import pytest

from tests.unit.report import cases
from ventwright.quantities import UnitPreference
from ventwright.report import Part, compose, render_pdf
from ventwright.uncertainty import Estimate

CFM = 0.3048**3 / 60.0
IP, LS, M3H = UnitPreference.IP, UnitPreference.SI_LS, UnitPreference.SI_M3H
SCALES = {
    "flow": {IP: CFM, LS: 1e-3, M3H: 1.0 / 3600.0},
    "share": dict.fromkeys(UnitPreference, 0.01),
    "pascal": dict.fromkeys(UnitPreference, 1.0),
    "warmer": {IP: 5.0 / 9.0, LS: 1.0, M3H: 1.0},
    "warm": {IP: 5.0 / 9.0, LS: 1.0, M3H: 1.0},
    "moist": {IP: 1.0 / 7000.0, LS: 1e-3, M3H: 1e-3},
    "power": dict.fromkeys(UnitPreference, 1.0),
    "heat": {IP: 1055.05585262 / 3600.0, LS: 1.0, M3H: 1.0},
    "buys": {IP: CFM, LS: 1e-3, M3H: 1.0 / 3600.0},
    "costs": {IP: 1.0 / CFM, LS: 1e3, M3H: 3600.0},
    "ppm": dict.fromkeys(UnitPreference, 1e-6),
}
OWED = {
    ("SystemFindings", "FlowFigure.flow_m3_s"): "flow",
    ("SystemFindings", "AirEstimate.temperature_c"): "warm",
    ("SystemFindings", "AirEstimate.rel_humidity_frac"): "share",
    ("SystemFindings", "AirEstimate.dew_point_c"): "warm",
    ("SystemFindings", "AirEstimate.humidity_ratio_kg_kg"): "moist",
    ("SystemFindings", "BalanceFinding.gap_m3_s"): "flow",
    ("SystemFindings", "BalanceFinding.share_of_average_frac"): "share",
    ("SystemFindings", "DesignFinding.measured_m3_s"): "flow",
    ("SystemFindings", "EffectiveFinding.mean_m3_s"): "flow",
    ("SystemFindings", "PowerFinding.power_w"): "power",
    ("SystemFindings", "FanEfficacy.efficacy_m3_s_w"): "buys",
    ("SystemFindings", "FanEfficacy.specific_fan_power_w_per_m3_s"): "costs",
    ("SystemFindings", "RatedComparison.gap_ratio"): "share",
    ("SystemFindings", "RatedComparison.rated_ratio"): "share",
    ("SystemFindings", "RecoveryResult.recovered_heat_w"): "heat",
    ("SystemFindings", "TerminalFinding.share_frac"): "share",
    ("SystemFindings", "TotalFinding.gap_share_frac"): "share",
    ("SystemFindings", "TotalFinding.terminals_m3_s"): "flow",
    ("ReadingFinding", "FlowFigure.flow_m3_s"): "flow",
    ("ReadingFinding", "AirEstimate.temperature_c"): "warm",
    ("ReadingFinding", "AirEstimate.rel_humidity_frac"): "share",
    ("SurfaceFinding", "SurfaceCheck.surface_temperature_c"): "warm",
    ("SurfaceFinding", "SurfaceCheck.dew_point_c"): "warm",
    ("SurfaceFinding", "SurfaceCheck.margin_k"): "warmer",
    ("SurfaceFinding", "SurfaceCheck.surface_rel_humidity_frac"): "share",
    ("FirstToWet", "SurfaceCheck.margin_k"): "warmer",
    ("DoorFinding", "DoorFinding.surplus_m3_s"): "flow",
    ("DoorFinding", "TransferCheck.drop_pa"): "pascal",
    ("RoomAirFinding", "RoomAirFinding.supply_m3_s"): "flow",
    ("RoomAirFinding", "RoomAirFinding.closed_frac"): "ppm",
    ("PressureFinding", "PressureState.net_exhaust_m3_s"): "flow",
    ("PressureFinding", "PressureState.pressure_pa"): "pascal",
    ("WetRoomFinding", "ShowerCourse.extract_m3_s"): "flow",
}
VALUE_ALONE = {("SystemFindings", "RatioResult.estimate"): "share"}
"""Printed without U, since an interval that need not be even stands beside it."""
IN_ANOTHER_FORM = {
    # Rounded up or down to a safe whole number, or told in a sentence.
    ("SafeLimit", "SafeLimit.estimate_c"),
    ("PressureFinding", "MakeupAir.flow_m3_s"),
    ("PressureFinding", "MakeupAir.opening_area_m2"),
    ("DoorFinding", "TransferCheck.area_needed_m2"),
    ("", "Findings.pressure_pa"),
    # Of several units of measure; tests of their own sections look at them.
    ("ReadingFinding", "ReadingFinding.scalar_si"),
    ("SystemFindings", "Judgement.judged_si"),
    ("SystemFindings", "RecoveryResult.recovered_moisture_kg_s"),
    ("SystemFindings", "Closure.estimate"),
    ("RateFindings", "Judgement.judged_si"),
}
NOT_OWED = {
    # Steps on the way to a figure that is printed.
    *(
        (top, f"AirEstimate.{f}")
        for top in ("SystemFindings", "ReadingFinding")
        for f in (
            "density_kg_m3",
            "enthalpy_j_kg",
            "specific_volume_m3_kg",
        )
    ),
    ("ReadingFinding", "AirEstimate.dew_point_c"),
    ("ReadingFinding", "AirEstimate.humidity_ratio_kg_kg"),
    ("ReadingFinding", "FlowFigure.mass_flow_kg_s"),
    ("ReadingFinding", "FlowFigure.std_flow_m3_s"),
    ("SystemFindings", "FlowFigure.mass_flow_kg_s"),
    ("DoorFinding", "TransferCheck.speed_m_s"),
    ("PressureFinding", "PressureScreen.largest_exhaust_m3_s"),
    ("PressureFinding", "PressureScreen.margin_m3_s"),
    # The same surface stands in the table of surfaces.
    ("FirstToWet", "SurfaceCheck.surface_temperature_c"),
    ("FirstToWet", "SurfaceCheck.dew_point_c"),
    ("FirstToWet", "SurfaceCheck.surface_rel_humidity_frac"),
}
OF_PAIRS = ("SystemFindings", "FlowFigure.std_flow_m3_s")
"""Owed where two streams are compared, which is done in standard volume; a step elsewhere."""

Path = tuple[str, ...]


def estimates(holder: Any, path: Path = ()) -> Iterator[tuple[Path, Estimate]]:
    """Every estimate in a record, with the classes and fields that lead to it."""
    if isinstance(holder, Estimate):
        yield path, holder
    elif dataclasses.is_dataclass(holder):
        for field in dataclasses.fields(holder):
            name = f"{type(holder).__name__}.{field.name}"
            yield from estimates(getattr(holder, field.name), (*path, name))
    elif isinstance(holder, (tuple, list)):
        for one in holder:
            yield from estimates(one, path)


def place_of(path: Path) -> tuple[str, str]:
    return (path[1].partition(".")[0] if len(path) > 1 else "", path[-1])


def rounded(value: float, u: float) -> tuple[str, str]:
    """Value and expanded uncertainty as they must be written."""
    doubt = Decimal(repr(u))
    place = doubt.adjusted()
    kept = place - 1 if str(doubt.scaleb(-place))[0] in "12" else place
    shown = doubt.quantize(Decimal(1).scaleb(kept), ROUND_HALF_EVEN)
    if shown.adjusted() > place:
        kept = shown.adjusted() - 1
        shown = shown.quantize(Decimal(1).scaleb(kept), ROUND_HALF_EVEN)
    number = Decimal(repr(value)).quantize(Decimal(1).scaleb(kept), ROUND_HALF_EVEN)
    if number == 0:
        number = abs(number)
    return f"{number:f}".replace("-", "−"), f"{shown:f}"


def written(estimate: Estimate, kind: str, preference: UnitPreference) -> tuple[str, str]:
    scale = SCALES[kind][preference]
    offset = 32.0 if kind == "warm" and preference is IP else 0.0
    return rounded(estimate.value / scale + offset, 2.0 * estimate.u_std / scale)


def test_the_rounding_looked_for_is_the_one_meant() -> None:
    # Particle Data Group, Review of Particle Physics, Introduction 5.3: 0.827 ± 0.119 is written
    # 0.83 ± 0.12 and 0.827 ± 0.367 is written 0.8 ± 0.4.
    assert rounded(0.827, 0.119) == ("0.83", "0.12")
    assert rounded(0.827, 0.367) == ("0.8", "0.4")
    assert rounded(1234.0, 96.0) == ("1230", "100")


@pytest.mark.parametrize("name", sorted(cases.EXAMPLES))
def test_each_estimate_of_the_findings_is_owed_or_known_not_to_be(name: str) -> None:
    known = {*OWED, *VALUE_ALONE, *IN_ANOTHER_FORM, *NOT_OWED, OF_PAIRS}
    met = {place_of(path) for path, _ in estimates(cases.assessed(name).findings)}
    assert not met - known


def owed(name: str, preference: UnitPreference) -> Iterator[tuple[str, str]]:
    """Field and text of every figure that must be found."""
    for path, estimate in estimates(cases.assessed(name).findings):
        place = place_of(path)
        kind = OWED.get(place)
        if place == OF_PAIRS and any(p.startswith("BalanceFinding.") for p in path):
            kind = "flow"
        if estimate.u_std <= 0.0:
            continue
        if kind is not None:
            yield path[-1], cases.squeezed("{}±{}".format(*written(estimate, kind, preference)))
        elif place in VALUE_ALONE:
            yield path[-1], f"{written(estimate, VALUE_ALONE[place], preference)[0]}%"


@pytest.mark.parametrize("preference", [IP, LS, M3H])
@pytest.mark.parametrize("name", sorted(cases.EXAMPLES))
def test_every_figure_owed_stands_in_the_pdf(name: str, preference: UnitPreference) -> None:
    text = cases.text_of(cases.pdf_of(name, preference))
    figures = list(owed(name, preference))
    assert len(figures) > 60
    assert not [(field, shown) for field, shown in figures if shown not in text]


def test_figures_left_out_would_be_missed() -> None:
    found = cases.assessed("juniper_mesa")
    model = compose(
        found.findings,
        found.snapshot,
        preference=IP,
        snapshot_sha256=found.snapshot_sha256,
        parts=(Part.OWNER,),
    )
    text = cases.text_of(render_pdf(model, snapshot=found.snapshot_bytes))
    assert sum(shown not in text for _, shown in owed("juniper_mesa", IP)) > 60


@pytest.mark.parametrize("preference", [IP, M3H])
@pytest.mark.parametrize("name", sorted(cases.EXAMPLES))
def test_a_flow_that_several_terminals_have_stands_as_often(
    name: str, preference: UnitPreference
) -> None:
    text = cases.text_of(cases.pdf_of(name, preference))
    told: Counter[str] = Counter()
    for path, estimate in estimates(cases.assessed(name).findings):
        is_of_terminal = any(p.startswith("TerminalFinding.as_") for p in path)
        if is_of_terminal and path[-1] == "FlowFigure.flow_m3_s":
            value, u = written(estimate, "flow", preference)
            told[f"{value}±{u}"] += 1
    assert told
    assert not {shown for shown, count in told.items() if text.count(shown) < count}
