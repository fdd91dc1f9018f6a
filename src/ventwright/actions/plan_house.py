"""Plan a house from its file: read, snapshot, plan, and what to write of it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

from ventwright import __version__
from ventwright.actions.assess_files import most_used, spelled_out, write_whole
from ventwright.actions.rule_sets import load_rule_sets
from ventwright.exchange import canonical_json, digest, read_house
from ventwright.findings import PlanFindings, PlanSnapshot, plan_house
from ventwright.quantities import NumberStyle, Problem, Severity, UnitPreference, UserError
from ventwright.quantities.records import dataclass

if TYPE_CHECKING:
    from ventwright.report import ReportModel


@dataclass(frozen=True, slots=True, kw_only=True)
class HousePlan:
    """A snapshot with its plan, and the snapshot's bytes and hash for the record."""

    snapshot: PlanSnapshot
    found: PlanFindings
    snapshot_bytes: bytes
    snapshot_sha256: str

    @property
    def mistakes(self) -> tuple[Problem, ...]:
        """Fields of the file that could not be read; everything else was planned."""
        return tuple(p for p in self.found.problems if p.severity is Severity.MISTAKE)


def plan_file(house_path: Path, *, number_style: NumberStyle | None = None) -> HousePlan:
    """Read a house file and plan the house.

    Parameters
    ----------
    house_path
        House file (.toml).
    number_style
        How a number with a lone comma is meant; None refuses those that are ambiguous.

    Raises
    ------
    UserError
        If the file can't be read at all or holds no system: the problems are attached.

    >>> from ventwright.actions.demo import examples_folder
    >>> plan = plan_file(examples_folder() / "juniper_mesa" / "house.toml")
    >>> plan.found.systems[0].sides[0].index_terminal
    's4'
    """
    house, problems = read_house(house_path, number_style=number_style)
    if house is None:
        raise UserError(f"{house_path} holds no house", problems=problems)
    if not house.systems:
        raise UserError(
            f"{house_path} lists no system: write [[systems]], its unit and its terminals",
            problems=problems,
        )
    snapshot = PlanSnapshot(
        engine=__version__,
        house=house,
        rule_sets=load_rule_sets(house.rule_sets, beside=house_path.parent),
        problems=problems,
    )
    content = canonical_json(snapshot)
    return HousePlan(
        snapshot=snapshot,
        found=plan_house(snapshot),
        snapshot_bytes=content,
        snapshot_sha256=digest(content),
    )


def plan_json(plan: HousePlan) -> bytes:
    """Snapshot hash and plan as JSON, each estimate with its ``u_std``.

    Parameters
    ----------
    plan
        What to write.

    >>> from ventwright.actions.demo import examples_folder
    >>> house = examples_folder() / "juniper_mesa" / "house.toml"
    >>> json.loads(plan_json(plan_file(house)))["schema"]
    'ventwright-plan-1'
    """
    head = {
        "schema": plan.snapshot.schema,
        "snapshot_sha256": plan.snapshot_sha256,
        "plan": spelled_out(json.loads(canonical_json(plan.found))),
    }
    text = json.dumps(head, sort_keys=True, ensure_ascii=False, indent=1, allow_nan=False)
    return (text + "\n").encode()


def house_preference(house_path: Path) -> UnitPreference:
    """The units of measure a house file is typed in, by those that stand most often in it.

    Parameters
    ----------
    house_path
        House file.

    Raises
    ------
    UserError
        If it can't be read.

    >>> from ventwright.actions.demo import examples_folder
    >>> house = examples_folder() / "juniper_mesa" / "house.toml"
    >>> house_preference(house).value
    'ip'
    """
    try:
        text = house_path.read_text(encoding="utf-8").lower()
    except (OSError, UnicodeDecodeError) as mistake:
        raise UserError(f"can't read {house_path}: {mistake}") from mistake
    counts = {
        UnitPreference.IP: text.count(" cfm"),
        UnitPreference.SI_LS: text.count(" l/s"),
        UnitPreference.SI_M3H: text.count(" m³/h") + text.count(" m3/h"),
    }
    return most_used(counts)


def write_plan_report(
    plan: HousePlan,
    path: Path,
    *,
    preference: UnitPreference,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> None:
    """Write a plan as PDF with its snapshot attached.

    Parameters
    ----------
    plan
        What to write.
    path
        Where; an existing file is replaced only once the new one is complete.
    preference
        Units of measure to show.
    number_style
        Decimal mark of the numbers shown.

    Raises
    ------
    UserError
        If the place can't be written to.

    >>> from ventwright.actions.demo import examples_folder
    >>> house = examples_folder() / "juniper_mesa" / "house.toml"
    >>> write_plan_report(plan_file(house), Path("no_such_folder/plan.pdf"),
    ...                   preference=UnitPreference.IP)  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ventwright.quantities.problems.UserError: can't write no_such_folder/plan.pdf: ...
    """
    from ventwright.report import render_pdf

    model = plan_model(plan, preference=preference, number_style=number_style)
    write_whole(path, render_pdf(model, snapshot=plan.snapshot_bytes))


def write_plan_drawing(
    plan: HousePlan,
    path: Path,
    *,
    preference: UnitPreference,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> None:
    """Write the trees of a plan as one SVG.

    Parameters
    ----------
    plan
        What to draw.
    path
        Where; an existing file is replaced only once the new one is complete.
    preference
        Units of measure to show.
    number_style
        Decimal mark of the numbers shown.

    Raises
    ------
    UserError
        If there is nothing to draw or the place can't be written to.

    >>> from ventwright.actions.demo import examples_folder
    >>> house = examples_folder() / "juniper_mesa" / "house.toml"
    >>> write_plan_drawing(plan_file(house), Path("no_such_folder/tree.svg"),
    ...                    preference=UnitPreference.IP)  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ventwright.quantities.problems.UserError: can't write no_such_folder/tree.svg: ...
    """
    from ventwright.report import plan_drawing

    drawing = plan_drawing(plan_model(plan, preference=preference, number_style=number_style))
    if drawing is None:
        raise UserError("there is nothing to draw: no side has design flows and known ducts")
    write_whole(path, drawing.encode())


def plan_model(
    plan: HousePlan,
    *,
    preference: UnitPreference,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> ReportModel:
    """A plan in words, tables and pictures.

    Parameters
    ----------
    plan
        What to write.
    preference
        Units of measure to show.
    number_style
        Decimal mark of the numbers shown.

    >>> from ventwright.actions.demo import examples_folder
    >>> house = examples_folder() / "juniper_mesa" / "house.toml"
    >>> plan_model(plan_file(house), preference=UnitPreference.IP).title
    'Ventilation plan'
    """
    from ventwright.report import compose_plan

    return compose_plan(
        plan.found,
        plan.snapshot,
        preference=preference,
        number_style=number_style,
        snapshot_sha256=plan.snapshot_sha256,
    )
