"""Readings typed as a person would, and the air they were taken in."""

from __future__ import annotations

from typing import Any

from ventwright.air import air_estimate_from
from ventwright.house import Instrument, InstrumentKind, Reader, Reading, parse_reading
from ventwright.instruments import (
    FlowInterpretation,
    StationAir,
    interpret_flow,
    station_air_from,
)
from ventwright.quantities import STANDARD_AIR_DENSITY_KG_M3
from ventwright.uncertainty import Estimate, exact, measured

CFM_M3_S = 0.3048**3 / 60.0
FPM_M_S = 0.3048 / 60.0
IN2_M2 = 0.0254**2
IN_WC_PA = 249.08891


def reading(method: str, *, id: str = "r1", station: str = "SUP", **fields: Any) -> Reading:
    """Read one reading from the texts a person would type."""
    reader = Reader()
    found = parse_reading(
        {
            "id": id,
            "station": station,
            "setting": "continuous",
            "phase": "as_found",
            "method": method,
            **fields,
        },
        where="reading",
        reader=reader,
    )
    assert found is not None and not reader.problems, reader.problems
    return found


def meter(kind: InstrumentKind, **fields: Any) -> Instrument:
    """An instrument of one class."""
    return Instrument(id=fields.pop("id", "m1"), kind=kind, **fields)


def plain_air(density_kg_m3: float = STANDARD_AIR_DENSITY_KG_M3) -> StationAir:
    """Air whose density is known exactly, dry."""
    return StationAir(
        density_kg_m3=exact(density_kg_m3),
        specific_volume_m3_kg=exact(1.0 / density_kg_m3),
        origin="assumed for a test",
        temperature_c=exact(20.0),
    )


def measured_air(*, pressure_pa: float = 101_325.0, temperature_c: float = 20.0) -> StationAir:
    """Air read with a probe."""
    air = air_estimate_from(
        pressure_pa=measured(pressure_pa, u_std=150.0, id="barometer", label="barometer"),
        temperature_c=measured(temperature_c, u_std=0.3, id="t", label="temperature"),
        rel_humidity_frac=measured(0.4, u_std=0.02, id="rh", label="humidity"),
    )
    return station_air_from(air, origin="measured at SUP")


def flow_of(found: FlowInterpretation) -> Estimate:
    """The actual flow, which must be there."""
    assert found.figure is not None, found.flags
    return found.figure.flow_m3_s


def codes(found: Any) -> list[str]:
    """Codes of all flags."""
    return [flag.code for flag in found.flags]


def message(found: Any, code: str) -> str:
    """Message and remedy of the flag with this code."""
    flag = next(f for f in found.flags if f.code == code)
    return f"{flag.message} | {flag.remedy}"


def interpret(one: Reading, instrument: Instrument | None, **fields: Any) -> FlowInterpretation:
    """Interpret in standard air unless told otherwise."""
    air = fields.pop("air", None) or plain_air()
    return interpret_flow(one, instrument=instrument, air=air, **fields)


def share_of(estimate: Estimate, id: str) -> float:
    """Relative contribution of one influence; zero where it is absent."""
    found = next((c for c in estimate.components if c.influence.id == id), None)
    return 0.0 if found is None else found.contribution / estimate.value
