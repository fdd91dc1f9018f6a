"""Slopes of flows against finite differences, for terminals and for runs read as a whole."""

import pytest

from ventwright.balancing.tree import Tree, sweep

# A shared path 0 with the runs 1 and 2; terminals 3, 4 on run 1, 5 on run 2, 6 on the path.
PARENTS = (-1, 0, 0, 1, 1, 2, 0)
TREE = Tree(parent=PARENTS, leaves=(3, 4, 5, 6))
LN_RESISTANCE = (0.3, -0.2, 0.8, 1.0, 1.7, 0.4, 2.0)


def flow(node, ln_resistance):
    return sweep(TREE, ln_resistance).ln_flow[node]


@pytest.mark.parametrize("node", range(len(PARENTS)))
def test_slopes_are_the_derivatives_at_every_node(node):
    slopes = sweep(TREE, LN_RESISTANCE).slopes(node)
    step = 1e-5
    for other in range(len(PARENTS)):
        high, low = list(LN_RESISTANCE), list(LN_RESISTANCE)
        high[other] += step
        low[other] -= step
        expected = (flow(node, high) - flow(node, low)) / (2 * step)
        assert slopes[other] == pytest.approx(expected, abs=1e-8)
