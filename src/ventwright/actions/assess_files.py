"""Assess a visit from files: read, snapshot, findings, report."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ventwright import __version__
from ventwright.actions.rule_sets import load_rule_sets
from ventwright.exchange import canonical_json, digest, read_house, read_visit
from ventwright.findings import Findings, VisitSnapshot, assess
from ventwright.quantities import NumberStyle, Problem, Severity, UnitPreference, UserError
from ventwright.uncertainty import Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """A snapshot with what it says, and the snapshot's bytes and hash for the record."""

    snapshot: VisitSnapshot
    findings: Findings
    snapshot_bytes: bytes
    snapshot_sha256: str

    @property
    def mistakes(self) -> tuple[Problem, ...]:
        """Fields of the files that could not be read; everything else was assessed."""
        return tuple(p for p in self.findings.problems if p.severity is Severity.MISTAKE)


def assess_files(
    house_path: Path, visit_path: Path, *, number_style: NumberStyle | None = None
) -> Assessment:
    """Read a house file and a visit file and assess the visit.

    Parameters
    ----------
    house_path
        House file (.toml).
    visit_path
        Visit file (.toml, or .csv of readings).
    number_style
        How a number with a lone comma is meant; None refuses those that are ambiguous.

    Returns
    -------
    Assessment
        With all problems of reading among the findings' problems.

    Raises
    ------
    UserError
        If a file can't be read at all, or what it must hold is missing: the problems are attached.

    >>> from ventwright.actions import examples_folder
    >>> folder = examples_folder() / "harbour_terrace"
    >>> assess_files(folder / "house.toml", folder / "visit.toml").mistakes
    ()
    """
    house, house_problems = read_house(house_path)
    if house is None:
        raise UserError(f"{house_path} holds no house", problems=house_problems)
    visit, visit_problems = read_visit(visit_path, house=house, number_style=number_style)
    if visit is None:
        raise UserError(f"{visit_path} holds no visit", problems=house_problems + visit_problems)
    snapshot = VisitSnapshot(
        engine=__version__,
        house=house,
        visit=visit,
        rule_sets=load_rule_sets(house.rule_sets, beside=house_path.parent),
        problems=house_problems + visit_problems,
    )
    return assess_snapshot(snapshot)


def assess_snapshot(snapshot: VisitSnapshot) -> Assessment:
    """Findings of a snapshot, with its canonical bytes and their hash.

    Parameters
    ----------
    snapshot
        Any snapshot.

    >>> from ventwright.house import House, Visit
    >>> one = assess_snapshot(VisitSnapshot(engine="0", rule_sets=(),
    ...     house=House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0),
    ...     visit=Visit(schema="ventwright-visit-1", id="v", house="h")))
    >>> len(one.snapshot_sha256)
    64
    """
    content = canonical_json(snapshot)
    return Assessment(
        snapshot=snapshot,
        findings=assess(snapshot),
        snapshot_bytes=content,
        snapshot_sha256=digest(content),
    )


def findings_json(assessment: Assessment) -> bytes:
    """Snapshot hash and findings as JSON, with what readers of it would compute anyway.

    Every estimate gets its ``u_std`` beside its components, every judged line its ``verdict``.

    Parameters
    ----------
    assessment
        What to write.

    >>> from ventwright.actions import examples_folder
    >>> folder = examples_folder() / "harbour_terrace"
    >>> found = findings_json(assess_files(folder / "house.toml", folder / "visit.toml"))
    >>> json.loads(found)["schema"]
    'ventwright-findings-1'
    """
    plain = json.loads(canonical_json(assessment.findings))
    head = {
        "schema": "ventwright-findings-1",
        "snapshot_sha256": assessment.snapshot_sha256,
        "findings": spelled_out(plain),
    }
    text = json.dumps(head, sort_keys=True, ensure_ascii=False, indent=1, allow_nan=False)
    return (text + "\n").encode()


def spelled_out(plain: Any) -> Any:
    """Findings as plain values, with the standard uncertainties and verdicts that follow from them.

    Parameters
    ----------
    plain
        What `json.loads` gave.
    """
    if isinstance(plain, list):
        return [spelled_out(item) for item in plain]
    if not isinstance(plain, dict):
        return plain
    spelled = {key: spelled_out(item) for key, item in plain.items()}
    if plain.keys() == {"value", "components"}:
        spelled["u_std"] = math.hypot(*(c["contribution"] for c in plain["components"]))
    if "judgement" in plain and "reason_code" in plain:
        judgement = plain["judgement"]
        spelled["verdict"] = judgement["decision"]["verdict"] if judgement else Verdict.NOT_SHOWN
    return spelled


def preference_of(snapshot: VisitSnapshot) -> UnitPreference:
    """The units of measure a visit was typed in: what its technician reads without converting.

    Parameters
    ----------
    snapshot
        Any snapshot.

    Returns
    -------
    UnitPreference
        By the units that stand most often in the readings; cubic metres per hour if none decides.

    >>> from ventwright.actions import examples_folder
    >>> folder = examples_folder() / "juniper_mesa"
    >>> one = assess_files(folder / "house.toml", folder / "visit.toml")
    >>> preference_of(one.snapshot).value
    'ip'
    """
    texts = [t.text.lower() for r in snapshot.visit.readings for t in r.typed]
    counts = {
        UnitPreference.IP: sum(any(u in t for u in ("cfm", "fpm", "f")) for t in texts),
        UnitPreference.SI_LS: sum("l/s" in t for t in texts),
        UnitPreference.SI_M3H: sum("/h" in t for t in texts),
    }
    return most_used(counts)


def most_used(counts: Mapping[UnitPreference, int]) -> UnitPreference:
    """The habit of units counted most often; cubic metres per hour if none was counted.

    Parameters
    ----------
    counts
        How often the units of each habit stand in what was typed.

    >>> most_used({UnitPreference.IP: 0, UnitPreference.SI_LS: 2}).value
    'si_ls'
    """
    best = max(counts, key=lambda habit: counts[habit])
    return best if counts[best] else UnitPreference.SI_M3H


def write_report(
    assessment: Assessment, path: Path, *, preference: UnitPreference = UnitPreference.SI_M3H
) -> None:
    """Write the report of an assessment as PDF.

    Parameters
    ----------
    assessment
        What to report.
    path
        Where; an existing file is replaced only once the new one is complete.
    preference
        Units of measure to show.

    Raises
    ------
    UserError
        If the place can't be written to.

    >>> import tempfile
    >>> from ventwright.actions import examples_folder
    >>> folder = examples_folder() / "harbour_terrace"
    >>> one = assess_files(folder / "house.toml", folder / "visit.toml")
    >>> with tempfile.TemporaryDirectory() as out:
    ...     write_report(one, Path(out) / "report.pdf")
    ...     (Path(out) / "report.pdf").read_bytes()[:5]
    b'%PDF-'
    """
    from ventwright.report import compose, render_pdf

    model = compose(
        assessment.findings,
        assessment.snapshot,
        preference=preference,
        snapshot_sha256=assessment.snapshot_sha256,
    )
    write_whole(path, render_pdf(model, snapshot=assessment.snapshot_bytes))


def write_whole(path: Path, content: bytes) -> None:
    """Write a file in one piece: beside it first, then renamed over it.

    Parameters
    ----------
    path
        Where.
    content
        What.

    Raises
    ------
    UserError
        If the folder is missing or can't be written to.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as out:
    ...     write_whole(Path(out) / "a.txt", b"whole")
    ...     (Path(out) / "a.txt").read_bytes()
    b'whole'
    """
    beside = path.with_name(path.name + ".part")
    try:
        beside.write_bytes(content)
        beside.replace(path)
    except OSError as mistake:
        raise UserError(f"can't write {path}: {mistake.strerror or mistake}") from mistake
