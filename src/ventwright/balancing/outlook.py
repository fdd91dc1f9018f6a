"""From what is known of a side to what people are told: predictions, totals, leads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import exp, log

from ventwright.balancing.advice import Lead, LookFor, Predicted, SideTotal
from ventwright.balancing.inference import Picture
from ventwright.balancing.reach import reach_of, reaches
from ventwright.balancing.settings import Target
from ventwright.balancing.shares import departures_of, spreads_of
from ventwright.balancing.side_model import speed_power_at
from ventwright.balancing.tree import EXPONENT, sweep
from ventwright.balancing.view import SideView
from ventwright.quantities.records import replace
from ventwright.uncertainty import Verdict, normal_cdf

SHORT_RATIO = 0.6
"""A terminal with an open path and less than this part of its share has something wrong with it."""
SURE_FRAC = 0.9


def with_changes(
    shown: Picture, changes: Mapping[int, float], *, ln_speed: float | None = None
) -> Picture:
    """The side with some nodes at other resistances, or the fan at another speed.

    Parameters
    ----------
    shown
        The side as it stands.
    changes
        New logarithm of resistance by node.
    ln_speed
        Logarithm of the speed against that as found; None to keep it.
    """
    resistance = list(shown.ln_resistance)
    for node, value in changes.items():
        resistance[node] = value
    epoch = shown.epoch if ln_speed is None else replace(shown.epoch, ln_speed=ln_speed)
    power = shown.unknowns[speed_power_at(shown.model.setup)]
    state = sweep(shown.model.tree, resistance, ln_pressure=power * epoch.ln_speed)
    return replace(shown, state=state, epoch=epoch, ln_resistance=tuple(resistance))


def predictions(
    seen: SideView, shown: Picture, *, fixed: frozenset[int] = frozenset()
) -> tuple[Predicted, ...]:
    """All terminals of a side in a state, with verdicts; one never read has nothing shown of it.

    Parameters
    ----------
    seen
        What is known.
    shown
        The state meant.
    fixed
        Nodes whose resistance a reading is about to pin down.
    """
    off = departures_of(shown)
    relative, in_bands = spreads_of(seen.posterior, shown, fixed=fixed)
    bias = max((meter.bias_frac for meter in seen.meters), default=0.0)
    confidence = seen.session.options.confidence_frac
    unread = frozenset(seen.unread)
    found = []
    for place, name in enumerate(seen.outlet_ids):
        away, spread = off.offs[place], in_bands[place]
        within = normal_cdf((1.0 - away) / spread) - normal_cdf((-1.0 - away) / spread)
        found.append(
            Predicted(
                outlet_id=name,
                side=seen.side,
                flow_m3_s=off.flows_m3_s[place],
                u_frac=relative[place],
                u_bias_frac=bias,
                wanted_m3_s=off.wanted_m3_s[place],
                band_m3_s=off.bands_m3_s[place],
                prob_within_frac=within,
                verdict=Verdict.NOT_SHOWN
                if name in unread
                else verdict_of(within, confidence_frac=confidence),
            )
        )
    return tuple(found)


def verdict_of(prob_within_frac: float, *, confidence_frac: float) -> Verdict:
    """Verdict at a confidence.

    >>> verdict_of(0.97, confidence_frac=0.9), verdict_of(0.5, confidence_frac=0.9)
    (<Verdict.MET: 'met'>, <Verdict.NOT_SHOWN: 'not shown'>)
    """
    if prob_within_frac >= confidence_frac:
        return Verdict.MET
    return Verdict.NOT_MET if prob_within_frac <= 1.0 - confidence_frac else Verdict.NOT_SHOWN


def reach_ratio(seen: SideView) -> float:
    """Flow of a side's terminals against their targets with all it has to move more.

    That is its fan at the highest speed; where its speed can't be set, its main damper open;
    without either the flow it has.
    """
    setup = seen.model.setup
    if not setup.is_speed_settable:
        main = seen.model.total_damper
        reach = None if main is None else reach_of(seen.posterior.now, main)
        return seen.total_ratio if reach is None else _with_main(seen, reach.when_open)
    power = seen.posterior.unknowns[speed_power_at(setup)]
    return float(seen.total_ratio * (setup.most_speed_frac / seen.speed_frac) ** (power / EXPONENT))


def _with_main(seen: SideView, value: float) -> float:
    """Flow against targets with the main damper's node at a resistance (logarithm)."""
    shown = seen.posterior.now
    then = with_changes(shown, {seen.model.total_damper or 0: value})
    return seen.total_ratio * exp(then.state.ln_flow[0] - shown.state.ln_flow[0])


def main_for(seen: SideView, *, flow_ratio: float) -> Target | None:
    """Where the main damper must end for a side to move a share of its targets.

    All flow goes through it, so what it loses adds to what all the rest loses. Where even fully
    open leaves less than wanted, it is opened; None where the side has none.

    Parameters
    ----------
    seen
        The side.
    flow_ratio
        Flow wanted against targets.
    """
    shown, node = seen.posterior.now, seen.model.total_damper
    reach = None if node is None else reach_of(shown, node)
    if node is None or reach is None:
        return None
    power = shown.unknowns[speed_power_at(seen.model.setup)]
    whole = exp(power * shown.epoch.ln_speed - EXPONENT * shown.state.ln_flow[0])
    wanted = whole * (flow_ratio / seen.total_ratio) ** -EXPONENT
    own = wanted - whole + exp(shown.ln_resistance[node])
    is_open = own <= exp(reach.least)
    value = reach.when_open if is_open else min(log(own), reach.most)
    then = with_changes(shown, {node: value})
    return Target(
        moves={node: value},
        opened=frozenset((node,)) if is_open else frozenset(),
        ln_resistance=then.ln_resistance,
        departures=departures_of(then),
        is_within=not is_open,
        cost=1.0,
    )


def goal_ratio(views: Sequence[SideView]) -> float:
    """What all sides can reach together: their targets, or what the weaker machine can do."""
    return min(1.0, *(reach_ratio(seen) for seen in views))


def speed_for(seen: SideView, *, flow_ratio: float) -> float:
    """Speed at which a side's terminals move a share of their targets, within the fan's range."""
    setup = seen.model.setup
    power = seen.posterior.unknowns[speed_power_at(setup)]
    wanted = seen.speed_frac * (flow_ratio / seen.total_ratio) ** (EXPONENT / power)
    return float(min(wanted, setup.most_speed_frac))


def total_of(seen: SideView) -> SideTotal:
    """What a side moves and what its fan saves.

    At the same flow a fan's power follows its pressure, and that the square of its speed: throttled
    from the speed as found it would draw that much more.
    """
    setup = seen.model.setup
    saved = max(0.0, 1.0 - (seen.speed_frac / setup.speed_frac) ** 2)
    watts = None
    if setup.power_w is not None:
        found = sum(exp(seen.posterior.unknowns[i]) for i in range(len(setup.outlets)))
        watts = setup.power_w * sum(seen.now.flows_m3_s) / found * saved
    return SideTotal(
        side=seen.side,
        flow_ratio=seen.total_ratio,
        reach_ratio=reach_ratio(seen),
        saved_power_frac=saved,
        saved_w=watts,
    )


def flow_with_filter(seen: SideView, *, filter_share_frac: float, load_ratio: float) -> float:
    """Flow of a side against now when its filter's loss has changed and nothing else.

    Parameters
    ----------
    seen
        The side.
    filter_share_frac
        Share of the loss of the shared path that its filter has now.
    load_ratio
        Loss of the filter then against now.
    """
    shown = seen.posterior.now
    factor = 1.0 + filter_share_frac * (load_ratio - 1.0)
    then = with_changes(shown, {0: shown.ln_resistance[0] + log(factor)})
    return exp(then.state.ln_flow[0] - shown.state.ln_flow[0])


def leads_of(seen: SideView) -> tuple[Lead, ...]:
    """Terminals short of air though their path is open, with what to look for."""
    shown = seen.posterior.now
    reach = reaches(shown)
    off = seen.now
    found = []
    for place, leaf in enumerate(shown.model.tree.leaves):
        ratio = off.flows_m3_s[place] / off.wanted_m3_s[place]
        within = seen.prob_within(place)
        path = [node for node in shown.model.tree.path(leaf) if node in reach]
        is_open = all(reach[node].is_open_now for node in path)
        if not is_open or ratio > SHORT_RATIO or within > 1.0 - SURE_FRAC:
            continue
        others = [
            off.flows_m3_s[p] / off.wanted_m3_s[p]
            for p in range(len(off.offs))
            if p != place and off.offs[p] > 1.0
        ]
        look_for = [LookFor.CRUSHED_DUCT, LookFor.SHUT_DAMPER]
        if ratio < 0.2:
            look_for.insert(0, LookFor.DISCONNECTED_BRANCH)
        if others:
            look_for.append(LookFor.SWAPPED_DUCTS)
        found.append(
            Lead(outlet_id=seen.outlet_ids[place], side=seen.side, look_for=tuple(look_for))
        )
    return tuple(found)
