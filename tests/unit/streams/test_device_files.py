"""Device files: what is wrong is named with its line, and nothing is half described."""

from __future__ import annotations

from pathlib import Path

import pytest

from ventwright.quantities import Dimension, UserError
from ventwright.streams import (
    BleDevice,
    RtuDevice,
    TcpDevice,
    WordOrder,
    read_device,
    stream_channels,
)

TCP = """\
schema = "ventwright-device-1"
id = "duct"
name = "Duct probe"
link = "modbus_tcp"
host = "192.0.2.7"
server_number = 7
interval = "0.5 s"

[[channels]]
id = "supply"
name = "supply velocity"
table = "input"
register_index = 0
number_type = "int16"
scale_factor = 0.01
unit_of_measure = "m/s"
not_known = ["0x8000"]
station = "SUP"

[[channels]]
id = "power"
table = "input"
register_index = 1
number_type = "float32"
word_order = "low_first"
decimal_digits = 1
unit_of_measure = "W"
"""


ROOT = Path(__file__).parents[3]
GUIDE = ROOT / "docs" / "how_to" / "hear_a_device.md"


def read(folder: Path, text: str):  # type: ignore[no-untyped-def]
    path = folder / "duct.toml"
    path.write_text(text, encoding="utf-8")
    return read_device(path)


def test_a_device_on_a_network(tmp_path: Path) -> None:
    device = read(tmp_path, TCP)
    assert isinstance(device, TcpDevice)
    assert (device.port_number, device.server_number, device.interval_s) == (502, 7, 0.5)
    assert device.channels[1].word_order is WordOrder.LOW_FIRST
    channels = stream_channels(device)
    assert [(c.name, c.dimension, c.station) for c in channels] == [
        ("supply velocity", Dimension.VELOCITY, "SUP"),
        ("power", Dimension.POWER, ""),
    ]


def test_a_device_on_a_serial_line(tmp_path: Path) -> None:
    text = TCP.replace('"modbus_tcp"', '"modbus_rtu"').replace(
        'host = "192.0.2.7"', 'serial_port = "/dev/ttyUSB0"\nbaud_rate = 9600\nparity = "none"'
    )
    device = read(tmp_path, text)
    assert isinstance(device, RtuDevice)
    assert (device.baud_rate, device.parity.value, device.stop_bits) == (9600, "none", 1)


def test_a_bluetooth_device(tmp_path: Path) -> None:
    device = read(
        tmp_path,
        'schema = "ventwright-device-1"\nid = "p"\nlink = "ble"\nadvertised_name = "Loft"\n'
        '[[channels]]\nid = "rh"\ncharacteristic = "humidity"\nstation = "ETA"\n',
    )
    assert isinstance(device, BleDevice)
    assert stream_channels(device)[0].unit_of_measure == "%"


@pytest.mark.parametrize(
    ("was", "now", "where"),
    [
        ('"ventwright-device-1"', '"ventwright-device-9"', "duct.toml:1: schema"),
        ('link = "modbus_tcp"\n', "", "duct.toml:1: link"),
        ('"modbus_tcp"', '"pigeon"', "duct.toml:4: link"),
        ('host = "192.0.2.7"\n', "", "duct.toml:1: host"),
        ("register_index = 0", "register_index = 0.5", "duct.toml:13: channels[0].register_index"),
        ("register_index = 1\n", "register_index = 70000\n", "channels[1].register_index"),
        ("server_number = 7", "server_number = 300", "duct.toml:6: server_number"),
        ('"0.5 s"', '"10 min"', "duct.toml:7: interval"),
        ('"m/s"', '"kg"', "channels[0].unit_of_measure"),
        ("scale_factor = 0.01", "scale_factor = 0", "channels[0].scale_factor"),
        ('"0x8000"', '"none"', "channels[0]"),
        ('station = "SUP"', 'station = "cellar"', "channels[0].station"),
        ('id = "power"', 'id = "supply"', "channels[1].id"),
        ('id = "power"', 'id = "po/wer"', "channels[1].id"),
        ('id = "duct"', 'id = "../duct"', "duct.toml:2: id"),
        ('number_type = "int16"', 'number_type = "int17"', "channels[0].number_type"),
        ("scale_factor = 0.01", "scale_factors = 0.01", "channels[0].scale_factors"),
    ],
)
def test_what_is_wrong_is_named(tmp_path: Path, was: str, now: str, where: str) -> None:
    assert was in TCP
    with pytest.raises(UserError) as caught:
        read(tmp_path, TCP.replace(was, now))
    assert where in caught.value.problems[0].where
    assert caught.value.problems[0].remedy


def test_a_bluetooth_device_must_be_found_by_something(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="neither address nor advertised_name"):
        read(
            tmp_path,
            'schema = "ventwright-device-1"\nid = "p"\nlink = "ble"\n'
            '[[channels]]\nid = "t"\ncharacteristic = "temperature"\n',
        )


def test_a_device_without_channels_is_none(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no channel"):
        read(
            tmp_path,
            'schema = "ventwright-device-1"\nid = "p"\nlink = "ble"\naddress = "x"\nchannels=[]\n',
        )


@pytest.mark.parametrize("path", sorted((ROOT / "examples" / "devices").glob("*.toml")))
def test_examples_describe_devices(path: Path) -> None:
    assert all(channel.station for channel in stream_channels(read_device(path)))


def test_the_file_of_the_guide_describes_a_device(tmp_path: Path) -> None:
    text = GUIDE.read_text(encoding="utf-8").split("```toml\n")[1].split("```")[0]
    assert stream_channels(read(tmp_path, text))[0].unit_of_measure == "m/s"
