"""One step of time in a room in use: implicit, so that a long step is coarse and never unstable.

Water: the air's humidity ratio at the end of the step is the root of a rising, convex, piecewise
linear balance (each film gives no more than it holds), which Newton's method finds in as many
steps as there are surfaces and one more. Heat: linear, with the surfaces eliminated.
"""

from __future__ import annotations

from collections.abc import Sequence

from ventwright.air import kernels
from ventwright.air.kernels import Maths, Number
from ventwright.air.mixture import MASS_RATIO_WATER_TO_AIR
from ventwright.moisture.elementwise import either, larger, smaller
from ventwright.moisture.film import (
    CONDENSATION_HEAT_J_KG,
    buffer_layer,
    mass_transfer_kg_m2_s,
    moisture_effusivity_si,
)
from ventwright.moisture.room import Lining, RoomInUse, RoomSurface
from ventwright.quantities import HumidityOver
from ventwright.quantities.records import dataclass

_DRY_AIR_J_KG_K, _VAPOUR_J_KG_K = 1006.0, 1860.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomState:
    """What changes: air, lining, and each surface's temperature and film."""

    temperature_c: Number
    humidity_ratio_kg_kg: Number
    lining_rel_humidity_frac: Number
    surface_c: tuple[Number, ...]
    film_kg_m2: tuple[Number, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepInput:
    """What goes on during a step, means over it."""

    moisture_kg_s: Number
    heat_w: Number
    extract_kg_s: Number
    is_splashing: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StepWater:
    """Where the water of a step went [kg]."""

    extracted_kg: Number
    brought_in_kg: Number
    run_off_kg: Number
    settled_kg: Number
    splashed_kg: Number


def saturation_ratio(maths: Maths, temperature_c: Number, pressure_pa: float) -> Number:
    """Humidity ratio of saturated air [kg/kg], over ice below 0 °C.

    Parameters
    ----------
    maths
        `math` or `numpy`.
    temperature_c
        Temperature [°C].
    pressure_pa
        Barometric pressure [Pa].
    """
    return kernels.humidity_ratio_kg_kg(
        vapour_pressure_pa=kernels.saturation_pressure_pa(
            maths, temperature_c=temperature_c, pressure_pa=pressure_pa, over=HumidityOver.ICE
        ),
        pressure_pa=pressure_pa,
    )


class RoomStepper:
    """A room prepared for steps of one length."""

    def __init__(self, maths: Maths, room: RoomInUse, *, step_s: float) -> None:
        self._maths = maths
        self._room = room
        self._step_s = step_s
        self.volume_m3_kg = kernels.specific_volume_m3_kg(
            temperature_c=room.start_c,
            humidity_ratio_kg_kg=room.start_humidity_ratio_kg_kg,
            pressure_pa=room.pressure_pa,
        )
        self.dry_air_kg = room.volume_m3 / self.volume_m3_kg
        self._transfer = tuple(mass_transfer_kg_m2_s(s.convection_w_m2_k) for s in room.surfaces)
        self._lining = _PreparedLining(maths, room, step_s=step_s) if room.lining else None

    def start(self) -> RoomState:
        """State at the start: dry surfaces, a lining in balance with the room's air."""
        room = self._room
        lining = 0.0 if self._lining is None else self._lining.start_rel_humidity_frac
        return RoomState(
            temperature_c=room.start_c,
            humidity_ratio_kg_kg=room.start_humidity_ratio_kg_kg,
            lining_rel_humidity_frac=lining,
            surface_c=tuple(s.temperature_c for s in room.surfaces),
            film_kg_m2=tuple(0.0 * s.area_m2 for s in room.surfaces),
        )

    def stored_in_lining_kg(self, state: RoomState) -> Number:
        """Water in the lining [kg]."""
        if self._lining is None:
            return 0.0
        return self._lining.capacity_kg * state.lining_rel_humidity_frac

    def rel_humidity_frac(self, state: RoomState) -> Number:
        """Relative humidity of the room's air."""
        vapour_pa = kernels.vapour_pressure_pa(
            humidity_ratio_kg_kg=state.humidity_ratio_kg_kg, pressure_pa=self._room.pressure_pa
        )
        return vapour_pa / kernels.saturation_pressure_pa(
            self._maths,
            temperature_c=state.temperature_c,
            pressure_pa=self._room.pressure_pa,
            over=HumidityOver.ICE,
        )

    def advance(self, state: RoomState, given: StepInput) -> tuple[RoomState, StepWater]:
        """State at the end of a step, and where the water went."""
        maths, room, step_s = self._maths, self._room, self._step_s
        films, splashed = self._wet(state, given)
        saturated = [saturation_ratio(maths, t, room.pressure_pa) for t in state.surface_c]
        ratio = self._humidity_ratio(state, given, films, saturated)
        flux = [
            larger(maths, g * (ratio - w), -film / step_s)
            for g, w, film in zip(self._transfer, saturated, films, strict=True)
        ]
        air_c, surface_c = self._temperatures(state, given, flux)
        settled = larger(maths, 0.0, ratio - saturation_ratio(maths, air_c, room.pressure_pa))
        kept, run_off = [], 0.0 * ratio
        for surface, film, j in zip(room.surfaces, films, flux, strict=True):
            wet = larger(maths, 0.0, film + step_s * j)
            held = smaller(maths, wet, larger(maths, surface.film_capacity_kg_m2, film))
            run_off = run_off + surface.area_m2 * (wet - held)
            kept.append(held)
        lining = (
            state.lining_rel_humidity_frac
            if self._lining is None
            else self._lining.after(state.lining_rel_humidity_frac, ratio)
        )
        after = RoomState(
            temperature_c=air_c,
            humidity_ratio_kg_kg=ratio - settled,
            lining_rel_humidity_frac=lining,
            surface_c=surface_c,
            film_kg_m2=tuple(kept),
        )
        return after, StepWater(
            extracted_kg=step_s * given.extract_kg_s * ratio,
            brought_in_kg=step_s * given.extract_kg_s * room.incoming_humidity_ratio_kg_kg,
            run_off_kg=run_off,
            settled_kg=self.dry_air_kg * settled,
            splashed_kg=splashed,
        )

    def _wet(self, state: RoomState, given: StepInput) -> tuple[tuple[Number, ...], Number]:
        if not given.is_splashing:
            return state.film_kg_m2, 0.0
        films, splashed = [], 0.0
        for surface, film in zip(self._room.surfaces, state.film_kg_m2, strict=True):
            wet = larger(self._maths, film, surface.splashed_kg_m2)
            splashed = splashed + surface.area_m2 * (wet - film)
            films.append(wet)
        return tuple(films), splashed

    def _humidity_ratio(
        self,
        state: RoomState,
        given: StepInput,
        films: Sequence[Number],
        saturated: Sequence[Number],
    ) -> Number:
        """Root of the water balance of the air at the end of the step."""
        maths, room, step_s = self._maths, self._room, self._step_s
        held = self.dry_air_kg / step_s
        slope = held + given.extract_kg_s
        source = (
            held * state.humidity_ratio_kg_kg
            + given.moisture_kg_s
            + given.extract_kg_s * room.incoming_humidity_ratio_kg_kg
        )
        if self._lining is not None:
            conductance, rest = self._lining.exchange(state.lining_rel_humidity_frac)
            slope = slope + conductance
            source = source + conductance * rest
        # A film that dries out within the step gives all it has; below this humidity it does.
        parts = [
            (s.area_m2 * g, w, s.area_m2 * film / step_s, w - film / (g * step_s))
            for s, g, w, film in zip(room.surfaces, self._transfer, saturated, films, strict=True)
        ]
        ratio = state.humidity_ratio_kg_kg
        for _ in range(len(parts) + 2):
            total, given_off = slope, source
            for wetness, w, whole, dry_below in parts:
                is_wet = ratio > dry_below
                total = total + either(maths, is_wet, wetness, 0.0)
                given_off = given_off + either(maths, is_wet, wetness * w, whole)
            ratio = given_off / total
        return ratio

    def _temperatures(
        self, state: RoomState, given: StepInput, flux: Sequence[Number]
    ) -> tuple[Number, tuple[Number, ...]]:
        room, step_s = self._room, self._step_s
        per_kg = _DRY_AIR_J_KG_K + _VAPOUR_J_KG_K * state.humidity_ratio_kg_kg
        held = self.dry_air_kg * per_kg / step_s
        carried = given.extract_kg_s * per_kg
        own = held * state.temperature_c + given.heat_w + carried * room.incoming_c
        total = held + carried
        parts = []
        for surface, t, j in zip(room.surfaces, state.surface_c, flux, strict=True):
            h = surface.convection_w_m2_k
            level, coupling = _surface_law(surface, t, j, step_s)
            parts.append((level, coupling))
            own = own + surface.area_m2 * h * level
            total = total + surface.area_m2 * h * (1.0 - coupling)
        air_c = state.temperature_c if room.holds_temperature else own / total
        return air_c, tuple(level + coupling * air_c for level, coupling in parts)


def _surface_law(
    surface: RoomSurface, temperature_c: Number, flux: Number, step_s: float
) -> tuple[Number, Number]:
    """A surface's temperature at the end of a step as ``level + coupling · T_air``."""
    if surface.heat_capacity_j_m2_k is None:
        return temperature_c, 0.0
    held = surface.heat_capacity_j_m2_k / step_s
    h, behind = surface.convection_w_m2_k, 1.0 / surface.backing_m2k_w
    total = held + h + behind
    gained = held * temperature_c + CONDENSATION_HEAT_J_KG * flux + behind * surface.temperature_c
    return gained / total, h / total


class _PreparedLining:
    """The storing layer as capacity behind film and half a layer, for steps of one length.

    The humidity ratio at the layer is taken as its relative humidity times that of saturation,
    which is 1 to 2 % low in rooms; a buffer value is known far less well.
    """

    def __init__(self, maths: Maths, room: RoomInUse, *, step_s: float) -> None:
        assert room.lining is not None
        lining: Lining = room.lining
        saturated_pa = kernels.saturation_pressure_pa(
            maths,
            temperature_c=lining.temperature_c,
            pressure_pa=room.pressure_pa,
            over=HumidityOver.ICE,
        )
        capacity_kg_m2, resistance = buffer_layer(
            effusivity_si=moisture_effusivity_si(
                buffer_value_kg_m2=lining.buffer_value_kg_m2,
                saturation_pressure_pa=saturated_pa,
            ),
            saturation_pressure_pa=saturated_pa,
            cycle_s=lining.cycle_s,
        )
        # From vapour pressure to humidity ratio: dW/de = 0.622/p nearly.
        per_pa = MASS_RATIO_WATER_TO_AIR / room.pressure_pa
        film = 1.0 / mass_transfer_kg_m2_s(lining.convection_w_m2_k)
        self.capacity_kg = lining.area_m2 * capacity_kg_m2
        self._saturated = saturation_ratio(maths, lining.temperature_c, room.pressure_pa)
        self._conductance = lining.area_m2 / (film + resistance * per_pa)
        self._step_s = step_s
        self.start_rel_humidity_frac = room.start_humidity_ratio_kg_kg / self._saturated
        self._total = self.capacity_kg / step_s + self._conductance * self._saturated

    def exchange(self, rel_humidity_frac: Number) -> tuple[Number, Number]:
        """Flux from the air as ``conductance · (W − rest)``, the layer's own change included."""
        share = self.capacity_kg / (self._step_s * self._total)
        return self._conductance * share, self._saturated * rel_humidity_frac

    def after(self, rel_humidity_frac: Number, ratio: Number) -> Number:
        """Relative humidity of the layer at the end of the step."""
        gained = self.capacity_kg / self._step_s * rel_humidity_frac + self._conductance * ratio
        return gained / self._total
