"""Least squares for a few dozen unknowns, on lists."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from operator import mul

from ventwright.quantities.records import dataclass


class NotPositiveError(ArithmeticError):
    """A matrix that should be positive definite is not: a fault of ours, never of a reading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """A symmetric positive matrix as lower triangle times its transpose.

    Parameters
    ----------
    rows
        Rows of the lower triangle, each as long as its index plus one.
    """

    rows: tuple[tuple[float, ...], ...]

    def forward(self, right: Sequence[float]) -> list[float]:
        """Solve with the lower triangle; the squared length is the form of the inverse."""
        found: list[float] = []
        for row, value in zip(self.rows, right, strict=True):
            found.append((value - sum(map(mul, row, found))) / row[-1])
        return found

    def solve(self, right: Sequence[float]) -> list[float]:
        """Solve with the whole matrix."""
        found = self.forward(right)
        for i in range(len(found) - 1, -1, -1):
            row = self.rows[i]
            value = found[i] / row[-1]
            found[i] = value
            if value != 0.0:
                for j in range(i):
                    found[j] -= row[j] * value
        return found


def factor(matrix: Sequence[Sequence[float]]) -> Factor:
    """Factor a symmetric positive definite matrix (Cholesky).

    Parameters
    ----------
    matrix
        Square; only the lower triangle is read.

    Raises
    ------
    NotPositiveError
        It is not positive definite.
    """
    rows: list[list[float]] = []
    for i, given in enumerate(matrix):
        row: list[float] = []
        for j in range(i):
            other = rows[j]
            row.append((given[j] - sum(map(mul, row, other))) / other[j])
        rest = given[i] - sum(map(mul, row, row))
        if not rest > 0.0:
            raise NotPositiveError(f"row {i} leaves {rest!r}")
        row.append(sqrt(rest))
        rows.append(row)
    return Factor(rows=tuple(tuple(row) for row in rows))


def add_outer(
    matrix: list[list[float]], row: Sequence[float], *, weight_factor: float = 1.0
) -> None:
    """Add a row's outer product with itself to the lower triangle of a matrix; zeros are skipped.

    Parameters
    ----------
    matrix
        Changed in place.
    row
        As long as the matrix.
    weight_factor
        Factor on the product.
    """
    for i, value in enumerate(row):
        if value != 0.0:
            scaled = value * weight_factor
            matrix[i] = [x + scaled * y for x, y in zip(matrix[i], row, strict=False)]
