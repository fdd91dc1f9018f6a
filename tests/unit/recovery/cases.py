"""Streams for tests: exact ones, and ones read by probes with limits."""

from __future__ import annotations

from ventwright.air import AirEstimate, MoistAir, air_estimate_from, kernels, moist_air_from
from ventwright.quantities import AirKind, HumidityOver
from ventwright.recovery import Stream
from ventwright.uncertainty import Distribution, Estimate, exact, measured, u_from_half_width

ODA, SUP, ETA, EHA = AirKind.OUTDOOR, AirKind.SUPPLY, AirKind.EXTRACT, AirKind.EXHAUST
STD_CFM_KG_S = 0.3048**3 / 60.0 * 1.20143
SEA_LEVEL_PA = 101_325.0


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def exact_air(
    *, temperature_c: float, humidity_ratio_kg_kg: float, pressure_pa: float = SEA_LEVEL_PA
) -> AirEstimate:
    """Air without uncertainty; a state beyond saturation keeps its temperature and humidity."""
    saturated = moist_air_from(
        pressure_pa=pressure_pa,
        temperature_c=temperature_c,
        rel_humidity_frac=1.0,
        humidity_over=HumidityOver.ICE,
    )
    state = moist_air_from(
        pressure_pa=pressure_pa,
        temperature_c=temperature_c,
        humidity_ratio_kg_kg=min(humidity_ratio_kg_kg, saturated.humidity_ratio_kg_kg),
    )
    names = AirEstimate.__dataclass_fields__
    fields = {name: exact(getattr(state, name)) for name in names if name != "state"}
    fields["humidity_ratio_kg_kg"] = exact(humidity_ratio_kg_kg)
    fields["enthalpy_j_kg"] = exact(
        kernels.enthalpy_j_kg(
            temperature_c=temperature_c, humidity_ratio_kg_kg=humidity_ratio_kg_kg
        )
    )
    return AirEstimate(state=state, **fields)


def limits(value: float, half_width: float, influence_id: str) -> Estimate:
    """A reading known within limits, as a data sheet states them."""
    if half_width == 0.0:
        return exact(value)
    return measured(
        value,
        u_std=u_from_half_width(half_width, distribution=Distribution.RECTANGULAR),
        id=influence_id,
        label=influence_id,
        distribution=Distribution.RECTANGULAR,
    )


def probed(
    kind: AirKind,
    temperature_c: float,
    rel_humidity_frac: float,
    *,
    probe: str | None = None,
    half_width_k: float = 0.5,
    half_width_frac: float = 0.03,
    pressure_pa: float = SEA_LEVEL_PA,
) -> AirEstimate:
    """State read by a probe of its own, or by the one named."""
    name = probe or kind.value
    return air_estimate_from(
        pressure_pa=exact(pressure_pa),
        temperature_c=limits(
            temperature_c, half_width_k, f"instrument:{name}:temperature:air_state"
        ),
        rel_humidity_frac=limits(
            rel_humidity_frac, half_width_frac, f"instrument:{name}:humidity:air_state"
        ),
        humidity_over=HumidityOver.WATER,
    )


def flow(kg_s: float, name: str, u_frac: float = 0.03) -> Estimate:
    return measured(kg_s, u_std=u_frac * kg_s, id=f"flow:{name}", label=f"flow {name}")


def streams(
    states: dict[AirKind, AirEstimate],
    supply_kg_s: Estimate | None = None,
    extract_kg_s: Estimate | None = None,
) -> dict[AirKind, Stream]:
    """One flow on each side, at its house end."""
    flows = {SUP: supply_kg_s, ETA: extract_kg_s}
    return {
        kind: Stream(kind=kind, air=air, mass_flow_kg_s=flows.get(kind))
        for kind, air in states.items()
    }


def closed(
    *,
    oda: tuple[float, float],
    eta: tuple[float, float],
    sensible: float,
    latent: float,
    supply_kg_s: float,
    extract_kg_s: float,
) -> dict[AirKind, MoistAir]:
    """Four states of an exchanger of given effectiveness, without loss, leak or fan."""
    start, room = _moist(*oda), _moist(*eta)
    rates = (
        supply_kg_s * (1006.0 + 1860.0 * start.humidity_ratio_kg_kg),
        extract_kg_s * (1006.0 + 1860.0 * room.humidity_ratio_kg_kg),
    )
    heat = sensible * min(rates) * (room.temperature_c - start.temperature_c)
    water = (
        latent
        * min(supply_kg_s, extract_kg_s)
        * (room.humidity_ratio_kg_kg - start.humidity_ratio_kg_kg)
    )
    return {
        ODA: start,
        SUP: _moved(start, heat / rates[0], water / supply_kg_s),
        ETA: room,
        EHA: _moved(room, -heat / rates[1], -water / extract_kg_s),
    }


def _moist(temperature_c: float, rel_humidity_frac: float) -> MoistAir:
    return moist_air_from(
        pressure_pa=SEA_LEVEL_PA,
        temperature_c=temperature_c,
        rel_humidity_frac=rel_humidity_frac,
        humidity_over=HumidityOver.WATER,
    )


def _moved(air: MoistAir, warmer_k: float, moister_kg_kg: float) -> MoistAir:
    return moist_air_from(
        pressure_pa=SEA_LEVEL_PA,
        temperature_c=air.temperature_c + warmer_k,
        humidity_ratio_kg_kg=air.humidity_ratio_kg_kg + moister_kg_kg,
        humidity_over=HumidityOver.WATER,
    )


def exactly(air: MoistAir) -> AirEstimate:
    return exact_air(temperature_c=air.temperature_c, humidity_ratio_kg_kg=air.humidity_ratio_kg_kg)
