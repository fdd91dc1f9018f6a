"""From a house file to what a year needs: what is written is taken, what isn't is assumed aloud."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.climate.house_plan import CoolingCoil, YearPlan, YearSurface
from ventwright.house import (
    DuctKind,
    DuctPiece,
    FanSetting,
    House,
    RatedBasis,
    RatedPoint,
    Recovery,
    SettingRole,
    Surface,
    SurfaceAir,
    SurfaceKind,
    System,
)
from ventwright.moisture import household_release, usual_film_m2k_w
from ventwright.quantities import Problem, Severity, Side
from ventwright.quantities.problems import UserError
from ventwright.recovery import TYPICAL_DEFROST, DefrostKind
from ventwright.uncertainty import (
    Distribution,
    Estimate,
    exact,
    measured,
    scale,
    u_from_half_width,
)

LEAKAGE_DIVISOR = 20.0
"""Leakage flow at 50 Pa over mean infiltration. Source: leakage_over_twenty"""
REFERENCE_PRESSURE_PA, USUAL_EXPONENT = 50.0, 0.65
UNKNOWN_INFILTRATION_1_H = 0.1
"""Air changes where no leakage was measured. Judgement."""
USUAL_SENSIBLE, USUAL_LATENT = 0.75, 0.50
"""Effectiveness where no rating is written. Judgement."""
PLAIN_FROST_C, ENERGY_FROST_C = -1.1, -12.2
"""Typical outdoor temperatures below which plate exchangers frost.

Source: energyplus_input_output
"""
USUAL_STOREY_M = 2.5
_HALF_WIDTHS = {"flow": 0.10, "infiltration": 0.50, "rating": 0.05, "assumed": 0.10}
"""Half widths taken as k = 2: planned flows and leakage in proportion, ratings as they are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class YearOptions:
    """What the user may say of a year that the house file doesn't hold.

    Parameters
    ----------
    heating_c
        What heating holds [°C].
    cooling_c
        What cooling holds [°C]; infinite where there is none.
    wanted_rel_humidity_frac
        Relative humidity that drying is counted to.
    dehumidifier_kg_s
        Capacity of a dehumidifier [kg/s]; 0 without one.
    release_kg_s
        Moisture released [kg/s]; by the number of people where None.
    coil
        Cooling coil that dries, None without one.
    """

    heating_c: float = 20.0
    cooling_c: float = math.inf
    wanted_rel_humidity_frac: float = 0.60
    dehumidifier_kg_s: float = 0.0
    release_kg_s: float | None = None
    coil: CoolingCoil | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class YearSnapshot:
    """What a year rests on; the weather by name and hash, for it is long and often not ours.

    Parameters
    ----------
    schema
        Of this record.
    engine
        Version that followed it.
    house
        The record of the house.
    weather_name
        Of the weather file.
    weather_sha256
        Hash of its bytes.
    options
        What the user said besides.
    """

    schema: str
    engine: str
    house: House
    weather_name: str
    weather_sha256: str
    options: YearOptions


def plan_year(house: House, options: YearOptions) -> tuple[YearPlan, tuple[Problem, ...]]:
    """What a year needs to know of a house, and what had to be assumed.

    Parameters
    ----------
    house
        The record.
    options
        What it doesn't hold.

    Returns
    -------
    tuple of YearPlan and problems
        A note for every assumption.

    Raises
    ------
    UserError
        Where the house has no system with planned flows, or neither volume nor floor area.

    Source: leakage_over_twenty, energyplus_input_output

    >>> from ventwright.house import System, VentilationUnit
    >>> unit = VentilationUnit(name="u", recovery=Recovery.HEAT)
    >>> day = FanSetting(id="day", role=SettingRole.CONTINUOUS, supply_flow_m3_s=0.05,
    ...                  extract_flow_m3_s=0.05)
    >>> barn = House(schema="ventwright-house-1", id="barn", name="Barn", volume_m3=300.0,
    ...     people=2, systems=(System(id="a", ventilation_unit=unit, fan_settings=(day,)),))
    >>> plan, notes = plan_year(barn, YearOptions())
    >>> plan.supply_m3_s.value, [n.code for n in notes][:2]
    (0.05, ['rating-assumed', 'infiltration-assumed'])
    """
    notes: list[Problem] = []
    volume_m3 = _volume_m3(house, notes)
    flows = [(s, *_system_flows(s)) for s in house.systems]
    supply = sum(q for _, q, _ in flows)
    extract = sum(q for _, _, q in flows)
    if not supply > 0.0:
        raise UserError(
            f"{house.name} has no planned supply flow; write supply_flow in "
            "[[systems.fan_settings]] or design_flow at the supply terminals"
        )
    sensible, latent = _effectiveness(flows, supply, notes)
    is_energy = any(s.ventilation_unit.recovery is Recovery.ENERGY for s in house.systems)
    has_recirculation = any(s.ventilation_unit.has_recirculation_defrost for s in house.systems)
    plan = YearPlan(
        name=house.name,
        volume_m3=volume_m3,
        supply_m3_s=_flow(supply, "supply"),
        extract_m3_s=_flow(extract, "extract"),
        infiltration_m3_s=_infiltration(house, volume_m3, notes),
        sensible_effectiveness=sensible,
        latent_effectiveness=latent,
        exhaust_transfer_frac=exact(_transfer(flows, supply)),
        release_kg_s=_release(house, options, notes),
        heating_c=options.heating_c,
        cooling_c=options.cooling_c,
        frost_threshold_c=ENERGY_FROST_C if is_energy else PLAIN_FROST_C,
        defrost=TYPICAL_DEFROST[DefrostKind.RECIRCULATION] if has_recirculation else None,
        wanted_rel_humidity_frac=options.wanted_rel_humidity_frac,
        dehumidifier_kg_s=options.dehumidifier_kg_s,
        coil=options.coil,
        surfaces=tuple(_surface(s, house) for s in house.surfaces),
    )
    notes.append(
        _note(
            "frost-threshold-typical",
            house.id,
            f"frost is counted below {plan.frost_threshold_c:.1f} °C outdoors, typical of plate "
            f"exchangers for {'heat and moisture' if is_energy else 'heat'}; the ventilation "
            "unit's manual comes first",
        )
    )
    return plan, tuple(notes)


def _volume_m3(house: House, notes: list[Problem]) -> float:
    if house.volume_m3 is not None:
        return house.volume_m3
    if house.floor_area_m2 is None:
        raise UserError(f"{house.name} has neither volume nor floor_area; write one of them")
    notes.append(
        _note(
            "volume-assumed",
            house.id,
            f"no volume is written; floor area times {USUAL_STOREY_M} m is taken",
        )
    )
    return house.floor_area_m2 * USUAL_STOREY_M


def _system_flows(system: System) -> tuple[float, float]:
    """Mean supply and extract flow of a day: settings by their hours, else the terminals."""
    settings = [s for s in system.fan_settings if s.supply_flow_m3_s is not None]
    if settings:
        return _mean_flow(settings, Side.SUPPLY), _mean_flow(settings, Side.EXTRACT)
    by_side = {
        side: sum(t.design_flow_m3_s or 0.0 for t in system.terminals if t.side is side)
        for side in Side
    }
    return by_side[Side.SUPPLY], by_side[Side.EXTRACT]


def _mean_flow(settings: Sequence[FanSetting], side: Side) -> float:
    timed = [s for s in settings if s.hours_per_day]
    if not timed:
        continuous = [s for s in settings if s.role is SettingRole.CONTINUOUS]
        return _running_flow((continuous or list(settings))[0], side)
    hours = sum(s.hours_per_day or 0.0 for s in timed)
    return sum((s.hours_per_day or 0.0) * _running_flow(s, side) for s in timed) / hours


def _running_flow(setting: FanSetting, side: Side) -> float:
    flow = setting.supply_flow_m3_s if side is Side.SUPPLY else setting.extract_flow_m3_s
    if flow is None:
        flow = setting.supply_flow_m3_s or 0.0
    if setting.run_time_s and setting.period_s:
        flow *= min(1.0, setting.run_time_s / setting.period_s)
    return flow


_Flows = list[tuple[System, float, float]]


def _transfer(flows: _Flows, supply: float) -> float:
    return sum(q * (s.ventilation_unit.exhaust_transfer_frac or 0.0) for s, q, _ in flows) / supply


def _effectiveness(flows: _Flows, supply: float, notes: list[Problem]) -> tuple[Estimate, Estimate]:
    """Effectiveness of all systems together, weighted by supply flow."""
    totals = {"sensible": 0.0, "latent": 0.0}
    half_width = _HALF_WIDTHS["rating"]
    for system, flow, _ in flows:
        unit = system.ventilation_unit
        for name, usual in (("sensible", USUAL_SENSIBLE), ("latent", USUAL_LATENT)):
            if name == "latent" and unit.recovery is not Recovery.ENERGY:
                continue
            rated = _rated(unit.rated_points, f"{name}_frac", flow)
            if rated is None:
                rated = usual
                half_width = _HALF_WIDTHS["assumed"]
                notes.append(
                    _note(
                        "rating-assumed",
                        system.id,
                        f"no rated {name} recovery is written; {usual:.2f} is assumed",
                    )
                )
            totals[name] += flow / supply * rated
        if any(p.basis is RatedBasis.NET for p in unit.rated_points):
            notes.append(
                _note(
                    "net-rating",
                    system.id,
                    "the rating is net of fan heat; supply air comes a little warmer than counted",
                )
            )
    estimates = []
    for name, value in totals.items():
        u_std = u_from_half_width(half_width, distribution=Distribution.NORMAL)
        estimates.append(
            exact(0.0)
            if value == 0.0
            else measured(
                value, u_std=u_std, id=f"climate:{name}", label=f"{name} recovery, rated or assumed"
            )
        )
    return estimates[0], estimates[1]


def _rated(points: Sequence[RatedPoint], name: str, flow_m3_s: float) -> float | None:
    """Rated figure at a flow: along the line between rated flows, the nearest beyond them.

    Ratings at several outdoor temperatures aren't mixed: the mildest test stands for the year.
    """
    own = [p for p in points if getattr(p, name) is not None]
    if not own:
        return None
    mildest = max(p.outdoor_temperature_c for p in own)
    own = sorted((p for p in own if p.outdoor_temperature_c == mildest), key=lambda p: p.flow_m3_s)
    if flow_m3_s <= own[0].flow_m3_s:
        return float(getattr(own[0], name))
    for left, right in itertools.pairwise(own):
        if flow_m3_s <= right.flow_m3_s:
            share = (flow_m3_s - left.flow_m3_s) / (right.flow_m3_s - left.flow_m3_s)
            low, high = float(getattr(left, name)), float(getattr(right, name))
            return low + share * (high - low)
    return float(getattr(own[-1], name))


def _flow(value: float, side: str) -> Estimate:
    return measured(
        value,
        u_std=u_from_half_width(_HALF_WIDTHS["flow"] * value, distribution=Distribution.NORMAL),
        id=f"climate:{side}",
        label=f"{side} flow, planned and not measured",
    )


def _infiltration(house: House, volume_m3: float, notes: list[Problem]) -> Estimate:
    envelope = house.envelope
    if envelope is None:
        value = UNKNOWN_INFILTRATION_1_H * volume_m3 / 3600.0
        message = f"no leakage is written; {UNKNOWN_INFILTRATION_1_H} air changes an hour are taken"
    else:
        exponent = envelope.leakage_exponent or USUAL_EXPONENT
        ratio = (REFERENCE_PRESSURE_PA / envelope.test_pressure_pa) ** exponent
        value = envelope.leakage_flow_m3_s * ratio / LEAKAGE_DIVISOR
        message = (
            "infiltration is taken as the leakage flow at 50 Pa over 20, a rule of thumb known "
            "from memory; it differs with wind, height and shelter"
        )
    notes.append(_note("infiltration-assumed", house.id, message))
    half_width = _HALF_WIDTHS["infiltration"] * value
    return measured(
        value,
        u_std=u_from_half_width(half_width, distribution=Distribution.NORMAL),
        id="climate:infiltration",
        label="infiltration",
    )


def _release(house: House, options: YearOptions, notes: list[Problem]) -> Estimate:
    if options.release_kg_s is not None:
        return scale(household_release(4), options.release_kg_s / household_release(4).value)
    people = house.people if house.people is not None else (house.bedrooms or 1) + 1
    notes.append(
        _note(
            "release-assumed",
            house.id,
            f"moisture released by {people:g} people is taken from published figures for a family "
            "of four, 7 to 12 kg a day",
        )
    )
    return household_release(people)


def _surface(surface: Surface, house: House) -> YearSurface:
    factor = surface.temperature_factor_frac
    if factor is None and surface.temperature_c is None:
        factor = _jacket_factor(surface, house)
    is_supply = surface.kind in (SurfaceKind.SUPPLY_TERMINAL, SurfaceKind.SUPPLY_DUCT)
    return YearSurface(
        surface_id=surface.id,
        name=surface.name or surface.id,
        air=surface.air.value,
        temperature_c=surface.temperature_c,
        temperature_factor_frac=factor,
        is_as_supply=is_supply and factor is None and surface.temperature_c is None,
    )


def _jacket_factor(surface: Surface, house: House) -> float | None:
    """Temperature factor of the jacket of an outdoor-air duct in room air, by its insulation."""
    if surface.kind is not SurfaceKind.COLD_DUCT or surface.air is not SurfaceAir.ROOM:
        return None
    ducts = [p for s in house.systems for p in s.outdoor_ducts]
    pieces: list[DuctPiece] = [p for p in ducts if p.kind is not DuctKind.FITTING]
    if not pieces or any(p.insulation_m2_k_w is None for p in pieces):
        return None
    least = min(p.insulation_m2_k_w or 0.0 for p in pieces)
    return least / (least + usual_film_m2k_w().value)


def _note(code: str, where: str, message: str) -> Problem:
    return Problem(code=code, where=where, message=message, severity=Severity.NOTE)
