"""A house in a year of weather: read both files, follow the hours, write what was found."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ventwright import __version__
from ventwright.actions.assess_files import spelled_out, write_whole
from ventwright.exchange import canonical_json, digest, read_house
from ventwright.exchange.text import read_bytes
from ventwright.moisture import ton_hours_per_scfm
from ventwright.quantities import NumberStyle, Problem, Severity, UnitPreference, UserError

if TYPE_CHECKING:
    from ventwright.climate import YearFindings, YearOptions
    from ventwright.report import ReportModel


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseYear:
    """What a year says of a house, with what it came from."""

    found: YearFindings
    pressure_pa: float
    snapshot_bytes: bytes
    snapshot_sha256: str

    @property
    def mistakes(self) -> tuple[Problem, ...]:
        """What could not be read in either file; everything else was followed."""
        return tuple(p for p in self.found.problems if p.severity is Severity.MISTAKE)


def follow_house_year(
    house_path: Path,
    weather_path: Path,
    *,
    options: YearOptions | None = None,
    number_style: NumberStyle | None = None,
    on_progress: Callable[[int, int], None] | None = None,
) -> HouseYear:
    """Follow a house through the year of a weather file.

    Parameters
    ----------
    house_path
        House file (.toml).
    weather_path
        Weather file: EPW, TMY2, TMY3, or a plain table with units in its column names.
    options
        Temperatures, drying and release where the usual ones don't hold.
    number_style
        How a number with a lone comma is meant in the house file.
    on_progress
        Called with the number of years that are done and that will be.

    Returns
    -------
    HouseYear
        Findings with budgets.

    Raises
    ------
    UserError
        If a file can't be read, or the house lacks what a year needs.

    >>> import tempfile
    >>> from ventwright.actions.demo import examples_folder
    >>> house = examples_folder() / "juniper_mesa" / "house.toml"
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     flat = Path(folder) / "flat.csv"
    ...     _ = flat.write_text("temperature [C],rh [%]\\n" + "5,70\\n" * 8760)
    ...     year = follow_house_year(house, flat)
    >>> year.found.known_h, year.mistakes
    (8760.0, ())
    """
    from ventwright.climate import (
        YearOptions,
        YearSnapshot,
        assess_year,
        parse_weather,
        plan_year,
    )

    house, problems = read_house(house_path, number_style=number_style)
    if house is None:
        raise UserError(f"{house_path} holds no house", problems=problems)
    content = read_bytes(weather_path)
    weather = parse_weather(content, name=weather_path.name)
    chosen = options or YearOptions()
    plan, notes = plan_year(house, chosen)
    found = assess_year(plan, weather, on_progress=on_progress)
    snapshot = canonical_json(
        YearSnapshot(
            schema="ventwright-year-1",
            engine=__version__,
            house=house,
            weather_name=weather_path.name,
            weather_sha256=digest(content),
            options=chosen,
        )
    )
    return HouseYear(
        found=replace(found, problems=(*problems, *found.problems, *notes)),
        pressure_pa=weather.mean_pressure_pa,
        snapshot_bytes=snapshot,
        snapshot_sha256=digest(snapshot),
    )


def year_json(year: HouseYear) -> bytes:
    """Snapshot hash and findings as JSON, each estimate with its ``u_std``.

    Parameters
    ----------
    year
        What to write.

    >>> import tempfile
    >>> from ventwright.actions.demo import examples_folder
    >>> house = examples_folder() / "juniper_mesa" / "house.toml"
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     flat = Path(folder) / "flat.csv"
    ...     _ = flat.write_text("temperature [C],rh [%]\\n" + "5,70\\n" * 8760)
    ...     written = year_json(follow_house_year(house, flat))
    >>> json.loads(written)["load_index_ton_hours_per_scfm"]
    {'latent': 0.0, 'sensible': 0.0}
    """
    index = year.found.load_index
    head = {
        "schema": "ventwright-year-1",
        "engine": __version__,
        "snapshot_sha256": year.snapshot_sha256,
        "load_index_ton_hours_per_scfm": {
            "latent": ton_hours_per_scfm(index.latent_j_s_m3),
            "sensible": ton_hours_per_scfm(index.sensible_j_s_m3),
        },
        "year": spelled_out(json.loads(canonical_json(year.found))),
    }
    text = json.dumps(head, sort_keys=True, ensure_ascii=False, indent=1, allow_nan=False)
    return (text + "\n").encode()


def year_model(
    year: HouseYear,
    *,
    preference: UnitPreference,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> ReportModel:
    """A year in words, tables and charts.

    Parameters
    ----------
    year
        What to write.
    preference
        Units of measure to show.
    number_style
        Decimal mark of the numbers shown.

    >>> import tempfile
    >>> from ventwright.actions.demo import examples_folder
    >>> house = examples_folder() / "juniper_mesa" / "house.toml"
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     flat = Path(folder) / "flat.csv"
    ...     _ = flat.write_text("temperature [C],rh [%]\\n" + "5,70\\n" * 8760)
    ...     year = follow_house_year(house, flat)
    >>> year_model(year, preference=UnitPreference.IP).subtitle
    'Juniper Mesa in the weather of flat.csv'
    """
    from ventwright.report import compose_year

    return compose_year(
        year.found,
        pressure_pa=year.pressure_pa,
        preference=preference,
        number_style=number_style,
        snapshot_sha256=year.snapshot_sha256,
        engine=__version__,
    )


def write_year_report(
    year: HouseYear,
    path: Path,
    *,
    preference: UnitPreference,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> None:
    """Write a year as PDF with its snapshot attached.

    Parameters
    ----------
    year
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

    >>> import tempfile
    >>> from ventwright.actions.demo import examples_folder
    >>> house = examples_folder() / "juniper_mesa" / "house.toml"
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     flat = Path(folder) / "flat.csv"
    ...     _ = flat.write_text("temperature [C],rh [%]\\n" + "5,70\\n" * 8760)
    ...     pdf = Path(folder) / "year.pdf"
    ...     write_year_report(follow_house_year(house, flat), pdf, preference=UnitPreference.IP)
    ...     pdf.read_bytes()[:5]
    b'%PDF-'
    """
    from ventwright.report import render_pdf

    model = year_model(year, preference=preference, number_style=number_style)
    write_whole(path, render_pdf(model, snapshot=year.snapshot_bytes))


def write_year_pictures(
    year: HouseYear,
    folder: Path,
    *,
    preference: UnitPreference,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> tuple[Path, ...]:
    """Write the charts of a year as SVG files.

    Parameters
    ----------
    year
        What to draw.
    folder
        Where; it is made if it isn't there.
    preference
        Units of measure to show.
    number_style
        Decimal mark of the numbers shown.

    Returns
    -------
    tuple of Path
        The files, one for each chart.

    Raises
    ------
    UserError
        If the place can't be written to.

    >>> import tempfile
    >>> from ventwright.actions.demo import examples_folder
    >>> house = examples_folder() / "juniper_mesa" / "house.toml"
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     flat = Path(folder) / "flat.csv"
    ...     _ = flat.write_text("temperature [C],rh [%]\\n" + "5,70\\n" * 8760)
    ...     year = follow_house_year(house, flat)
    ...     files = write_year_pictures(year, Path(folder) / "c", preference=UnitPreference.IP)
    >>> files[0].name
    'year-dew-points.svg'
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as mistake:
        raise UserError(f"can't write to {folder}: {mistake.strerror or mistake}") from mistake
    model = year_model(year, preference=preference, number_style=number_style)
    written = []
    for picture in (p for section in model.sections for p in section.pictures):
        path = folder / f"{picture.id}.svg"
        write_whole(path, picture.svg.encode())
        written.append(path)
    return tuple(written)


def year_options(
    *,
    heating_c: float | None = None,
    cooling_c: float | None = None,
    wanted_rel_humidity_frac: float | None = None,
    dehumidifier_kg_s: float | None = None,
    release_kg_s: float | None = None,
) -> YearOptions:
    """Options of a year from what was typed, the usual ones where nothing was.

    Parameters
    ----------
    heating_c, cooling_c
        What heating and cooling hold [°C].
    wanted_rel_humidity_frac
        Relative humidity that drying is counted to.
    dehumidifier_kg_s
        Capacity of a dehumidifier [kg/s].
    release_kg_s
        Moisture released [kg/s].

    Raises
    ------
    UserError
        Temperatures out of order, a humidity that is none, a negative rate.

    >>> year_options(heating_c=21.0).heating_c
    21.0
    """
    from ventwright.climate import YearOptions

    given: dict[str, Any] = {
        "heating_c": heating_c,
        "cooling_c": cooling_c,
        "wanted_rel_humidity_frac": wanted_rel_humidity_frac,
        "dehumidifier_kg_s": dehumidifier_kg_s,
        "release_kg_s": release_kg_s,
    }
    options = YearOptions(**{name: value for name, value in given.items() if value is not None})
    if not 5.0 <= options.heating_c <= 30.0 or not options.heating_c <= options.cooling_c:
        raise UserError(
            f"heating holds {options.heating_c:g} °C and cooling {options.cooling_c:g} °C; heating "
            "between 5 and 30 °C and cooling not below it are taken"
        )
    if not 0.2 <= options.wanted_rel_humidity_frac <= 0.95:
        raise UserError(
            f"drying is counted to {100.0 * options.wanted_rel_humidity_frac:g} %; 20 to 95 % is "
            "taken"
        )
    for name in ("dehumidifier_kg_s", "release_kg_s"):
        if (getattr(options, name) or 0.0) < 0.0:
            raise UserError(f"{name.split('_')[0]} is below 0; 0 or more is taken")
    return options
