"""A moist-air state with uncertainty: what a probe's temperature and humidity say of all else."""

from __future__ import annotations

from ventwright.air.errors import AirStateError
from ventwright.air.pairs import moist_air_from
from ventwright.air.states import SATURATION_ROUNDING_FRAC, MoistAir
from ventwright.quantities.records import dataclass
from ventwright.quantities.words import HumidityOver
from ventwright.uncertainty import Estimate, combine

_PROPERTIES = (
    "temperature_c",
    "rel_humidity_frac",
    "humidity_ratio_kg_kg",
    "dew_point_c",
    "enthalpy_j_kg",
    "density_kg_m3",
    "specific_volume_m3_kg",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class AirEstimate:
    """One moist-air state, each property with its budget; all share the influences of the probe.

    Parameters
    ----------
    state
        The state at the values read.
    temperature_c, rel_humidity_frac, humidity_ratio_kg_kg, dew_point_c, enthalpy_j_kg
        Estimates of the state's properties.
    density_kg_m3
        Moist density.
    specific_volume_m3_kg
        Volume of moist air per mass of dry air.
    """

    state: MoistAir
    temperature_c: Estimate
    rel_humidity_frac: Estimate
    humidity_ratio_kg_kg: Estimate
    dew_point_c: Estimate
    enthalpy_j_kg: Estimate
    density_kg_m3: Estimate
    specific_volume_m3_kg: Estimate


def air_estimate_from(
    *,
    pressure_pa: Estimate,
    temperature_c: Estimate,
    rel_humidity_frac: Estimate | None = None,
    dew_point_c: Estimate | None = None,
    wet_bulb_c: Estimate | None = None,
    humidity_over: HumidityOver | None = None,
) -> AirEstimate:
    """State with uncertainty from a pressure, a temperature and one measure of humidity.

    First-order propagation with central differences over a twentieth of each standard uncertainty;
    where one of the two sides would lie beyond saturation, the other side alone gives the slope.

    Parameters
    ----------
    pressure_pa
        Barometric pressure [Pa].
    temperature_c
        Dry-bulb temperature [°C].
    rel_humidity_frac, dew_point_c, wet_bulb_c
        Exactly one of them.
    humidity_over
        Plane of the humidity below 0 °C; see `moist_air_from`.

    Returns
    -------
    AirEstimate
        All properties with budgets.

    Raises
    ------
    AirStateError
        As `moist_air_from` for the values themselves.

    Source: gum_2008

    >>> from ventwright.uncertainty import exact, measured
    >>> air = air_estimate_from(pressure_pa=exact(101325.0),
    ...     temperature_c=measured(20.0, u_std=0.289, id="t", label="temperature"),
    ...     rel_humidity_frac=measured(0.5, u_std=0.0173, id="rh", label="humidity"))
    >>> round(2 * air.dew_point_c.u_std, 1)
    1.2
    """
    given = {
        "pressure_pa": pressure_pa,
        "temperature_c": temperature_c,
        "rel_humidity_frac": rel_humidity_frac,
        "dew_point_c": dew_point_c,
        "wet_bulb_c": wet_bulb_c,
    }
    inputs = {name: e for name, e in given.items() if e is not None}
    values = {name: e.value for name, e in inputs.items()}
    if 1.0 < values.get("rel_humidity_frac", 0.0) <= 1.0 + SATURATION_ROUNDING_FRAC:
        values["rel_humidity_frac"] = 1.0
    state = moist_air_from(**values, humidity_over=humidity_over)  # type: ignore[arg-type]
    slopes = {
        name: _slopes(state, values, name, 0.05 * e.u_std)
        for name, e in inputs.items()
        if e.u_std > 0.0
    }
    estimates = {
        p: combine(getattr(state, p), [(slope[p], inputs[name]) for name, slope in slopes.items()])
        for p in _PROPERTIES
    }
    return AirEstimate(state=state, **estimates)


def _slopes(state: MoistAir, values: dict[str, float], name: str, step: float) -> dict[str, float]:
    """∂property/∂input for all properties, the plane held as it is in the state."""
    sides = []
    for signed in (step, -step):
        moved = {**values, name: values[name] + signed}
        try:
            there = moist_air_from(**moved, humidity_over=state.humidity_over)  # type: ignore[arg-type]
        except AirStateError:
            sides.append((0.0, state))
            continue
        sides.append((0.0, state) if _is_beyond_saturation(moved) else (signed, there))
    (high_step, high), (low_step, low) = sides
    width = high_step - low_step
    if width == 0.0:
        raise ValueError(f"no state beside {values!r} to take a slope from")
    return {p: (getattr(high, p) - getattr(low, p)) / width for p in _PROPERTIES}


def _is_beyond_saturation(given: dict[str, float]) -> bool:
    """Whether a state made of these was cut back to saturation and says nothing of the slope."""
    below_dry_bulb = (given.get("dew_point_c"), given.get("wet_bulb_c"))
    return given.get("rel_humidity_frac", 0.0) > 1.0 or any(
        point is not None and point > given["temperature_c"] for point in below_dry_bulb
    )
