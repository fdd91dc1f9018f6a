"""What the annotations of a record say to the writer and the reader of canonical JSON."""

from __future__ import annotations

import types
from dataclasses import is_dataclass
from typing import Annotated, Any, Union, get_args, get_origin

RECORD_KEY = "record"
"""Under this key a record says which it is, where a field may hold one of several."""


def choices_of(hint: Any) -> tuple[Any, ...]:
    """List what a field may hold besides nothing, marks of quantities taken off.

    Parameters
    ----------
    hint
        An annotation as `hints_of` gives it.

    >>> choices_of(int | str | None)
    (<class 'int'>, <class 'str'>)
    """
    if get_origin(hint) is Annotated:
        return choices_of(get_args(hint)[0])
    if get_origin(hint) in (Union, types.UnionType):
        parts = (part for part in get_args(hint) if part is not type(None))
        return tuple(choice for part in parts for choice in choices_of(part))
    return (hint,)


def may_be_none(hint: Any) -> bool:
    """Tell whether a field may hold nothing.

    Parameters
    ----------
    hint
        An annotation.

    >>> may_be_none(int | None), may_be_none(int)
    (True, False)
    """
    return hint is type(None) or (
        get_origin(hint) in (Union, types.UnionType) and type(None) in get_args(hint)
    )


def records_of(hint: Any) -> tuple[type, ...]:
    """List the records a field may hold; with more than one, each says which it is.

    Parameters
    ----------
    hint
        An annotation.

    >>> from ventwright.house import Reading, hints_of
    >>> [record.__name__ for record in records_of(hints_of(Reading)["look"])][:2]
    ['Sweep', 'Traverse']
    """
    return tuple(c for c in choices_of(hint) if isinstance(c, type) and is_dataclass(c))


def item_hints(hint: Any, count: int) -> tuple[Any, ...] | None:
    """Annotations of the items of a tuple of so many; None where it can't have so many.

    Parameters
    ----------
    hint
        ``tuple[X, ...]`` or ``tuple[X, Y]``.
    count
        Number of items.

    >>> item_hints(tuple[int, ...], 2)
    (<class 'int'>, <class 'int'>)
    """
    parts = get_args(hint)
    if len(parts) == 2 and parts[1] is Ellipsis:
        return (parts[0],) * count
    if parts == ((),):
        parts = ()
    return parts if len(parts) == count else None


def origin_of(hint: Any) -> Any:
    """Return the plain type behind an annotation: ``tuple[int, ...]`` is a `tuple`.

    Parameters
    ----------
    hint
        An annotation without None and marks.

    >>> origin_of(tuple[int, ...])
    <class 'tuple'>
    """
    return get_origin(hint) or hint
