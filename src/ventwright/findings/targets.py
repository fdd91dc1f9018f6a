"""Re-targeting and the terminals: planned, reachable, found, left."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.balancing import TerminalDesign, retarget
from ventwright.findings.balance import designs
from ventwright.findings.model import (
    FlowFinding,
    JudgedLine,
    RetargetFinding,
    TerminalFinding,
    judged_line,
)
from ventwright.findings.scope import PHASES, Scope, design_of, design_total_m3_s, side_total
from ventwright.house import Phase, Terminal
from ventwright.quantities import Side
from ventwright.requirements import judge_flow
from ventwright.uncertainty import Estimate, Verdict, ratio, total


def retargets(scope: Scope) -> Iterator[tuple[RetargetFinding, tuple[tuple[str, float], ...]]]:
    """New targets of both sides in each setting, from the last phase in which totals were read.

    Where both measured totals meet the design (or no rule speaks of totals and they reach it), the
    design stands. Otherwise both sides are rescaled to the lower of the two.

    Parameters
    ----------
    scope
        The system.
    """
    for setting in scope.settings():
        for phase in reversed(PHASES):
            sides = {s: side_total(scope, s, setting, phase) for s in Side}
            plans = {s: design_total_m3_s(scope, s, setting) for s in Side}
            if all(v is not None for v in (*sides.values(), *plans.values())):
                yield from _retarget_setting(scope, setting, phase)
                break


def _retarget_setting(
    scope: Scope, setting: str, phase: Phase
) -> Iterator[tuple[RetargetFinding, tuple[tuple[str, float], ...]]]:
    reached: dict[Side, float] = {}
    plans: dict[Side, float] = {}
    for side in Side:
        measured, planned = (
            side_total(scope, side, setting, phase),
            design_total_m3_s(scope, side, setting),
        )
        if measured is None or planned is None:
            return
        reached[side], plans[side] = scope.as_room_air(measured).value, planned
    shortest = min(Side, key=lambda s: reached[s] / plans[s])
    is_short = (
        any(
            line.verdict is not Verdict.MET
            for d in designs(scope)
            if d.setting == setting and d.phase is phase and d.measured_m3_s is not None
            for line in d.lines
        )
        and reached[shortest] < plans[shortest]
    )
    for side in Side:
        terminals = [
            TerminalDesign(
                id=t.id, design_flow_m3_s=d, low_m3_s=t.min_flow_m3_s, high_m3_s=t.max_flow_m3_s
            )
            for t in scope.side(side)
            if (d := design_of(t, scope, setting)) is not None and d > 0.0
        ]
        if not terminals or len(terminals) < len(scope.side(side)):
            # A side planned only in part can't be rescaled: the rest would take or give unseen.
            continue
        goal = reached[shortest] if is_short else plans[side]
        new = retarget(terminals, total_m3_s=goal)
        yield (
            RetargetFinding(
                setting=setting,
                side=side,
                design_total_m3_s=plans[side],
                reachable_m3_s=goal,
                limited_by=shortest if is_short else None,
                scale_ratio=new.scale_ratio,
                held_low=new.held_low,
                held_high=new.held_high,
                shortfall_m3_s=new.shortfall_m3_s,
            ),
            # Bands that ask for more than there is can't be kept: the design stands as the target.
            () if new.shortfall_m3_s > 0.0 else new.targets,
        )


def terminals_of(scope: Scope, targets: dict[tuple[str, str], float]) -> Iterator[TerminalFinding]:
    """Every terminal in every setting with a plan or a reading for it.

    Parameters
    ----------
    scope
        The system.
    targets
        (terminal id, setting) → target [m³/s], where re-targeting gave one.
    """
    rooms = {r.id: r.name for r in scope.house.rooms}
    flows = _Flows(scope)
    for setting in scope.settings():
        for t in scope.system.terminals:
            found = flows.at(t, setting, Phase.AS_FOUND)
            left = flows.at(t, setting, Phase.AS_LEFT)
            design = design_of(t, scope, setting)
            if found is None and left is None and design is None:
                continue
            target = targets.get((t.id, setting), design)
            judged = left or found
            share, share_target = _share(flows, t, judged, setting, targets)
            yield TerminalFinding(
                terminal_id=t.id,
                room_id=t.room,
                room_name=rooms.get(t.room, t.room),
                side=t.side,
                setting=setting,
                design_m3_s=design,
                target_m3_s=target,
                low_m3_s=t.min_flow_m3_s,
                high_m3_s=t.max_flow_m3_s,
                as_found=found,
                as_left=left,
                judged_phase=None if judged is None else judged.phase,
                share_frac=share,
                share_target_frac=share_target,
                lines=tuple(_judge_terminal(scope, t, judged, target)),
            )


class _Flows:
    """Flows of one system, each put together once: every terminal's share asks for all of them."""

    def __init__(self, scope: Scope) -> None:
        self.scope = scope
        self._at: dict[tuple[str, str, Phase], FlowFinding | None] = {}
        self._totals: dict[tuple[Side, str, Phase], Estimate | None] = {}

    def at(self, terminal: Terminal, setting: str, phase: Phase) -> FlowFinding | None:
        """Flow at a terminal."""
        key = (terminal.id, setting, phase)
        if key not in self._at:
            self._at[key] = self.scope.at_terminal(terminal, setting, phase)
        return self._at[key]

    def total(self, side: Side, setting: str, phase: Phase) -> Estimate | None:
        """All terminals of a side together, as standard volume; None unless each was read."""
        key = (side, setting, phase)
        if key not in self._totals:
            flows = [self.at(t, setting, phase) for t in self.scope.side(side)]
            known = [f.figure.std_flow_m3_s for f in flows if f is not None]
            self._totals[key] = total(known) if len(known) == len(flows) else None
        return self._totals[key]


def _share(
    flows: _Flows,
    terminal: Terminal,
    judged: FlowFinding | None,
    setting: str,
    targets: dict[tuple[str, str], float],
) -> tuple[Estimate | None, float | None]:
    """The terminal's share of its side and the share it should have; a meter's bias cancels."""
    side = flows.scope.side(terminal.side)
    goals = [targets.get((t.id, setting), design_of(t, flows.scope, setting)) for t in side]
    known = [g for g in goals if g is not None]
    goal = goals[side.index(terminal)]
    share_target = goal / sum(known) if goal is not None and len(known) == len(side) else None
    if judged is None:
        return None, share_target
    whole = flows.total(terminal.side, setting, judged.phase)
    if whole is None:
        return None, share_target
    return ratio(judged.figure.std_flow_m3_s, whole), share_target


def _judge_terminal(
    scope: Scope, terminal: Terminal, judged: FlowFinding | None, target: float | None
) -> Iterator[JudgedLine]:
    for rules in scope.rule_sets:
        if rules.terminal is None:
            continue
        if judged is None or target is None:
            code = "not-measured" if judged is None else "no-target"
            yield JudgedLine(rule_set_id=rules.id, reason_code=code)
            continue
        try:
            judgement = judge_flow(
                rules.terminal,
                flow_m3_s=judged.figure.flow_m3_s,
                target_m3_s=target,
                rule_set_id=rules.id,
                low_m3_s=terminal.min_flow_m3_s,
                high_m3_s=terminal.max_flow_m3_s,
            )
        except ValueError:
            yield JudgedLine(rule_set_id=rules.id, reason_code="band-excludes-target")
            continue
        yield judged_line(rules.id, judgement)
