"""Surfaces that could get wet, each against the air that touches it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ventwright.air import AirEstimate
from ventwright.findings.looks import Looks
from ventwright.findings.model import (
    SurfaceFinding,
)
from ventwright.house import (
    House,
    Phase,
    StationKind,
    Surface,
    SurfaceAir,
)
from ventwright.moisture import (
    SafeLimit,
    check_surface,
    highest_safe_dew_point,
    surface_temperature_from_factor,
)
from ventwright.quantities import AirKind
from ventwright.uncertainty import (
    Distribution,
    Estimate,
    measured,
    u_from_half_width,
)

TYPED_SURFACE_HALF_WIDTH_K = 1.5
"""How well a surface temperature typed in the house file, not measured, is known. Judgement."""
FACTOR_HALF_WIDTH_FRAC = 0.05
"""How well a typed temperature factor is known. Judgement."""


def surfaces(house: House, looks: Looks, *, setting: str, phase: Phase) -> Iterator[SurfaceFinding]:
    """Every listed surface against the dew point of the air that touches it.

    The temperature is a reading of the visit, else the typed temperature, else computed from the
    typed temperature factor and the air on both sides; the code of its origin is kept.

    Parameters
    ----------
    house, looks
        The record and its interpreted readings.
    setting, phase
        The state of the system that the surfaces are judged in.
    """
    for surface in house.surfaces:
        temperature, origin = _surface_temperature(surface, looks, setting, phase)
        air, air_name = _surface_air(surface, house, looks, setting, phase)
        reason = "" if temperature is not None else "no-surface-temperature"
        if air is None:
            reason = "no-air-state"
        check = None
        if temperature is not None and air is not None:
            check = check_surface(
                surface_id=surface.id,
                surface_temperature_c=temperature,
                air=air,
                air_name=air_name,
            )
        yield SurfaceFinding(
            surface_id=surface.id,
            name=surface.name or surface.id,
            kind=surface.kind.value,
            origin_code=origin,
            check=check,
            reason_code=reason,
        )


def safe_dew_point(house: House, found: Sequence[SurfaceFinding]) -> SafeLimit | None:
    """The highest indoor dew point that leaves every surface touched by room air dry.

    Parameters
    ----------
    house
        For the air that touches each surface.
    found
        The surfaces as judged.
    """
    of_room = {s.id for s in house.surfaces if s.air is SurfaceAir.ROOM}
    checks = [s.check for s in found if s.check is not None and s.surface_id in of_room]
    if not checks:
        return None
    return highest_safe_dew_point(
        {c.surface_id: c.surface_temperature_c for c in checks},
        u_dew_point_k=max(c.dew_point_c.u_std for c in checks),
    )


def _surface_temperature(
    surface: Surface, looks: Looks, setting: str, phase: Phase
) -> tuple[Estimate | None, str]:
    read = [
        r
        for r in looks.readings
        if r.station.kind is StationKind.SURFACE
        and r.station.ref == surface.id
        and r.scalar_si is not None
        and r.is_used
    ]
    read.sort(key=lambda r: (r.phase is not phase, r.setting != setting))
    if read:
        return read[0].scalar_si, "measured"
    if surface.temperature_c is not None:
        return (
            measured(
                surface.temperature_c,
                u_std=u_from_half_width(
                    TYPED_SURFACE_HALF_WIDTH_K, distribution=Distribution.RECTANGULAR
                ),
                id=f"surface:{surface.id}:typed",
                label="surface temperature, typed and not measured",
                distribution=Distribution.RECTANGULAR,
            ),
            "typed",
        )
    factor = surface.temperature_factor_frac
    if factor is not None and looks.air.outdoor is not None:
        return (
            surface_temperature_from_factor(
                indoor_c=_indoor(surface, looks, setting, phase).temperature_c,
                outdoor_c=looks.air.outdoor.temperature_c,
                temperature_factor_frac=measured(
                    factor,
                    u_std=u_from_half_width(
                        FACTOR_HALF_WIDTH_FRAC, distribution=Distribution.RECTANGULAR
                    ),
                    id=f"surface:{surface.id}:factor",
                    label="temperature factor, typed",
                    distribution=Distribution.RECTANGULAR,
                ),
            ),
            "computed",
        )
    return None, ""


def _indoor(surface: Surface, looks: Looks, setting: str, phase: Phase) -> AirEstimate:
    if surface.room is not None:
        found = looks.air.nearest(f"room:{surface.room}", setting, phase)
        if found is not None:
            return found[0]
    return looks.air.room


def _surface_air(
    surface: Surface, house: House, looks: Looks, setting: str, phase: Phase
) -> tuple[AirEstimate | None, str]:
    if surface.air is SurfaceAir.OUTDOOR:
        for system in house.systems:
            found = looks.air.nearest(f"{system.id}/{AirKind.OUTDOOR.value}", setting, phase)
            if found is not None:
                return found[0], "outdoor"
        return looks.air.outdoor, "outdoor"
    stream = AirKind.SUPPLY if surface.air is SurfaceAir.SUPPLY else AirKind.EXTRACT
    if surface.air is SurfaceAir.ROOM and surface.room is not None:
        found = looks.air.nearest(f"room:{surface.room}", setting, phase)
        if found is not None:
            return found[0], "room"
    for system in house.systems:
        found = looks.air.nearest(f"{system.id}/{stream.value}", setting, phase)
        if found is not None:
            return found[0], stream.value
    if surface.air is SurfaceAir.ROOM and not looks.air.is_room_assumed:
        return looks.air.room, "room"
    return None, ""
