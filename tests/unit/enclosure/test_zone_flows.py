"""Air between zones: balanced in each, whatever the layout; layouts that can't be are refused."""

import pytest

from ventwright.enclosure import AirPath, Door, Zone, air_paths, without_fresh_air

BED = Zone(id="bed", volume_m3=30.0, supply_m3_s=0.010)
BATH = Zone(id="bath", volume_m3=12.0, extract_m3_s=0.015)
HALL = Zone(id="hall", volume_m3=150.0, supply_m3_s=0.020, extract_m3_s=0.005)


def net_into(paths, zone_id):
    return sum(f.flow_m3_s * ((f.target == zone_id) - (f.source == zone_id)) for f in paths.flows)


def test_air_is_balanced_in_every_zone_of_a_chain():
    doors = [Door(first="bed", second="bath"), Door(first="hall", second="bath")]
    paths = air_paths([BED, BATH, HALL], doors, root="hall")
    for zone in (BED, BATH, HALL):
        assert net_into(paths, zone.id) == pytest.approx(0.0, abs=1e-17)
    transfers = {
        (f.source, f.target): f.flow_m3_s for f in paths.flows if f.path is AirPath.TRANSFER
    }
    assert transfers == {
        ("bed", "bath"): pytest.approx(0.010),
        ("hall", "bath"): pytest.approx(0.005),
    }


def test_surplus_of_the_house_passes_the_shell_at_the_root():
    paths = air_paths([BED, HALL], [Door(first="bed", second="hall")], root="hall")
    shell = [(f.source, f.target, f.flow_m3_s) for f in paths.flows if f.path is AirPath.SHELL]
    assert shell == [("hall", "", pytest.approx(0.025))]


def test_one_way_flow_leaves_less_room_to_swap():
    def back(exchange):
        door = Door(first="bed", second="hall", exchange_m3_s=exchange)
        paths = air_paths([BED, HALL], [door], root="hall")
        return sum(f.flow_m3_s for f in paths.flows if f.target == "bed" and f.source == "hall")

    assert back(0.004) == 0.0
    assert back(0.050) == pytest.approx(0.045)


def test_infiltration_goes_in_and_out():
    zone = Zone(id="a", volume_m3=10.0, infiltration_m3_s=0.002)
    paths = air_paths([zone], [], root="a")
    assert [(f.source, f.target, f.flow_m3_s) for f in paths.flows] == [
        ("", "a", 0.002),
        ("a", "", 0.002),
    ]


def test_zones_without_fresh_air_are_found_through_others():
    shut = [Zone(id="bed", volume_m3=30.0), Zone(id="closet", volume_m3=3.0), HALL]
    between = Door(first="closet", second="bed", exchange_m3_s=0.001)
    tight = air_paths(shut, [between, Door(first="bed", second="hall")], root="hall")
    assert without_fresh_air(tight) == ("bed", "closet")
    gap = Door(first="bed", second="hall", exchange_m3_s=0.001)
    assert without_fresh_air(air_paths(shut, [between, gap], root="hall")) == ()


@pytest.mark.parametrize(
    ("zones", "doors", "message"),
    [
        ([BED, HALL], [], "no door"),
        ([BED, HALL], [Door(first="bed", second="attic")], "attic"),
        ([BED, HALL], [Door(first="bed", second="hall")] * 2, "loop"),
        ([BED, BED, HALL], [], "id of its own"),
        ([BED, HALL], [Door(first="bed", second="hall", exchange_m3_s=-1.0)], "exchange_m3_s"),
        ([Zone(id="bed", volume_m3=0.0), HALL], [], "volume_m3"),
        ([Zone(id="bed", volume_m3=9.0, supply_m3_s=-0.1), HALL], [], "flow"),
    ],
)
def test_layouts_that_cannot_be_are_refused(zones, doors, message):
    with pytest.raises(ValueError, match=message):
        air_paths(zones, doors, root="hall")


def test_share_of_extract_air_is_checked():
    with pytest.raises(ValueError, match="exhaust_transfer_frac"):
        air_paths([HALL], [], root="hall", exhaust_transfer_frac=1.0)


def test_what_rounding_leaves_of_flows_is_no_fresh_air():
    """0.1 + 0.2 − 0.3 is 5.6e-17: the lobby between two rooms gets no air by that."""
    room = Zone(id="room", volume_m3=30.0, supply_m3_s=0.1 + 0.2, extract_m3_s=0.3)
    lobby = Zone(id="lobby", volume_m3=5.0)
    doors = [Door(first="room", second="lobby"), Door(first="lobby", second="hall")]
    assert without_fresh_air(air_paths([room, lobby, HALL], doors, root="hall")) == ("lobby",)
