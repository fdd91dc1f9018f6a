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
