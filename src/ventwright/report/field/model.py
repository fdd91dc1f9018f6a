"""What the field page shows of a visit, in words and rounded figures."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from ventwright.report.model import Line, Mark, Section


class StationGroup(StrEnum):
    """Where a station stands on the page, in the order of work."""

    UNIT = "unit"
    TERMINALS = "terminals"
    AIR = "air"
    SURFACES = "surfaces"


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldValue:
    """What is known at a station in one setting and phase; texts are empty where nothing is.

    `reading_ids` are the readings in force there, the last one last.
    """

    setting: str
    phase: str
    text: str = ""
    target: str = ""
    band: str = ""
    verdict: str = ""
    mark: Mark | None = None
    typed: str = ""
    doubt: str = ""
    reading_ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldStation:
    """One place to measure: what it is called, how it may be read, what was read there.

    `last_method`, `last_instrument` and `last_fields` are those of the last reading here, else of
    the last one in the same group that a method of this place took, to be offered again.
    """

    key: str
    system: str
    group: StationGroup
    title: str
    note: str
    methods: tuple[str, ...]
    values: tuple[FieldValue, ...]
    last_method: str = ""
    last_instrument: str = ""
    last_fields: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldPicture:
    """The ducts of one side in one setting, with their words."""

    setting: str
    system: str
    svg: str
    alt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldModel:
    """The whole page: settings, stations, pictures, and the sections of the report it shows.

    `instruments` are id, name and kind; `targets` what can be turned, kind, id and name.
    """

    title: str
    subtitle: str
    settings: tuple[tuple[str, str], ...]
    stations: tuple[FieldStation, ...]
    pictures: tuple[FieldPicture, ...]
    sections: tuple[Section, ...]
    cautions: tuple[Line, ...]
    instruments: tuple[tuple[str, str, str], ...]
    targets: tuple[tuple[str, str, str], ...]
