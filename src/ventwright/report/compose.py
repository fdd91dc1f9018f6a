"""From findings to the report model: words, tables and pictures; nothing is computed again."""

from __future__ import annotations

from dataclasses import replace

from ventwright.findings import Findings, VisitSnapshot
from ventwright.quantities import Dimension, UnitPreference
from ventwright.report.cautions import cautions_for
from ventwright.report.measures import Measures
from ventwright.report.model import ReportModel, Section
from ventwright.report.pen import Pen
from ventwright.report.sections.balance import balance_section
from ventwright.report.sections.doubts import doubts_section
from ventwright.report.sections.flows import flows_section
from ventwright.report.sections.grounds import (
    budgets_section,
    reading_aid_section,
    rules_section,
)
from ventwright.report.sections.next_steps import next_section
from ventwright.report.sections.record import (
    conditions_section,
    instruments_section,
    methods_section,
    punch_list_section,
    readings_section,
    settings_section,
    walk_through_section,
)
from ventwright.report.sections.recovery import recovery_section
from ventwright.report.sections.summary import summary_section
from ventwright.report.sections.surfaces import surfaces_section
from ventwright.report.wording import words_of

_PAPERS = {
    UnitPreference.IP: "us-letter",
    UnitPreference.SI_LS: "a4",
    UnitPreference.SI_M3H: "a4",
}


def compose(
    findings: Findings,
    snapshot: VisitSnapshot,
    *,
    preference: UnitPreference,
    snapshot_sha256: str,
    language: str = "en",
) -> ReportModel:
    """Write the report of findings as a model that screen, page and PDF are drawn from.

    Parameters
    ----------
    findings
        What the snapshot says.
    snapshot
        The record they come from: names, notes and texts as typed.
    preference
        Habit of units; it also names the usual paper.
    snapshot_sha256
        Hash of the snapshot's bytes.
    language
        Of the catalogue, a tag of BCP 47.

    Returns
    -------
    ReportModel
        The same findings, snapshot and habit give the same model.

    >>> from ventwright.findings import assess
    >>> from ventwright.house import House, Visit
    >>> snapshot = VisitSnapshot(engine="0", rule_sets=(),
    ...     house=House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0),
    ...     visit=Visit(schema="ventwright-visit-1", id="v", house="h"))
    >>> model = compose(assess(snapshot), snapshot, preference=UnitPreference.SI_LS,
    ...                 snapshot_sha256="0" * 64)
    >>> model.section("summary").lines[0].text
    'Nothing was read in this visit, so nothing can be said of the flows.'
    """
    pen = Pen(
        findings=findings,
        snapshot=snapshot,
        measures=Measures(preference=preference),
        words=words_of(language),
    )
    cautions = cautions_for(snapshot.house)
    sections = (
        summary_section(pen),
        next_section(pen),
        flows_section(pen),
        balance_section(pen),
        recovery_section(pen),
        surfaces_section(pen),
        doubts_section(pen),
        conditions_section(pen),
        walk_through_section(pen),
        punch_list_section(pen),
        settings_section(pen),
        instruments_section(pen),
        rules_section(pen),
        readings_section(pen),
        methods_section(pen),
        budgets_section(pen),
        reading_aid_section(pen, snapshot_sha256=snapshot_sha256),
    )
    with_cautions = (
        replace(s, cautions=tuple(c.line for c in cautions if c.section == s.id)) for s in sections
    )
    return ReportModel(
        language=language,
        paper=_PAPERS[preference],
        title=pen.say("title.report"),
        subtitle=_subtitle(pen),
        facts=tuple(_facts(pen)),
        sections=tuple(s for s in with_cautions if _says_something(s)),
        cautions=tuple(c.line for c in cautions),
        snapshot_sha256=snapshot_sha256,
        engine=findings.engine,
        dated=_day(snapshot),
    )


def _says_something(section: Section) -> bool:
    return bool(section.lines or section.tables or section.pictures)


def _day(snapshot: VisitSnapshot) -> str:
    started = snapshot.visit.started_at
    return "" if started is None else started.date().isoformat()


def _subtitle(pen: Pen) -> str:
    visit, house = pen.snapshot.visit, pen.snapshot.house
    day = _day(pen.snapshot)
    key = "title.subtitle" if day else "title.subtitle-undated"
    purpose = pen.say(f"purpose.{visit.purpose.value}")
    return pen.say(key, purpose=purpose, house=house.name, day=day)


def _facts(pen: Pen) -> list[tuple[str, str]]:
    visit, house, m = pen.snapshot.visit, pen.snapshot.house, pen.measures
    origin = pen.say(f"pressure-origin.{pen.findings.pressure_origin_code}")
    found = [
        ("house", house.name),
        ("place", house.place),
        ("day", _day(pen.snapshot) or pen.say("fact.unknown")),
        ("technician", visit.technician or pen.say("fact.unknown")),
        ("firm", visit.firm),
        ("purpose", pen.say(f"purpose.{visit.purpose.value}")),
        ("visit", visit.id),
        ("ventilation_unit", "; ".join(_machines(pen))),
        ("altitude", m.text(house.altitude_m, Dimension.LENGTH, digits=0)),
        (
            "pressure",
            f"{pen.findings.pressure_pa.value / 100.0:.0f} hPa ({origin})",
        ),
        ("units", pen.say(f"units.{m.preference.value}")),
    ]
    return [(pen.say(f"fact.{key}"), value) for key, value in found if value]


def _machines(pen: Pen) -> list[str]:
    machines = []
    for system in pen.snapshot.house.systems:
        unit = system.ventilation_unit
        parts = [unit.name, unit.place]
        if unit.serial_no:
            parts.append(pen.say("fact.serial", number=unit.serial_no))
        machines.append(", ".join(p for p in parts if p))
    return machines
