"""Lets the guidance of `ventwright.balancing` play a visit on a simulated site.

Everything the guidance is told is on the site's cards; what it asks for is done through the site
and entered in its ledger. A reading asked for again means the meter is taken off and placed anew.
Where the meter's hood takes flow away its drop is known from its data, and readings are corrected
as the instruments room does with a drop alone: half of the most that it can take.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from ventwright.balancing import (
    Damper,
    Deed,
    Finished,
    LossShare,
    Meter,
    Method,
    NextStep,
    Options,
    Outlet,
    Run,
    Session,
    SettingStyle,
    SideSetup,
    Spot,
    add_move,
    add_reading,
    add_speed,
    next_step,
    start,
    surprises,
)
from ventwright.instruments.insertion import insertion_factor
from ventwright.quantities.words import Side
from ventwright.trials import CFM_M3_S, BranchCard, Layout, Outcome, Place, Site, TerminalCard, Turn

_ROUNDS = 12
SIDES = (Side.SUPPLY, Side.EXTRACT)
BAND_FRAC, BAND_M3_S = 0.10, 1.0 * CFM_M3_S
OWN_TABLE_U_FRAC, LIKE_TABLE_U_FRAC = 0.05, 0.2
DUCT_RATIO = {Layout.TRUNK: 1.6, Layout.MANIFOLD: 0.6}
"""Drop of an open terminal against that of its run: a short round run takes less than its terminal,
a long narrow pipe from a box more."""
MAIN_PIECE_SHARE = LossShare(likely_frac=0.05)
COVERAGE_FACTOR_95 = 1.96
STEPS_PER_TERMINAL_MAX = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Guided:
    """The guidance as a procedure.

    Parameters
    ----------
    name
        Name in tables.
    method
        Figures of the method.
    """

    name: str = "guidance"
    method: Method = field(default_factory=Method)

    def balance(self, site: Site) -> Outcome:
        """Do what is asked for until nothing more is."""
        return self.balance_from(site, session_of(site))

    def balance_from(self, site: Site, session: Session) -> Outcome:
        """The same from what is told on arrival."""
        for _ in range(STEPS_PER_TERMINAL_MAX * len(site.terminals)):
            step = next_step(session, method=self.method)
            if isinstance(step, Finished):
                claim(site, step)
                return Outcome(is_closed=True, suspect_readings=suspects(session))
            session = done(site, session, step)
        return Outcome(is_closed=False, suspect_readings=suspects(session))


def procedures() -> tuple[Guided, ...]:
    """What the benchmark is to try."""
    return (Guided(),)


def session_of(site: Site) -> Session:
    """What a technician can tell on arrival."""
    meter = site.meter
    return start(
        [side_setup(site, side) for side in SIDES],
        meters=[
            Meter(
                id=meter_id(side),
                repeat_frac=max(meter.repeat_frac, 0.001),
                resolution_m3_s=meter.resolution_m3_s,
                bias_frac=meter.bias_frac,
                local_frac=hood_spread(site, side),
            )
            for side in SIDES
        ],
        options=Options(
            style=SettingStyle(str(site.style)),
            readings_a_stop_ratio=meter.allowance_ratio,
            unit_spot=spot(site.unit_place),
        ),
    )


def hood_factor(site: Site, shown_m3_s: float) -> tuple[float, float]:
    """Flow without the hood over the flow with it, and the half width of what is not known."""
    return insertion_factor(hood_drop_pa=site.meter.hood_loss_coeff * shown_m3_s**2)


def without_hood(site: Site, shown_m3_s: float) -> float:
    return shown_m3_s * hood_factor(site, shown_m3_s)[0]


def under_hood(site: Site, flow_m3_s: float) -> float:
    """What the meter shows at a flow: the inverse of `without_hood`."""
    shown = flow_m3_s
    for _ in range(_ROUNDS):
        shown = flow_m3_s / hood_factor(site, shown)[0]
    return shown


def hood_spread(site: Site, side: Side) -> float:
    """What is not known of a hood's flow at a middling terminal, as a standard uncertainty."""
    targets = sorted(card.target_m3_s for card in site.terminals if card.side is side)
    factor, half = hood_factor(site, targets[len(targets) // 2])
    return half / factor / math.sqrt(3.0)


def meter_id(side: Side) -> str:
    return f"{side} terminals"


def spot(place: Place) -> Spot:
    return Spot(area=place.area, x_m=place.x_m, y_m=place.y_m)


def side_setup(site: Site, side: Side) -> SideSetup:
    """Branches hang on the main duct in their order, a piece of it between one and the next."""
    runs: list[Run] = []
    main: str | None = None
    for place, card in enumerate(card for card in site.branches if card.side is side):
        if place:
            runs.append(Run(id=f"main to {card.id}", parent_id=main, loss=MAIN_PIECE_SHARE))
            main = runs[-1].id
        runs.append(Run(id=card.id, parent_id=main, damper=branch_damper(card)))
    return SideSetup(
        side=side,
        outlets=tuple(outlet(card, site.layout) for card in site.terminals if card.side is side),
        runs=tuple(runs),
        speed_frac=site.speed_frac[side],
    )


def branch_damper(card: BranchCard) -> Damper | None:
    if not card.has_damper:
        return None
    return Damper(
        opening_frac=card.opening_frac,
        table=card.table,
        table_u_frac=OWN_TABLE_U_FRAC,
        spot=spot(card.place),
    )


def outlet(card: TerminalCard, layout: Layout) -> Outlet:
    damper = Damper(
        opening_frac=card.opening_frac,
        table=card.table,
        table_u_frac=OWN_TABLE_U_FRAC if card.is_table_known else LIKE_TABLE_U_FRAC,
        spot=spot(card.damper_place),
    )
    return Outlet(
        id=card.id,
        run_id=card.branch_id,
        target_m3_s=card.target_m3_s,
        band_frac=BAND_FRAC,
        band_m3_s=BAND_M3_S,
        duct_ratio=DUCT_RATIO[layout],
        damper=damper if card.has_ring else None,
        spot=spot(card.place),
    )


def done(site: Site, session: Session, step: NextStep) -> Session:
    """Do a step on the site and tell the session."""
    if step.deed is Deed.SET_SPEED:
        if step.speed_frac is None:
            raise ValueError("a fan is to be set, but not to what")
        speed = site.set_fan_speed(step.side, step.speed_frac)
        return add_speed(session, side=step.side, speed_frac=speed)
    if step.deed is not Deed.TURN:
        if step.deed is Deed.READ_AGAIN:
            site.ledger.remove_hood()
        reading = site.read(step.read_id, count=step.count)
        return noted(
            site, session, step, reading.flow_m3_s, count=reading.count, number=reading.number
        )
    turn = turned(site, step)
    session = add_move(
        session,
        thing_id=step.thing_id,
        side=step.side,
        opening_frac=turn.opening_frac,
        is_at_open_stop=turn.stop == "open",
        is_at_shut_stop=turn.stop == "shut",
        is_stuck=turn.is_stuck,
    )
    if turn.reading is None:
        return session
    shown = turn.reading
    return noted(site, session, step, shown.flow_m3_s, count=shown.count, number=shown.number)


def noted(
    site: Site, session: Session, step: NextStep, flow: float, *, count: int, number: int
) -> Session:
    return add_reading(
        session,
        thing_id=step.read_id,
        side=step.side,
        flow_m3_s=without_hood(site, flow),
        meter_id=meter_id(step.side),
        count=count,
        reading_id=str(number),
    )


def turned(site: Site, step: NextStep) -> Turn:
    """Turn to the reading where a meter is in place, else to the mark; open fully if so asked."""
    aim: dict[str, Any]
    if step.is_fully_open:
        aim = {"to_opening_frac": 1.0}
    elif step.stop_m3_s is not None:
        aim = {"to_reading_m3_s": under_hood(site, step.stop_m3_s), "count": step.count}
    else:
        aim = {"to_opening_frac": step.opening_frac}
    if all(card.id != step.thing_id for card in site.branches):
        return site.turn_terminal(step.thing_id, **aim)
    if "to_reading_m3_s" in aim:
        aim["watch"] = step.read_id
    return site.turn_branch(step.thing_id, **aim)


def claim(site: Site, finished: Finished) -> None:
    """State a 95 % interval for every terminal, as this visit's meter would show it."""
    for item in finished.outlets:
        half = COVERAGE_FACTOR_95 * item.u_frac * item.flow_m3_s
        site.claim(item.outlet_id, low_m3_s=item.flow_m3_s - half, high_m3_s=item.flow_m3_s + half)


def suspects(session: Session) -> tuple[int, ...]:
    return tuple(int(item.reading_id) for item in surprises(session))
