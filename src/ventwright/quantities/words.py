"""Closed vocabularies that several rooms share.

They stand in the lowest room so that the record (`house`) and the physics (`air`, `network`) can
speak of the same streams without importing each other.
"""

from __future__ import annotations

from enum import StrEnum


class AirKind(StrEnum):
    """The four streams at a ventilation unit, with the letters of EN 16798-3.

    The words are borrowed from that standard's vocabulary (from memory; it is written for
    non-residential buildings); none of its requirements are.
    """

    OUTDOOR = "ODA"
    SUPPLY = "SUP"
    EXTRACT = "ETA"
    EXHAUST = "EHA"


class Side(StrEnum):
    """One of the two trees of ducts that serve rooms."""

    SUPPLY = "supply"
    EXTRACT = "extract"


class HumidityOver(StrEnum):
    """The plane to which a relative humidity below 0 °C refers.

    Field probes normally report over water, tables and most libraries over ice; at −10 °C the two
    differ by 10 %, so below freezing the choice is stored with the reading.
    """

    WATER = "water"
    ICE = "ice"


class SourceTrust(StrEnum):
    """How far the text behind a fact is known; the tags of the list of sources."""

    READ = "read"
    """The text itself was read."""
    SECOND_HAND = "second_hand"
    """A text that quotes or implements it was read."""
    MEMORY = "memory"
    """Recalled, unconfirmed; never a requirement without saying so."""
    COMPUTED = "computed"
    """Follows by calculation from what stands beside it."""
    JUDGEMENT = "judgement"
    """Our own choice, with its reason."""
