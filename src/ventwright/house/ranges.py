"""What no house and no instrument shows: lengths below zero, a humidity of 480 %."""

from __future__ import annotations

from ventwright.quantities import Dimension, QuantityError

_NEVER_BELOW_ZERO = frozenset(
    {
        *(Dimension.FLOW, Dimension.VELOCITY, Dimension.LENGTH, Dimension.AREA, Dimension.VOLUME),
        *(Dimension.TIME, Dimension.POWER, Dimension.FRACTION, Dimension.FLOW_FACTOR),
        *(Dimension.R_VALUE, Dimension.COUNT),
    }
)
_MAY_BE_BELOW_ZERO = frozenset({"altitude", "storey"})
_NEVER_ZERO = frozenset(
    {
        *("diameter", "width", "height", "area", "opening_area", "face_area", "floor_area"),
        *("volume", "discharge_coeff", "flow_factor", "factor_ratio", "test_pressure", "period"),
        *("leakage_flow", "leakage_exponent"),
    }
)
_MOST_FRAC = 1.1
"""Probes in saturated air show a little over 100 %."""
_MOST_PRESSURE_PA = 200e3


def last_key(where: str) -> str:
    """Return the key that a path ends in, without its index.

    Parameters
    ----------
    where
        Key path.

    >>> last_key("readings[3].velocities[1]")
    'velocities'
    """
    return where.rpartition(".")[2].partition("[")[0]


def check_range(value_si: float, *, dimension: Dimension, text: str, key: str) -> None:
    """Refuse a value that its kind of quantity never takes.

    Parameters
    ----------
    value_si
        In the SI of its dimension.
    dimension
        Kind of quantity.
    text
        As typed.
    key
        Under which it was typed; a few keys have limits of their own.

    Raises
    ------
    QuantityError
        ``out-of-range``.

    >>> check_range(4.8, dimension=Dimension.FRACTION, text="480 %", key="rel_humidity")
    Traceback (most recent call last):
    ventwright.quantities.lookup.QuantityError: '480 %' is more than 110 %; check number and unit
    """
    why = ""
    if value_si < 0 and dimension in _NEVER_BELOW_ZERO and key not in _MAY_BE_BELOW_ZERO:
        why = "is below zero"
    elif value_si == 0 and key in _NEVER_ZERO:
        why = "is zero"
    elif dimension is Dimension.FRACTION and value_si > _MOST_FRAC:
        why = "is more than 110 %"
    elif dimension is Dimension.PRESSURE and abs(value_si) > _MOST_PRESSURE_PA:
        why = "is more than 200 kPa"
    if why:
        raise QuantityError(
            code="out-of-range", message=f"{text.strip()!r} {why}", remedy="check number and unit"
        )
