"""A year of weather for a visited house: planned figures give way to what the visit measured."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from ventwright.actions.assess_files import Assessment
from ventwright.exchange import digest
from ventwright.exchange.text import read_bytes
from ventwright.house import Phase, SettingRole
from ventwright.quantities import Side
from ventwright.uncertainty import Estimate, measured

if TYPE_CHECKING:
    from ventwright.climate import YearFindings, YearOptions, YearPlan

_PHASES = (Phase.AS_LEFT, Phase.AS_FOUND)


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitYear:
    """A year's findings with what they rest on.

    Parameters
    ----------
    found
        What the year says.
    weather_name, weather_sha256
        The file of weather.
    measured
        Which figures come from the visit: `supply`, `extract`, `sensible`, `latent`; the rest is
        planned, rated or assumed.
    """

    found: YearFindings
    weather_name: str
    weather_sha256: str
    measured: tuple[str, ...]


def year_of_visit(
    assessment: Assessment, weather_path: Path, *, options: YearOptions | None = None
) -> VisitYear:
    """Follow a visited house through the year of a weather file.

    Parameters
    ----------
    assessment
        The visit. Of a house with one system that runs all day, total flows and recovery in the
        everyday setting replace those planned and rated, as left where they were read as left.
    weather_path
        As `follow_house_year` takes it.
    options
        Temperatures, drying and release where the usual ones don't hold.

    Raises
    ------
    UserError
        If the file can't be read, or the house lacks what a year needs.

    >>> import tempfile
    >>> from ventwright.actions import assess_files, examples_folder
    >>> folder = examples_folder() / "harbour_terrace"
    >>> visit = assess_files(folder / "house.toml", folder / "visit.toml")
    >>> with tempfile.TemporaryDirectory() as out:
    ...     flat = Path(out) / "flat.csv"
    ...     _ = flat.write_text("temperature [C],rh [%]\\n" + "5,70\\n" * 8760)
    ...     year_of_visit(visit, flat).measured[:2]
    ('supply', 'extract')
    """
    from ventwright.climate import YearOptions, assess_year, parse_weather, plan_year

    content = read_bytes(weather_path)
    weather = parse_weather(content, name=weather_path.name)
    plan, notes = plan_year(assessment.snapshot.house, options or YearOptions())
    plan, names = measured_plan(plan, assessment)
    found = assess_year(plan, weather)
    return VisitYear(
        found=replace(found, problems=(*found.problems, *notes)),
        weather_name=weather_path.name,
        weather_sha256=digest(content),
        measured=names,
    )


def measured_plan(plan: YearPlan, assessment: Assessment) -> tuple[YearPlan, tuple[str, ...]]:
    """A year's plan with what the visit measured in place of planned and rated figures.

    Parameters
    ----------
    plan
        From the house alone.
    assessment
        The visit.

    Returns
    -------
    tuple of YearPlan and str
        One influence stands for each figure measured; the names of those figures.
    """
    found = {
        name: measured(
            value.value, u_std=value.u_std, id=f"climate:{name}", label=f"{name}, measured"
        )
        for name, value in _measured_of(assessment).items()
    }
    if plan.latent_effectiveness.value == 0.0:
        found.pop("latent", None)
    changed = replace(
        plan,
        supply_m3_s=found.get("supply", plan.supply_m3_s),
        extract_m3_s=found.get("extract", plan.extract_m3_s),
        sensible_effectiveness=found.get("sensible", plan.sensible_effectiveness),
        latent_effectiveness=found.get("latent", plan.latent_effectiveness),
    )
    return changed, tuple(found)


def _measured_of(assessment: Assessment) -> dict[str, Estimate]:
    house, systems = assessment.snapshot.house, assessment.findings.systems
    if len(house.systems) != 1 or len(systems) != 1:
        return {}
    settings = [s for s in house.systems[0].fan_settings if s.role is SettingRole.CONTINUOUS]
    if len(settings) != 1 or settings[0].run_time_s:
        return {}
    everyday, system = settings[0].id, systems[0]
    known: dict[str, Estimate] = {}
    for phase in _PHASES:
        for side in Side:
            for total in system.designs:
                if (total.side, total.setting, total.phase) == (side, everyday, phase):
                    _keep(known, side.value, total.measured_m3_s, most=float("inf"))
    for phase in _PHASES:
        for one in system.recoveries:
            if (one.setting, one.phase) == (everyday, phase) and one.result is not None:
                _keep(known, "sensible", one.result.sensible_supply.estimate, most=1.0)
                _keep(known, "latent", one.result.latent_supply.estimate, most=1.0)
    return known


def _keep(known: dict[str, Estimate], name: str, value: Estimate | None, *, most: float) -> None:
    """The first that can be used; a ratio a year can't carry is left to the rating."""
    if name not in known and value is not None and 0.0 < value.value < most:
        known[name] = value
