"""Small dense linear algebra on rows of floats: a house has a handful of zones."""

from __future__ import annotations

import math
from collections.abc import Sequence

Matrix = list[list[float]]


class SingularMatrixError(ArithmeticError):
    """The equations leave something undetermined."""


def solve(matrix: Sequence[Sequence[float]], right: Sequence[float]) -> list[float]:
    """Solve ``matrix · x = right`` by elimination with row exchange.

    Parameters
    ----------
    matrix
        n × n.
    right
        n.

    Raises
    ------
    SingularMatrixError
        If a pivot vanishes.

    >>> solve([[2.0, 1.0], [1.0, 3.0]], [3.0, 5.0])
    [0.8, 1.4]
    """
    count = len(right)
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for i in range(count):
        best = max(range(i, count), key=lambda r: abs(rows[r][i]))
        if rows[best][i] == 0.0:
            raise SingularMatrixError(f"column {i} has no pivot")
        rows[i], rows[best] = rows[best], rows[i]
        head = rows[i]
        for row in rows[i + 1 :]:
            factor = row[i] / head[i]
            if factor != 0.0:
                for j in range(i, count + 1):
                    row[j] -= factor * head[j]
    found = [0.0] * count
    for i in reversed(range(count)):
        row = rows[i]
        known = sum(row[j] * found[j] for j in range(i + 1, count))
        found[i] = (row[count] - known) / row[i]
    return found


def multiply(left: Matrix, right: Matrix) -> Matrix:
    """Product of two square matrices, idle zeros passed over.

    Parameters
    ----------
    left, right
        n × n.

    >>> multiply([[1.0, 2.0], [0.0, 1.0]], [[1.0, 0.0], [3.0, 1.0]])
    [[7.0, 2.0], [3.0, 1.0]]
    """
    count = len(left)
    out = []
    for row in left:
        new = [0.0] * count
        for k, value in enumerate(row):
            if value != 0.0:
                for j, other in enumerate(right[k]):
                    new[j] += value * other
        out.append(new)
    return out


def exponential(matrix: Sequence[Sequence[float]]) -> Matrix:
    """``e^matrix`` for a matrix whose off-diagonal entries are not negative.

    The diagonal is lifted until nothing is negative, which only multiplies the result by a number:
    ``e^A = e^−λ · e^(A + λ)``. The series of a matrix without negative entries adds up without
    cancellation, so every entry keeps its digits; the matrix is halved until a short series is
    enough, and the result squared back.

    Parameters
    ----------
    matrix
        n × n, off-diagonal entries ≥ 0.

    >>> [[round(x, 6) for x in row] for row in exponential([[-1.0, 0.0], [1.0, 0.0]])]
    [[0.367879, 0.0], [0.632121, 1.0]]
    """
    count = len(matrix)
    lift = max(0.0, *(-matrix[i][i] for i in range(count)))
    size = max(sum(abs(x) for x in row) for row in matrix) + lift
    halvings = max(0, math.ceil(math.log2(size))) if size > 0.0 else 0
    scale = 0.5**halvings
    lifted = [
        [(x + lift if i == j else x) * scale for j, x in enumerate(row)]
        for i, row in enumerate(matrix)
    ]
    total = [[1.0 if i == j else 0.0 for j in range(count)] for i in range(count)]
    term = total
    # With entries summing to at most 1, 20 terms leave less than 1/20! of the first.
    for k in range(1, 21):
        term = [[x / k for x in row] for row in multiply(term, lifted)]
        total = [
            [a + b for a, b in zip(left, right, strict=True)]
            for left, right in zip(total, term, strict=True)
        ]
    shrink = math.exp(-lift * scale)
    result = [[x * shrink for x in row] for row in total]
    for _ in range(halvings):
        result = multiply(result, result)
    return result
