"""From findings to the report model: words, tables and pictures; nothing is computed again."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ventwright.findings import Findings, VisitSnapshot
from ventwright.quantities import Dimension, NumberStyle, UnitPreference
from ventwright.report.cautions import Caution, cautions_for
from ventwright.report.measures import Measures
from ventwright.report.model import Part, ReportModel, Section
from ventwright.report.pen import Pen
from ventwright.report.sections.balance import balance_section
from ventwright.report.sections.care import care_section, signatures_section
from ventwright.report.sections.changed import changed_section
from ventwright.report.sections.doubts import doubts_section
from ventwright.report.sections.ducts import ducts_section
from ventwright.report.sections.flows import flows_section
from ventwright.report.sections.grounds import (
    budgets_section,
    reading_aid_section,
    rules_section,
)
from ventwright.report.sections.learnt import learnt_section
from ventwright.report.sections.next_steps import next_section, next_visit_section
from ventwright.report.sections.photos import photos_section
from ventwright.report.sections.rates import rate_steps_section, rates_section
from ventwright.report.sections.readings import methods_section, readings_section
from ventwright.report.sections.record import (
    changes_section,
    conditions_section,
    instruments_section,
    punch_list_section,
    settings_section,
    walk_through_section,
)
from ventwright.report.sections.recovery import recovery_section
from ventwright.report.sections.rooms_air import rooms_air_section
from ventwright.report.sections.shares import shares_section
from ventwright.report.sections.summary import summary_section
from ventwright.report.sections.surfaces import surfaces_section
from ventwright.report.sections.totals import totals_section
from ventwright.report.sections.year import AnnexYear, year_section
from ventwright.report.wording import words_of

_SECTIONS: dict[Part, dict[str, Callable[[Pen], Section]]] = {
    Part.OWNER: {
        "summary": summary_section,
        "next": next_section,
        "changed": changed_section,
        "care": care_section,
    },
    Part.RECORD: {
        "flows": flows_section,
        "balance": balance_section,
        "rates": rates_section,
        "doubts": doubts_section,
        "next-visit": next_visit_section,
        "conditions": conditions_section,
        "walk-through": walk_through_section,
        "punch-list": punch_list_section,
        "settings": settings_section,
        "instruments": instruments_section,
        "rules": rules_section,
        "photos": photos_section,
        "signatures": signatures_section,
    },
    Part.ANNEX: {
        "ducts": ducts_section,
        "shares": shares_section,
        "learnt": learnt_section,
        "totals": totals_section,
        "rate-steps": rate_steps_section,
        "rooms-air": rooms_air_section,
        "recovery": recovery_section,
        "surfaces": surfaces_section,
        "changes": changes_section,
        "readings": readings_section,
        "methods": methods_section,
        "budgets": budgets_section,
    },
}
"""Every section in the order of the report, by the part whose readers need it."""
PAPERS = {
    UnitPreference.IP: "us-letter",
    UnitPreference.SI_LS: "a4",
    UnitPreference.SI_M3H: "a4",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Particulars:
    """What a report carries beside its findings, and what of it is asked for.

    Parameters
    ----------
    report_number
        Number of an issued report, under which it can be verified; empty for a draft.
    photos
        Contents of the visit's photos by their SHA-256, as far as they are at hand.
    year
        The house in a year of weather, for the annex of a draft; None without.
    only
        Ids of the sections to write, for a page that shows some; every section where none is named.
    """

    report_number: str = ""
    photos: Mapping[str, bytes] = field(default_factory=dict)
    year: AnnexYear | None = None
    only: Collection[str] = ()


def compose(
    findings: Findings,
    snapshot: VisitSnapshot,
    *,
    preference: UnitPreference,
    snapshot_sha256: str,
    parts: Collection[Part] = tuple(Part),
    particulars: Particulars | None = None,
    language: str = "en",
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
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
    parts
        Whom it is for: owner (what was found and what to do, and a sheet to live by), record (what
        an official keeps), annex (what an engineer recomputes).
    particulars
        Number, photos, year and choice of sections; None for a draft with none of them.
    language
        Of the catalogue, a tag of BCP 47.
    number_style
        Decimal mark; what was typed stays as it was typed.

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
    more = particulars or Particulars()
    pen = Pen(
        findings=findings,
        snapshot=snapshot,
        measures=Measures(preference=preference, number_style=number_style),
        words=words_of(language, number_style=number_style),
        photos=more.photos,
    )
    cautions = cautions_for(snapshot.house)
    written = [
        replace(write(pen), part=part)
        for part, writers in _SECTIONS.items()
        if part in parts
        for id_, write in writers.items()
        if not more.only or id_ in more.only
    ]
    if Part.ANNEX in parts and not more.only:
        if not more.report_number:
            in_year = year_section(pen, more.year, language=language, number_style=number_style)
            written.append(replace(in_year, part=Part.ANNEX))
        written.append(
            replace(reading_aid_section(pen, snapshot_sha256=snapshot_sha256), part=Part.ANNEX)
        )
    placed = [c for c in cautions if not more.only or c.section in more.only]
    sections = _with_cautions([s for s in written if _says_something(s)], placed)
    return ReportModel(
        language=language,
        paper=PAPERS[preference],
        title=pen.say("title.report"),
        subtitle=_subtitle(pen),
        facts=tuple(_facts(pen, snapshot_sha256=snapshot_sha256, report_number=more.report_number)),
        sections=sections,
        cautions=tuple(c.line for c in cautions),
        snapshot_sha256=snapshot_sha256,
        engine=findings.engine,
        dated=_day(snapshot),
    )


def _with_cautions(sections: Sequence[Section], cautions: Sequence[Caution]) -> tuple[Section, ...]:
    """Each caution in its section; the last section takes those whose own is left out."""
    ids = [s.id for s in sections]
    placed = [
        replace(s, cautions=tuple(c.line for c in cautions if c.section == s.id)) for s in sections
    ]
    homeless = tuple(c.line for c in cautions if c.section not in ids)
    if placed and homeless:
        placed[-1] = replace(placed[-1], cautions=placed[-1].cautions + homeless)
    return tuple(placed)


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


def _facts(pen: Pen, *, snapshot_sha256: str, report_number: str) -> list[tuple[str, str]]:
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
        ("number", report_number or pen.say("fact.draft")),
        ("sha256", snapshot_sha256),
        ("verify", pen.say("fact.verify-issued") if report_number else ""),
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
