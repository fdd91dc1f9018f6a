"""From a spelling to the one unit of measure it means, and from SI to it and back."""

from __future__ import annotations

from functools import cache

from ventwright.quantities.dimension import Dimension
from ventwright.quantities.problems import Problem, Severity, UserError
from ventwright.quantities.unit_table import UnitOfMeasure, units_of


class QuantityError(UserError):
    """A typed quantity can't be read; says what was found and what is accepted.

    Parameters
    ----------
    code
        Stable words, e.g. ``unknown-unit``; see `Problem`.
    message
        What was found, naming it as typed.
    remedy
        What is accepted.

    >>> QuantityError(code="no-unit", message="'118' has no unit", remedy="add cfm").as_problem(
    ...     where="readings[0].flow").severity
    <Severity.MISTAKE: 'mistake'>
    """

    def __init__(self, *, code: str, message: str, remedy: str) -> None:
        super().__init__(f"{message}; {remedy}")
        self.code = code
        self.message = message
        self.remedy = remedy

    def as_problem(self, *, where: str) -> Problem:
        """Turn the exception into a value that stands beside the fields that were read.

        Parameters
        ----------
        where
            Key path of the field.

        Returns
        -------
        Problem
            Of severity `Severity.MISTAKE`.
        """
        return Problem(
            code=self.code,
            where=where,
            message=self.message,
            remedy=self.remedy,
            severity=Severity.MISTAKE,
        )


# Folds spellings of one unit into one key: what is dropped carries no meaning in any of them.
_DROPPED = " \t\u00a0\u2009\u202f\u2007.^*·⋅∙"
_SAME = {
    **dict.fromkeys(map(ord, _DROPPED)),
    **str.maketrans("⁰¹²³⁻₂º˚", "0123-2°°"),
    **dict.fromkeys(map(ord, "′’‘`´ʹ"), "'"),
    **dict.fromkeys(map(ord, "″”“ʺ"), '"'),
    ord("℃"): "°C",
    ord("℉"): "°F",
    ord("½"): "05",
    ord("\N{KELVIN SIGN}"): "K",
}

_CASE_MATTERS = frozenset({"MJ"})
"""Symbols that another case would turn into a different unit (mJ)."""

_STANDARD_FLOW = frozenset(
    {"scfm", "stdcfm", "cfmstd", "scfh", "scmh", "slpm", "sl/s", "sl/min", "sm3/h"}
    | {"ncmh", "nl/s", "nl/min", "nm3/h", "nm3/s"}
)
"""Keys of flows at a standard or normal state, which are masses in disguise."""


def _key(spelling: str) -> str:
    return spelling.translate(_SAME).replace("''", '"')


@cache
def _index(dimension: Dimension) -> dict[str, UnitOfMeasure]:
    """Every accepted key of one dimension; exact keys go before folded ones."""
    exact: dict[str, UnitOfMeasure] = {}
    folded: dict[str, UnitOfMeasure] = {}
    for measure in units_of(dimension):
        for spelling in (measure.symbol, *measure.aliases):
            key = _key(spelling)
            exact.setdefault(key, measure)
            if spelling not in _CASE_MATTERS:
                folded.setdefault(key.casefold(), measure)
    return folded | exact


def _find(symbol: str, dimension: Dimension) -> UnitOfMeasure | None:
    index = _index(dimension)
    key = _key(symbol)
    return index.get(key) or index.get(key.casefold())


def examples(dimension: Dimension) -> str:
    """Name the first few units of measure of one kind, for messages.

    Parameters
    ----------
    dimension
        Kind of quantity.

    Returns
    -------
    str
        Joined by commas.

    >>> examples(Dimension.FLOW)
    'cfm, L/s, m³/h'
    """
    return ", ".join(u.symbol for u in units_of(dimension)[:3]) or "3 or 2.5"


def unit_of_measure(symbol: str, *, dimension: Dimension | None = None) -> UnitOfMeasure:
    """Find a unit of measure by any of its spellings.

    Parameters
    ----------
    symbol
        Symbol or alias. Spaces, full stops and middle dots are ignored, superscripts equal
        digits, prime marks equal quotes; case is ignored where nothing is confused by it.
    dimension
        Kind of quantity wanted. Without it the spelling must belong to one kind only.

    Returns
    -------
    UnitOfMeasure
        The row of the closed table.

    Raises
    ------
    QuantityError
        ``standard-flow-unit`` for scfm and its like, ``wrong-dimension`` where the unit exists but
        measures something else, ``ambiguous-unit`` where several kinds share the spelling and none
        was named, ``unknown-unit`` otherwise, with near names.

    >>> unit_of_measure("CFM").symbol, unit_of_measure("m3 / h").symbol
    ('cfm', 'm³/h')
    >>> unit_of_measure("°F", dimension=Dimension.TEMPERATURE_DIFF).offset
    0.0
    >>> unit_of_measure("Pa", dimension=Dimension.FLOW)
    Traceback (most recent call last):
    ventwright.quantities.lookup.QuantityError: 'Pa' is a pressure; a flow is wanted: cfm, L/s, m³/h
    """
    if dimension is not None and (found := _find(symbol, dimension)) is not None:
        return found
    if _key(symbol).casefold() in _STANDARD_FLOW:
        raise QuantityError(
            code="standard-flow-unit",
            message=f"{symbol.strip()!r} is a flow at standard air, not the flow at the place",
            remedy="type it in cfm, L/s or m³/h and mark the reading as a standard flow in its "
            "'standard' field",
        )
    elsewhere = [
        measure
        for other in Dimension
        if other is not dimension and (measure := _find(symbol, other)) is not None
    ]
    if dimension is not None and elsewhere:
        raise QuantityError(
            code="wrong-dimension",
            message=f"{symbol.strip()!r} is {elsewhere[0].dimension.label}",
            remedy=f"{dimension.label} is wanted: {examples(dimension)}",
        )
    if len(elsewhere) == 1:
        return elsewhere[0]
    if elsewhere:
        kinds = " or ".join(measure.dimension.label for measure in elsewhere)
        raise QuantityError(
            code="ambiguous-unit",
            message=f"{symbol.strip()!r} may measure {kinds}",
            remedy="name the kind of quantity",
        )
    raise QuantityError(
        code="unknown-unit",
        message=f"{symbol.strip()!r} is not a known unit of measure",
        remedy=_suggestion(symbol, dimension),
    )


def _suggestion(symbol: str, dimension: Dimension | None) -> str:
    from difflib import get_close_matches  # only a mistake pays for it

    kinds = (dimension,) if dimension is not None else tuple(Dimension)
    index = {key: measure for kind in kinds for key, measure in _index(kind).items() if key}
    wanted = _key(symbol).casefold()
    swapped = [key for key in index if sorted(key) == sorted(wanted)]
    near = [*swapped, *get_close_matches(wanted, index, n=6, cutoff=0.5)]
    names = tuple(dict.fromkeys(index[key].symbol for key in near))[:3]
    if names:
        return f"did you mean {' or '.join(names)}?"
    if dimension is None:
        return "write a unit of measure of the trade such as cfm, Pa, °F or m²"
    return f"{dimension.label} is wanted: {examples(dimension)}"


def to_si(value: float, *, unit_of_measure: UnitOfMeasure) -> float:
    """Convert a number on the scale of a unit of measure to SI: (value − offset) · factor.

    Parameters
    ----------
    value
        Number on that scale.
    unit_of_measure
        Row of the closed table.

    Returns
    -------
    float
        In the SI of its dimension (temperatures in °C); not a number and infinities pass through.

    >>> to_si(100.0, unit_of_measure=unit_of_measure("cfm"))
    0.04719
    """
    return (value - unit_of_measure.offset) * unit_of_measure.factor


def from_si(value_si: float, *, unit_of_measure: UnitOfMeasure) -> float:
    """Convert an SI value to the scale of a unit of measure: value / factor + offset.

    Parameters
    ----------
    value_si
        In the SI of the unit's dimension (temperatures in °C).
    unit_of_measure
        Row of the closed table.

    Returns
    -------
    float
        Number on that scale; not a number and infinities pass through.

    >>> from_si(20.0, unit_of_measure=unit_of_measure("°F", dimension=Dimension.TEMPERATURE))
    68.0
    """
    return value_si / unit_of_measure.factor + unit_of_measure.offset
