"""Devices that send what they measure: Bluetooth's Environmental Sensing Service, and Modbus.

A file describes a device; parsing bytes and registers is pure and stands apart from the radio and
the wire, whose packages are installed only on demand. Words say why a device can't be heard.
"""

from ventwright.streams.description import (
    DEVICE_SCHEMA,
    BleDevice,
    DeviceDescription,
    Link,
    NumberType,
    Parity,
    RegisterChannel,
    RegisterTable,
    RtuDevice,
    SensedChannel,
    TcpDevice,
    WordOrder,
    parse_device,
    read_device,
    stream_channels,
)
from ventwright.streams.gatt import (
    GattCharacteristic,
    GattLink,
    SensingDevice,
    at_even_pace,
    sensing_device,
)
from ventwright.streams.hub import StreamHub, StreamSample, open_device
from ventwright.streams.modbus import ModbusDevice
from ventwright.streams.model import (
    OpenDevice,
    Shown,
    StreamChannel,
    dimension_streamed,
    extra_missing,
    gone,
    trouble_of,
)
from ventwright.streams.radio import NearDevice, near_devices
from ventwright.streams.registers import text_from_registers, word_count
from ventwright.streams.sensing import (
    SENSED,
    EsMeasurement,
    Format,
    Sampling,
    Sensed,
    es_measurement,
    is_paced,
    text_from_value,
    uuid_text,
)

__all__ = [
    "DEVICE_SCHEMA",
    "SENSED",
    "BleDevice",
    "DeviceDescription",
    "EsMeasurement",
    "Format",
    "GattCharacteristic",
    "GattLink",
    "Link",
    "ModbusDevice",
    "NearDevice",
    "NumberType",
    "OpenDevice",
    "Parity",
    "RegisterChannel",
    "RegisterTable",
    "RtuDevice",
    "Sampling",
    "Sensed",
    "SensedChannel",
    "SensingDevice",
    "Shown",
    "StreamChannel",
    "StreamHub",
    "StreamSample",
    "TcpDevice",
    "WordOrder",
    "at_even_pace",
    "dimension_streamed",
    "es_measurement",
    "extra_missing",
    "gone",
    "is_paced",
    "near_devices",
    "open_device",
    "parse_device",
    "read_device",
    "sensing_device",
    "stream_channels",
    "text_from_registers",
    "text_from_value",
    "trouble_of",
    "uuid_text",
    "word_count",
]
