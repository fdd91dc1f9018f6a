"""Every piece of duct at the greatest flow planned for it, against the screen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ventwright.assembly import (
    SideAssembly,
    planned_flow_m3_s,
    planned_total_m3_s,
    terminal_link,
)
from ventwright.findings.planning.parts import PlanScreen, RunCheck
from ventwright.findings.planning.paths import link_flows_m3_s
from ventwright.house import FanSetting, System, Terminal
from ventwright.quantities import Side


def planned_flows_m3_s(
    system: System, side: Side, setting: FanSetting | None
) -> dict[str, float] | None:
    """Planned flow of every terminal of a side in a setting, by id; None where that isn't known.

    Where a setting has a total and its terminals no flows of their own, they share it as in the
    design.

    Parameters
    ----------
    system
        The system.
    side
        Which side.
    setting
        Fan setting; None is the design.
    """
    terminals = [t for t in system.terminals if t.side is side]
    design = _known(terminals, [t.design_flow_m3_s for t in terminals])
    if setting is None:
        return design
    own = _known(terminals, [planned_flow_m3_s(t, setting.role) for t in terminals])
    if own is not None:
        return own
    total = planned_total_m3_s(system, side, setting)
    if design is None or total is None or not sum(design.values()) > 0.0:
        return None
    scale = total / sum(design.values())
    return {t: flow * scale for t, flow in design.items()}


def _known(terminals: list[Terminal], flows: list[float | None]) -> dict[str, float] | None:
    known = {t.id: q for t, q in zip(terminals, flows, strict=True) if q is not None}
    return known if known and len(known) == len(terminals) else None


def check_runs(system: System, side: SideAssembly, screen: PlanScreen) -> Iterator[RunCheck]:
    """Velocity and gradient of every straight piece at the greatest flow planned for it.

    Parameters
    ----------
    system
        The system.
    side
        One side of it.
    screen
        Limits.
    """
    if side.tree is None:
        return
    flows: dict[str, tuple[float, str]] = {}
    for name, by_link in _flows_by_setting(system, side):
        for link, flow in by_link.items():
            if flow > flows.get(link, (0.0, ""))[0]:
                flows[link] = (flow, name)
    last = {terminal_link(t) for t, _ in side.terminals}
    for link, pieces in side.pieces:
        if link not in flows:
            continue
        flow, setting = flows[link]
        most = screen.last_run_m_s if link in last else screen.main_m_s
        for piece in pieces:
            if piece.length_m is None or piece.area_m2 is None:
                continue
            drop = piece.law.drop_and_slope(flow)[0]
            velocity, gradient = flow / piece.area_m2, drop / piece.length_m
            yield RunCheck(
                where=piece.where,
                kind=piece.kind,
                diameter_m=piece.diameter_m,
                width_m=piece.width_m,
                height_m=piece.height_m,
                length_m=piece.length_m,
                setting=setting,
                flow_m3_s=flow,
                velocity_m_s=velocity,
                drop_pa=drop,
                gradient_pa_m=gradient,
                most_velocity_m_s=most,
                is_velocity_over=velocity > most,
                is_gradient_over=gradient > screen.gradient_pa_m,
            )


def _flows_by_setting(
    system: System, side: SideAssembly
) -> Iterator[tuple[str, Mapping[str, float]]]:
    if side.tree is None:
        return
    settings: tuple[FanSetting | None, ...] = system.fan_settings or (None,)
    for setting in settings:
        flows = planned_flows_m3_s(system, side.side, setting)
        if flows is not None:
            named = {terminal_link(t): q for t, q in flows.items()}
            yield ("" if setting is None else setting.id), link_flows_m3_s(side.tree, named)
