"""Smaller, larger and either-or for one number and for arrays, by the maths that is passed."""

from __future__ import annotations

import math
from typing import Any

from ventwright.air.kernels import Maths, Number


def smaller(maths: Maths, left: Number, right: Number) -> Number:
    """The smaller of two numbers, element by element for arrays.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    left, right
        Numbers.

    >>> smaller(math, 1.0, 2.0)
    1.0
    """
    if maths is math:
        return left if left < right else right
    array: Any = maths
    return array.minimum(left, right)


def larger(maths: Maths, left: Number, right: Number) -> Number:
    """The larger of two numbers, element by element for arrays.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    left, right
        Numbers.

    >>> larger(math, 1.0, 2.0)
    2.0
    """
    if maths is math:
        return left if left > right else right
    array: Any = maths
    return array.maximum(left, right)


def either(maths: Maths, condition: Number, if_true: Number, if_false: Number) -> Number:
    """One number where a condition holds, another elsewhere.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    condition
        A bool, or an array of them.
    if_true, if_false
        Numbers.

    >>> either(math, True, 1.0, 2.0)
    1.0
    """
    if maths is math:
        return if_true if condition else if_false
    array: Any = maths
    return array.where(condition, if_true, if_false)


def every(maths: Maths, condition: Number) -> bool:
    """Whether a condition holds, for arrays in every element.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    condition
        A bool, or an array of them.

    >>> every(math, False)
    False
    """
    if maths is math:
        return bool(condition)
    array: Any = maths
    return bool(array.all(condition))
