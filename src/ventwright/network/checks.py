"""What must hold before a network can be solved; each breach is named with its place."""

from __future__ import annotations

from collections import Counter
from math import isfinite
from typing import TYPE_CHECKING

from ventwright.ducts import Law, added
from ventwright.network.model import LinkRole, Network, Tree, Zone
from ventwright.quantities.problems import Problem, Severity

if TYPE_CHECKING:
    from collections.abc import Iterator


def _mistake(*, code: str, where: str, message: str, remedy: str) -> Problem:
    return Problem(
        code=code, where=where, message=message, remedy=remedy, severity=Severity.MISTAKE
    )


def check(network: Network) -> tuple[Problem, ...]:
    """Find everything that keeps a network from being solved.

    Names are unique; every link hangs on a tree by a chain of parents; every end names a zone;
    every law's numbers can be used (areas, lengths, monotone curves); each tree has a fan or a
    difference of pressure to drive it; no terminal is without resistance; zones have finite
    pressures, and other fans only where the pressure is sought.

    Parameters
    ----------
    network
        The network as data.

    Returns
    -------
    tuple of Problem
        Empty when the network can be solved.

    >>> from ventwright.network import Network
    >>> check(Network(trees=(), zones=()))
    ()
    """
    found = [*_names(network)]
    for tree in network.trees:
        found += _shape(tree, {zone.name for zone in network.zones})
        found += _laws(tree.name, tree.shared, is_end=False)
        for link in tree.links:
            found += _laws(link.name, link.laws, is_end=link.zone is not None)
    for zone in network.zones:
        found += _zone(zone)
        for opening in zone.openings:
            found += _laws(opening.name, (opening.law,), is_end=True)
    return tuple(found)


def _names(network: Network) -> Iterator[Problem]:
    names = [tree.name for tree in network.trees]
    names += [link.name for tree in network.trees for link in tree.links]
    names += [opening.name for zone in network.zones for opening in zone.openings]
    for kind, group in (("name", names), ("zone", [zone.name for zone in network.zones])):
        for name, count in Counter(group).items():
            if count > 1:
                yield _mistake(
                    code="name-not-unique",
                    where=name,
                    message=f"the {kind} '{name}' is given {count} times",
                    remedy="give each tree, link and opening a name of its own",
                )


def _zone(zone: Zone) -> Iterator[Problem]:
    numbers = {
        f"{zone.name}.pressure_pa": zone.pressure_pa,
        f"{zone.name}.other_inflow_m3_s": zone.other_inflow_m3_s,
    }
    for opening in zone.openings:
        numbers[f"{opening.name}.outside_pressure_pa"] = opening.outside_pressure_pa
    for where, value in numbers.items():
        if not isfinite(value):
            yield _mistake(
                code="not-finite",
                where=where,
                message=f"{where} is {value}",
                remedy="give a finite number",
            )
    if zone.other_inflow_m3_s != 0.0 and not zone.openings:
        yield _mistake(
            code="inflow-without-openings",
            where=f"{zone.name}.other_inflow_m3_s",
            message=f"the pressure of '{zone.name}' is given, so other fans would change nothing",
            remedy="give the zone openings, so that its pressure is found, or leave the flow out",
        )


def _shape(tree: Tree, zones: set[str]) -> Iterator[Problem]:
    if tree.outdoor_zone not in zones:
        yield _mistake(
            code="zone-unknown",
            where=tree.name,
            message=f"'{tree.name}' opens to '{tree.outdoor_zone}', which is not among the zones",
            remedy="name one of the zones: " + ", ".join(sorted(zones)),
        )
    parents = {link.name: link.parent for link in tree.links}
    with_children = set(parents.values())
    for link in tree.links:
        yield from _reach(tree, link.name, parents)
        is_end = link.name not in with_children
        if is_end and link.zone is None:
            yield _mistake(
                code="link-ends-nowhere",
                where=link.name,
                message=f"'{link.name}' has no further link and opens into no zone",
                remedy="name its zone, or add a closed terminal if it is capped",
            )
        if link.zone is not None and not is_end:
            yield _mistake(
                code="terminal-with-children",
                where=link.name,
                message=f"'{link.name}' opens into '{link.zone}' and has links behind it as well",
                remedy="split it: a duct with a terminal and further links",
            )
        if link.zone is not None and link.zone not in zones:
            yield _mistake(
                code="zone-unknown",
                where=link.name,
                message=f"'{link.name}' opens into '{link.zone}', which is not among the zones",
                remedy="name one of the zones: " + ", ".join(sorted(zones)),
            )
        if (link.zone is None) != (link.role is LinkRole.DUCT):
            yield _mistake(
                code="role-does-not-fit",
                where=link.name,
                message=f"'{link.name}' is a {link.role} and opens into {link.zone or 'no zone'}",
                remedy="terminals and leaks open into a zone, ducts do not",
            )


def _reach(tree: Tree, name: str, parents: dict[str, str]) -> Iterator[Problem]:
    seen = set()
    at = name
    while at != tree.name:
        if at in seen:
            message = f"'{name}' hangs on a ring of links and never reaches the fan"
        elif at not in parents:
            message = f"'{name}' hangs on '{at}', which is no link of '{tree.name}': no fan reached"
        else:
            seen.add(at)
            at = parents[at]
            continue
        yield _mistake(
            code="fan-not-reached",
            where=name,
            message=message,
            remedy=f"name a link of this tree, or '{tree.name}' itself, as parent",
        )
        return


def _laws(place: str, laws: tuple[Law, ...], *, is_end: bool) -> Iterator[Problem]:
    is_usable = True
    for number, law in enumerate(laws):
        for problem in law.problems():
            is_usable = False
            yield Problem(
                code=problem.code,
                where=f"{place}.laws[{number}].{problem.where}",
                message=f"{place}: {problem.message}",
                remedy=problem.remedy,
                severity=problem.severity,
            )
    if is_usable and is_end:
        terms = added(laws)
        if not terms.is_closed and terms.drop_and_slope(0.0)[1] <= 0.0:
            yield _mistake(
                code="no-resistance",
                where=place,
                message=f"'{place}' has no resistance near zero flow",
                remedy="give it a flow factor, a loss or a length of duct",
            )
