"""Putting a simulated house together: places, branches, two trees of ducts, fans, envelope."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from ventwright.quantities.words import Side
from ventwright.trials import pieces
from ventwright.trials.dampers import table_of
from ventwright.trials.physics import Elements
from ventwright.trials.pieces import LEAK_EXPONENT, Piece, piece_through
from ventwright.trials.truth import (
    CFM_M3_S,
    NO_LOSS,
    SIDES,
    Fan,
    Layout,
    Place,
    Setting,
    TruthBranch,
    TruthHouse,
    TruthTerminal,
)

Row = dict[int, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What the builder must respect: layout, branch dampers, a small terminal on its own line."""

    layout: Layout
    has_branch_dampers: bool
    has_small: bool


@dataclass(slots=True)
class Builder:
    """Puts a house together piece by piece; everything open, nothing stuck, no fixed grilles."""

    rng: np.random.Generator
    choice: Choice
    terminals: list[TruthTerminal] = field(default_factory=list)
    branches: list[TruthBranch] = field(default_factory=list)
    exponents: list[float] = field(default_factory=list)
    leaks: dict[Side, list[int]] = field(default_factory=dict)
    rest: list[tuple[Piece, Row]] = field(default_factory=list)

    def build(self, name: str, targets: dict[Side, list[int]]) -> TruthHouse:
        """The house for given targets.

        Parameters
        ----------
        name
            Name of the house.
        targets
            Targets of each side, in cfm.
        """
        space_name = str(self.rng.choice(["crawl space", "loft"]))
        space = Place(name=space_name, area=space_name, x_m=0.0, y_m=0.0)
        utility = Place(
            name="utility room", area="storey 1", x_m=float(self.rng.uniform(0, 10)), y_m=1.0
        )
        unit_place = utility if self.rng.random() < 0.4 else space
        rooms = self._rooms(sum(len(items) for items in targets.values()))
        for side in SIDES:
            self._terminals_and_branches(side, targets[side], rooms, space)
        for side in SIDES:
            first = sum(len(items) for items in self.leaks.values()) + len(self.terminals)
            count = 1 + sum(item.side is side for item in self.branches)
            self.leaks[side] = list(range(first, first + count))
        fans = (self._side(Side.SUPPLY), self._side(Side.EXTRACT))
        self._leaks_and_envelope()
        return TruthHouse(
            name=name,
            layout=self.choice.layout,
            terminals=tuple(self.terminals),
            branches=tuple(self.branches),
            fans=fans,
            unit_place=unit_place,
            elements=self._elements(fans),
            as_found=Setting(
                terminal_frac=tuple(
                    1.0 if item.ring is None else item.ring.high_stop_frac
                    for item in self.terminals
                ),
                branch_frac=(1.0,) * len(self.branches),
                speed_frac=(0.8, 0.8),
            ),
        )

    def _rooms(self, count: int) -> list[Place]:
        """Rooms on one or two storeys; one in ten terminals shares the room before."""
        storeys = int(self.rng.integers(1, 3))
        places: list[Place] = []
        for i in range(count):
            if places and self.rng.random() < 0.1:
                places.append(places[-1])
                continue
            places.append(
                Place(
                    name=f"room {i + 1}",
                    area=f"storey {int(self.rng.integers(1, storeys + 1))}",
                    x_m=float(self.rng.uniform(0, 10)),
                    y_m=float(self.rng.uniform(0, 8)),
                )
            )
        return places

    def _groups(self, count: int) -> list[int]:
        """Number of terminals in each branch, from the fan outwards."""
        own = 1 if self.choice.has_small else 0
        left = count - own
        if self.choice.layout is Layout.MANIFOLD:
            split = left // 2 if left >= 6 and self.rng.random() < 0.6 else 0
            return [size for size in (left - split, split, own) if size]
        sizes = []
        while left:
            size = min(left, int(self.rng.integers(1, 5)))
            sizes.append(size)
            left -= size
        return sizes + [1] * own

    def _terminals_and_branches(
        self, side: Side, targets: list[int], rooms: list[Place], space: Place
    ) -> None:
        letter = "S" if side is Side.SUPPLY else "E"
        groups = self._groups(len(targets))
        number = 0
        for b, size in enumerate(groups):
            flow = sum(targets[number : number + size]) * CFM_M3_S
            has_flap = len(groups) > 1 and self.choice.has_branch_dampers
            flap = pieces.flap(self.rng, flow) if has_flap else None
            distortion = self._distortion(0.05)
            self.branches.append(
                TruthBranch(
                    id=f"{letter}B{b + 1}",
                    side=side,
                    place=space,
                    flap=flap,
                    table=() if flap is None else table_of(flap, distortion=distortion),
                )
            )
            for cfm in targets[number : number + size]:
                number += 1
                self._terminal(f"{letter}{number}", side, cfm * CFM_M3_S, rooms, space)

    def _terminal(
        self, name: str, side: Side, flow_m3_s: float, rooms: list[Place], space: Place
    ) -> None:
        exponent = float(self.rng.uniform(1.9, 2.0))
        ring = pieces.ring(self.rng, flow_m3_s=flow_m3_s, exponent=exponent)
        is_known = bool(self.rng.random() < 0.6)
        distortion = self._distortion(0.05 if is_known else 0.12)
        self.exponents.append(exponent)
        self.terminals.append(
            TruthTerminal(
                id=name,
                side=side,
                branch=len(self.branches) - 1,
                target_m3_s=flow_m3_s,
                place=rooms[len(self.terminals)],
                damper_place=space,
                ring=ring,
                coeff=ring.coeff(ring.high_stop_frac),
                table=table_of(ring, distortion=distortion),
                is_table_known=is_known,
            )
        )

    def _distortion(self, spread: float) -> float:
        return float(np.clip(self.rng.normal(0, spread), -2 * spread, 2 * spread))

    def _members(self, side: Side, *, first_branch: int = 0) -> list[int]:
        return [
            i
            for i, item in enumerate(self.terminals)
            if item.side is side and item.branch >= first_branch
        ]

    def _flow(self, members: list[int]) -> float:
        return sum(self.terminals[i].target_m3_s for i in members)

    def _side(self, side: Side) -> Fan:
        """All ducts of one side, one leak behind the unit and one at each branch, and its fan."""
        mine = self._members(side)
        total = self._flow(mine)
        layout = self.choice.layout
        first_piece = len(self.rest)
        leaks = self.leaks[side]
        everything = dict.fromkeys(mine + leaks, 1.0)
        for make in (pieces.outdoor_leg, pieces.air_filter, pieces.exchanger_core):
            self.rest.append((make(self.rng, total), everything))
        for order, b in enumerate(sorted({self.terminals[i].branch for i in mine})):
            beyond = self._members(side, first_branch=b)
            segment = pieces.main_segment(
                self.rng, layout, flow_m3_s=self._flow(beyond), total_m3_s=total
            )
            self.rest.append((segment, dict.fromkeys(beyond + leaks[order + 1 :], 1.0)))
            members = [i for i in mine if self.terminals[i].branch == b]
            branch = pieces.branch_duct(self.rng, layout, self._flow(members))
            self.rest.append((branch, dict.fromkeys(members, 1.0)))
            for i in members:
                run = pieces.run(self.rng, layout, self.terminals[i].target_m3_s)
                self.rest.append((run, {i: 1.0}))
        return self._fan(mine, first_piece, total)

    def _fan(self, mine: list[int], first_piece: int, total: float) -> Fan:
        """A fan that meets the neediest path at 75 to 92 % of full speed."""
        count = len(self.terminals)
        mine_pieces = [
            (piece.drop_pa(self._flow([i for i in row if i < count])), row)
            for piece, row in self.rest[first_piece:]
        ]
        need_pa = max(
            sum(drop for drop, row in mine_pieces if i in row)
            + self.terminals[i].coeff * self.terminals[i].target_m3_s ** self.exponents[i]
            for i in mine
        )
        speed = float(self.rng.uniform(0.75, 0.92))
        power = float(self.rng.uniform(1.3, 2.5))
        free = total * float(self.rng.uniform(1.8, 3.0)) / math.sqrt(speed)
        share = 1 - (total / (speed * free)) ** power
        return Fan(
            shut_off_pa=1.1 * need_pa / (speed**2 * share),
            free_m3_s=free,
            power=power,
            efficiency_frac=float(self.rng.uniform(0.3, 0.5)),
            standby_w=float(self.rng.uniform(2, 6)),
        )

    def _leaks_and_envelope(self) -> None:
        """Duct leaks, and the envelope that couples the two sides.

        Each side loses 0.5 to 6 % at 50 Pa. Ducts inside leak from and into the house, others to
        outdoors. The envelope takes 0.6 to 5 air changes an hour at 50 Pa.
        """
        rng = self.rng
        is_inside = bool(rng.random() < 0.5)
        sign = {Side.SUPPLY: 1.0, Side.EXTRACT: -1.0}
        shell: Row = {i: sign[item.side] for i, item in enumerate(self.terminals)}
        for side in SIDES:
            loss = math.exp(float(rng.uniform(math.log(0.005), math.log(0.06))))
            each = loss * self._flow(self._members(side)) / len(self.leaks[side])
            hole = piece_through(
                flow_m3_s=each, drop_pa=50.0, exponent=LEAK_EXPONENT, core_m3_s=1e-6
            )
            for leak in self.leaks[side]:
                self.rest.append((hole, {leak: 1.0}))
                if is_inside:
                    shell[leak] = sign[side]
        at_50_pa = float(rng.uniform(250, 500)) * float(rng.uniform(0.6, 5.0)) / 3600
        envelope = piece_through(flow_m3_s=at_50_pa, drop_pa=50.0, exponent=LEAK_EXPONENT)
        self.rest.append((envelope, shell))

    def _elements(self, fans: tuple[Fan, Fan]) -> Elements:
        """All pieces in the order `TruthHouse` promises."""
        count = len(self.terminals)
        rows: list[tuple[Piece, Row]] = []
        for i, terminal in enumerate(self.terminals):
            piece = Piece(
                coeff=terminal.coeff,
                exponent=self.exponents[i],
                core_m3_s=0.1 * terminal.target_m3_s,
            )
            rows.append((piece, {i: 1.0}))
        rows += [(Piece(coeff=NO_LOSS), {i: 1.0}) for i in range(count)]
        for b, branch in enumerate(self.branches):
            members = [i for i in range(count) if self.terminals[i].branch == b]
            size = NO_LOSS if branch.flap is None else branch.flap.coeff(1.0)
            rows.append((Piece(coeff=size), dict.fromkeys(members, 1.0)))
        for side, fan in zip(SIDES, fans, strict=True):
            piece = Piece(
                coeff=fan.shut_off_pa / fan.free_m3_s**fan.power,
                exponent=fan.power,
                lift_pa=fan.shut_off_pa,
            )
            rows.append((piece, dict.fromkeys(self._members(side) + self.leaks[side], 1.0)))
        rows += self.rest
        incidence = np.zeros((len(rows), count + sum(len(x) for x in self.leaks.values())))
        for e, (_, row) in enumerate(rows):
            for column, value in row.items():
                incidence[e, column] = value
        return Elements(
            coeff=np.array([piece.coeff for piece, _ in rows]),
            exponent=np.array([piece.exponent for piece, _ in rows]),
            core_m3_s=np.array([piece.core_m3_s for piece, _ in rows]),
            lift_pa=np.array([piece.lift_pa for piece, _ in rows]),
            incidence=incidence,
        )
