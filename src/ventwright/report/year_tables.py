"""Tables of a year: airs, surfaces, heat, water, design states, indoor humidity, doubts."""

from __future__ import annotations

from ventwright.quantities import Dimension, Severity
from ventwright.report.engine_words import in_measures
from ventwright.report.model import Cell, Mark, Table
from ventwright.report.pen import cells, table_if
from ventwright.report.year_pen import YearPen
from ventwright.uncertainty import Estimate, budget, exact

_SHOWN_INFLUENCES = 3


def airs_table(pen: YearPen) -> tuple[Table, ...]:
    """Outdoor, supply and indoor air.

    Parameters
    ----------
    pen
        What is written about.
    """
    m = pen.measures
    temperature = m.symbol(Dimension.TEMPERATURE)
    rows = [
        cells(
            pen.say(f"year-air.{s.name}"),
            pen.temperature_number(s.mean_c),
            m.number(s.mean_humidity_ratio_kg_kg, Dimension.HUMIDITY_RATIO, digits=1),
            m.number(s.mean_enthalpy_j_kg, Dimension.ENTHALPY, digits=1),
            pen.temperature_number(s.low_dew_point_c),
            pen.temperature_number(s.mid_dew_point_c),
            pen.temperature_number(s.high_dew_point_c),
        )
        for s in pen.found.streams
    ]
    numbers = ("mean", "humidity-ratio", "enthalpy", "low-dew", "mid-dew", "high-dew")
    return table_if(
        rows,
        id="year-airs",
        title=pen.say("year-table.airs"),
        columns=pen.columns(
            "air",
            *numbers,
            numbers=numbers,
            mean=temperature,
            humidity_ratio=m.symbol(Dimension.HUMIDITY_RATIO),
            enthalpy=m.symbol(Dimension.ENTHALPY),
            low_dew=temperature,
            mid_dew=temperature,
            high_dew=temperature,
        ),
        note=pen.say("year-table.airs-note"),
    )


def surfaces_table(pen: YearPen) -> tuple[Table, ...]:
    """Each surface that can be followed.

    Parameters
    ----------
    pen
        What is written about.
    """
    rows = [
        cells(
            s.name,
            pen.say(f"year-air.{s.air}"),
            Cell(text=pen.hours(s.wet_h), mark=Mark.CAUTION if s.wet_h else None),
            pen.hours(s.supply_dew_h),
            pen.hours(s.longest_wet_h),
            pen.hours(s.mould_h),
            pen.measures.number(s.lowest_margin_k, Dimension.TEMPERATURE_DIFF, digits=1),
        )
        for s in pen.found.surfaces
    ]
    numbers = ("wet", "supply-dew", "longest", "mould", "margin")
    return table_if(
        rows,
        id="year-surfaces",
        title=pen.say("year-table.surfaces"),
        columns=pen.columns(
            "surface",
            "touched",
            *numbers,
            numbers=numbers,
            **dict.fromkeys(("wet", "supply_dew", "longest", "mould"), "h"),
            margin=pen.measures.symbol(Dimension.TEMPERATURE_DIFF),
        ),
        note=pen.say("year-table.surfaces-note"),
    )


def heat_table(pen: YearPen) -> tuple[Table, ...]:
    """Heat of ventilation and infiltration.

    Parameters
    ----------
    pen
        What is written about.
    """
    energy = pen.found.energy
    codes = (
        "recovered_heating_j",
        "lost_heating_j",
        "infiltration_heating_j",
        "kept_out_cooling_j",
        "brought_in_cooling_j",
        "unasked_j",
        "latent_kept_out_j",
    )
    return _figures(pen, "heat", {code: float(getattr(energy, code)) for code in codes})


def water_table(pen: YearPen) -> tuple[Table, ...]:
    """Water of ventilation and drying.

    Parameters
    ----------
    pen
        What is written about.
    """
    water = pen.found.moisture
    codes = ("brought_in_kg", "kept_out_kg", "given_back_kg", "dehumidifier_kg", "coil_kg")
    values = {code: float(getattr(water, code)) for code in (*codes, "worst_day_kg_s")}
    return _figures(pen, "water", values)


def _figures(pen: YearPen, name: str, values: dict[str, float]) -> tuple[Table, ...]:
    """A row for each figure that isn't zero, with its uncertainty where it is known."""
    rows = []
    for code, value in values.items():
        if value == 0.0:
            continue
        estimate = pen.found.estimate_si(code)
        amount, interval = pen.figure(code, estimate or exact(value))
        rows.append(cells(pen.figure_name(code), amount, interval if estimate else ""))
    return table_if(
        rows,
        id=f"year-{name}",
        title=pen.say(f"year-table.{name}"),
        columns=pen.columns("figure", "amount", "interval", numbers=("amount", "interval")),
    )


def design_table(pen: YearPen) -> tuple[Table, ...]:
    """Moist design states and what they ask for.

    Parameters
    ----------
    pen
        What is written about.
    """
    m = pen.measures
    temperature, heat = m.symbol(Dimension.TEMPERATURE), m.symbol(Dimension.HEAT_RATE)
    rows = [
        cells(
            pen.measures.marked(f"{100.0 * d.exceeded_frac:g} %"),
            pen.temperature_number(d.dew_point_c),
            pen.temperature_number(d.coincident_c),
            _positive(pen, d.drying_kg_s, Dimension.MOISTURE_RATE),
            _positive(pen, d.latent_w, Dimension.HEAT_RATE),
            m.estimate_number(d.sensible_w, Dimension.HEAT_RATE),
        )
        for d in pen.found.design
    ]
    numbers = ("exceeded", "dew", "coincident", "drying", "latent", "sensible")
    return table_if(
        rows,
        id="year-design",
        title=pen.say("year-table.design"),
        columns=pen.columns(
            *numbers,
            numbers=numbers,
            dew=temperature,
            coincident=temperature,
            drying=m.symbol(Dimension.MOISTURE_RATE),
            latent=heat,
            sensible=heat,
        ),
        note=pen.say("year-table.design-note"),
    )


def _positive(pen: YearPen, estimate_si: Estimate, dimension: Dimension) -> str:
    """A load; where the air outside is dry enough there is none."""
    if estimate_si.value <= 0.0:
        return "0"
    return pen.measures.estimate_number(estimate_si, dimension)


def indoor_table(pen: YearPen) -> tuple[Table, ...]:
    """Hours by indoor relative humidity in steps of 10 %.

    Parameters
    ----------
    pen
        What is written about.
    """
    bins = pen.found.indoor.humidity_bins_h
    pairs = [bins[i] + bins[i + 1] for i in range(0, len(bins), 2)]
    rows = [
        cells(f"{10 * i} to {10 * (i + 1)} %", pen.hours(hours))
        for i, hours in enumerate(pairs)
        if hours
    ]
    return table_if(
        rows,
        id="year-indoor",
        title=pen.say("year-table.indoor"),
        columns=pen.columns("humidity", "hours", numbers=("hours",), hours="h"),
    )


def budgets_table(pen: YearPen) -> tuple[Table, ...]:
    """The largest influences on each figure.

    Parameters
    ----------
    pen
        What is written about.
    """
    rows = []
    for one in pen.found.estimates:
        shares = [row for row in budget(one.estimate_si) if row.share_frac >= 0.005]
        amount, interval = pen.figure(one.code.partition(":")[0], one.estimate_si)
        if not shares or interval.split(" ")[0] in ("0", "0.0"):
            continue
        text = "; ".join(
            f"{row.label} {100.0 * row.share_frac:.0f} %" for row in shares[:_SHOWN_INFLUENCES]
        )
        rows.append(cells(pen.figure_name(one.code), amount, interval, text))
    return table_if(
        rows,
        id="year-budgets",
        title=pen.say("year-table.budgets"),
        columns=pen.columns(
            "figure", "amount", "interval", "influence", numbers=("amount", "interval")
        ),
        note=pen.say("year-table.budgets-note"),
    )


def doubts_table(pen: YearPen) -> tuple[Table, ...]:
    """Problems, mistakes first.

    Parameters
    ----------
    pen
        What is written about.
    """
    order = (Severity.MISTAKE, Severity.REFUSAL, Severity.WARNING, Severity.NOTE)
    rows = [
        cells(
            p.where,
            Cell(
                text=in_measures(p.message, pen.measures),
                mark=Mark.NOTE if p.severity is Severity.NOTE else Mark.CAUTION,
            ),
            in_measures(p.remedy, pen.measures),
        )
        for p in sorted(pen.found.problems, key=lambda p: order.index(p.severity))
    ]
    return table_if(
        rows,
        id="year-doubts",
        title=pen.say("year-table.doubts"),
        columns=pen.columns("where", "what", "remedy"),
    )
