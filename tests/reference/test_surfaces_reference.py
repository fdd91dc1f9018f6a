"""Wet surfaces against printed examples and independent calculations, row by row."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.reference import shelves
from tests.unit.recovery.cases import SEA_LEVEL_PA, celsius
from ventwright.air import AirEstimate, air_estimate_from
from ventwright.moisture import (
    ClimateMonth,
    critical_month,
    critical_surface_temperature_c,
    duct_skin_temperature,
    glazing_temperature,
    growth_rel_humidity_frac,
    insulation_needed_m2k_w,
    least_temperature_factor,
    prob_wet_frac,
    rel_humidity_at_dew_point_frac,
    surface_temperature_from_factor,
    temperature_factor_from,
)
from ventwright.uncertainty import difference, exact, measured

R_VALUE_M2K_W = 0.3048**2 * 3600.0 / (1.8 * 1055.05585262)


def room(inputs: dict[str, Any]) -> AirEstimate:
    return air_estimate_from(
        pressure_pa=exact(SEA_LEVEL_PA),
        temperature_c=exact(inputs["temperature_c"]),
        rel_humidity_frac=exact(inputs["rel_humidity_frac"]),
    )


def surface_from_factor(*, factor: float, indoor_c: float, outdoor_c: float) -> float:
    return surface_temperature_from_factor(
        indoor_c=exact(indoor_c),
        outdoor_c=exact(outdoor_c),
        temperature_factor_frac=exact(factor),
    ).value


def glazing(*, u_value: float, indoor_c: float, outdoor_c: float) -> float:
    return glazing_temperature(
        indoor_c=exact(indoor_c), outdoor_c=exact(outdoor_c), u_value_w_m2_k=exact(u_value)
    ).value


def duct_skin_f(*, ambient_f: float, duct_air_f: float, r_value: float) -> float:
    skin = duct_skin_temperature(
        ambient_c=exact(celsius(ambient_f)),
        duct_air_c=exact(celsius(duct_air_f)),
        insulation_m2k_w=exact(r_value * R_VALUE_M2K_W),
    )
    return 32.0 + 1.8 * skin.value


def insulation_r_value(*, ambient_f: float, duct_air_f: float, dew_point_f: float) -> float:
    needed = insulation_needed_m2k_w(
        ambient_c=celsius(ambient_f),
        duct_air_c=celsius(duct_air_f),
        dew_point_c=celsius(dew_point_f),
    )
    return needed / R_VALUE_M2K_W


def month_factor(
    *, outdoor_c: float, outdoor_frac: float, excess_pa: float, indoor_c: float
) -> float:
    month = ClimateMonth(
        name="the month",
        outdoor_c=outdoor_c,
        outdoor_rel_humidity_frac=outdoor_frac,
        excess_pa=excess_pa,
    )
    found = critical_month([month], indoor_c=indoor_c)
    assert found is not None
    return found.temperature_factor


def prob_dry(*, surface_c: float, u_surface_k: float, dew_point_c: float, u_dew_k: float) -> float:
    surface = measured(surface_c, u_std=u_surface_k, id="surface", label="surface")
    dew = measured(dew_point_c, u_std=u_dew_k, id="dew", label="dew point")
    return 1.0 - prob_wet_frac(difference(surface, dew))


FUNCTIONS: dict[str, Callable[..., float]] = {
    "temperature_factor": lambda **i: (
        temperature_factor_from(**{name: exact(value) for name, value in i.items()}).value
    ),
    "critical_surface_c": lambda at, **i: (
        critical_surface_temperature_c(room(i), rel_humidity_frac=at).value
    ),
    "least_factor": lambda at, outdoor_c, **i: (
        least_temperature_factor(room(i), outdoor_c=exact(outdoor_c), rel_humidity_frac=at).value
    ),
    "surface_from_factor": surface_from_factor,
    "glazing_c": glazing,
    "glazing_rel_humidity": lambda **i: rel_humidity_at_dew_point_frac(
        dew_point_c=glazing(**i), temperature_c=i["indoor_c"]
    ),
    "edge_rel_humidity": lambda **i: rel_humidity_at_dew_point_frac(
        dew_point_c=surface_from_factor(**i), temperature_c=i["indoor_c"]
    ),
    "rel_humidity_at_dew_point": lambda dew_point_f, temperature_f: rel_humidity_at_dew_point_frac(
        dew_point_c=celsius(dew_point_f), temperature_c=celsius(temperature_f)
    ),
    "duct_skin_f": duct_skin_f,
    "insulation_r_value": insulation_r_value,
    "month_factor": month_factor,
    "growth_rel_humidity": growth_rel_humidity_frac,
    "prob_dry": prob_dry,
}


@pytest.mark.parametrize("row", shelves.rows("surfaces.csv"), ids=str)
def test_surfaces(row: shelves.Row) -> None:
    row.check(FUNCTIONS[row["function"]](**row.inputs))
