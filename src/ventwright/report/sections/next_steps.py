"""What to do next: the engine's codes as sentences, alike ones together."""

from __future__ import annotations

from dataclasses import replace

from ventwright.findings import Advice
from ventwright.quantities import AirKind, Dimension
from ventwright.report.measures import percent
from ventwright.report.model import Line, Section
from ventwright.report.pen import Pen
from ventwright.report.sections.summary import reachable_text, streams_by_size
from ventwright.requirements import BalancePair

_GROUPED = frozenset({"measure-terminal", "combustion-test", "sharpen-terminals"})
"""Codes whose sentence can name several subjects at once."""


_FOR_OWNERS = ("nothing-read", "mend", "surface-", "room-", "combustion-")
"""Beginnings of the codes that those who live there act on, or have somebody act on."""


def next_section(pen: Pen) -> Section:
    """Advice to those who live there, the weightiest first.

    Parameters
    ----------
    pen
        What is written about.
    """
    lines = tuple(Line(text=advice_text(pen, one)) for one in _grouped(pen) if _is_theirs(one))
    nothing = (Line(text=pen.say("advice.nothing-to-do")),)
    return Section(id="next", title=pen.say("section.next"), lines=lines or nothing)


def next_visit_section(pen: Pen) -> Section:
    """Advice to whoever measures or adjusts next, the weightiest first.

    Parameters
    ----------
    pen
        What is written about.
    """
    return Section(
        id="next-visit",
        title=pen.say("section.next-visit"),
        lines=tuple(Line(text=advice_text(pen, o)) for o in _grouped(pen) if not _is_theirs(o)),
    )


def _is_theirs(one: Advice) -> bool:
    return one.code.startswith(_FOR_OWNERS)


def _grouped(pen: Pen) -> list[Advice]:
    """Advice with subjects named; what was advised twice is said once."""
    found: dict[object, Advice] = {}
    for one in dict.fromkeys(pen.findings.advice):
        named = replace(one, subject=_subject(pen, one))
        key: object = named
        if one.code in _GROUPED:
            key = (one.code, one.setting)
            earlier = found.get(key)
            if earlier is not None:
                named = replace(
                    earlier,
                    subject=_joined(earlier.subject, named.subject),
                    detail=_joined(earlier.detail, named.detail),
                )
        found[key] = named
    return list(found.values())


def _joined(earlier: str, later: str) -> str:
    """Both lists in one, nothing twice."""
    return ", ".join(dict.fromkeys(t for t in (*earlier.split(", "), *later.split(", ")) if t))


def _subject(pen: Pen, one: Advice) -> str:
    names: dict[str, str] = {}
    if one.code.startswith("combustion"):
        names = {a.id: a.name for a in pen.snapshot.house.combustion_appliances}
    elif one.code.startswith("room-"):
        names = {r.id: r.name for r in pen.snapshot.house.rooms}
    elif one.code == "mend":
        names = {f.id: _fault(f.what, f.where) for f in pen.findings.punch_list}
    if one.subject in names:
        return names[one.subject]
    if one.code == "sharpen-terminals":
        return ", ".join(pen.terminal(t.strip()) for t in one.subject.split(","))
    if one.code == "streams-missing":
        known = {k.value for k in AirKind}
        kinds = [k.strip() for k in one.subject.split(",")]
        return ", ".join(pen.stream(AirKind(k)) if k in known else k for k in kinds)
    for key in (f"pair.{one.subject}", f"side.{one.subject}"):
        if key in pen.words:
            return pen.say(key)
    of_surface = one.code.startswith("surface")
    return pen.surface(one.subject) if of_surface else pen.terminal(one.subject)


def _fault(what: str, where: str) -> str:
    return f"{what} ({where})" if where else what


def advice_text(pen: Pen, one: Advice) -> str:
    """One piece of advice as a sentence.

    Parameters
    ----------
    pen
        What is written about.
    one
        Advice whose subject is already named.
    """
    m = pen.measures
    value, goal = one.value_si, one.goal_si
    values = {
        "subject": one.subject,
        "setting": pen.setting_name(one.setting),
        "value": "",
        "goal": "",
        "more": "",
        "less": "",
        "detail": pen.say("advice.sharpen-detail", detail=one.detail) if one.detail else "",
    }
    if one.code.startswith("gap-"):
        values["value"] = "" if value is None else m.text(value, Dimension.FRACTION, digits=0)
        values["goal"] = "" if goal is None else percent(goal)
    elif one.code.startswith("surface-"):
        values["value"] = "" if value is None else percent(value)
        values["goal"] = m.text(goal, Dimension.TEMPERATURE_DIFF, digits=1)
    elif one.code == "room-door":
        values["value"], values["goal"] = m.opening(value), m.opening(goal)
    elif one.code == "read-again":
        values["value"] = "" if value is None else f"{value:.0f}"
    elif one.code in {"equalise", "balance-not-shown"}:
        values |= _gap_values(pen, one)
    else:
        values["value"] = _flow(pen, one, value)
        values["goal"] = _flow(pen, one, goal)
        if one.code == "retarget":
            values["value"] = _reachable(pen, one) or values["value"]
            values["goal"] = m.plain(goal, Dimension.FLOW)
    return pen.say(f"advice.{one.code}", **values).strip()


def _flow(pen: Pen, one: Advice, flow_m3_s: float | None) -> str:
    """What a terminal is set to, as finely as it can be read; other flows in round numbers."""
    if one.code in {"set-terminal", "boost-off-target", "band-excludes-target"}:
        return pen.measures.text(flow_m3_s, Dimension.FLOW, digits=1)
    return pen.measures.about(flow_m3_s, Dimension.FLOW)


def _reachable(pen: Pen, one: Advice) -> str:
    for _, found in pen.systems():
        for new in found.retargets:
            is_meant = new.limited_by is new.side and new.reachable_m3_s == one.value_si
            if is_meant and new.setting == one.setting:
                return reachable_text(pen, found, new)
    return ""


def _gap_values(pen: Pen, one: Advice) -> dict[str, str]:
    """Size and direction of a gap between two streams; the goal is its standard uncertainty."""
    gap, u = one.value_si or 0.0, one.goal_si
    pair = next(
        (p for p in BalancePair if pen.say(f"pair.{p.value}") == one.subject),
        BalancePair.SUPPLY_EXTRACT,
    )
    more, less = streams_by_size(pen, pair, gap)
    is_open = one.code == "balance-not-shown"
    write = pen.measures.with_uncertainty if is_open else pen.measures.text
    return {
        "value": write(gap if is_open else abs(gap), Dimension.FLOW, u_si=2.0 * u if u else None),
        "more": more,
        "less": less,
    }
