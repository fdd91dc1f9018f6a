"""A network laid out flat for the solver: coefficients in rows, parents before children."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from ventwright.ducts import FanLaw, Law, Terms, added, require_usable
from ventwright.network.checks import check
from ventwright.network.layout import Layout, Order, finite, layout_of, order_of, rows_of
from ventwright.network.model import Network
from ventwright.quantities.problems import UserError
from ventwright.quantities.records import dataclass, replace

Function = Callable[[float], tuple[float, float]]
CurveRow = tuple[int, Function, float]
"""Entry, function of a curve, factor on its drop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """The laws of one entry taken apart; the loss ratio acts on the passive ones only.

    Parameters
    ----------
    laws
        As given.
    passive, fans
        Terms of the passive laws and of the fans, each summed.
    passive_functions, fan_functions
        Functions of their curves.
    """

    laws: tuple[Law, ...]
    passive: Terms
    fans: Terms
    passive_functions: tuple[Function, ...]
    fan_functions: tuple[Function, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """A checked network in the form the solver reads; made by `prepare`, changed by copies.

    Parameters
    ----------
    layout
        Names and shape.
    order
        Order of the sweeps.
    parts
        Laws of each entry, as given and taken apart.
    loss_ratio
        Factor on the passive laws of each entry.
    constant_pa, linear_pa_per_m3_s, quadratic_pa_per_m6_s2
        Coefficients of each entry, factor included.
    curves
        Further parts of the laws.
    zone_pressure_pa
        Pressure of each zone where it is known [Pa].
    other_inflow_m3_s
        Net flow of other fans into each zone [m³/s].
    """

    layout: Layout
    order: Order
    parts: tuple[Parts, ...]
    loss_ratio: tuple[float, ...]
    constant_pa: tuple[float, ...]
    linear_pa_per_m3_s: tuple[float, ...]
    quadratic_pa_per_m6_s2: tuple[float, ...]
    curves: tuple[CurveRow, ...]
    zone_pressure_pa: tuple[float, ...]
    other_inflow_m3_s: tuple[float, ...]

    def entry(self, name: str) -> int:
        """Entry of a link, shared path (by its tree's name) or opening.

        Raises
        ------
        UserError
            No entry bears the name.
        """
        try:
            return self.layout.index[name]
        except KeyError:
            msg = f"no link, tree or opening is called '{name}'"
            raise UserError(msg) from None

    def with_laws(self, changes: Mapping[str, tuple[Law, ...]]) -> Prepared:
        """Replace the laws of some entries; everything else stays.

        Parameters
        ----------
        changes
            New laws by name of link, tree (its shared path) or opening.

        Raises
        ------
        UserError
            Unknown name, or a law whose numbers can't be used.
        """
        parts = list(self.parts)
        for name, laws in changes.items():
            for law in laws:
                require_usable(law)
            parts[self.entry(name)] = _apart(laws)
        order = self.order
        if _closed(self.parts) != (closed := _closed(parts)):
            order = order_of(self.layout, closed=closed)
        changed = [self.layout.index[name] for name in changes]
        return _reckoned(
            replace(self, order=order), parts=tuple(parts), loss_ratio=self.loss_ratio, at=changed
        )

    def with_loss_ratios(self, ratios: Mapping[str, float]) -> Prepared:
        """Multiply the drop of all passive laws of some entries; fans stay as they are.

        Parameters
        ----------
        ratios
            Factor, above 0, by name; 1 is the law as given. Names left out keep their factor.

        Raises
        ------
        UserError
            Unknown name or a factor that is not above 0.
        """
        new = list(self.loss_ratio)
        for name, ratio in ratios.items():
            if not 0.0 < ratio < float("inf"):
                msg = f"loss ratio of '{name}' is {ratio}: a finite factor above 0 is accepted"
                raise UserError(msg)
            new[self.entry(name)] = ratio
        changed = [self.layout.index[name] for name in ratios]
        return _reckoned(self, parts=self.parts, loss_ratio=tuple(new), at=changed)

    def with_speeds(self, speeds: Mapping[str, float]) -> Prepared:
        """Set the speed of every fan in some shared paths (or links).

        Parameters
        ----------
        speeds
            `speed_frac` by name of tree or link.
        """
        changes = {}
        for name, speed_frac in speeds.items():
            laws = self.parts[self.entry(name)].laws
            if not any(isinstance(law, FanLaw) for law in laws):
                msg = f"'{name}' has no fan whose speed could be set"
                raise UserError(msg)
            changes[name] = tuple(
                law.at_speed(speed_frac) if isinstance(law, FanLaw) else law for law in laws
            )
        return self.with_laws(changes)

    def with_zones(
        self,
        *,
        pressure_pa: Mapping[str, float] | None = None,
        other_inflow_m3_s: Mapping[str, float] | None = None,
    ) -> Prepared:
        """Set known zone pressures and the flow of other fans.

        Parameters
        ----------
        pressure_pa
            By name of a zone without openings [Pa].
        other_inflow_m3_s
            By name of a zone with openings [m³/s].

        Raises
        ------
        UserError
            Unknown name, a zone of the other kind, or a number that is not finite.
        """
        pressures = list(self.zone_pressure_pa)
        inflows = list(self.other_inflow_m3_s)
        for name, value in (pressure_pa or {}).items():
            pressures[self.layout.zone_place(name, is_sought=False)] = finite(name, value)
        for name, value in (other_inflow_m3_s or {}).items():
            inflows[self.layout.zone_place(name, is_sought=True)] = finite(name, value)
        return replace(self, zone_pressure_pa=tuple(pressures), other_inflow_m3_s=tuple(inflows))


def prepare(network: Network) -> Prepared:
    """Check a network and lay it out for the solver; worth keeping between solves.

    Parameters
    ----------
    network
        The network as data.

    Returns
    -------
    Prepared
        To be handed to `solve` any number of times.

    Raises
    ------
    UserError
        The network can't be solved; its `problems` say what and where.

    >>> from ventwright.ducts import FlowFactorOpening, ParabolicFan
    >>> from ventwright.network import Link, LinkRole, Network, Tree, Zone
    >>> from ventwright.quantities.words import Side
    >>> study = Link(name="study", parent="supply", laws=(FlowFactorOpening(flow_factor=2e-3),),
    ...              zone="house", role=LinkRole.TERMINAL)
    >>> fan = ParabolicFan(shut_off_pa=100.0, free_flow_m3_s=0.03)
    >>> supply = Tree(name="supply", side=Side.SUPPLY, shared=(fan,), links=(study,),
    ...               outdoor_zone="outdoors")
    >>> network = Network(trees=(supply,), zones=(Zone(name="outdoors"), Zone(name="house")))
    >>> prepare(network).layout.names
    ('supply', 'study')
    """
    problems = check(network)
    if problems:
        raise UserError("; ".join(p.message for p in problems), problems=problems)
    rows = rows_of(network)
    layout = layout_of(network, rows)
    openings = [opening for zone in network.zones for opening in zone.openings]
    laws = tuple(link.laws for _, link in rows) + tuple((o.law,) for o in openings)
    parts = tuple(_apart(group) for group in laws)
    bare = Prepared(
        layout=layout,
        order=order_of(layout, closed=_closed(parts)),
        parts=parts,
        loss_ratio=(1.0,) * len(parts),
        constant_pa=(0.0,) * len(parts),
        linear_pa_per_m3_s=(0.0,) * len(parts),
        quadratic_pa_per_m6_s2=(0.0,) * len(parts),
        curves=(),
        zone_pressure_pa=tuple(zone.pressure_pa for zone in network.zones),
        other_inflow_m3_s=tuple(zone.other_inflow_m3_s for zone in network.zones),
    )
    return _reckoned(bare, parts=parts, loss_ratio=bare.loss_ratio, at=range(len(parts)))


def _closed(parts: Sequence[Parts]) -> list[bool]:
    return [part.passive.is_closed or part.fans.is_closed for part in parts]


def _apart(laws: tuple[Law, ...]) -> Parts:
    passive = added(law for law in laws if not isinstance(law, FanLaw))
    fans = added(law for law in laws if isinstance(law, FanLaw))
    return Parts(
        laws=laws,
        passive=passive,
        fans=fans,
        passive_functions=tuple(curve.function() for curve in passive.curves),
        fan_functions=tuple(curve.function() for curve in fans.curves),
    )


def _reckoned(
    base: Prepared,
    *,
    parts: tuple[Parts, ...],
    loss_ratio: tuple[float, ...],
    at: Iterable[int],
) -> Prepared:
    """Reckon the coefficients of the changed entries anew.

    A closed entry becomes a plain linear law that no sweep reads.
    """
    constant, linear, quadratic = (
        list(base.constant_pa),
        list(base.linear_pa_per_m3_s),
        list(base.quadratic_pa_per_m6_s2),
    )
    changed = set(at)
    curves = [row for row in base.curves if row[0] not in changed]
    for i in changed:
        loss, fan, ratio = parts[i].passive, parts[i].fans, loss_ratio[i]
        if loss.is_closed or fan.is_closed:
            constant[i], linear[i], quadratic[i] = 0.0, 1.0, 0.0
            continue
        constant[i] = loss.constant_pa * ratio + fan.constant_pa
        linear[i] = loss.linear_pa_per_m3_s * ratio + fan.linear_pa_per_m3_s
        quadratic[i] = loss.quadratic_pa_per_m6_s2 * ratio + fan.quadratic_pa_per_m6_s2
        curves += [(i, function, ratio) for function in parts[i].passive_functions]
        curves += [(i, function, 1.0) for function in parts[i].fan_functions]
    return replace(
        base,
        parts=parts,
        loss_ratio=loss_ratio,
        constant_pa=tuple(constant),
        linear_pa_per_m3_s=tuple(linear),
        quadratic_pa_per_m6_s2=tuple(quadratic),
        curves=tuple(curves),
    )
