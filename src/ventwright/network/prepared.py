"""A network laid out flat for the solver: coefficients in rows, parents before children."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from ventwright.ducts import FanLaw, Law, Terms, added, require_usable
from ventwright.network.checks import check
from ventwright.network.model import Link, LinkRole, Network, Tree
from ventwright.quantities.problems import UserError
from ventwright.quantities.words import Side

NOMINAL_FLOW_M3_S = 0.01
"""Starting flow of a terminal whose design flow is unknown."""

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
class Layout:
    """What stays the same when laws change: names, who hangs on whom, which zone is where.

    Entries are the links of all trees (each tree's shared path first, parents before children),
    then the openings of zones. Pressure slots run over the links, then over the trees' outer ends.

    Parameters
    ----------
    names
        Name of each entry.
    index
        Entry of each name.
    parent
        For each link the pressure slot at the fan's end.
    sign
        For each link +1 on the supply side, −1 on the extract side.
    role
        For each link its role; a shared path counts as a duct.
    zone
        For each link the index of the zone it ends in, or −1.
    zone_names
        Name of each zone.
    outer
        For each tree (slot, zone index, sign) of its outer end.
    roots
        For each tree the entry of its shared path.
    opening
        For each opening (entry, zone index, pressure beyond).
    unknown_zones
        Indices of zones whose pressure is sought.
    start_m3_s
        Starting flow of each entry [m³/s].
    """

    names: tuple[str, ...]
    index: Mapping[str, int]
    parent: tuple[int, ...]
    sign: tuple[float, ...]
    role: tuple[LinkRole, ...]
    zone: tuple[int, ...]
    zone_names: tuple[str, ...]
    outer: tuple[tuple[int, int, float], ...]
    roots: tuple[int, ...]
    opening: tuple[tuple[int, int, float], ...]
    unknown_zones: tuple[int, ...]
    start_m3_s: tuple[float, ...]

    @property
    def slot_count(self) -> int:
        """Number of pressure slots."""
        return len(self.parent) + len(self.outer)

    @property
    def terminals(self) -> tuple[str, ...]:
        """Names of the terminals, in the order of entries."""
        pairs = zip(self.names, self.role, strict=False)
        return tuple(name for name, role in pairs if role is LinkRole.TERMINAL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """The order of the sweeps for a given set of closed entries.

    Parameters
    ----------
    inner
        (entry, parent slot) of open links with children, parents first.
    inner_up
        The same, children first.
    leaves
        (entry, parent slot, zone index) of open links that end in a zone.
    floating
        Entries of closed links with an open end behind them: that part has no fan, but pressures.
    sealed
        Entries of closed links with no open end behind them: nothing fixes a pressure there.
    opening
        (entry, zone index, pressure beyond) of open openings.
    stranded
        Indices of zones of unknown pressure that no open path joins to a known one.
    """

    inner: tuple[tuple[int, int], ...]
    inner_up: tuple[tuple[int, int], ...]
    leaves: tuple[tuple[int, int, int], ...]
    floating: tuple[int, ...]
    sealed: tuple[int, ...]
    opening: tuple[tuple[int, int, float], ...]
    stranded: tuple[int, ...]


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
    constant, linear, quadratic
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
    constant: tuple[float, ...]
    linear: tuple[float, ...]
    quadratic: tuple[float, ...]
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
        if _closed(self.parts) != _closed(parts):
            order = _order(self.layout, parts)
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
        """
        names = self.layout.zone_names
        pressures = list(self.zone_pressure_pa)
        inflows = list(self.other_inflow_m3_s)
        for values, given in ((pressures, pressure_pa), (inflows, other_inflow_m3_s)):
            for name, value in (given or {}).items():
                if name not in names:
                    msg = f"no zone is called '{name}'; there are: {', '.join(names)}"
                    raise UserError(msg)
                values[names.index(name)] = value
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
    """
    problems = check(network)
    if problems:
        raise UserError("; ".join(p.message for p in problems), problems=problems)
    rows = _rows(network)
    layout = _layout(network, rows)
    openings = [opening for zone in network.zones for opening in zone.openings]
    laws = tuple(link.laws for _, link in rows) + tuple((o.law,) for o in openings)
    parts = tuple(_apart(group) for group in laws)
    bare = Prepared(
        layout=layout,
        order=_order(layout, parts),
        parts=parts,
        loss_ratio=(1.0,) * len(parts),
        constant=(0.0,) * len(parts),
        linear=(0.0,) * len(parts),
        quadratic=(0.0,) * len(parts),
        curves=(),
        zone_pressure_pa=tuple(zone.pressure_pa for zone in network.zones),
        other_inflow_m3_s=tuple(zone.other_inflow_m3_s for zone in network.zones),
    )
    return _reckoned(bare, parts=parts, loss_ratio=bare.loss_ratio, at=range(len(parts)))


def _rows(network: Network) -> list[tuple[Tree, Link]]:
    """All links, each tree's shared path first and parents before children."""
    rows = []
    for tree in network.trees:
        children: dict[str, list[Link]] = {}
        for link in tree.links:
            children.setdefault(link.parent, []).append(link)
        waiting = [Link(name=tree.name, parent="", laws=tree.shared)]
        while waiting:
            link = waiting.pop()
            rows.append((tree, link))
            waiting += reversed(children.get(link.name, ()))
    return rows


def _layout(network: Network, rows: list[tuple[Tree, Link]]) -> Layout:
    names = [link.name for _, link in rows]
    index = {name: i for i, name in enumerate(names)}
    zones = {zone.name: i for i, zone in enumerate(network.zones)}
    signs = {t.name: 1.0 if t.side is Side.SUPPLY else -1.0 for t in network.trees}
    outer = tuple(
        (len(names) + number, zones[tree.outdoor_zone], signs[tree.name])
        for number, tree in enumerate(network.trees)
    )
    slots = {tree.name: outer[number][0] for number, tree in enumerate(network.trees)}
    opening = []
    for zone in network.zones:
        for path in zone.openings:
            index[path.name] = len(names)
            opening.append((len(names), zones[zone.name], path.outside_pressure_pa))
            names.append(path.name)
    return Layout(
        names=tuple(names),
        index=index,
        parent=tuple(index[k.parent] if k.name != t.name else slots[t.name] for t, k in rows),
        sign=tuple(signs[tree.name] for tree, _ in rows),
        role=tuple(link.role for _, link in rows),
        zone=tuple(-1 if link.zone is None else zones[link.zone] for _, link in rows),
        zone_names=tuple(zones),
        outer=outer,
        roots=tuple(index[tree.name] for tree in network.trees),
        opening=tuple(opening),
        unknown_zones=tuple(i for i, zone in enumerate(network.zones) if zone.openings),
        start_m3_s=_start([link for _, link in rows], index) + (0.001,) * len(opening),
    )


def _start(links: list[Link], index: Mapping[str, int]) -> tuple[float, ...]:
    """Design flows where known, else a nominal one; ducts carry what hangs on them."""
    flow = [0.0] * len(links)
    for i in range(len(links) - 1, -1, -1):
        link = links[i]
        if link.design_flow_m3_s is not None:
            flow[i] = link.design_flow_m3_s
        elif link.zone is not None:
            flow[i] = NOMINAL_FLOW_M3_S * (0.02 if link.role is LinkRole.LEAK else 1.0)
        if link.parent:
            flow[index[link.parent]] += flow[i]
    return tuple(flow)


def _closed(parts: Sequence[Parts]) -> list[bool]:
    return [part.passive.is_closed or part.fans.is_closed for part in parts]


def _order(layout: Layout, parts: Sequence[Parts]) -> Order:
    closed = _closed(parts)
    rows = tuple(zip(range(len(layout.parent)), layout.parent, layout.zone, strict=True))
    inner = tuple((i, parent) for i, parent, zone in rows if zone < 0 and not closed[i])
    leaves = tuple(row for row in rows if row[2] >= 0 and not closed[row[0]])
    opening = tuple(row for row in layout.opening if not closed[row[0]])
    open_end = [False] * layout.slot_count
    for i, parent, _ in leaves:
        open_end[i] = open_end[parent] = True
    for i, parent in reversed(inner):
        open_end[parent] = open_end[parent] or open_end[i]
    cut = [i for i, _, zone in rows if zone < 0 and closed[i]]
    return Order(
        inner=inner,
        inner_up=inner[::-1],
        leaves=leaves,
        floating=tuple(i for i in cut if open_end[i]),
        sealed=tuple(i for i in cut if not open_end[i]),
        opening=opening,
        stranded=_stranded(layout, inner=inner, leaves=leaves, opening=opening),
    )


def _stranded(
    layout: Layout,
    *,
    inner: tuple[tuple[int, int], ...],
    leaves: tuple[tuple[int, int, int], ...],
    opening: tuple[tuple[int, int, float], ...],
) -> tuple[int, ...]:
    """Unknown zones that no chain of open paths joins to a place of known pressure."""
    # Each zone and each slot starts as a group of its own; open paths join groups.
    first_zone = layout.slot_count
    group = list(range(first_zone + len(layout.zone_names)))

    def top(member: int) -> int:
        while group[member] != member:
            group[member] = group[group[member]]
            member = group[member]
        return member

    for i, parent in inner:
        group[top(i)] = top(parent)
    for _, parent, zone in leaves:
        group[top(first_zone + zone)] = top(parent)
    for slot, zone, _ in layout.outer:
        group[top(first_zone + zone)] = top(slot)
    known = {
        top(first_zone + zone)
        for zone in range(len(layout.zone_names))
        if zone not in layout.unknown_zones
    }
    known |= {top(first_zone + zone) for _, zone, _ in opening}
    return tuple(zone for zone in layout.unknown_zones if top(first_zone + zone) not in known)


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
    constant, linear, quadratic = list(base.constant), list(base.linear), list(base.quadratic)
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
        constant=tuple(constant),
        linear=tuple(linear),
        quadratic=tuple(quadratic),
        curves=tuple(curves),
    )
