"""The words that pages hand in turned into those of the record, and the forms they fill."""

from __future__ import annotations

from ventwright.house import EntryKind, Purpose
from ventwright.quantities import UnitPreference
from ventwright.report.field import EntryForm, entry_forms, method_forms


def field_forms(preference: UnitPreference) -> tuple[EntryForm, ...]:
    """All forms of the field page, methods first.

    Parameters
    ----------
    preference
        Habit of units.

    >>> len(field_forms(UnitPreference.IP))
    21
    """
    return (*method_forms(preference), *entry_forms(preference))


def entry_kind(word: str) -> EntryKind:
    """A kind of entry from its word.

    Parameters
    ----------
    word
        As handed in.

    >>> entry_kind("note").name
    'NOTE'
    """
    return EntryKind(word)


def purpose_of(word: str) -> Purpose:
    """The purpose of a visit from its word.

    Parameters
    ----------
    word
        As handed in.

    >>> purpose_of("check").name
    'CHECK'
    """
    return Purpose(word)
