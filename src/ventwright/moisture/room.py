"""A room in use as the model sees it: air, cold surfaces, a lining that stores, what goes on in it.

Every number may be a float or an array of floats (NumPy): one room, or many drawn from a range.
"""

from __future__ import annotations

import math

from ventwright.air.kernels import Number
from ventwright.quantities.records import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomSurface:
    """A surface that can be wetted.

    Parameters
    ----------
    surface_id
        Which.
    area_m2
        Area [m²].
    temperature_c
        Temperature at the start [°C], and that of what lies behind it.
    convection_w_m2_k
        Convective heat transfer coefficient to the air [W/(m² K)].
    film_capacity_kg_m2
        Water it holds before drops run off [kg/m²].
    heat_capacity_j_m2_k
        Heat that warms it by a kelvin [J/(m² K)]; None where its temperature stays.
    backing_m2k_w
        Thermal resistance to what lies behind it [m² K/W]; infinite where there is none.
    splashed_kg_m2
        Film that spray leaves on it while a release that splashes lasts [kg/m²].
    """

    surface_id: str
    area_m2: Number
    temperature_c: Number
    convection_w_m2_k: Number
    film_capacity_kg_m2: Number
    heat_capacity_j_m2_k: Number | None = None
    backing_m2k_w: Number = math.inf
    splashed_kg_m2: Number = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Lining:
    """What stores moisture in a room: plaster, wood, towels, a curtain.

    Parameters
    ----------
    area_m2
        Area [m²].
    buffer_value_kg_m2
        Moisture buffer value for relative humidity from 0 to 1 [kg/m²]: 1 g/(m² %) is 0.1 kg/m².
    temperature_c
        Its temperature [°C].
    convection_w_m2_k
        Convective heat transfer coefficient to the air [W/(m² K)].
    cycle_s
        Length of the cycle whose depth takes part [s].
    """

    area_m2: Number
    buffer_value_kg_m2: Number
    temperature_c: Number
    convection_w_m2_k: Number
    cycle_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomInUse:
    """A well-mixed room and the air that comes into it.

    Parameters
    ----------
    volume_m3
        Of its air [m³].
    pressure_pa
        Barometric pressure [Pa].
    incoming_c
        Supply or transfer air [°C].
    incoming_humidity_ratio_kg_kg
        Its humidity ratio [kg/kg].
    start_c
        Room air at the start [°C].
    start_humidity_ratio_kg_kg
        Its humidity ratio [kg/kg].
    surfaces
        What can be wetted.
    lining
        What stores moisture; None where nothing does.
    holds_temperature
        Whether the air keeps its temperature whatever happens.
    """

    volume_m3: Number
    pressure_pa: float
    incoming_c: Number
    incoming_humidity_ratio_kg_kg: Number
    start_c: Number
    start_humidity_ratio_kg_kg: Number
    surfaces: tuple[RoomSurface, ...] = ()
    lining: Lining | None = None
    holds_temperature: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """Moisture and heat given to the room's air for a while.

    Parameters
    ----------
    start_s
        Begin [s from the start].
    end_s
        End [s from the start], after the begin.
    moisture_kg_s
        Vapour [kg/s].
    heat_w
        Sensible heat besides [W].
    splashes
        Whether spray wets the surfaces meant for it.
    """

    start_s: float
    end_s: float
    moisture_kg_s: Number
    heat_w: Number = 0.0
    splashes: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtractStep:
    """Extract flow from a moment on.

    Parameters
    ----------
    start_s
        From when [s from the start].
    flow_m3_s
        Volume flow [m³/s] as it is at the room's air at the start.
    """

    start_s: float
    flow_m3_s: Number


def boosted_extract(
    *, continuous_m3_s: Number, boost_m3_s: Number, boost_start_s: float, boost_end_s: float
) -> tuple[ExtractStep, ...]:
    """Schedule of a continuous extract that is raised for a while.

    Parameters
    ----------
    continuous_m3_s
        Flow before and after [m³/s].
    boost_m3_s
        Flow in between [m³/s].
    boost_start_s
        When the boost begins [s], 0 or more.
    boost_end_s
        When it ends [s], run-on included.

    Returns
    -------
    tuple of ExtractStep
        In order of time.

    Raises
    ------
    ValueError
        A boost that ends before it begins.

    >>> steps = boosted_extract(continuous_m3_s=0.010, boost_m3_s=0.025, boost_start_s=0.0,
    ...                         boost_end_s=1800.0)
    >>> [s.flow_m3_s for s in steps]
    [0.025, 0.01]
    """
    if not 0.0 <= boost_start_s < boost_end_s:
        raise ValueError(f"a boost from {boost_start_s!r} s to {boost_end_s!r} s")
    boost = ExtractStep(start_s=boost_start_s, flow_m3_s=boost_m3_s)
    after = ExtractStep(start_s=boost_end_s, flow_m3_s=continuous_m3_s)
    if boost_start_s == 0.0:
        return (boost, after)
    return (ExtractStep(start_s=0.0, flow_m3_s=continuous_m3_s), boost, after)


def evaporation_heat_w(
    *,
    moisture_kg_s: Number,
    water_c: float,
    water_humidity_ratio_kg_kg: float,
    air_c: float,
    air_humidity_ratio_kg_kg: float,
) -> Number:
    """Sensible heat that warm water gives to the air along with its vapour.

    By the heat–mass analogy drops and wet skin that give vapour ``g (W_w − W)`` give heat
    ``h (T_w − T)`` too; the ratio of the two needs no area:
    ``Q = m c_p Le^(2/3) (T_w − T)/(W_w − W)``.

    Parameters
    ----------
    moisture_kg_s
        Vapour released [kg/s].
    water_c
        Mean temperature of the water's surface [°C].
    water_humidity_ratio_kg_kg
        Saturation humidity ratio at that temperature [kg/kg], above that of the air.
    air_c
        Room air [°C].
    air_humidity_ratio_kg_kg
        Its humidity ratio [kg/kg].

    Returns
    -------
    Number
        Heat [W].

    Raises
    ------
    ValueError
        Air as moist as the water's surface.

    Source: lewis_analogy

    >>> round(evaporation_heat_w(moisture_kg_s=40e-3 / 60, water_c=36.0,
    ...     water_humidity_ratio_kg_kg=0.0388, air_c=23.0, air_humidity_ratio_kg_kg=0.011))
    284
    """
    rise = water_humidity_ratio_kg_kg - air_humidity_ratio_kg_kg
    if not rise > 0.0:
        raise ValueError(
            f"water at {water_humidity_ratio_kg_kg!r} kg/kg gives no vapour to air at "
            f"{air_humidity_ratio_kg_kg!r} kg/kg"
        )
    return moisture_kg_s * _ANALOGY_J_KG_K * (water_c - air_c) / rise


_ANALOGY_J_KG_K = 1006.0 * 0.86 ** (2.0 / 3.0)
