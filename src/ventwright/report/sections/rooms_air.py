"""Closed doors and the air of bedrooms at night."""

from __future__ import annotations

from ventwright.findings import DoorFinding, RoomAirFinding
from ventwright.quantities import Dimension
from ventwright.report.model import Cell, Line, Mark, Section, Table
from ventwright.report.pen import Pen, cells, mark_of, table_if
from ventwright.uncertainty import Estimate, Verdict, u_expanded


def rooms_air_section(pen: Pen) -> Section:
    """A table of closed doors and one of bedrooms.

    Parameters
    ----------
    pen
        What is written about.
    """
    reasons = dict.fromkeys(
        r.reason_code for r in pen.findings.rooms_air if r.closed_frac is None and not _rises(r)
    )
    return Section(
        id="rooms-air",
        title=pen.say("section.rooms-air"),
        lines=tuple(
            Line(
                text=pen.say("rooms-air.unknown", reason=pen.reason(code)),
                mark=Mark.NOT_SHOWN,
            )
            for code in reasons
        ),
        tables=(*_doors(pen), *_nights(pen)),
    )


def _doors(pen: Pen) -> tuple[Table, ...]:
    found = pen.findings.doors
    if not found:
        return ()
    limit = found[0].limit
    return table_if(
        [_door(pen, d) for d in found],
        id="closed-doors",
        title=pen.say("rooms-air.doors"),
        columns=pen.columns(
            "room",
            "surplus",
            "free_area",
            "drop",
            "verdict",
            "area_needed",
            "undercut",
            numbers=("surplus", "free_area", "drop", "area_needed", "undercut"),
            surplus=pen.measures.symbol(Dimension.FLOW),
        ),
        note=pen.say(
            "rooms-air.doors-note",
            limit=pen.measures.pascals(limit.limit_pa),
            trust=pen.say(f"known.{limit.trust.value}"),
        ),
    )


def _door(pen: Pen, d: DoorFinding) -> tuple[Cell, ...]:
    m = pen.measures
    verdict = Cell(text=pen.reason(d.reason_code), mark=Mark.NOT_SHOWN) if d.reason_code else ""
    drop = ""
    if d.check is not None:
        drop = m.house_pressure(d.check.drop_pa)
        verdict = Cell(
            text=pen.verdict(d.check.decision.verdict), mark=mark_of(d.check.decision.verdict)
        )
    return cells(
        d.room_name,
        _flow(pen, d.surplus_m3_s, d.origin_code),
        m.opening(d.area_m2),
        drop,
        verdict,
        m.opening(d.area_needed_m2),
        m.gap(d.undercut_m),
    )


def _nights(pen: Pen) -> tuple[Table, ...]:
    m = pen.measures
    shown = [r for r in pen.findings.rooms_air if r.closed_frac is not None or _rises(r)]
    if not shown:
        return ()
    first, flow, ppm = shown[0], m.symbol(Dimension.FLOW), m.symbol(Dimension.CONCENTRATION)
    numbers = ("people", "supply", "fresh_air", "settled_open", "settled", "morning")
    return table_if(
        [_night(pen, r) for r in shown],
        id="bedroom-air",
        title=pen.say("rooms-air.nights"),
        columns=pen.columns(
            "room",
            "setting",
            *numbers,
            "fresh",
            "mends",
            numbers=numbers,
            optional=("mends",),
            supply=flow,
            fresh_air=flow,
            settled=ppm,
            settled_open=ppm,
            morning=ppm,
        ),
        note=pen.say(
            "rooms-air.nights-note",
            rate=m.breath(first.rate.rate_m3_s),
            known=pen.say(f"known.{first.rate.trust.value}"),
            outdoor=m.text(first.outdoor_frac, Dimension.CONCENTRATION, digits=0),
            limit=m.text(first.limit.concentration_frac, Dimension.CONCENTRATION, digits=0),
            trust=pen.say(f"known.{first.limit.trust.value}"),
        ),
    )


def _night(pen: Pen, r: RoomAirFinding) -> tuple[Cell, ...]:
    m = pen.measures
    people = f"{r.people:g}"
    if r.is_people_assumed:
        people = pen.say("rooms-air.assumed-people", people=people)
    verdict = Verdict.NOT_MET if r.decision is None else r.decision.verdict
    mends = ""
    if r.supply_needed_m3_s is not None:
        supply = m.about(r.supply_needed_m3_s, Dimension.FLOW)
        mends = pen.say("rooms-air.supply-needed", flow=supply)
    return cells(
        r.room_name,
        r.setting,
        people,
        _flow(pen, r.supply_m3_s, r.origin_code),
        m.number(r.fresh_air_m3_s, Dimension.FLOW, u_si=_u(r.supply_m3_s), digits=1),
        _ppm(pen, r.open_frac, r.closed_frac),
        m.estimate_number(r.closed_frac, Dimension.CONCENTRATION) or pen.reason(r.reason_code),
        _ppm(pen, r.morning_frac, r.closed_frac),
        Cell(text=pen.verdict(verdict), mark=mark_of(verdict)),
        mends,
    )


def _flow(pen: Pen, flow_m3_s: Estimate | None, origin_code: str) -> str:
    """A flow that says so where it was not measured."""
    value = pen.measures.estimate_number(flow_m3_s, Dimension.FLOW)
    if not value or origin_code in ("", "measured"):
        return value
    return pen.say(f"rooms-air.{origin_code}", value=value)


def _u(estimate: Estimate | None) -> float | None:
    return (u_expanded(estimate) or None) if estimate is not None else None


def _ppm(pen: Pen, level_frac: float | None, settled: Estimate | None) -> str:
    """A level, rounded as the settled one whose doubt it shares."""
    m = pen.measures
    return m.number(level_frac, Dimension.CONCENTRATION, u_si=_u(settled), digits=0)


def _rises(r: RoomAirFinding) -> bool:
    """Whether no settled level exists because no fresh air reaches the room."""
    return r.reason_code == "no-fresh-air"
