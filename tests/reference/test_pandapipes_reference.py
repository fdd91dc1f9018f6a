"""The network against pandapipes on networks both can express: straight pipes with losses."""

from __future__ import annotations

from functools import cache

import pytest

from tests.reference import shelves
from tests.reference.pipe_networks import as_network, pipe_networks
from ventwright.network import Solution, solve


@cache
def solved(name: str) -> Solution:
    solution = solve(as_network(pipe_networks()[name]))
    assert isinstance(solution, Solution)
    return solution


@pytest.mark.parametrize("row", shelves.rows("pandapipes.csv"), ids=str)
def test_flows_agree_with_pandapipes(row: shelves.Row) -> None:
    solution = solved(row.inputs["network"])
    # The peer counts flow away from the root; on an extract side that is against our direction.
    turn = solution.prepared.layout.sign[0]
    row.check(turn * solution.flow(row.inputs["pipe"]))
