"""Problems as values, and the two families of errors.

A `Problem` stands beside the good values and never replaces them: one bad reading in a visit leaves
all others usable. An exception is raised only where nothing can be returned at all. `UserError` is
the user's to mend (shown plainly, exit code 2); every other exception is ours, a bug
(exit code 70).
"""

from __future__ import annotations

from enum import StrEnum

from ventwright.quantities.records import dataclass


class Severity(StrEnum):
    """How much of an answer a problem takes away."""

    NOTE = "note"
    """Worth knowing; the number stands as it is."""
    WARNING = "warning"
    """The number stands, wider or with a reservation."""
    REFUSAL = "refusal"
    """No number is given: cause and remedy are in the message."""
    MISTAKE = "mistake"
    """What was typed can't be read; the field is left out and the rest kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that is wrong or doubtful, with its place and its remedy.

    Parameters
    ----------
    code
        Stable lower-case words joined by hyphens, e.g. ``vane-below-start``; tests and translations
        hang on it, so it never changes meaning.
    where
        Key path of the field or id of the reading, e.g. ``readings[3].velocity`` or
        ``reading r12``.
    message
        What was found, in plain words, naming the value.
    remedy
        What is accepted or what to do; empty only for a `NOTE`.
    severity
        See `Severity`.

    >>> Problem(code="unknown-unit", where="rooms[0].area", message="'16 sqm' has no known unit",
    ...         remedy="write m² or ft²", severity=Severity.MISTAKE).code
    'unknown-unit'
    """

    code: str
    where: str
    message: str
    remedy: str = ""
    severity: Severity = Severity.WARNING


class UserError(Exception):
    """Something the user can mend; carries the problems that say what and where.

    >>> str(UserError("no such file: house.toml"))
    'no such file: house.toml'
    """

    def __init__(self, message: str, *, problems: tuple[Problem, ...] = ()) -> None:
        super().__init__(message)
        self.problems = problems
