"""A blank sheet of a house, for a visit on paper when the phone dies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ventwright.house import House, System, Terminal, WalkThroughItem
from ventwright.quantities import AirKind, Dimension, Side, UnitPreference
from ventwright.report.cautions import cautions_for
from ventwright.report.compose import PAPERS
from ventwright.report.measures import Measures
from ventwright.report.model import Cell, Column, Line, ReportModel, Section, Table
from ventwright.report.pdf import BLANK
from ventwright.report.pen import cells, table_if
from ventwright.report.wording import Words, words_of

_INSTRUMENT_ROWS, _FAULT_ROWS, _ITEM_COLUMNS = 4, 3, 3
_CAUTIONS_OF = "settings"
"""The section whose cautions hold while one works in the house."""
_CONDITIONS = (
    "are_windows_shut",
    "are_inner_doors_shut",
    "are_other_fans_off",
    "are_combustion_appliances_off",
    "are_filters_clean",
)


def compose_sheet(
    house: House,
    *,
    preference: UnitPreference,
    snapshot_sha256: str,
    engine: str,
    language: str = "en",
) -> ReportModel:
    """A sheet to fill in by hand: all ports, states, terminals and settings of one house.

    Parameters
    ----------
    house
        As planned.
    preference
        Habit of units; it also names the usual paper.
    snapshot_sha256
        Hash of the bytes that are attached.
    engine
        Version that made the sheet.
    language
        Of the catalogue, a tag of BCP 47.

    Returns
    -------
    ReportModel
        Of forms: a house with up to twelve terminals fills two pages.

    >>> sheet = compose_sheet(House(schema="ventwright-house-1", id="h", name="Barn"),
    ...     preference=UnitPreference.SI_LS, snapshot_sha256="0" * 64, engine="0")
    >>> [s.id for s in sheet.sections]
    ['sheet-visit', 'sheet-look']
    """
    writer = _Writer(house, Measures(preference=preference), words_of(language))
    sections = [writer.visit(), *writer.machines(), *writer.rooms(), writer.look()]
    facts = [("house", house.name), ("place", house.place)]
    return ReportModel(
        language=language,
        paper=PAPERS[preference],
        title=writer.say("sheet.title"),
        subtitle=house.name,
        facts=tuple((writer.say(f"fact.{key}"), value) for key, value in facts if value),
        sections=tuple(s for s in sections if s.tables),
        cautions=tuple(c.line for c in cautions_for(house)),
        snapshot_sha256=snapshot_sha256,
        engine=engine,
        dated="",
    )


class _Writer:
    """Writes forms in one language and one habit of units."""

    def __init__(self, house: House, measures: Measures, words: Words) -> None:
        self._house = house
        self._m = measures
        self.say = words.say

    def _columns(self, *keys: str, **symbols: str) -> tuple[Column, ...]:
        return tuple(
            Column(title=self.say(f"sheet-column.{key}"), unit_of_measure=symbols.get(key, ""))
            for key in keys
        )

    def _form(
        self,
        key: str,
        columns: tuple[Column, ...],
        firsts: Sequence[Sequence[str]],
        *,
        of: str = "",
    ) -> tuple[Table, ...]:
        """A form whose rows begin with known texts and leave the rest blank."""
        width = len(columns)
        rows = [
            cells(*first, *(Cell(text=BLANK) for _ in range(width - len(first))))
            for first in firsts
        ]
        return table_if(
            rows,
            id=f"sheet-{key}{of and '-'}{of}",
            title=self.say(f"sheet.{key}"),
            columns=columns,
            is_form=True,
        )

    def visit(self) -> Section:
        """Who, when, weather, instruments."""
        warmth = self._m.symbol(Dimension.TEMPERATURE)
        said = [self.say(f"conditions.{name}") for name in _CONDITIONS]
        conditions = [text[0].upper() + text[1:] for text in said]
        yes_no = tuple(Column(title=title) for title in conditions)
        return Section(
            id="sheet-visit",
            title=self.say("section.sheet-visit"),
            lines=(Line(text=self.say("sheet.how")),),
            cautions=tuple(c.line for c in cautions_for(self._house) if c.section == _CAUTIONS_OF),
            tables=(
                *self._form(
                    "day",
                    self._columns(
                        "day",
                        "technician",
                        "outdoor",
                        "outdoor_rh",
                        "indoor",
                        "indoor_rh",
                        "barometer",
                        "wind",
                        outdoor=warmth,
                        indoor=warmth,
                    ),
                    [()],
                ),
                *self._form("conditions", yes_no, [()]),
                *self._form(
                    "instruments",
                    self._columns("id", "kind", "name", "serial", "calibrated"),
                    [()] * _INSTRUMENT_ROWS,
                ),
            ),
        )

    def machines(self) -> Iterator[Section]:
        """The four streams, power and fans of each system."""
        for system in self._house.systems:
            unit = system.ventilation_unit
            flow, warmth = self._m.symbol(Dimension.FLOW), self._m.symbol(Dimension.TEMPERATURE)
            streams = [(f"{k.value} {self.say(f'habit.{k.value}')}",) for k in AirKind]
            settings = [(f.id, f.name) for f in system.fan_settings]
            yield Section(
                id=f"sheet-machine-{system.id}",
                title=": ".join(t for t in (self._name(system), unit.name) if t),
                tables=(
                    *self._form(
                        "streams",
                        self._columns(
                            "stream",
                            "flow_found",
                            "t_found",
                            "rh_found",
                            "flow_left",
                            "t_left",
                            "rh_left",
                            "flow_boost",
                            flow_found=flow,
                            flow_left=flow,
                            flow_boost=flow,
                            t_found=warmth,
                            t_left=warmth,
                        ),
                        streams,
                        of=system.id,
                    ),
                    *self._form(
                        "settings",
                        self._columns(
                            "setting",
                            "name",
                            "house_found",
                            "house_left",
                            "power",
                            "supply_fan",
                            "extract_fan",
                            house_found="Pa",
                            house_left="Pa",
                            power="W",
                        ),
                        settings,
                        of=system.id,
                    ),
                ),
            )

    def _name(self, system: System) -> str:
        return system.name if len(self._house.systems) > 1 else ""

    def rooms(self) -> Iterator[Section]:
        """Every terminal, then every surface."""
        flow = self._m.symbol(Dimension.FLOW)
        names = {r.id: r.name or r.id for r in self._house.rooms}
        for system in self._house.systems:
            ordered = sorted(system.terminals, key=lambda t: list(Side).index(t.side))
            rows = [self._terminal(t, names) for t in ordered]
            yield Section(
                id=f"sheet-rooms-{system.id}",
                title=": ".join(
                    t for t in (self._name(system), self.say("section.sheet-rooms")) if t
                ),
                tables=self._form(
                    "terminals",
                    self._columns(
                        "terminal",
                        "room",
                        "side",
                        "design",
                        "boost",
                        "found",
                        "stop",
                        "left",
                        "opening",
                        "boost_left",
                        design=flow,
                        boost=flow,
                        found=flow,
                        stop=flow,
                        left=flow,
                        boost_left=flow,
                    ),
                    rows,
                    of=system.id,
                ),
            )

    def _terminal(self, t: Terminal, names: dict[str, str]) -> tuple[str, ...]:
        return (
            t.id,
            t.name or names.get(t.room, t.room),
            self.say(f"side.{t.side.value}"),
            self._m.number(t.design_flow_m3_s, Dimension.FLOW, digits=0) or "–",
            self._m.number(t.boost_flow_m3_s, Dimension.FLOW, digits=0) or "–",
        )

    def look(self) -> Section:
        """Surfaces, walk-through and faults."""
        items = [self.say(f"walk-through.{item.value}") for item in WalkThroughItem]
        rest = -len(items) % _ITEM_COLUMNS
        down = (len(items) + rest) // _ITEM_COLUMNS
        filled = [*items, *([BLANK] * rest)]
        warmth = self._m.symbol(Dimension.TEMPERATURE)
        blank = Cell(text=BLANK)
        walk = [cells(*(c for item in filled[i::down] for c in (item, blank))) for i in range(down)]
        return Section(
            id="sheet-look",
            title=self.say("section.sheet-look"),
            tables=(
                *self._form(
                    "surfaces",
                    self._columns(
                        "surface", "surface_t", "air_t", "air_rh", surface_t=warmth, air_t=warmth
                    ),
                    [(s.name or s.id,) for s in self._house.surfaces],
                ),
                *table_if(
                    walk,
                    id="sheet-walk",
                    title=self.say("sheet.walk"),
                    columns=self._columns(*(("item", "outcome") * _ITEM_COLUMNS)),
                    is_form=True,
                ),
                *self._form(
                    "faults",
                    self._columns("what", "where", "who", "mended"),
                    [()] * _FAULT_ROWS,
                ),
            ),
        )
