"""The next step of balancing, from the files of a visit."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from ventwright.actions.assess_files import Assessment, spelled_out
from ventwright.balancing import SettingStyle
from ventwright.exchange import canonical_json
from ventwright.findings import Guidance, guide
from ventwright.quantities import UnitPreference

if TYPE_CHECKING:
    from ventwright.report import ReportModel


def guide_visit(assessment: Assessment, *, style: str = SettingStyle.LIVE) -> tuple[Guidance, ...]:
    """Balancing guidance for an assessed visit, one for each system.

    Parameters
    ----------
    assessment
        The visit.
    style
        How dampers are set: ``live``, ``blind`` or ``remote``.

    >>> from ventwright.actions import assess_files, examples_folder
    >>> folder = examples_folder() / "juniper_mesa"
    >>> (one,) = guide_visit(assess_files(folder / "house.toml", folder / "visit.toml"))
    >>> type(one.step).__name__
    'Finished'
    """
    return guide(assessment.snapshot, assessment.findings, style=SettingStyle(style))


def next_json(assessment: Assessment, guides: tuple[Guidance, ...]) -> bytes:
    """Guidance as JSON, with the hash of the snapshot it rests on.

    Parameters
    ----------
    assessment
        The visit.
    guides
        Its guidance.

    >>> from ventwright.actions import assess_files, examples_folder
    >>> folder = examples_folder() / "juniper_mesa"
    >>> one = assess_files(folder / "house.toml", folder / "visit.toml")
    >>> json.loads(next_json(one, guide_visit(one)))["schema"]
    'ventwright-next-1'
    """
    head = {
        "schema": "ventwright-next-1",
        "snapshot_sha256": assessment.snapshot_sha256,
        "systems": [
            {**spelled_out(json.loads(canonical_json(g))), "step_kind": type(g.step).__name__}
            for g in guides
        ],
    }
    text = json.dumps(head, sort_keys=True, ensure_ascii=False, indent=1, allow_nan=False)
    return (text + "\n").encode()


def next_model(
    assessment: Assessment, guides: tuple[Guidance, ...], *, preference: UnitPreference
) -> ReportModel:
    """Guidance in words and tables.

    Parameters
    ----------
    assessment
        The visit.
    guides
        Its guidance.
    preference
        Units of measure to show.

    >>> from ventwright.actions import assess_files, examples_folder
    >>> folder = examples_folder() / "juniper_mesa"
    >>> one = assess_files(folder / "house.toml", folder / "visit.toml")
    >>> model = next_model(one, guide_visit(one), preference=UnitPreference.IP)
    >>> model.section("next-step").lines[0].text[:14]
    'Every terminal'
    """
    from ventwright.report import compose_next

    return compose_next(
        guides,
        assessment.findings,
        assessment.snapshot,
        preference=preference,
        snapshot_sha256=assessment.snapshot_sha256,
    )
