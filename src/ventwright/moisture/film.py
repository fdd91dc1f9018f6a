"""Water on a cold surface and in its lining: heat–mass analogy and moisture buffering."""

from __future__ import annotations

import math

from ventwright.air.kernels import Number

LEWIS_NUMBER = 0.86
"""Thermal diffusivity of air over the diffusivity of vapour in it, near 20 °C.

Source: lewis_analogy
"""
HEAT_CAPACITY_J_KG_K = 1006.0
"""Of dry air. Source: ashrae_hof_2017_ch1"""
CONDENSATION_HEAT_J_KG = 2.45e6
"""Heat that a kilogram of vapour gives off when it condenses near 20 °C. Source: latent_heat_20c"""


def mass_transfer_kg_m2_s(convection_w_m2_k: Number) -> Number:
    """Rate at which a wet surface and the air exchange water for a difference of humidity ratio.

    ``g = h_c / (c_p Le^(2/3))``; the flux is ``g (W − W_sat(T_s))``, condensing where positive.
    Radiation warms a surface and moves no water, so only the convective coefficient counts.

    Parameters
    ----------
    convection_w_m2_k
        Convective heat transfer coefficient [W/(m² K)]; 3 to 5 in a room with still air.

    Returns
    -------
    Number
        Mass transfer per unit of humidity ratio [kg/(m² s)].

    Source: lewis_analogy

    >>> round(mass_transfer_kg_m2_s(4.0) * 1e3, 3)
    4.397
    """
    return convection_w_m2_k / (HEAT_CAPACITY_J_KG_K * LEWIS_NUMBER ** (2.0 / 3.0))


def moisture_effusivity_si(*, buffer_value_kg_m2: Number, saturation_pressure_pa: Number) -> Number:
    """Moisture effusivity of a lining from its moisture buffer value.

    The buffer value is what a square metre takes up and gives off for each unit of relative
    humidity when the humidity stands high for 8 hours and low for 16. A half-infinite lining
    without film takes up ``b Δp √(t_p/π) h(1/3)`` then, with ``h(1/3) = 1.007`` and
    ``t_p = 24 h``; so ``b = MBV / (0.568 p_sat √t_p)``.

    Parameters
    ----------
    buffer_value_kg_m2
        Buffer value for relative humidity from 0 to 1 [kg/m²]: 1 g/(m² %) is 0.1 kg/m².
    saturation_pressure_pa
        Saturation pressure at the lining's temperature [Pa].

    Returns
    -------
    Number
        Effusivity [kg/(m² Pa s^0.5)].

    Source: nordtest_buffer_value

    >>> b = moisture_effusivity_si(buffer_value_kg_m2=0.1, saturation_pressure_pa=2339.0)
    >>> round(b * 1e7, 2)
    2.56
    """
    return buffer_value_kg_m2 / (_CYCLE_COEFF * saturation_pressure_pa * math.sqrt(_DAY_S))


def buffer_layer(
    *, effusivity_si: Number, saturation_pressure_pa: Number, cycle_s: float
) -> tuple[Number, Number]:
    """Capacity and resistance of the layer of a lining that takes part in a cycle.

    The depth that a cycle reaches holds ``b p_sat √(t/π)`` of water for each unit of relative
    humidity; half of it resists with ``√(t/π)/(2 b)``.

    Parameters
    ----------
    effusivity_si
        Moisture effusivity [kg/(m² Pa s^0.5)], above 0.
    saturation_pressure_pa
        Saturation pressure at the lining's temperature [Pa].
    cycle_s
        Length of the cycle [s]: about four times a shower with its drying, a day for a house.

    Returns
    -------
    tuple of Number
        Capacity [kg/m² for relative humidity from 0 to 1], resistance [m² s Pa/kg].

    Source: effective_penetration_depth

    >>> capacity, resistance = buffer_layer(effusivity_si=2.56e-7,
    ...                                     saturation_pressure_pa=2339.0, cycle_s=7200.0)
    >>> round(capacity, 4), round(resistance * 1e-7, 2)
    (0.0287, 9.35)
    """
    root = math.sqrt(cycle_s / math.pi)
    return (
        effusivity_si * saturation_pressure_pa * root,
        root / (2.0 * effusivity_si),
    )


_DAY_S = 86_400.0
_CYCLE_COEFF = 1.0073 / math.sqrt(math.pi)
"""h(1/3)/√π, with h(α) = (2/π) Σ sin²(nπα)/n^1.5 for a high humidity during the share α."""
