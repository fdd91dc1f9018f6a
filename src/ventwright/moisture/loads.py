"""What ventilation asks of heating, cooling and drying: one state, and the index of a year."""

from __future__ import annotations

from ventwright.air import AirEstimate
from ventwright.air.kernels import Maths, Number
from ventwright.air.mixture import (
    DRY_AIR_HEAT_CAPACITY_J_KG_K,
    VAPOUR_ENTHALPY_AT_ZERO_J_KG,
    VAPOUR_HEAT_CAPACITY_J_KG_K,
)
from ventwright.moisture.elementwise import larger
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, propagate

_GRAIN = 1.0 / 7000.0
_BTU_J = 1055.05585262
_CFM_M3_S = 0.3048**3 / 60.0
_TON_BTU_H = 12_000.0
_WATER_J_KG_K, _DRAINED_C = 4186.0, 10.0

INDEX_TEMPERATURE_C = (75.0 - 32.0) / 1.8
"""Indoor state to which the index counts: 75 °F and 65 gr/lb (50 %)."""
INDEX_HUMIDITY_RATIO_KG_KG = 65.0 * _GRAIN


@dataclass(frozen=True, slots=True, kw_only=True)
class VentilationLoad:
    """What one flow of outdoor air asks for at one outdoor and one indoor state.

    Positive in summer: heat and water to be taken out of the house.

    Parameters
    ----------
    sensible_w
        Sensible heat brought in [W].
    latent_w
        Latent heat brought in [W].
    moisture_kg_s
        Water brought in [kg/s].
    saved_sensible_w
        Sensible heat that the exchanger keeps out, or in where negative [W].
    saved_moisture_kg_s
        Water that it keeps out, or in where negative [kg/s].
    """

    sensible_w: Estimate
    latent_w: Estimate
    moisture_kg_s: Estimate
    saved_sensible_w: Estimate
    saved_moisture_kg_s: Estimate


def ventilation_load(
    *,
    supply_kg_s: Estimate,
    outdoor: AirEstimate,
    indoor: AirEstimate,
    sensible_returned_frac: Estimate,
    latent_returned_frac: Estimate,
) -> VentilationLoad:
    """Sensible and latent load of ventilation behind its exchanger.

    ``Q_s = m c_p (1 − r_s)(T_o − T_i)``, ``G = m (1 − r_l)(W_o − W_i)``, ``Q_l = G h(T_i)``.

    Parameters
    ----------
    supply_kg_s
        Dry air supplied [kg/s].
    outdoor, indoor
        The states.
    sensible_returned_frac, latent_returned_frac
        Shares returned, see `returned_share_frac`.

    Returns
    -------
    VentilationLoad
        With uncertainty.

    Source: ashrae_hof_2017_ch1

    >>> from ventwright.air import air_estimate_from
    >>> from ventwright.uncertainty import exact
    >>> hot, room = (air_estimate_from(pressure_pa=exact(101325.0), temperature_c=exact(t),
    ...     rel_humidity_frac=exact(rh)) for t, rh in ((32.0, 0.6), (24.0, 0.5)))
    >>> load = ventilation_load(supply_kg_s=exact(0.05), outdoor=hot, indoor=room,
    ...     sensible_returned_frac=exact(0.7), latent_returned_frac=exact(0.5))
    >>> round(load.sensible_w.value), round(load.latent_w.value)
    (125, 549)
    """
    t_o, t_i = outdoor.temperature_c, indoor.temperature_c
    w_o, w_i = outdoor.humidity_ratio_kg_kg, indoor.humidity_ratio_kg_kg

    def sensible(m: float, warm: float, room: float, w: float, share: float) -> float:
        return (
            m
            * (DRY_AIR_HEAT_CAPACITY_J_KG_K + VAPOUR_HEAT_CAPACITY_J_KG_K * w)
            * share
            * (warm - room)
        )

    def moisture(m: float, out: float, room: float, share: float) -> float:
        return m * share * (out - room)

    def latent(m: float, out: float, room: float, share: float, t: float) -> float:
        return moisture(m, out, room, share) * float(drying_heat_j_kg(t))

    return VentilationLoad(
        sensible_w=propagate(
            lambda m, a, b, w, r: sensible(m, a, b, w, 1.0 - r),
            [supply_kg_s, t_o, t_i, w_o, sensible_returned_frac],
        ),
        latent_w=propagate(
            lambda m, a, b, r, t: latent(m, a, b, 1.0 - r, t),
            [supply_kg_s, w_o, w_i, latent_returned_frac, t_i],
        ),
        moisture_kg_s=propagate(
            lambda m, a, b, r: moisture(m, a, b, 1.0 - r),
            [supply_kg_s, w_o, w_i, latent_returned_frac],
        ),
        saved_sensible_w=propagate(sensible, [supply_kg_s, t_o, t_i, w_o, sensible_returned_frac]),
        saved_moisture_kg_s=propagate(moisture, [supply_kg_s, w_o, w_i, latent_returned_frac]),
    )


def drying_heat_j_kg(temperature_c: Number) -> Number:
    """Heat that taking a kilogram of vapour out of the air comes to.

    The vapour's enthalpy at room temperature less that of the water as it drains at 10 °C: 2503
    kJ/kg at 24 °C, which is the 1076 Btu/lb of load calculations.

    Parameters
    ----------
    temperature_c
        Temperature of the air [°C].

    Returns
    -------
    Number
        Heat [J/kg].

    Source: ashrae_hof_2017_ch1, latent_load_custom

    >>> round(drying_heat_j_kg(23.9) / 2326)
    1076
    """
    vapour = VAPOUR_ENTHALPY_AT_ZERO_J_KG + VAPOUR_HEAT_CAPACITY_J_KG_K * temperature_c
    return vapour - _WATER_J_KG_K * _DRAINED_C


def index_heat_j_kg(
    maths: Maths, *, temperature_c: Number, humidity_ratio_kg_kg: Number
) -> tuple[Number, Number]:
    """Latent and sensible heat of a kilogram of outdoor air above the index's indoor state.

    As the ventilation load index is made: water above 65 gr/lb with 1050 Btu/lb, temperature above
    75 °F with 0.240 Btu/(lb °F); hours below count nothing.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    temperature_c
        Outdoor temperature [°C].
    humidity_ratio_kg_kg
        Outdoor humidity ratio [kg/kg].

    Returns
    -------
    tuple of Number
        Latent and sensible heat [J per kg of standard air].

    Source: harriman_1997

    >>> import math
    >>> latent, sensible = index_heat_j_kg(math, temperature_c=30.0, humidity_ratio_kg_kg=0.016)
    >>> round(latent), round(sensible)
    (16398, 6141)
    """
    moist = larger(maths, 0.0, humidity_ratio_kg_kg - INDEX_HUMIDITY_RATIO_KG_KG)
    warm = larger(maths, 0.0, temperature_c - INDEX_TEMPERATURE_C)
    per_lb_j_kg = _BTU_J / 0.45359237
    return 1050.0 * per_lb_j_kg * moist, 0.240 * 1.8 * per_lb_j_kg * warm


def ton_hours_per_scfm(heat_j_s_m3: Number) -> Number:
    """A year's heat per flow of standard air in the measure that the index is printed in.

    Parameters
    ----------
    heat_j_s_m3
        Heat of a year over the flow of standard air that brings it [J per m³/s].

    Returns
    -------
    Number
        Index [ton-hours a year per standard cubic foot a minute].

    Source: harriman_1997

    >>> round(ton_hours_per_scfm(16398.3 * 1.2014 * 3600.0 * 1000), 2)
    2.64
    """
    return heat_j_s_m3 * _CFM_M3_S / (_TON_BTU_H * _BTU_J)
