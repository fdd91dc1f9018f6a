"""Which unit of measure each kind of quantity is shown in, by the habit of the place."""

from __future__ import annotations

from enum import StrEnum

from ventwright.quantities.dimension import Dimension


class UnitPreference(StrEnum):
    """A habit of the trade: inch-pound, SI with litres per second, SI with cubic metres per hour.

    >>> UnitPreference.IP.symbol(Dimension.FLOW), UnitPreference.SI_M3H.symbol(Dimension.FLOW)
    ('cfm', 'm³/h')
    """

    IP = "ip"
    SI_LS = "si_ls"
    SI_M3H = "si_m3h"

    def symbol(self, dimension: Dimension) -> str:
        """Name the unit of measure this habit shows one kind of quantity in.

        Parameters
        ----------
        dimension
            Kind of quantity.

        Returns
        -------
        str
            A symbol of the closed table, empty for a count.
        """
        own = {
            UnitPreference.IP: _IP,
            UnitPreference.SI_LS: _SI_LS,
            UnitPreference.SI_M3H: _SI_M3H,
        }[self]
        return own.get(dimension) or _SHARED[dimension]


_SHARED = {
    Dimension.MASS_FLOW: "kg/h",
    Dimension.PRESSURE: "Pa",
    Dimension.TEMPERATURE: "°C",
    Dimension.TEMPERATURE_DIFF: "K",
    Dimension.VELOCITY: "m/s",
    Dimension.LENGTH: "m",
    Dimension.AREA: "m²",
    Dimension.VOLUME: "m³",
    Dimension.TIME: "s",
    Dimension.POWER: "W",
    Dimension.FRACTION: "%",
    Dimension.HUMIDITY_RATIO: "g/kg",
    Dimension.MOISTURE_RATE: "L/day",
    Dimension.HEAT_RATE: "W",
    Dimension.DENSITY: "kg/m³",
    Dimension.ANGLE: "°",
    Dimension.TURNS: "turns",
    Dimension.SOUND_LEVEL: "dB(A)",
    Dimension.ENTHALPY: "kJ/kg",
    Dimension.U_VALUE: "W/(m²·K)",
    Dimension.R_VALUE: "m²·K/W",
    Dimension.CONCENTRATION: "ppm",
    Dimension.ENERGY: "kWh",
    Dimension.AIR_CHANGE_RATE: "1/h",
    Dimension.COUNT: "",
}

_IP = {
    Dimension.FLOW: "cfm",
    Dimension.MASS_FLOW: "lb/h",
    Dimension.PRESSURE: "in. w.c.",
    Dimension.TEMPERATURE: "°F",
    Dimension.TEMPERATURE_DIFF: "°F",
    Dimension.VELOCITY: "fpm",
    Dimension.LENGTH: "ft",
    Dimension.AREA: "ft²",
    Dimension.VOLUME: "ft³",
    Dimension.FAN_EFFICACY: "cfm/W",
    Dimension.SPECIFIC_FAN_POWER: "W/cfm",
    Dimension.HUMIDITY_RATIO: "gr/lb",
    Dimension.MOISTURE_RATE: "pints/day",
    Dimension.HEAT_RATE: "Btu/h",
    Dimension.DENSITY: "lb/ft³",
    Dimension.FLOW_FACTOR: "cfm/√in. w.c.",
    Dimension.U_VALUE: "Btu/(h·ft²·°F)",
    Dimension.R_VALUE: "h·ft²·°F/Btu",
}

_SI_LS = {
    Dimension.FLOW: "L/s",
    Dimension.FAN_EFFICACY: "(L/s)/W",
    Dimension.SPECIFIC_FAN_POWER: "W/(L/s)",
    Dimension.FLOW_FACTOR: "L/s/√Pa",
}

_SI_M3H = {
    Dimension.FLOW: "m³/h",
    Dimension.FAN_EFFICACY: "(m³/h)/W",
    Dimension.SPECIFIC_FAN_POWER: "W/(m³/h)",
    Dimension.FLOW_FACTOR: "m³/h/√Pa",
}
