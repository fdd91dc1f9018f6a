"""House pressure by fans alone: a table of states, each with the screens of its appliances."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ventwright.findings import ApplianceScreen, PressureFinding
from ventwright.quantities import Dimension
from ventwright.report.model import Cell, Line, Mark, Table
from ventwright.report.pen import Pen, cells, mark_of, table_if
from ventwright.uncertainty import Verdict

_WORST_FIRST = (Verdict.NOT_MET, Verdict.NOT_SHOWN, Verdict.MET)


def pressures(pen: Pen) -> tuple[Table, ...]:
    """House pressure at each combination of other exhausts.

    Parameters
    ----------
    pen
        What is written about.
    """
    found = [f for f in pen.findings.house_pressures if f.state is not None]
    notes = [pen.say("balance.pressures-note"), _limits(pen, found)]
    if any(f.is_exponent_assumed for f in found):
        notes.append(pen.say("balance.pressures-exponent"))
    return table_if(
        [_row(pen, f) for f in found],
        id="house-pressure",
        title=pen.say("balance.pressures"),
        columns=pen.columns(
            "setting",
            "running_fans",
            "net_exhaust",
            "house_pressure",
            "screens",
            "makeup",
            numbers=("net_exhaust", "house_pressure"),
            optional=("screens", "makeup"),
            net_exhaust=pen.measures.symbol(Dimension.FLOW),
        ),
        note=" ".join(n for n in notes if n),
    )


def pressure_lines(pen: Pen) -> Iterator[Line]:
    """Why house pressure was not worked out, where it was not.

    Parameters
    ----------
    pen
        What is written about.
    """
    for f in pen.findings.house_pressures:
        if f.state is None:
            text = pen.say(
                "balance.pressures-unknown", setting=f.setting, reason=pen.reason(f.reason_code)
            )
            yield Line(text=text, mark=Mark.NOT_SHOWN)


def _row(pen: Pen, f: PressureFinding) -> tuple[Cell, ...]:
    m = pen.measures
    names = {e.id: e.name for e in pen.snapshot.house.other_exhausts}
    running = ", ".join(names.get(i, i) for i in f.running)
    pressure = ""
    if f.state is not None:
        pressure = m.house_pressure(f.state.pressure_pa)
        if f.state.is_extrapolated:
            pressure = pen.say("balance.pressures-low", value=pressure)
    return cells(
        f.setting,
        running or pen.say("balance.pressures-none"),
        m.estimate_number(f.state.net_exhaust_m3_s if f.state else None, Dimension.FLOW),
        pressure,
        _screens(pen, f),
        _makeup(pen, f),
    )


def _screens(pen: Pen, f: PressureFinding) -> Cell:
    """All appliances in one cell, marked by the worst verdict; a kept screen is given no mark."""
    verdicts = [a.verdict for a in f.appliances if a.screen is not None]
    worst = next((v for v in _WORST_FIRST if v in verdicts), Verdict.MET)
    return Cell(
        text="; ".join(_screen(pen, a) for a in f.appliances),
        mark=None if worst is Verdict.MET else mark_of(worst),
    )


def _screen(pen: Pen, one: ApplianceScreen) -> str:
    names = {a.id: a.name for a in pen.snapshot.house.combustion_appliances}
    name = names.get(one.appliance_id, one.appliance_id)
    if one.screen is None:
        return pen.say("balance.pressures-no-limit", name=name, reason=pen.reason(one.reason_code))
    return pen.say(
        "balance.pressures-limit",
        name=name,
        verdict=pen.say(f"screen.{one.verdict.value}"),
        limit=pen.measures.pascals(one.screen.limit.limit_pa),
    )


def _limits(pen: Pen, found: Sequence[PressureFinding]) -> str:
    """Every limit that was screened against, with how surely it is known."""
    screens = [a.screen for f in found for a in f.appliances if a.screen is not None]
    told = [
        pen.say(
            "balance.pressures-source",
            limit=pen.measures.pascals(limit.limit_pa),
            appliance=limit.appliance,
            trust=pen.say(f"known.{limit.trust.value}"),
        )
        for limit in dict.fromkeys(screen.limit for screen in screens)
    ]
    return pen.say("balance.pressures-limits", limits="; ".join(told)) if told else ""


def _makeup(pen: Pen, f: PressureFinding) -> str:
    if f.makeup is None:
        return ""
    m = pen.measures
    return pen.say(
        "balance.pressures-makeup",
        flow=m.value(f.makeup.flow_m3_s, Dimension.FLOW),
        area=m.opening(f.makeup.opening_area_m2.value),
        allowed=m.pascals(f.makeup.allowed_pa),
    )
