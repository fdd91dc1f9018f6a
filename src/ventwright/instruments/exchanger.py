"""Flow from the pressure across an exchanger and the unit's own table of pressure and flow."""

from __future__ import annotations

import math
from itertools import pairwise

from ventwright.house import ExchangerPressure, ExchangerTable, InstrumentKind
from ventwright.instruments.case import Case, Indicated, Scaling
from ventwright.instruments.indication import uncertain
from ventwright.instruments.terminals_read import drop_of
from ventwright.instruments.wording import percent_text, pressure_text
from ventwright.quantities import ICE_POINT_K, STANDARD_ATMOSPHERE_PA
from ventwright.uncertainty import Estimate, combine, product, propagate

DEFAULT_TABLE_HALF_WIDTH = 0.05
FILTER_HALF_WIDTH = 0.08
UNKNOWN_TEMPERATURE_HALF_WIDTH = 0.04
PASSAGE_TEMPERATURE_HALF_WIDTH_K = 6.0
"""The air in the passages is on its way between two temperatures of which one is known."""
GAS_CONSTANT_J_KG_K = 287.055


def viscosity_ratio(*, temperature_c: float, reference_c: float) -> float:
    """Viscosity of air against that at another temperature, by Sutherland's law [1].

    Parameters
    ----------
    temperature_c
        Temperature [°C].
    reference_c
        The other [°C].

    Source: sutherland_viscosity

    >>> round(viscosity_ratio(temperature_c=-6.67, reference_c=21.1), 3)
    0.925
    """
    t, r = temperature_c + ICE_POINT_K, reference_c + ICE_POINT_K
    return float((t / r) ** 1.5 * (r + 110.4) / (t + 110.4))


def flow_from_table(
    points: tuple[tuple[float, float], ...], *, pressure_pa: float
) -> tuple[float, float] | None:
    """Flow and local exponent of a table of pressure and flow, straight in logarithms.

    Between two points Δp = a · Q^m, which is what exchangers, filters and ducts do, so the curve is
    monotone and exact at the points.

    Parameters
    ----------
    points
        Pairs of pressure [Pa] and flow [m³/s], both > 0 and rising together; at least two.
    pressure_pa
        Pressure [Pa].

    Returns
    -------
    tuple of float or None
        Flow [m³/s] and exponent m [1]; None outside the table.

    >>> flow_from_table(((20.0, 0.02), (80.0, 0.08)), pressure_pa=40.0)
    (0.04, 1.0)
    """
    for (p0, q0), (p1, q1) in pairwise(points):
        if p0 <= pressure_pa <= p1:
            exponent = math.log(p1 / p0) / math.log(q1 / q0)
            return q0 * (pressure_pa / p0) ** (1.0 / exponent), exponent
    return None


def read_exchanger_pressure(case: Case, look: ExchangerPressure) -> Indicated:
    """Flow by the unit's table, shifted for viscosity and density of the air in the passages.

    With Δp = a Q^m, dimensions ask for Δp ~ μ^(2−m) ρ^(m−1) Q^m, so colder air flows more easily
    where the passages are laminar (m near 1). Outside the table there is no answer.

    Parameters
    ----------
    case
        The reading.
    look
        What was looked at.

    Source: exchanger_scaling
    """
    table, points = _table(case)
    drop = drop_of(case, look.drops_pa, usual=InstrumentKind.MANOMETER)
    found = flow_from_table(points, pressure_pa=drop.value)
    if found is None:
        case.flags.refuse(
            "outside-table",
            f"{pressure_text(drop.value)} lies outside the unit's table, "
            f"{pressure_text(points[0][0])} to {pressure_text(points[-1][0])}",
            "read the flow by another method at this fan setting",
        )
    value, exponent = found
    flow = propagate(
        lambda p: value * (p / drop.value) ** (1.0 / exponent),
        [drop],
        partials=[value / (exponent * drop.value)],
    )
    flow = product(flow, _air_factor(case, table, exponent))
    half = DEFAULT_TABLE_HALF_WIDTH if table.accuracy_frac is None else table.accuracy_frac
    factor = uncertain(
        1.0,
        half_width=half,
        id=f"ventilation_unit:{case.reading.station.system or ''}:table:{table.stream.value}",
        label=f"the unit's table for {table.stream.value}",
    )
    flow = product(flow, factor)
    if table.includes_filter:
        flow = product(flow, _filter_factor(case))
    return Indicated(
        flow_m3_s=flow,
        scaling=Scaling.ACTUAL,
        method_note="pressure across the exchanger against the unit's table, shifted for the "
        "viscosity of the air",
    )


def _table(case: Case) -> tuple[ExchangerTable, tuple[tuple[float, float], ...]]:
    unit = case.ventilation_unit
    tables = () if unit is None else unit.exchanger_tables
    stream = case.reading.station.stream
    table = next((t for t in tables if t.stream is stream), None)
    if table is None:
        known = ", ".join(t.stream.value for t in tables) or "none"
        case.flags.refuse(
            "table-missing",
            f"the unit has no table of pressure and flow for {stream or 'this station'}; "
            f"tables given: {known}",
            "name the stream of the table as the station, or give the unit its table",
        )
    points = tuple(sorted((p.pressure_pa, p.flow_m3_s) for p in table.points))
    pairs = list(pairwise(points))
    is_rising = all(a[0] < b[0] and a[1] < b[1] for a, b in pairs)
    if not pairs or not is_rising or points[0][0] <= 0.0 or points[0][1] <= 0.0:
        case.flags.refuse(
            "table-not-rising",
            "the unit's table needs two points or more in which pressure and flow rise together",
            "mend the table from the unit's papers",
        )
    return table, points


def _air_factor(case: Case, table: ExchangerTable, exponent: float) -> Estimate:
    """Flow at the air's viscosity and density over flow at the table's, at one pressure."""
    reference_c = table.reference_temperature_c
    at = f"{case.station_id}:exchanger_air"
    label = "viscosity of the air in the exchanger"
    air = case.air
    reference_density = STANDARD_ATMOSPHERE_PA / (GAS_CONSTANT_J_KG_K * (reference_c + ICE_POINT_K))
    rise = (exponent - 1.0) / exponent
    by_density = (reference_density / air.density_kg_m3.value) ** rise
    density = combine(
        by_density, [(-rise * by_density / air.density_kg_m3.value, air.density_kg_m3)]
    )
    if air.temperature_c is None:
        return product(
            density,
            uncertain(1.0, half_width=UNKNOWN_TEMPERATURE_HALF_WIDTH, id=at, label=label),
        )

    def by_viscosity(temperature_c: float) -> float:
        ratio = viscosity_ratio(temperature_c=temperature_c, reference_c=reference_c)
        return float(ratio ** ((exponent - 2.0) / exponent))

    shifted = propagate(by_viscosity, [air.temperature_c])
    apart = PASSAGE_TEMPERATURE_HALF_WIDTH_K
    half = 0.5 * abs(
        by_viscosity(air.temperature_c.value + apart)
        - by_viscosity(air.temperature_c.value - apart)
    )
    return product(product(density, shifted), uncertain(1.0, half_width=half, id=at, label=label))


def _filter_factor(case: Case) -> Estimate:
    case.flags.warn(
        "table-includes-filter",
        "the table's taps take in the filter: a loaded filter shows more flow than there is; "
        f"± {percent_text(FILTER_HALF_WIDTH)} is allowed for",
        "read with clean filters of the class the table was made with",
    )
    return uncertain(
        1.0,
        half_width=FILTER_HALF_WIDTH,
        id=f"{case.station_id}:filter",
        label="state of the filter between the taps",
    )
