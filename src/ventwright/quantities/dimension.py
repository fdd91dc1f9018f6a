"""What kind of quantity a number is, and the suffix its SI value carries in our names."""

from __future__ import annotations

from enum import StrEnum


class Dimension(StrEnum):
    """A kind of quantity; every number that crosses the edge belongs to exactly one.

    Two kinds may share a scale and still differ in meaning: a temperature and a temperature
    difference, the power a fan draws and the heat a stream carries.

    >>> Dimension.FLOW.suffix, Dimension.TEMPERATURE.suffix, Dimension.TEMPERATURE_DIFF.suffix
    ('m3_s', 'c', 'k')
    >>> Dimension.FLOW.label
    'a flow'
    """

    FLOW = "flow"
    MASS_FLOW = "mass_flow"
    PRESSURE = "pressure"
    TEMPERATURE = "temperature"
    """A level, °C inside: an affine scale, so two levels are never added."""
    TEMPERATURE_DIFF = "temperature_diff"
    VELOCITY = "velocity"
    LENGTH = "length"
    AREA = "area"
    VOLUME = "volume"
    TIME = "time"
    POWER = "power"
    """Electric power drawn."""
    FAN_EFFICACY = "fan_efficacy"
    """Flow moved per electric power; more is better."""
    SPECIFIC_FAN_POWER = "specific_fan_power"
    """Electric power per flow moved; less is better."""
    FRACTION = "fraction"
    HUMIDITY_RATIO = "humidity_ratio"
    """Mass of vapour per mass of dry air."""
    MOISTURE_RATE = "moisture_rate"
    HEAT_RATE = "heat_rate"
    DENSITY = "density"
    FLOW_FACTOR = "flow_factor"
    """Flow per square root of pressure: flow = factor · √pressure; m³/s per √Pa inside.

    Its suffix is never needed: ``flow_factor`` says by itself what it is.
    """
    ANGLE = "angle"
    TURNS = "turns"
    SOUND_LEVEL = "sound_level"
    ENTHALPY = "enthalpy"
    """Per mass of dry air, counted from 0 °C."""
    U_VALUE = "u_value"
    R_VALUE = "r_value"
    CONCENTRATION = "concentration"
    """Parts by volume."""
    ENERGY = "energy"
    AIR_CHANGE_RATE = "air_change_rate"
    COUNT = "count"
    """A plain number, the only kind that is typed bare."""

    @property
    def suffix(self) -> str:
        """Ending of a name that holds such a number in SI, without the leading underscore."""
        return _ABOUT[self][0]

    @property
    def label(self) -> str:
        """The kind in words with its article, for messages."""
        return _ABOUT[self][1]


_ABOUT = {
    Dimension.FLOW: ("m3_s", "a flow"),
    Dimension.MASS_FLOW: ("kg_s", "a mass flow"),
    Dimension.PRESSURE: ("pa", "a pressure"),
    Dimension.TEMPERATURE: ("c", "a temperature"),
    Dimension.TEMPERATURE_DIFF: ("k", "a temperature difference"),
    Dimension.VELOCITY: ("m_s", "a velocity"),
    Dimension.LENGTH: ("m", "a length"),
    Dimension.AREA: ("m2", "an area"),
    Dimension.VOLUME: ("m3", "a volume"),
    Dimension.TIME: ("s", "a time"),
    Dimension.POWER: ("w", "a power"),
    Dimension.FAN_EFFICACY: ("m3_s_w", "a fan efficacy"),
    Dimension.SPECIFIC_FAN_POWER: ("w_per_m3_s", "a specific fan power"),
    Dimension.FRACTION: ("frac", "a fraction"),
    Dimension.HUMIDITY_RATIO: ("kg_kg", "a humidity ratio"),
    Dimension.MOISTURE_RATE: ("kg_s", "a moisture rate"),
    Dimension.HEAT_RATE: ("w", "a heat rate"),
    Dimension.DENSITY: ("kg_m3", "a density"),
    Dimension.FLOW_FACTOR: ("m3_s_sqrt_pa", "a flow factor"),
    Dimension.ANGLE: ("deg", "an angle"),
    Dimension.TURNS: ("turns", "a number of turns"),
    Dimension.SOUND_LEVEL: ("db_a", "a sound level"),
    Dimension.ENTHALPY: ("j_kg", "an enthalpy"),
    Dimension.U_VALUE: ("w_m2_k", "a heat transmission"),
    Dimension.R_VALUE: ("m2_k_w", "a thermal resistance"),
    Dimension.CONCENTRATION: ("frac", "a concentration"),
    Dimension.ENERGY: ("j", "an energy"),
    Dimension.AIR_CHANGE_RATE: ("1_h", "an air change rate"),
    Dimension.COUNT: ("count", "a plain number"),
}
