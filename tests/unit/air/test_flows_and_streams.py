"""Altitude, flow as mass and as standard volume, the four streams, slopes."""

from __future__ import annotations

import pytest

from ventwright.air import (
    AirStateError,
    FourStreams,
    actual_flow_from_std_m3_s,
    actual_flow_m3_s,
    altitude_from_pressure_m,
    density_kg_m3_from,
    dry_air_mass_flow_from_std_kg_s,
    dry_air_mass_flow_kg_s,
    moist_air_from,
    pressure_from_altitude_pa,
    sensitivities,
    std_flow_m3_s,
)
from ventwright.air.slopes import Slopes
from ventwright.quantities.words import AirKind, HumidityOver

ROOM = moist_air_from(pressure_pa=101_325.0, temperature_c=21.0, rel_humidity_frac=0.4)
COLD = moist_air_from(
    pressure_pa=101_325.0,
    temperature_c=-10.0,
    rel_humidity_frac=0.8,
    humidity_over=HumidityOver.WATER,
)


def test_altitude_and_pressure_are_each_others_inverse() -> None:
    for altitude_m in (-500.0, 0.0, 1609.0, 11_000.0):
        pressure_pa = pressure_from_altitude_pa(altitude_m)
        assert altitude_from_pressure_m(pressure_pa) == pytest.approx(altitude_m, abs=1e-6)


def test_altitudes_outside_the_formula_are_refused() -> None:
    for call, value in (
        (pressure_from_altitude_pa, 12_000.0),
        (pressure_from_altitude_pa, float("nan")),
        (altitude_from_pressure_m, 120_000.0),
        (altitude_from_pressure_m, 1013.25),
    ):
        with pytest.raises(AirStateError, match="outside the range"):
            call(value)


def test_dry_air_mass_flow_by_hand() -> None:
    """ρ_da = (p − e)/(287.042 T) by the gas law of dry air alone."""
    by_hand = 0.05 * (101_325.0 - ROOM.vapour_pressure_pa) / (287.042 * 294.15)
    assert dry_air_mass_flow_kg_s(flow_m3_s=0.05, air=ROOM) == pytest.approx(by_hand, rel=1e-9)


def test_flows_go_there_and_back() -> None:
    mass = dry_air_mass_flow_kg_s(flow_m3_s=0.05, air=COLD)
    assert actual_flow_m3_s(dry_air_mass_flow_kg_s=mass, air=COLD) == pytest.approx(0.05)
    standard = std_flow_m3_s(flow_m3_s=0.05, air=COLD)
    assert actual_flow_from_std_m3_s(std_flow_m3_s=standard, air=COLD) == pytest.approx(0.05)
    assert dry_air_mass_flow_from_std_kg_s(std_flow_m3_s=standard, air=COLD) == pytest.approx(mass)
    assert dry_air_mass_flow_kg_s(flow_m3_s=-0.05, air=COLD) == -mass


def test_equal_volumes_are_not_equal_masses() -> None:
    """31 K apart, equal volume flows differ by 12 % in mass: the reason for comparing masses."""
    cold = dry_air_mass_flow_kg_s(flow_m3_s=0.05, air=COLD)
    warm = dry_air_mass_flow_kg_s(flow_m3_s=0.05, air=ROOM)
    assert cold / warm == pytest.approx(294.15 / 263.15 * 1.0085, rel=1e-3)


def test_standard_volume_is_actual_volume_at_standard_density() -> None:
    """70 °F dry air at sea level has 0.075 lb/ft³ within 0.2 % (standard_air)."""
    dry = moist_air_from(pressure_pa=101_325.0, temperature_c=21.11, humidity_ratio_kg_kg=1e-6)
    assert std_flow_m3_s(flow_m3_s=1.0, air=dry) == pytest.approx(1.0, rel=2e-3)


def test_streams_are_found_by_kind() -> None:
    streams = FourStreams(oda=COLD, sup=ROOM, eta=ROOM, eha=COLD)
    assert streams.at(AirKind.OUTDOOR) is COLD
    assert streams.at(AirKind.SUPPLY) is ROOM
    assert [kind for kind, _ in streams] == list(AirKind)


def test_streams_with_and_without_enhancement_do_not_mix() -> None:
    ideal = moist_air_from(
        pressure_pa=101_325.0, temperature_c=21.0, rel_humidity_frac=0.4, is_enhanced=False
    )
    with pytest.raises(ValueError, match="enhancement"):
        FourStreams(oda=COLD, sup=ROOM, eta=ideal, eha=COLD)


PROPERTIES = {
    "dew_point": "dew_point_c",
    "frost_point": "frost_point_c",
    "humidity_ratio": "humidity_ratio_kg_kg",
    "enthalpy": "enthalpy_j_kg",
    "specific_volume": "specific_volume_m3_kg",
    "density": "density_kg_m3",
}


@pytest.mark.parametrize("over", HumidityOver)
@pytest.mark.parametrize(
    ("temperature_c", "rel"), [(-12.0, 0.7), (3.0, 0.4), (21.0, 0.4), (35.0, 0.8)]
)
@pytest.mark.parametrize("name", PROPERTIES)
def test_slopes_are_those_of_small_steps(
    name: str, temperature_c: float, rel: float, over: HumidityOver
) -> None:
    """Central differences of the states themselves, steps 0.01 K, 0.0001 and 10 Pa."""
    given = {"temperature_c": temperature_c, "rel_humidity_frac": rel, "pressure_pa": 90_000.0}

    def slope(which: str, step: float) -> float:
        high, low = (
            getattr(
                moist_air_from(**{**given, which: given[which] + sign * step}, humidity_over=over),
                PROPERTIES[name],
            )
            for sign in (1.0, -1.0)
        )
        return float(high - low) / (2.0 * step)

    slopes: Slopes = getattr(sensitivities(moist_air_from(**given, humidity_over=over)), name)
    assert slopes.by_temperature_per_k == pytest.approx(slope("temperature_c", 0.01), rel=4e-3)
    assert slopes.by_rel_humidity_per_frac == pytest.approx(
        slope("rel_humidity_frac", 1e-4), rel=4e-3
    )
    assert slopes.by_pressure_per_pa == pytest.approx(
        slope("pressure_pa", 10.0), rel=4e-3, abs=1e-6
    )


def test_density_shortcut_is_the_states_density() -> None:
    assert density_kg_m3_from(
        temperature_c=21.0, rel_humidity_frac=0.4, pressure_pa=101_325.0
    ) == pytest.approx(ROOM.density_kg_m3)
