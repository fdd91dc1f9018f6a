"""What guidance is told of a side beforehand: terminals with bands, runs, dampers, fan, ducts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ventwright.balancing import LossShare, Outlet, Run, SideSetup, Spot, has_main_damper
from ventwright.findings.guidance_ducts import DuctsTold, ducts_told
from ventwright.findings.guidance_openings import Positions, blade_of, ring_of
from ventwright.findings.scope import Scope
from ventwright.findings.snapshot import VisitSnapshot
from ventwright.house import AdjustmentKind, Branch, House, Setter, SettingRole, System, Terminal
from ventwright.quantities import Side
from ventwright.quantities.records import replace
from ventwright.requirements import FlowRule

USUAL_BAND_FRAC = 0.10
"""How far a flow may be from its target where no rule states a width. Judgement."""

UNSEEN_LOSS = LossShare(likely_frac=0.3, spread_ratio=1.5)
"""Loss of a branch whose damper stood nobody knows where: anything from open to nearly shut.
Judgement."""


def side_setup(
    snapshot: VisitSnapshot,
    scope: Scope,
    side: Side,
    targets: dict[str, float],
    positions: Positions,
) -> SideSetup | None:
    """One side in guidance's words; None where no terminal has a target.

    Parameters
    ----------
    snapshot, scope
        The visit, and one of its systems.
    side
        Which side.
    targets
        Target of each terminal [m³/s].
    positions
        Where rings and blades stood.
    """
    terminals = [t for t in scope.side(side) if t.id in targets]
    if not terminals:
        return None
    rule = next((r.terminal for r in scope.rule_sets if r.terminal is not None), None)
    told = ducts_told(scope.house, scope.system.id, side, {t.id: targets[t.id] for t in terminals})
    setup = SideSetup(
        side=side,
        outlets=tuple(
            _with_drop(_outlet(t, scope.house, targets[t.id], rule, positions), told)
            for t in terminals
        ),
        runs=tuple(
            _run(scope.house, b, positions, told) for b in _outwards(scope.system, terminals)
        ),
        speed_frac=_speed_as_found(snapshot, scope, side),
    )
    if told.shared is not None:
        setup = replace(setup, shared=told.shared)
    # A main damper is there for want of a speed of the side's own, unless one is written.
    if has_main_damper(setup) and not _is_speed_known(snapshot, scope, side):
        return replace(setup, is_speed_settable=False)
    return setup


def _is_speed_known(snapshot: VisitSnapshot, scope: Scope, side: Side) -> bool:
    """Whether a speed of this side's own fan is listed, or was ever changed."""
    changes = snapshot.visit.adjustments
    if any(c.kind is AdjustmentKind.FAN and c.side is side for c in changes):
        return True
    listed = [s for s in scope.system.fan_settings if s.role is SettingRole.CONTINUOUS]
    speeds = (s.supply_speed_frac if side is Side.SUPPLY else s.extract_speed_frac for s in listed)
    return any(speed is not None for speed in speeds)


def _speed_as_found(snapshot: VisitSnapshot, scope: Scope, side: Side) -> float:
    """The speed before the first change of that fan, else that of the listed setting."""
    for change in snapshot.visit.adjustments:
        if change.kind is AdjustmentKind.FAN and change.side is side and change.speed_before_frac:
            return change.speed_before_frac
    for setting in scope.system.fan_settings:
        if setting.role is SettingRole.CONTINUOUS:
            supply = side is Side.SUPPLY
            return (setting.supply_speed_frac if supply else setting.extract_speed_frac) or 1.0
    return 1.0


def _outlet(
    terminal: Terminal, house: House, target: float, rule: FlowRule | None, positions: Positions
) -> Outlet:
    # A side on which a rule allows nothing states a least or a most, not a width to balance to.
    shares = [s for s in (rule.below_frac, rule.above_frac) if s] if rule else []
    spot = spot_of(house, terminal.room)
    damper = None
    if terminal.setter is not Setter.FIXED:
        damper = replace(ring_of(terminal, positions.found.get(terminal.id)), spot=spot)
    return Outlet(
        id=terminal.id,
        run_id=terminal.branch,
        target_m3_s=target,
        band_frac=min(shares, default=USUAL_BAND_FRAC),
        band_m3_s=rule.floor_m3_s if rule else 0.0,
        damper=damper,
        spot=spot,
    )


def spot_of(house: House, place: str) -> Spot:
    """Where a place lies: the storey of the room it names, else an area of its own.

    Parameters
    ----------
    house
        The record.
    place
        Id or name of a room, or any words for a place.

    >>> from ventwright.house import Room
    >>> barn = House(schema="ventwright-house-1", id="h", name="Barn",
    ...              rooms=(Room(id="r", name="Hall", kind="hall", storey=1),))
    >>> spot_of(barn, "hall").area, spot_of(barn, "loft").area
    ('storey 1', 'loft')
    """
    word = place.casefold()
    room = next((r for r in house.rooms if word in (r.id.casefold(), r.name.casefold())), None)
    return Spot(area=place if room is None else f"storey {room.storey:g}")


def _with_drop(outlet: Outlet, told: DuctsTold) -> Outlet:
    if outlet.id not in told.drop_ratios:
        return outlet
    ratio, spread = told.drop_ratios[outlet.id]
    return replace(outlet, duct_ratio=ratio, duct_spread_ratio=spread)


def _outwards(system: System, terminals: Sequence[Terminal]) -> Iterator[Branch]:
    """Branches that lead to terminals, each after the one it starts from."""
    at = {b.id: b for b in system.branches}
    used: set[str] = set()
    for terminal in terminals:
        name = terminal.branch
        while name is not None and name in at and name not in used:
            used.add(name)
            name = at[name].parent
    left = [b for b in system.branches if b.id in used]
    done: set[str | None] = {None}
    while ready := [b for b in left if b.parent in done]:
        yield from ready
        done |= {b.id for b in ready}
        left = [b for b in left if b.id not in done]


def _run(house: House, branch: Branch, positions: Positions, told: DuctsTold) -> Run:
    run = Run(id=branch.id, parent_id=branch.parent)
    if branch.id in told.run_losses:
        run = replace(run, loss=told.run_losses[branch.id])
    if branch.damper is None:
        return run
    spot = spot_of(house, branch.damper.place or branch.space.value)
    damper = replace(blade_of(branch.damper, positions.found.get(branch.id)), spot=spot)
    loss = UNSEEN_LOSS if damper.opening_frac is None else run.loss
    return replace(run, damper=damper, loss=loss)
