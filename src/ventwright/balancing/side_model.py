"""The unknowns of one side and what readings say about them, compiled from setup and events.

Unknowns, all as logarithms or log odds with a normal prior: the flow of each terminal as found, the
share of pressure lost in the shared path and in each run as found, the answer of the fan to its
speed, for each damper that was turned its size against the duct behind it and the steepness of its
table, and for each move how far the damper ended from where table and mark say.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import hypot, log, sqrt

from ventwright.balancing.damper_law import ln_factor, log_odds, play_spread
from ventwright.balancing.side_shape import damper_at, main_node, tree_of
from ventwright.balancing.site_data import (
    Damper,
    DamperMove,
    FlowReading,
    LossShare,
    Meter,
    Session,
    SideSetup,
    SpeedMove,
)
from ventwright.balancing.tree import Tree
from ventwright.quantities.records import dataclass
from ventwright.quantities.words import Side

FLOW_SPREAD = 1.5
"""Spread of the logarithm of an as-found flow about its target."""
SPEED_POWER, SPEED_POWER_SPREAD = 2.15, 0.2
"""Pressure goes with the speed to this power: 2 by the fan laws, more where losses are partly
laminar and the flow grows faster than the speed."""
SIZE_SPREAD, COMMON_SIZE_SPREAD = 0.85, 0.4
"""Spread of the logarithm of an open damper's drop against its duct's: of one, and of what the
terminals of a side have in common."""
FREE_SPREAD = 1.5
"""Spread of the logarithm of a resistance after a move without table or mark."""
MODEL_FRAC = 0.005
"""What the model's laws leave out, relative, in each reading."""
LEAST_FLOW_FRAC, NO_FLOW_SPREAD = 0.03, 0.5
"""A flow below this part of its target is taken to be that, with a spread as wide as that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DamperUnknowns:
    """Places of a damper's unknowns and its mark as found; its size is the sum of the first two."""

    size_at: int
    common_at: int | None
    table_at: int
    ln_factor_found: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SizePrior:
    """Logarithm of a damper's likely size, its spread, and the place of what a side shares."""

    likely: float
    spread: float
    common_at: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """A damper after one of its moves.

    `ln_factor` is the table's flow factor at its mark, None where there is no table or mark; the
    resistance then differs from as found by the free unknown alone.
    """

    node: int
    free_at: int
    damper: DamperUnknowns | None
    ln_factor: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Epoch:
    """A state of all dampers and the fan: version of each node (−1 as found) and ln of speed."""

    versions: tuple[int, ...]
    ln_speed: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """A reading compiled: node it is of, state it was taken in, its logarithm and spread."""

    reading: FlowReading
    node: int
    epoch: int
    ln_flow: float
    spread: float
    bias_at: int
    order: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SideModel:
    """One side compiled: shape, unknowns with priors, states, observations.

    Parameters
    ----------
    setup
        As given.
    tree
        Node 0 is the shared path, then the runs, then the terminals.
    names
        Name of each node; `total` for node 0.
    node_of
        Node of each name.
    prior
        Mean of each unknown.
    prior_spread
        Its standard deviation.
    start
        Where the search begins.
    versions
        Dampers after moves.
    epochs
        States in order; the last is now.
    observations
        Readings in order.
    stuck
        Nodes whose damper was found not to move.
    at_stop
        Nodes now at an end stop: 1 open, −1 shut.
    opening
        Mark of each damper now, by node, where there is one.
    main_node
        Node of the damper that all terminals are behind, nearest to the fan; None without one.
        Turning it moves all flows alike: it serves the total and never the shares.
    local_fracs
        For each terminal, the relative standard uncertainty its readings share and others' don't;
        that of the method it was read by last.
    """

    setup: SideSetup
    tree: Tree
    names: tuple[str, ...]
    node_of: Mapping[str, int]
    prior: tuple[float, ...]
    prior_spread: tuple[float, ...]
    start: tuple[float, ...]
    versions: tuple[Version, ...]
    epochs: tuple[Epoch, ...]
    observations: tuple[Observation, ...]
    stuck: frozenset[int]
    at_stop: Mapping[int, int]
    opening: Mapping[int, float]
    main_node: int | None
    local_fracs: tuple[float, ...]

    @property
    def first_leaf(self) -> int:
        """Node of the first terminal; also the number of share unknowns."""
        return len(self.names) - len(self.setup.outlets)

    def damper(self, node: int) -> Damper | None:
        """Damper at a node."""
        return damper_at(self.setup, node)

    @property
    def total_damper(self) -> int | None:
        """The main damper where the total is set by it, for want of a speed to set."""
        return None if self.setup.is_speed_settable else self.main_node


def speed_power_at(setup: SideSetup) -> int:
    """Place of the unknown power of the fan's speed."""
    return len(setup.outlets) + 1 + len(setup.runs)


def common_size_at(setup: SideSetup) -> int:
    """Place of what the sizes of a side's terminal dampers have in common."""
    return speed_power_at(setup) + 1


def size_prior(setup: SideSetup, node: int) -> SizePrior:
    """What is known beforehand of an open damper's drop against that of the duct it sits in."""
    runs = len(setup.runs)
    if node <= runs:
        return SizePrior(likely=log(0.2), spread=SIZE_SPREAD, common_at=None)
    outlet = setup.outlets[node - 1 - runs]
    known = outlet.duct_spread_ratio
    return SizePrior(
        likely=log(outlet.duct_ratio),
        spread=SIZE_SPREAD if known is None else known,
        common_at=common_size_at(setup) if known is None else None,
    )


class _Compiler:
    """Walks through the events once."""

    def __init__(self, session: Session, side: Side, left_out: frozenset[str]) -> None:
        self.session, self.side, self.left_out = session, side, left_out
        self.setup = session.setup(side)
        self.tree, self.names = tree_of(self.setup)
        self.node_of = {name: node for node, name in enumerate(self.names)}
        self.prior: list[float] = []
        self.spread: list[float] = []
        self.start: list[float] = []
        self.versions: list[Version] = []
        self.current = [-1] * len(self.names)
        self.ln_speed = 0.0
        self.epochs = [Epoch(versions=tuple(self.current), ln_speed=0.0)]
        self.observations: list[Observation] = []
        self.dampers: dict[int, DamperUnknowns] = {}
        self.biases: dict[str, int] = {}
        self.local_fracs = [0.0] * len(self.setup.outlets)
        self.stuck: set[int] = set()
        self.at_stop: dict[int, int] = {}
        self.opening = {}
        for node in range(len(self.names)):
            damper = damper_at(self.setup, node)
            if damper is not None and damper.opening_frac is not None:
                self.opening[node] = damper.opening_frac
        self._base()

    def unknown(self, mean: float, spread: float, start: float | None = None) -> int:
        self.prior.append(mean)
        self.spread.append(spread)
        self.start.append(mean if start is None else start)
        return len(self.prior) - 1

    def _base(self) -> None:
        first: dict[str, float] = {}
        for event in self.session.events:
            if isinstance(event, FlowReading) and event.id not in self.left_out:
                first.setdefault(event.thing_id, event.flow_m3_s)
        ratios = [
            log(max(first[item.id] / item.target_m3_s, LEAST_FLOW_FRAC))
            for item in self.setup.outlets
            if item.id in first
        ]
        common = sorted(ratios)[len(ratios) // 2] if ratios else 0.0
        for item in self.setup.outlets:
            likely = log(item.target_m3_s) + common
            shown = max(first.get(item.id, 0.0), LEAST_FLOW_FRAC * item.target_m3_s)
            self.unknown(likely, FLOW_SPREAD, log(shown) if item.id in first else likely)
        for loss in (self.setup.shared, *(run.loss for run in self.setup.runs)):
            self._share(loss)
        self.unknown(SPEED_POWER, SPEED_POWER_SPREAD)
        self.unknown(0.0, COMMON_SIZE_SPREAD)

    def _share(self, loss: LossShare) -> None:
        self.unknown(log_odds(loss.likely_frac), loss.spread_ratio)

    def read(self, event: FlowReading, order: int) -> None:
        meter = self.session.meter(event.meter_id)
        if event.id in self.left_out:
            return
        node = self.node_of[event.thing_id]
        least = LEAST_FLOW_FRAC * self._target(node)
        flow = max(event.flow_m3_s, least)
        spread = reading_spread(meter, flow, event.count)
        bias_at = self._bias(meter, is_terminal=node >= self.tree.leaves[0])
        if node >= self.tree.leaves[0]:
            self.local_fracs[node - self.tree.leaves[0]] = meter.local_frac
            # Between methods what each has of its own at a place tells nothing of other places.
            spread = (
                spread if bias_at < 0 else hypot(spread, self._first.local_frac, meter.local_frac)
            )
        self.observations.append(
            Observation(
                reading=event,
                node=node,
                epoch=len(self.epochs) - 1,
                ln_flow=log(flow),
                spread=NO_FLOW_SPREAD if flow <= least else spread,
                bias_at=bias_at,
                order=order,
            )
        )

    def _target(self, node: int) -> float:
        """Sum of the targets behind a node."""
        leaves = zip(self.tree.leaves, self.setup.outlets, strict=True)
        return sum(x.target_m3_s for leaf, x in leaves if node in self.tree.path(leaf))

    @property
    def _first(self) -> Meter:
        return self.session.meter(next(iter(self.biases)))

    def _bias(self, meter: Meter, *, is_terminal: bool) -> int:
        """A side's first method shares one bias with all its flows and needs no unknown.

        A method that reads whole runs or the side is off there by its own at that place as well.
        """
        if not self.biases:
            self.biases[meter.id] = -1
        if meter.id not in self.biases:
            local = 0.0 if is_terminal else meter.local_frac
            spread = hypot(self._first.bias_frac, meter.bias_frac, local)
            self.biases[meter.id] = self.unknown(0.0, spread)
        return self.biases[meter.id]

    def move(self, event: DamperMove) -> None:
        node = self.node_of[event.thing_id]
        damper = damper_at(self.setup, node)
        if event.is_stuck or damper is None:
            self.stuck.add(node)
            return
        if event.opening_frac is not None:
            self.opening[node] = event.opening_frac
        self.at_stop[node] = int(event.is_at_open_stop) - int(event.is_at_shut_stop)
        unknowns, value, spread = None, None, FREE_SPREAD
        if damper.table and damper.opening_frac is not None and event.opening_frac is not None:
            unknowns = self._damper(node, damper, damper.opening_frac)
            value = ln_factor(damper, event.opening_frac)
            spread = play_spread(damper, event.opening_frac)
        self.versions.append(
            Version(node=node, free_at=self.unknown(0.0, spread), damper=unknowns, ln_factor=value)
        )
        self.current[node] = len(self.versions) - 1
        self._next_epoch()

    def _damper(self, node: int, damper: Damper, found: float) -> DamperUnknowns:
        if node not in self.dampers:
            prior = size_prior(self.setup, node)
            self.dampers[node] = DamperUnknowns(
                size_at=self.unknown(prior.likely, prior.spread),
                common_at=prior.common_at,
                table_at=self.unknown(0.0, damper.table_u_frac),
                ln_factor_found=ln_factor(damper, found),
            )
        return self.dampers[node]

    def speed(self, event: SpeedMove) -> None:
        self.ln_speed = log(event.speed_frac / self.setup.speed_frac)
        self._next_epoch()

    def _next_epoch(self) -> None:
        self.epochs.append(Epoch(versions=tuple(self.current), ln_speed=self.ln_speed))

    def finish(self) -> SideModel:
        return SideModel(
            setup=self.setup,
            tree=self.tree,
            names=self.names,
            node_of=self.node_of,
            prior=tuple(self.prior),
            prior_spread=tuple(self.spread),
            start=tuple(self.start),
            versions=tuple(self.versions),
            epochs=tuple(self.epochs),
            observations=tuple(self.observations),
            stuck=frozenset(self.stuck),
            at_stop=dict(self.at_stop),
            opening=dict(self.opening),
            main_node=main_node(self.setup, self.tree, self.stuck),
            local_fracs=tuple(self.local_fracs),
        )


def reading_spread(meter: Meter, flow_m3_s: float, count: int) -> float:
    """Relative spread of a reading about the flow, without the bias all readings share."""
    rounding = meter.resolution_m3_s / sqrt(12.0) / flow_m3_s
    return sqrt((meter.repeat_frac**2 + rounding**2) / count + MODEL_FRAC**2)


def compile_side(session: Session, side: Side, left_out: Sequence[str] = ()) -> SideModel:
    """Compile one side.

    Parameters
    ----------
    session
        All that was done.
    side
        Which side.
    left_out
        Ids of readings that are not believed.
    """
    compiler = _Compiler(session, side, frozenset(left_out))
    for order, event in enumerate(session.events):
        if event.side is not side:
            continue
        if isinstance(event, FlowReading):
            compiler.read(event, order)
        elif isinstance(event, DamperMove):
            compiler.move(event)
        else:
            compiler.speed(event)
    return compiler.finish()
