"""From findings to the field page: every place to measure with what is known there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ventwright.findings import (
    Findings,
    FlowFinding,
    SystemFindings,
    TerminalFinding,
    VisitSnapshot,
)
from ventwright.house import (
    Method,
    Phase,
    Reading,
    Station,
    StationKind,
    System,
    readings_in_force,
    station_text,
)
from ventwright.quantities import (
    AirKind,
    Dimension,
    NumberStyle,
    Problem,
    Side,
    UnitPreference,
)
from ventwright.report.compose import Particulars, compose
from ventwright.report.field.figures import flow_text, found_text
from ventwright.report.field.model import FieldModel, FieldStation, FieldValue, StationGroup
from ventwright.report.field.trees import band_of, pictures, verdict_at
from ventwright.report.measures import Measures
from ventwright.report.pen import Pen
from ventwright.report.wording import words_of
from ventwright.uncertainty import u_expanded

_AT_BRANCH = (Method.SWEEP, Method.TRAVERSE, Method.FIXED_POINT, Method.DIRECT_FLOW)
_IN_DUCT = (*_AT_BRANCH, Method.EXCHANGER_PRESSURE)
_AT_TERMINAL = (
    *(Method.VANE, Method.HOOD, Method.FLOW_BOX, Method.TERMINAL_PRESSURE),
    *(Method.FIXED_POINT, Method.DIRECT_FLOW),
)
_SHOWN = (
    *("summary", "next", "balance", "totals", "rates", "recovery", "surfaces", "doubts"),
    *("conditions", "walk-through", "punch-list", "settings", "readings"),
)


def compose_field(
    findings: Findings,
    snapshot: VisitSnapshot,
    *,
    preference: UnitPreference,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
    language: str = "en",
) -> FieldModel:
    """Write the field page of a visit as data.

    Parameters
    ----------
    findings
        What the snapshot says.
    snapshot
        The record they come from.
    preference
        Habit of units.
    number_style
        Decimal mark.
    language
        Of the catalogues.

    >>> from ventwright.findings import assess
    >>> from ventwright.house import House, Visit
    >>> snapshot = VisitSnapshot(engine="0", rule_sets=(),
    ...     house=House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0),
    ...     visit=Visit(schema="ventwright-visit-1", id="v", house="h"))
    >>> page = compose_field(assess(snapshot), snapshot, preference=UnitPreference.SI_LS)
    >>> page.title, [s.key for s in page.stations]
    ('Barn', ['house', 'house'])
    """
    measures = Measures(preference=preference, number_style=number_style)
    pen = Pen(
        findings=findings,
        snapshot=snapshot,
        measures=measures,
        words=words_of(language, "words_field"),
    )
    report = compose(
        findings,
        snapshot,
        preference=preference,
        snapshot_sha256="",
        particulars=Particulars(only=_SHOWN),
        language=language,
        number_style=number_style,
    )
    book = _Book(pen)
    sections = (report.section(s) for s in _SHOWN)
    return FieldModel(
        title=snapshot.house.name,
        subtitle=report.subtitle,
        settings=tuple(book.settings()),
        stations=tuple(book.stations()),
        pictures=tuple(pictures(pen, [setting for setting, _ in book.settings()])),
        sections=tuple(s for s in sections if s is not None),
        cautions=report.cautions,
        instruments=tuple((i.id, i.name or i.id, i.kind.value) for i in snapshot.visit.instruments),
        targets=tuple(book.targets()),
    )


def value_of_reading(
    findings: Findings,
    snapshot: VisitSnapshot,
    reading_id: str,
    *,
    preference: UnitPreference,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
    language: str = "en",
) -> FieldValue | None:
    """What stands at the place of one reading, in its setting and phase; None if it has no place.

    Parameters
    ----------
    findings, snapshot
        What was found and the record it comes from.
    reading_id
        The reading.
    preference, number_style, language
        As in `compose_field`.

    >>> value_of_reading.__name__
    'value_of_reading'
    """
    pen = Pen(
        findings=findings,
        snapshot=snapshot,
        measures=Measures(preference=preference, number_style=number_style),
        words=words_of(language, "words_field"),
    )
    values = (value for station in _Book(pen).stations() for value in station.values)
    return next((value for value in values if reading_id in value.reading_ids), None)


class _Book:
    """The readings of a visit by place, and what was found there."""

    def __init__(self, pen: Pen) -> None:
        self.pen = pen
        house = pen.snapshot.house
        self.house = house
        self.readings = readings_in_force(pen.snapshot.visit)
        self.found = {r.reading_id: r for r in pen.findings.readings}
        self.has_many = len(house.systems) > 1
        self.rooms = {r.id: r.name for r in house.rooms}
        self.default_system = house.systems[0].id if house.systems else ""

    def settings(self) -> Iterator[tuple[str, str]]:
        seen: dict[str, str] = {}
        for system in self.house.systems:
            for setting in system.fan_settings:
                seen.setdefault(setting.id, setting.name or setting.id)
        for reading in self.readings:
            seen.setdefault(reading.setting, reading.setting)
        yield from (seen or {"continuous": "continuous"}).items()

    def targets(self) -> Iterator[tuple[str, str, str]]:
        for system in self.house.systems:
            for t in system.terminals:
                yield "terminal", t.id, self.pen.terminal(t.id)
            for b in system.branches:
                if b.damper is not None:
                    yield "damper", b.id, f"{b.id} {b.name}".strip()
            for f in system.fan_settings:
                yield "fan", f.id, f.name or f.id

    # ---- stations
    def stations(self) -> Iterator[FieldStation]:
        for system, found in self.pen.systems():
            yield from self._at_unit(system, found)
            yield from self._at_terminals(system, found)
        yield self._plain(
            StationGroup.UNIT,
            Station(kind=StationKind.HOUSE),
            self.pen.say("field-station.house"),
            "",
            (Method.PRESSURE_DIFFERENCE, Method.BAROMETER),
        )
        yield from self._states()
        for surface in self.house.surfaces:
            yield self._plain(
                StationGroup.SURFACES,
                Station(kind=StationKind.SURFACE, ref=surface.id),
                surface.name or surface.id,
                self.rooms.get(surface.room or "", ""),
                (Method.SURFACE_TEMPERATURE,),
            )

    def _states(self) -> Iterator[FieldStation]:
        for system in self.house.systems:
            for kind in AirKind:
                yield self._plain(
                    StationGroup.AIR,
                    self._of(system, Station(kind=StationKind.PORT, stream=kind)),
                    self.pen.of_system(system.id) + self.pen.stream(kind),
                    "",
                    (Method.AIR_STATE,),
                )
        yield self._plain(
            StationGroup.AIR,
            Station(kind=StationKind.HOUSE),
            self.pen.say("field-station.air"),
            "",
            (Method.AIR_STATE,),
        )
        for room in self.house.rooms:
            yield self._plain(
                StationGroup.AIR,
                Station(kind=StationKind.ROOM, ref=room.id),
                room.name,
                "",
                (Method.AIR_STATE,),
            )

    def _of(self, system: System, station: Station) -> Station:
        if not self.has_many:
            return station
        return Station(kind=station.kind, stream=station.stream, ref=station.ref, system=system.id)

    def _at_unit(self, system: System, found: SystemFindings) -> Iterator[FieldStation]:
        prefix = self.pen.of_system(system.id)
        ports = dict[tuple[str, str, str], FlowFinding]()
        for stream, flow in found.flows:
            ports[stream, flow.setting, flow.phase.value] = flow
        for kind in (AirKind.SUPPLY, AirKind.EXTRACT, AirKind.OUTDOOR, AirKind.EXHAUST):
            station = self._of(system, Station(kind=StationKind.PORT, stream=kind))
            values = [
                self._value(
                    station,
                    setting,
                    phase,
                    _IN_DUCT,
                    flow=ports.get((kind.value, setting, phase.value)),
                )
                for setting, _ in self.settings()
                for phase in Phase
            ]
            yield self._station(
                StationGroup.UNIT, station, prefix + self.pen.stream(kind), "", _IN_DUCT, values
            )
        yield self._plain(
            StationGroup.UNIT,
            self._of(system, Station(kind=StationKind.UNIT)),
            prefix + self.pen.say("field-station.unit"),
            system.ventilation_unit.name,
            (Method.POWER,),
        )

    def _at_terminals(self, system: System, found: SystemFindings) -> Iterator[FieldStation]:
        for side in Side:
            for branch in system.branches:
                if branch.side is side and branch.ducts:
                    yield self._plain(
                        StationGroup.TERMINALS,
                        self._of(system, Station(kind=StationKind.BRANCH, ref=branch.id)),
                        f"{branch.id} {branch.name}".strip(),
                        self.pen.say(f"side.{side.value}"),
                        _AT_BRANCH,
                    )
            for terminal in system.terminals:
                if terminal.side is not side:
                    continue
                station = self._of(system, Station(kind=StationKind.TERMINAL, ref=terminal.id))
                mine = [t for t in found.terminals if t.terminal_id == terminal.id]
                by_setting = {t.setting: t for t in mine}
                values = [
                    self._terminal_value(station, by_setting.get(setting), setting, phase)
                    for setting, _ in self.settings()
                    for phase in Phase
                ]
                place = f", {terminal.place}" if terminal.place else ""
                yield self._station(
                    StationGroup.TERMINALS,
                    station,
                    self.pen.terminal(terminal.id),
                    self.pen.say(f"side.{side.value}") + place,
                    _AT_TERMINAL,
                    values,
                )

    def _plain(
        self,
        group: StationGroup,
        station: Station,
        title: str,
        note: str,
        methods: tuple[Method, ...],
    ) -> FieldStation:
        values = [
            self._value(station, setting, phase, methods)
            for setting, _ in self.settings()
            for phase in Phase
        ]
        return self._station(group, station, title, note, methods, values)

    def _station(
        self,
        group: StationGroup,
        station: Station,
        title: str,
        note: str,
        methods: tuple[Method, ...],
        values: Sequence[FieldValue],
    ) -> FieldStation:
        here = [r for r in self.readings if self._is_at(r, station) and r.method in methods]
        of_kind = [
            r for r in self.readings if r.station.kind is station.kind and r.method in methods
        ]
        near = here or of_kind
        last = near[-1] if near else None
        return FieldStation(
            key=station_text(station),
            system=station.system or "",
            group=group,
            title=title,
            note=note,
            methods=tuple(m.value for m in methods),
            values=tuple(values),
            last_method=last.method.value if last else "",
            last_instrument=(last.instrument or "") if last else "",
            last_fields=tuple((t.key, t.text) for t in last.typed) if last else (),
        )

    def _is_at(self, reading: Reading, station: Station) -> bool:
        theirs = reading.station
        if (theirs.kind, theirs.stream, theirs.ref) != (station.kind, station.stream, station.ref):
            return False
        mine = station.system or self.default_system
        return (theirs.system or self.default_system) == mine

    # ---- values
    def _value(
        self,
        station: Station,
        setting: str,
        phase: Phase,
        methods: Sequence[Method],
        *,
        flow: FlowFinding | None = None,
    ) -> FieldValue:
        here = [
            r
            for r in self.readings
            if self._is_at(r, station)
            and r.method in methods
            and (r.setting, r.phase) == (setting, phase)
        ]
        last = self.found.get(here[-1].id) if here else None
        text = flow_text(self.pen, flow) or found_text(self.pen, last)
        doubts = [self.pen.in_measures(f.message) for r in here for f in self._flags(r)]
        return FieldValue(
            setting=setting,
            phase=phase.value,
            text=text,
            typed="; ".join(", ".join(t.text for t in r.typed[:4]) for r in here[-2:]),
            doubt=doubts[-1] if doubts and not text else "",
            reading_ids=tuple(r.id for r in here),
        )

    def _flags(self, reading: Reading) -> Sequence[Problem]:
        return self.found[reading.id].flags if reading.id in self.found else ()

    def _terminal_value(
        self, station: Station, found: TerminalFinding | None, setting: str, phase: Phase
    ) -> FieldValue:
        flow = None
        if found is not None:
            flow = {Phase.AS_FOUND: found.as_found, Phase.AS_LEFT: found.as_left}.get(phase)
        value = self._value(station, setting, phase, _AT_TERMINAL, flow=flow)
        if found is None:
            return value
        low, high = band_of(found)
        u = u_expanded(flow.figure.flow_m3_s) if flow is not None else 0.0
        m = self.pen.measures
        verdict, mark = verdict_at(self.pen, found, phase)
        return replace(
            value,
            target=m.text(
                found.target_m3_s, Dimension.FLOW, u_si=u or None, digits=None if u else 0
            ),
            band=m.range(Dimension.FLOW, low_si=low, high_si=high, u_si=u),
            verdict=verdict if value.text else "",
            mark=mark if value.text else None,
        )
