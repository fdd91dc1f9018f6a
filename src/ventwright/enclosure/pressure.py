"""House pressure by imbalance and other exhausts, against limits, and the make-up air it needs.

Only fans count here. Wind and warm air rising act besides: they can add several pascals, so a
screen that is kept shows nothing safe.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from ventwright.enclosure.leakage import LeakageLaw, is_extrapolated
from ventwright.enclosure.limits import PressureLimit
from ventwright.enclosure.openings import USUAL_AIR_KG_M3, usual_discharge_coeff
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import (
    Decision,
    Estimate,
    Settling,
    combine,
    decide,
    difference,
    total,
    what_would_settle,
)

MOST_COMBINED = 5
"""Up to so many other exhausts every combination is worked out: 32 of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherFan:
    """A fan outside the balanced system. `flow_m3_s` is what it takes out of the house [m³/s]."""

    id: str
    flow_m3_s: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureState:
    """The house with certain other fans running.

    Parameters
    ----------
    running
        Ids of the other fans that run.
    net_exhaust_m3_s
        All fans together [m³/s]; positive pulls.
    pressure_pa
        House pressure [Pa]; negative under suction.
    is_extrapolated
        Whether the leakage law is carried below tested pressures.
    """

    running: tuple[str, ...]
    net_exhaust_m3_s: Estimate
    pressure_pa: Estimate
    is_extrapolated: bool


def combinations_of(ids: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """Which fans run together: every combination, or where there are many none, each and all.

    Parameters
    ----------
    ids
        Ids of the other fans.

    >>> combinations_of(["hood", "dryer"])
    ((), ('hood',), ('dryer',), ('hood', 'dryer'))
    """
    count = len(ids)
    sizes = range(count + 1) if count <= MOST_COMBINED else (0, 1, count)
    return tuple(group for size in sizes for group in combinations(ids, size))


def pressure_states(
    law: LeakageLaw, *, imbalance_m3_s: Estimate, others: Sequence[OtherFan] = ()
) -> tuple[PressureState, ...]:
    """House pressure at each combination of other exhausts.

    Parameters
    ----------
    law
        Leakage of the house.
    imbalance_m3_s
        Exhaust less outdoor air of the balanced system [m³/s], in the same air as the law.
    others
        Other fans.

    Returns
    -------
    tuple of PressureState
        First with none of them running.

    Source: us_simulation_code

    >>> from ventwright.enclosure.leakage import leakage_from_test
    >>> from ventwright.uncertainty import exact
    >>> law = leakage_from_test(leakage_flow_m3_s=150 / 3600, exponent=0.65)
    >>> (state,) = pressure_states(law, imbalance_m3_s=exact(12 / 3600))
    >>> round(state.pressure_pa.value, 2)
    -1.03
    """
    flows = {fan.id: fan.flow_m3_s for fan in others}
    states = []
    for running in combinations_of(list(flows)):
        net = total([imbalance_m3_s, *(flows[i] for i in running)])
        pressure = law.house_pressure(net_exhaust_m3_s=net)
        states.append(
            PressureState(
                running=running,
                net_exhaust_m3_s=net,
                pressure_pa=pressure,
                is_extrapolated=is_extrapolated(pressure_pa=pressure.value),
            )
        )
    return tuple(states)


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureScreen:
    """One state against one limit: a screen, never a test of combustion safety.

    Parameters
    ----------
    limit
        The limit.
    largest_exhaust_m3_s
        Net exhaust at which the limit is reached [m³/s].
    margin_m3_s
        That less the net exhaust of the state [m³/s]; negative past the limit.
    decision
        Whether the margin is above zero.
    settling
        What would settle a decision that is not shown.
    """

    limit: PressureLimit
    largest_exhaust_m3_s: Estimate
    margin_m3_s: Estimate
    decision: Decision
    settling: Settling | None


def screen_pressure(
    law: LeakageLaw, state: PressureState, *, limit: PressureLimit
) -> PressureScreen:
    """Judge a state by its flow: what the shell lets in at the limit against what the fans take.

    The flow at a given pressure is nearly linear in what is uncertain, the pressure at a given flow
    is not; the two say the same.

    Parameters
    ----------
    law
        Leakage of the house.
    state
        One state.
    limit
        One limit.

    Source: us_simulation_code, jcgm_106_2012

    >>> from ventwright.enclosure.leakage import leakage_from_test
    >>> from ventwright.enclosure.limits import strictest_limit, usual_pressure_limits
    >>> from ventwright.uncertainty import exact
    >>> cfm = 0.3048**3 / 60
    >>> law = leakage_from_test(leakage_flow_m3_s=600 * cfm)
    >>> (state,) = pressure_states(law, imbalance_m3_s=exact(150 * cfm))
    >>> limit = strictest_limit(usual_pressure_limits(), venting="natural_draft")
    >>> screen = screen_pressure(law, state, limit=limit)
    >>> round(screen.largest_exhaust_m3_s.value / cfm), screen.decision.verdict.value
    (74, 'not met')
    """
    largest = law.leak_flow(pressure_pa=-limit.limit_pa)
    margin = difference(largest, state.net_exhaust_m3_s)
    decision = decide(margin, low=0.0)
    return PressureScreen(
        limit=limit,
        largest_exhaust_m3_s=largest,
        margin_m3_s=margin,
        decision=decision,
        settling=what_would_settle(margin, decision),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class MakeupAir:
    """Air to let in so that a suction is not passed.

    Parameters
    ----------
    allowed_pa
        Suction allowed, as a magnitude [Pa].
    flow_m3_s
        What the shell does not let in by itself [m³/s].
    opening_area_m2
        Free area of a plain opening that passes it at that suction [m²]; hood, screen, damper and
        duct need more.
    """

    allowed_pa: float
    flow_m3_s: Estimate
    opening_area_m2: Estimate


def makeup_air(
    law: LeakageLaw,
    *,
    net_exhaust_m3_s: Estimate,
    allowed_pa: float,
    density_kg_m3: float = USUAL_AIR_KG_M3,
) -> MakeupAir | None:
    """Make-up air that keeps a house within an allowed suction.

    Parameters
    ----------
    law
        Leakage of the house.
    net_exhaust_m3_s
        Net exhaust [m³/s].
    allowed_pa
        Suction allowed, as a magnitude [Pa], above 0.
    density_kg_m3
        Density of the air that comes in [kg/m³].

    Returns
    -------
    MakeupAir or None
        None where the shell lets in enough by itself.

    Raises
    ------
    ValueError
        If the suction allowed is not above 0: no opening is large enough for that.

    Source: us_simulation_code, resnet_ch8_box

    >>> from ventwright.enclosure.leakage import leakage_from_test
    >>> from ventwright.uncertainty import exact
    >>> cfm = 0.3048**3 / 60
    >>> law = leakage_from_test(leakage_flow_m3_s=600 * cfm)
    >>> need = makeup_air(law, net_exhaust_m3_s=exact(150 * cfm), allowed_pa=3.0)
    >>> round(need.flow_m3_s.value / cfm), round(need.opening_area_m2.value * 1e4)
    (54, 189)
    """
    if not allowed_pa > 0.0:
        raise ValueError(f"allowed_pa {allowed_pa!r}: a suction above 0 is accepted")
    missing = difference(net_exhaust_m3_s, law.leak_flow(pressure_pa=-allowed_pa))
    if missing.value <= 0.0:
        return None
    coeff = usual_discharge_coeff()
    per_flow = 1.0 / (coeff.value * math.sqrt(2.0 * allowed_pa / density_kg_m3))
    area = missing.value * per_flow
    return MakeupAir(
        allowed_pa=allowed_pa,
        flow_m3_s=missing,
        opening_area_m2=combine(area, [(per_flow, missing), (-area / coeff.value, coeff)]),
    )
