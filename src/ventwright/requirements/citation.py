"""Where a rule stands and how surely its text is known."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from ventwright.quantities.records import dataclass


class Trust(StrEnum):
    """How surely a rule's text is known. A verdict resting on memory is never called compliance."""

    READ = "read"
    SECOND_HAND = "second_hand"
    MEMORY = "memory"
    OWN = "own"
    """A target the designer set; nobody else's rule."""


_WORST_FIRST = (Trust.MEMORY, Trust.OWN, Trust.SECOND_HAND, Trust.READ)


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceTitle:
    """What the key of a source stands for; a rule file names each source it cites."""

    key: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Citation:
    """Where a rule stands. `note` says what is doubtful about it."""

    source: str
    edition: str = ""
    clause: str = ""
    trust: Trust
    note: str = ""


def weakest(trusts: Iterable[Trust]) -> Trust:
    """The trust of a number that rests on several texts: that of the weakest.

    Parameters
    ----------
    trusts
        What it rests on; nothing counts as the designer's own.

    >>> weakest([Trust.READ, Trust.MEMORY]).value
    'memory'
    """
    found = set(trusts)
    return next((trust for trust in _WORST_FIRST if trust in found), Trust.OWN)


def is_claimable(trust: Trust) -> bool:
    """Whether a verdict with this trust may be called compliance with somebody's rule.

    Parameters
    ----------
    trust
        Weakest trust behind the verdict.

    >>> is_claimable(Trust.SECOND_HAND), is_claimable(Trust.MEMORY), is_claimable(Trust.OWN)
    (True, False, False)
    """
    return trust in (Trust.READ, Trust.SECOND_HAND)
