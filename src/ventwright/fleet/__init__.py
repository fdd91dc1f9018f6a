"""Many houses at once: the engine's questions over arrays."""

from ventwright.fleet.networks import ManySolutions, solve_many

__all__ = ["ManySolutions", "solve_many"]
