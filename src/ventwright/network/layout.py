"""The shape of a network laid flat, and the order in which sweeps go through it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isfinite

from ventwright.network.model import Link, LinkRole, Network, Tree
from ventwright.quantities.problems import UserError
from ventwright.quantities.records import dataclass
from ventwright.quantities.words import Side

NOMINAL_FLOW_M3_S = 0.01
"""Starting flow of a terminal whose design flow is unknown."""


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

    def zone_place(self, name: str, *, is_sought: bool) -> int:
        """Index of a zone whose pressure is sought, or of one whose pressure is known.

        Raises
        ------
        UserError
            No zone bears the name, or it is of the other kind.
        """
        if name not in self.zone_names:
            msg = f"no zone is called '{name}'; there are: {', '.join(self.zone_names)}"
            raise UserError(msg)
        place = self.zone_names.index(name)
        if (place in self.unknown_zones) is not is_sought:
            msg = (
                f"the pressure of '{name}' is given: a flow of other fans changes nothing there"
                if is_sought
                else f"the pressure of '{name}' is sought: it can't be given as well"
            )
            raise UserError(msg)
        return place

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


def finite(name: str, value: float) -> float:
    """Hand a number on, or refuse it.

    Raises
    ------
    UserError
        It is not finite.
    """
    if not isfinite(value):
        msg = f"'{name}' is given {value}: a finite number is accepted"
        raise UserError(msg)
    return value


def rows_of(network: Network) -> list[tuple[Tree, Link]]:
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


def layout_of(network: Network, rows: list[tuple[Tree, Link]]) -> Layout:
    """Lay out a checked network whose links are given in order."""
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


def order_of(layout: Layout, *, closed: Sequence[bool]) -> Order:
    """Order of the sweeps when some entries are closed."""
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
