"""The four streams with their flows, and what is taken from them for every figure."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from ventwright.air import AirEstimate
from ventwright.air.mixture import DRY_AIR_HEAT_CAPACITY_J_KG_K, VAPOUR_HEAT_CAPACITY_J_KG_K
from ventwright.quantities import AirKind, Problem
from ventwright.quantities.records import dataclass
from ventwright.recovery.ratios import Span, over_smaller, refusal
from ventwright.uncertainty import Estimate, combine, difference, product


@dataclass(frozen=True, slots=True, kw_only=True)
class Stream:
    """One of the four streams at a ventilation unit.

    Parameters
    ----------
    kind
        Which stream.
    air
        Its state.
    mass_flow_kg_s
        Dry air that passes [kg/s], above 0, or None where it was not measured.
    """

    kind: AirKind
    air: AirEstimate
    mass_flow_kg_s: Estimate | None = None


class Carried(StrEnum):
    """What a stream carries across: three properties, three balances."""

    SENSIBLE = "sensible"
    MOISTURE = "moisture"
    ENERGY = "energy"


_NAMES = {
    Carried.SENSIBLE: ("temperature", "K", 1.0),
    Carried.MOISTURE: ("humidity ratio", "g/kg", 1e3),
    Carried.ENERGY: ("enthalpy", "kJ/kg", 1e-3),
}


def property_of(air: AirEstimate, carried: Carried) -> Estimate:
    """The property of an air state that belongs to a balance.

    Parameters
    ----------
    air
        State.
    carried
        Which balance.
    """
    if carried is Carried.SENSIBLE:
        return air.temperature_c
    return air.humidity_ratio_kg_kg if carried is Carried.MOISTURE else air.enthalpy_j_kg


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """The streams of one test, ready to be compared."""

    streams: Mapping[AirKind, Stream]
    supply_kg_s: Estimate | None
    extract_kg_s: Estimate | None
    problems: tuple[Problem, ...] = ()

    def air(self, kind: AirKind) -> AirEstimate | None:
        """State of a stream, None where it was not measured."""
        stream = self.streams.get(kind)
        return None if stream is None else stream.air

    def step(self, carried: Carried, *, start: AirKind, end: AirKind) -> Estimate | None:
        """Property at `end` less property at `start`, None where one of them is missing."""
        first, last = self.air(start), self.air(end)
        if first is None or last is None:
            return None
        return difference(property_of(last, carried), property_of(first, carried))

    def span(self, carried: Carried) -> Span | None:
        """Extract less outdoor air: the greatest change there could be."""
        value = self.step(carried, start=AirKind.OUTDOOR, end=AirKind.EXTRACT)
        if value is None:
            return None
        name, symbol, factor = _NAMES[carried]
        return Span(difference_si=value, name=name, symbol=symbol, display_factor=factor)

    def supply_rate(self, carried: Carried) -> Estimate | None:
        """What weights the supply side: heat capacity rate [W/K] or mass flow [kg/s]."""
        return self._rate(self.supply_kg_s, AirKind.OUTDOOR, carried)

    def extract_rate(self, carried: Carried) -> Estimate | None:
        """What weights the extract side: heat capacity rate [W/K] or mass flow [kg/s]."""
        return self._rate(self.extract_kg_s, AirKind.EXTRACT, carried)

    def _rate(
        self, mass_flow_kg_s: Estimate | None, kind: AirKind, carried: Carried
    ) -> Estimate | None:
        air = self.air(kind)
        if mass_flow_kg_s is None or air is None or carried is not Carried.SENSIBLE:
            return mass_flow_kg_s
        return product(mass_flow_kg_s, heat_capacity_j_kg_k(air.humidity_ratio_kg_kg))

    def weight(self, carried: Carried, *, is_supply: bool) -> Estimate | None:
        """Flow weight of one side, None where a flow is missing."""
        supply, extract = self.supply_rate(carried), self.extract_rate(carried)
        if supply is None or extract is None:
            return None
        return over_smaller(supply, extract) if is_supply else over_smaller(extract, supply)

    def missing(self, where: str, *kinds: AirKind) -> Problem | None:
        """The refusal that names the streams not measured, None if all are there."""
        absent = [kind.value for kind in AirKind if kind in kinds and kind not in self.streams]
        if not absent:
            return None
        return refusal(
            code="stream-missing",
            where=where,
            message=f"no air state of {', '.join(absent)}",
            remedy="read temperature and humidity there, in the same setting",
        )


def flow_missing(where: str) -> Problem:
    """The refusal where a flow of one side was not measured.

    Parameters
    ----------
    where
        The figure that needs it.
    """
    return refusal(
        code="flow-missing",
        where=where,
        message="the flows of both sides are needed",
        remedy="measure one flow on the supply side and one on the extract side, same setting",
    )


def heat_capacity_j_kg_k(humidity_ratio_kg_kg: Estimate) -> Estimate:
    """Heat capacity of moist air per mass of dry air, ``1006 + 1860 W`` [J/(kg K)].

    Parameters
    ----------
    humidity_ratio_kg_kg
        Humidity ratio [kg/kg].
    """
    return combine(
        DRY_AIR_HEAT_CAPACITY_J_KG_K + VAPOUR_HEAT_CAPACITY_J_KG_K * humidity_ratio_kg_kg.value,
        [(VAPOUR_HEAT_CAPACITY_J_KG_K, humidity_ratio_kg_kg)],
    )


def situation_of(streams: Mapping[AirKind, Stream]) -> Situation:
    """Check the streams and pick the flow of each side.

    The flow of a side is the one on the house side of the exchanger (supply, extract) where it was
    measured, else the one on the outdoor side.

    Parameters
    ----------
    streams
        By kind; any may be missing.

    Raises
    ------
    ValueError
        A stream under another's key: a fault of the caller.
    """
    problems = []
    flows: dict[AirKind, Estimate] = {}
    for kind, stream in streams.items():
        if stream.kind is not kind:
            raise ValueError(f"stream {stream.kind.value} stands under {kind.value}")
        flow = stream.mass_flow_kg_s
        if flow is not None and flow.value > 0.0:
            flows[kind] = flow
        elif flow is not None:
            problems.append(_not_a_flow(kind, flow))
    return Situation(
        streams=streams,
        supply_kg_s=flows.get(AirKind.SUPPLY) or flows.get(AirKind.OUTDOOR),
        extract_kg_s=flows.get(AirKind.EXTRACT) or flows.get(AirKind.EXHAUST),
        problems=tuple(problems),
    )


def _not_a_flow(kind: AirKind, flow: Estimate) -> Problem:
    return Problem(
        code="flow-not-positive",
        where=kind.value,
        message=f"the mass flow of {kind.value} is {flow.value:.3g} kg/s and is left out",
        remedy="a flow is above zero in the direction of its name; check the reading",
    )
