"""What a solve gives back: a solution with everything found, or a failure with cause and place."""

from __future__ import annotations

from enum import StrEnum

from ventwright.network.prepared import Prepared
from ventwright.quantities.problems import Problem
from ventwright.quantities.records import dataclass, replace


class FailureCause(StrEnum):
    """Why there is no solution."""

    CHECKS = "checks"
    """The network can't be solved as it stands; `problems` say why."""
    NOT_FINITE = "not-finite"
    """A law gave a value that is no number; `where` names its link."""
    TOO_MANY_STEPS = "too-many-steps"
    """The steps allowed were used up; `where` names the link with the worst residual."""
    ZONE_WITHOUT_PATH = "zone-without-path"
    """A zone whose pressure is sought has no open path to anywhere; `where` names it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """Flows and pressures that satisfy every law and continuity at every node.

    Parameters
    ----------
    prepared
        What was solved.
    flow_m3_s
        Flow of each entry of `prepared.layout.names`, positive in the design direction [m³/s].
    drop_pa
        Drop over each entry at that flow; negative where a fan lifts more than is lost [Pa].
    slope_pa_per_m3_s
        Slope of each entry's law at that flow [Pa·s/m³].
    node_pressure_pa
        Pressure at each link's end away from the fan, as a gauge would read it (negative in an
        extract duct) [Pa]; None behind a closed link where nothing fixes it.
    zone_pressure_pa
        Pressure of each zone of `prepared.layout.zone_names` [Pa].
    iterations
        Sweeps taken.
    residual_pa
        Greatest gap left between a law's drop and the pressures at its ends [Pa].
    """

    prepared: Prepared
    flow_m3_s: tuple[float, ...]
    drop_pa: tuple[float, ...]
    slope_pa_per_m3_s: tuple[float, ...]
    node_pressure_pa: tuple[float | None, ...]
    zone_pressure_pa: tuple[float, ...]
    iterations: int
    residual_pa: float

    def flow(self, name: str) -> float:
        """Flow [m³/s] of a link, tree (its shared path) or opening by name."""
        return self.flow_m3_s[self.prepared.entry(name)]

    def pressure(self, name: str) -> float | None:
        """Pressure [Pa] at the end of a link or behind a tree's shared path, by name."""
        return self.node_pressure_pa[self.prepared.entry(name)]

    def zone_pressure(self, name: str) -> float:
        """Pressure [Pa] of a zone by name."""
        return self.zone_pressure_pa[self.prepared.layout.zone_names.index(name)]

    def reservations(self) -> tuple[Problem, ...]:
        """Where a law was asked for more than its source carries, each with its place."""
        found = []
        names = self.prepared.layout.names
        for name, parts, flow in zip(names, self.prepared.parts, self.flow_m3_s, strict=True):
            for number, law in enumerate(parts.laws):
                for problem in law.reservations(flow):
                    place = f"{name}.laws[{number}].{problem.where}"
                    message = f"{name}: {problem.message}"
                    found.append(replace(problem, where=place, message=message))
        return tuple(found)

    def terminal_flows(self) -> dict[str, float]:
        """Flow [m³/s] of each terminal by name."""
        index = self.prepared.layout.index
        return {name: self.flow_m3_s[index[name]] for name in self.prepared.layout.terminals}


@dataclass(frozen=True, slots=True, kw_only=True)
class SolveFailure:
    """No solution, and why; nothing half-found is handed out.

    Parameters
    ----------
    cause
        See `FailureCause`.
    where
        Name of the link, zone or field.
    message
        In plain words, with figures.
    residual_pa
        Worst residual when the attempt ended [Pa]; None if it never began.
    iterations
        Sweeps taken.
    problems
        Breaches of the checks, if that is the cause.
    """

    cause: FailureCause
    where: str
    message: str
    residual_pa: float | None = None
    iterations: int = 0
    problems: tuple[Problem, ...] = ()
