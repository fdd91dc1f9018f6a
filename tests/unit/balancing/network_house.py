"""A small house on the network solver, to be balanced by guidance: laws the small model lacks.

Exponents run from 1.8 to 2, filter and exchanger are partly laminar, the fan's curve is a parabola:
nothing of it is shared with `ventwright.balancing`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from ventwright.balancing import (
    Damper,
    Deed,
    Finished,
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
)
from ventwright.ducts import ParabolicFan, PowerLaw
from ventwright.network import Link, LinkRole, Network, Solution, Tree, Zone, prepare, solve
from ventwright.quantities.words import Side

TABLE = tuple((x / 10, (x / 10) ** 1.1) for x in range(1, 11))
"""Opening against relative flow factor of every ring and flap here."""


def power(drop_pa: float, flow_m3_s: float, exponent: float) -> PowerLaw:
    return PowerLaw(drop_pa=drop_pa, flow_m3_s=flow_m3_s, exponent=exponent)


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A terminal: branch, target, drops of duct and open ring at the target flow."""

    branch: str
    target_m3_s: float
    duct_pa: float
    ring_pa: float = 8.0
    has_damper: bool = True
    is_stuck: bool = False


ROOMS = {
    "bed": Room(branch="near", target_m3_s=0.010, duct_pa=8.0),
    "study": Room(branch="near", target_m3_s=0.008, duct_pa=5.0),
    "living": Room(branch="far", target_m3_s=0.014, duct_pa=25.0),
    "kitchen": Room(branch="far", target_m3_s=0.006, duct_pa=9.0),
    "attic": Room(branch="far", target_m3_s=0.009, duct_pa=14.0),
}
BRANCHES = {"near": 4.0, "far": 10.0}


@dataclass(slots=True)
class House:
    """Flows at a setting, and the deeds of a technician with a meter that adds what it is told."""

    rooms: dict[str, Room] = field(default_factory=lambda: dict(ROOMS))
    opening: dict[str, float] = field(default_factory=dict)
    speed: float = 0.85
    has_main: bool = False
    noise: Callable[[], float] = lambda: 0.0

    def flows(self) -> dict[str, float]:
        total = sum(room.target_m3_s for room in self.rooms.values())
        links = []
        if self.has_main:
            links.append(Link(name="main", parent="supply", laws=(self._flap("main", total),)))
        for name, drop in BRANCHES.items():
            flow = sum(r.target_m3_s for r in self.rooms.values() if r.branch == name)
            laws = (power(drop, flow, 1.85), self._flap(name, flow))
            parent = "main" if self.has_main else "supply"
            links.append(Link(name=name, parent=parent, laws=laws))
        for name, room in self.rooms.items():
            ring = room.ring_pa * self._factor(name) ** -2
            laws = (
                power(room.duct_pa, room.target_m3_s, 1.8),
                power(ring, room.target_m3_s, 2.0),
            )
            links.append(
                Link(
                    name=name,
                    parent=room.branch,
                    laws=laws,
                    zone="house",
                    role=LinkRole.TERMINAL,
                )
            )
        shared = (
            ParabolicFan(shut_off_pa=260.0, free_flow_m3_s=2.4 * total, speed_frac=self.speed),
            power(70.0, total, 1.1),
            power(25.0, total, 1.4),
        )
        tree = Tree(
            name="supply", side=Side.SUPPLY, shared=shared, links=tuple(links), outdoor_zone="out"
        )
        network = Network(trees=(tree,), zones=(Zone(name="house"), Zone(name="out")))
        solution = solve(prepare(network))
        assert isinstance(solution, Solution)
        return solution.terminal_flows()

    def _flap(self, name: str, flow: float) -> PowerLaw:
        return power(1.5 * self._factor(name) ** -2, flow, 2.0)

    def _factor(self, name: str) -> float:
        return self.opening.get(name, 1.0) ** 1.1

    def turn_to_reading(self, name: str, at: str, reading: float) -> None:
        low, high = 0.1, 1.0
        for _ in range(40):
            self.opening[name] = (low + high) / 2
            if self.flows()[at] < reading:
                low = self.opening[name]
            else:
                high = self.opening[name]

    def offs(self) -> dict[str, float]:
        """Relative departure of each flow from its target share."""
        flows = self.flows()
        scale = sum(flows.values()) / sum(r.target_m3_s for r in self.rooms.values())
        return {n: q / (scale * self.rooms[n].target_m3_s) - 1 for n, q in flows.items()}


def session_for(house: House, style: SettingStyle = SettingStyle.LIVE) -> Session:
    def damper(name: str, *, is_there: bool = True) -> Damper | None:
        opening = house.opening.get(name, 1.0)
        return Damper(opening_frac=opening, table=TABLE, table_u_frac=0.05) if is_there else None

    outlets = tuple(
        Outlet(
            id=name,
            run_id=room.branch,
            target_m3_s=room.target_m3_s,
            damper=damper(name, is_there=room.has_damper),
            spot=Spot(area="floor", x_m=float(i)),
        )
        for i, (name, room) in enumerate(house.rooms.items())
    )
    runs = tuple(Run(id=name, damper=damper(name)) for name in BRANCHES)
    setup = SideSetup(side=Side.SUPPLY, outlets=outlets, runs=runs, speed_frac=house.speed)
    return start(
        [setup],
        meters=[Meter(id="hood", repeat_frac=0.005, bias_frac=0.0)],
        options=Options(style=style),
    )


def do(house: House, session: Session, step: NextStep) -> Session:
    """Do as the step says in the house, and tell the session."""
    if step.deed is Deed.SET_SPEED:
        assert step.speed_frac is not None
        house.speed = step.speed_frac
        return add_speed(session, side=step.side, speed_frac=house.speed)
    name = step.thing_id
    if step.deed is Deed.TURN:
        if name in house.rooms and house.rooms[name].is_stuck:
            return add_move(session, thing_id=name, opening_frac=1.0, is_stuck=True)
        if step.is_fully_open:
            house.opening[name] = 1.0
        elif step.stop_m3_s is not None:
            house.turn_to_reading(name, step.read_id, step.stop_m3_s)
        else:
            assert step.opening_frac is not None
            house.opening[name] = step.opening_frac
        session = add_move(session, thing_id=name, opening_frac=house.opening[name])
    if not step.read_id:
        return session
    shown = house.flows()[step.read_id] * (1 + house.noise())
    return add_reading(session, thing_id=step.read_id, flow_m3_s=shown, count=step.count)


def play(
    house: House, style: SettingStyle = SettingStyle.LIVE, method: Method | None = None
) -> tuple[Session, list[NextStep], Finished]:
    """Follow guidance to the end."""
    session = session_for(house, style)
    steps: list[NextStep] = []
    for _ in range(100):
        step = next_step(session, method=method or Method())
        if isinstance(step, Finished):
            return session, steps, step
        steps.append(step)
        session = do(house, session, step)
    raise AssertionError("guidance went on for 100 steps in a house of five rooms")


def stops_of(steps: list[NextStep]) -> int:
    """Times a person comes to a terminal or damper."""
    places = [step.thing_id for step in steps if step.deed is not Deed.SET_SPEED]
    return sum(a != b for a, b in zip(places, ["", *places], strict=False))
