"""One side of a session worked out: what is known, what was read when, what still stands."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property, lru_cache
from math import hypot
from operator import mul

from ventwright.balancing.inference import Posterior, infer, picture
from ventwright.balancing.shares import Departures, departures_of, spreads_of
from ventwright.balancing.side_model import Observation, SideModel, compile_side
from ventwright.balancing.site_data import Meter, Session, SettingStyle, SpeedMove
from ventwright.quantities.records import dataclass, replace
from ventwright.quantities.words import Side
from ventwright.uncertainty import normal_cdf

STANDS_OFF = 0.25
"""A reading still stands as left while later moves shift its terminal by less, in half bands."""
STANDS_OFF_IN_ROUNDS = 0.35
"""The same where no meter is in place while the hand turns: less than the meter itself can show."""


@dataclass(frozen=True, kw_only=True, eq=False)
class SideView:
    """A side with everything that follows from its events.

    Parameters
    ----------
    session
        What was done on this side.
    side
        Which side.
    left_out
        Ids of readings that are not believed.
    model
        Compiled side.
    posterior
        What is known.
    """

    session: Session
    side: Side
    left_out: tuple[str, ...]
    model: SideModel
    posterior: Posterior

    @cached_property
    def now(self) -> Departures:
        """Most likely departures as things stand."""
        return departures_of(self.posterior.now)

    @cached_property
    def spreads(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Standard uncertainties of flows (relative) and departures (half bands) now."""
        return spreads_of(self.posterior, self.posterior.now)

    @cached_property
    def readable_spreads(self) -> tuple[float, ...]:
        """Those of departures without what no reading by the same method can make smaller."""
        return spreads_of(self.posterior, self.posterior.now, has_local=False)[1]

    @property
    def outlet_ids(self) -> tuple[str, ...]:
        """Terminals of the side."""
        return tuple(item.id for item in self.model.setup.outlets)

    def readings_of(self, outlet_id: str) -> list[Observation]:
        """Believed readings of a terminal in order."""
        node = self.model.node_of[outlet_id]
        return [item for item in self.model.observations if item.node == node]

    def turns_of(self, thing_id: str) -> int:
        """How often a damper was turned."""
        node = self.model.node_of[thing_id]
        return sum(version.node == node for version in self.model.versions)

    def readings_since_turn(self, outlet_id: str) -> int:
        """How often a terminal was read after the last turn of its own damper."""
        node = self.model.node_of[outlet_id]
        now = self.model.epochs[-1].versions[node]
        return sum(
            self.model.epochs[item.epoch].versions[node] == now
            for item in self.readings_of(outlet_id)
        )

    def is_unread_since_turn(self, node: int) -> bool:
        """Whether a damper was turned and nothing behind it was read since."""
        version = self.model.epochs[-1].versions[node]
        if version < 0:
            return False
        for item in reversed(self.model.observations):
            if self.model.epochs[item.epoch].versions[node] != version:
                return True
            if node in self.model.tree.path(item.node):
                return False
        return True

    @cached_property
    def unread(self) -> tuple[str, ...]:
        """Terminals without a believed reading."""
        return tuple(item for item in self.outlet_ids if not self.readings_of(item))

    @cached_property
    def has_moved(self) -> bool:
        """Whether any damper of the side was turned."""
        return bool(self.model.versions)

    @cached_property
    def not_left(self) -> tuple[str, ...]:
        """Terminals without a reading that stands as left."""
        return tuple(item for item in self.outlet_ids if self._left(item) is None)

    def _left(self, outlet_id: str) -> Observation | None:
        """The latest reading of a terminal, if it still stands as its as-left reading.

        It must be another than the as-found one if anything was turned; its own damper must not
        have moved since; and what moved elsewhere must have shifted it little.
        """
        readings = self.readings_of(outlet_id)
        if not readings:
            return None
        last = readings[-1]
        if not self.has_moved:
            return last
        if len(readings) < 2:
            return None
        model = self.model
        then, now = model.epochs[last.epoch], model.epochs[-1]
        if then.versions[last.node] != now.versions[last.node]:
            return None
        place = last.node - model.first_leaf
        shift = abs(self._offs_at(last.epoch)[place] - self.now.offs[place])
        is_live = self.session.options.style is SettingStyle.LIVE
        return last if shift <= (STANDS_OFF if is_live else STANDS_OFF_IN_ROUNDS) else None

    def _offs_at(self, epoch: int) -> tuple[float, ...]:
        model, posterior = self.model, self.posterior
        if model.epochs[epoch].versions == model.epochs[-1].versions:
            return self.now.offs
        shown = picture(model, posterior.unknowns, epoch=model.epochs[epoch])
        return departures_of(shown).offs

    def prob_within(self, place: int) -> float:
        """Probability that a terminal's departure lies within its band."""
        return self._prob(place, self.spreads[1][place])

    def prob_read_within(self, place: int) -> float:
        """The same if only readings were unsure: what another reading could still tell."""
        return self._prob(place, self.readable_spreads[place])

    def _prob(self, place: int, spread: float) -> float:
        off = self.now.offs[place]
        return normal_cdf((1.0 - off) / spread) - normal_cdf((-1.0 - off) / spread)

    @cached_property
    def total_ratio(self) -> float:
        """Most likely flow of all terminals against the sum of their targets."""
        return sum(self.now.flows_m3_s) / sum(x.target_m3_s for x in self.model.setup.outlets)

    @cached_property
    def total_spread(self) -> float:
        """Relative standard uncertainty of that flow, without the meter's bias."""
        shown = self.posterior.now
        rows = [shown.row(leaf) for leaf in self.model.tree.leaves]
        flows = self.now.flows_m3_s
        whole = sum(flows)
        row = [sum(map(mul, flows, column)) / whole for column in zip(*rows, strict=True)]
        local = (q * x / whole for q, x in zip(flows, self.model.local_fracs, strict=True))
        return hypot(self.posterior.spread(row), *local)

    @property
    def meters(self) -> tuple[Meter, ...]:
        """Methods by which the side's flows were read."""
        names = {item.reading.meter_id for item in self.model.observations}
        return tuple(meter for meter in self.session.meters if meter.id in names)

    @property
    def speed_frac(self) -> float:
        """Fan speed now."""
        speed = self.model.setup.speed_frac
        for event in self.session.events:
            if isinstance(event, SpeedMove) and event.side is self.side:
                speed = event.speed_frac
        return speed


def view(session: Session, side: Side, left_out: Sequence[str] = ()) -> SideView:
    """Work out one side.

    Parameters
    ----------
    session
        All that was done.
    side
        Which side.
    left_out
        Ids of readings that are not believed.
    """
    mine = tuple(event for event in session.events if event.side is side)
    return _view(replace(session, events=mine), side, tuple(left_out))


@lru_cache(maxsize=32)
def _view(session: Session, side: Side, left_out: tuple[str, ...]) -> SideView:
    """The same from one side's events alone, kept as long as that side is left alone."""
    model = compile_side(session, side, left_out)
    return SideView(
        session=session,
        side=side,
        left_out=tuple(left_out),
        model=model,
        posterior=infer(model),
    )
