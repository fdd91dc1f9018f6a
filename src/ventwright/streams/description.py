"""The file that describes a device: how it is reached, and what each of its channels means."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path

from ventwright.exchange import read_toml
from ventwright.house import Reader, read_record, read_value, station_from
from ventwright.quantities import Count, Problem, TimeS, UserError
from ventwright.quantities.records import dataclass
from ventwright.streams.model import STREAMED, StreamChannel, dimension_streamed
from ventwright.streams.sensing import SENSED, Sensed

DEVICE_SCHEMA = "ventwright-device-1"
_MOST_ADDRESS = 65535
_MOST_INTERVAL_S = 60.0


class Link(StrEnum):
    """How a device is reached."""

    MODBUS_TCP = "modbus_tcp"
    MODBUS_RTU = "modbus_rtu"
    BLE = "ble"


class RegisterTable(StrEnum):
    """The two tables of a Modbus device that hold numbers, read by functions 4 and 3."""

    INPUT = "input"
    HOLDING = "holding"


class NumberType(StrEnum):
    """How a number fills registers of 16 bits."""

    INT16 = "int16"
    UINT16 = "uint16"
    INT32 = "int32"
    UINT32 = "uint32"
    FLOAT32 = "float32"


class WordOrder(StrEnum):
    """Which register of a number of two comes first, the one that counts more or less."""

    HIGH_FIRST = "high_first"
    LOW_FIRST = "low_first"


class Parity(StrEnum):
    """Parity of a serial line."""

    EVEN = "even"
    ODD = "odd"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class RegisterChannel:
    """One number in a device's registers: value = raw · `scale_factor` + `offset`.

    `register_index` counts from 0, as it goes over the wire. `not_known` are raw values, in
    hexadecimal, by which the device says that it has none. `decimal_digits` are those shown of a
    float.
    """

    id: str
    table: RegisterTable
    register_index: Count
    number_type: NumberType
    unit_of_measure: str
    name: str = ""
    scale_factor: Count = 1.0
    offset: str = "0"
    decimal_digits: Count = 3.0
    word_order: WordOrder = WordOrder.HIGH_FIRST
    not_known: tuple[str, ...] = ()
    station: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SensedChannel:
    """One characteristic of the Environmental Sensing Service; `instance_number` counts from 1."""

    id: str
    characteristic: Sensed
    name: str = ""
    instance_number: Count = 1.0
    station: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TcpDevice:
    """A Modbus device on a network."""

    id: str
    host: str
    channels: tuple[RegisterChannel, ...]
    name: str = ""
    port_number: Count = 502.0
    server_number: Count = 1.0
    interval_s: TimeS = 1.0
    timeout_s: TimeS = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RtuDevice:
    """A Modbus device on a serial line."""

    id: str
    serial_port: str
    channels: tuple[RegisterChannel, ...]
    name: str = ""
    baud_rate: Count = 19200.0
    parity: Parity = Parity.EVEN
    stop_bits: Count = 1.0
    server_number: Count = 1.0
    interval_s: TimeS = 1.0
    timeout_s: TimeS = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BleDevice:
    """A Bluetooth device with the Environmental Sensing Service; found by address or by name."""

    id: str
    channels: tuple[SensedChannel, ...]
    name: str = ""
    address: str = ""
    advertised_name: str = ""
    interval_s: TimeS = 1.0
    timeout_s: TimeS = 10.0


DeviceDescription = TcpDevice | RtuDevice | BleDevice
_OF_LINK: dict[Link, type[DeviceDescription]] = {
    Link.MODBUS_TCP: TcpDevice,
    Link.MODBUS_RTU: RtuDevice,
    Link.BLE: BleDevice,
}


def read_device(path: Path) -> DeviceDescription:
    """Read a device file.

    Parameters
    ----------
    path
        A TOML file; ``link`` says which of the three kinds of device it describes.

    Returns
    -------
    DeviceDescription
        Whole: a device half described would show half its numbers wrong.

    Raises
    ------
    UserError
        With file and line of everything that is wrong in it.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "probe.toml")
    ...     _ = path.write_text('schema = "ventwright-device-1"\\nid = "p"\\nlink = "ble"\\n'
    ...         'advertised_name = "Loft"\\n[[channels]]\\nid = "t"\\n'
    ...         'characteristic = "temperature"\\n')
    ...     read_device(path).channels[0].characteristic.value
    'temperature'
    """
    mapping, places = read_toml(path)
    reader = Reader()
    device = parse_device(mapping, reader=reader)
    problems: tuple[Problem, ...] = places.on(reader.problems)
    if device is None or problems:
        said = "; ".join(f"{p.where}: {p.message} ({p.remedy})" for p in problems[:3])
        raise UserError(f"{path.name} describes no device: {said}", problems=problems)
    return device


def parse_device(mapping: Mapping[str, object], *, reader: Reader) -> DeviceDescription | None:
    """A device from the plain mapping of its file.

    Parameters
    ----------
    mapping
        The whole file.
    reader
        Collects problems.

    Returns
    -------
    DeviceDescription or None
        None where too little could be read; good only if no problem was noted.

    >>> reader = Reader()
    >>> parse_device({"schema": "ventwright-device-1", "link": "pigeon"}, reader=reader)
    >>> reader.problems[0].where
    'link'
    """
    schema = mapping.get("schema")
    if schema != DEVICE_SCHEMA:
        reader.mistake(
            code="unknown-schema",
            where="schema",
            message=f"schema {schema!r} is not one that this version reads",
            remedy=f'write schema = "{DEVICE_SCHEMA}"',
        )
        return None
    if "link" not in mapping:
        reader.missing("link", Link, where="link")
        return None
    link = read_value(Link, mapping["link"], where="link", reader=reader)
    if not isinstance(link, Link):
        return None
    rest = {k: v for k, v in mapping.items() if k not in ("schema", "link")}
    device = read_record(_OF_LINK[link], rest, where="", reader=reader)
    if device is not None:
        _check(device, reader)
    return device


def stream_channels(device: DeviceDescription) -> tuple[StreamChannel, ...]:
    """The channels that a described device offers.

    Parameters
    ----------
    device
        As `read_device` gives it.

    >>> channel = RegisterChannel(id="v", table=RegisterTable.INPUT, register_index=0.0,
    ...     number_type=NumberType.INT16, unit_of_measure="m/s")
    >>> stream_channels(TcpDevice(id="d", host="127.0.0.1", channels=(channel,)))[0].name
    'v'
    """
    found = []
    channels: tuple[RegisterChannel | SensedChannel, ...] = device.channels
    for one in channels:
        symbol = (
            one.unit_of_measure
            if isinstance(one, RegisterChannel)
            else SENSED[one.characteristic].unit_of_measure
        )
        dimension = dimension_streamed(symbol)
        assert dimension is not None, "checked when the file was read"
        found.append(
            StreamChannel(
                id=one.id,
                name=one.name or one.id,
                dimension=dimension,
                unit_of_measure=symbol,
                station=one.station,
            )
        )
    return tuple(found)


def _check(device: DeviceDescription, reader: Reader) -> None:
    """What one field alone does not show."""
    if not device.channels:
        _wrong(reader, "channels", "no channel is described", "write one [[channels]] table each")
    if isinstance(device, BleDevice) and not (device.address or device.advertised_name):
        _wrong(
            reader,
            "address",
            "neither address nor advertised_name says which device is meant",
            "write one of them; ventwright listen --near lists both",
        )
    if not 0.05 <= device.interval_s <= _MOST_INTERVAL_S:
        _wrong(
            reader,
            "interval",
            f"one look every {device.interval_s:g} s",
            f"write 0.05 s to {_MOST_INTERVAL_S:.0f} s",
        )
    for key, most in (("port_number", 65535), ("server_number", 255), ("stop_bits", 2)):
        _check_whole(reader, key, getattr(device, key, 1.0), most)
    channels: tuple[RegisterChannel | SensedChannel, ...] = device.channels
    ids = [one.id for one in channels]
    _check_id(device.id, "id", reader)
    for i, one in enumerate(channels):
        where = f"channels[{i}]"
        _check_id(one.id, f"{where}.id", reader)
        if one.id in ids[:i]:
            _wrong(reader, f"{where}.id", f"{one.id!r} stands twice", "give each an id of its own")
        if one.station and station_from(one.station) is None:
            _wrong(
                reader,
                f"{where}.station",
                f"{one.station!r} names no station",
                "write SUP, ETA, ODA, EHA, unit, house, terminal:ID, branch:ID, room:ID, …",
            )
        if isinstance(one, RegisterChannel):
            _check_register(one, where, reader)
        else:
            _check_whole(reader, f"{where}.instance_number", one.instance_number, 100, least=1)


def _check_id(ident: str, where: str, reader: Reader) -> None:
    """An id is part of an address that pages ask for."""
    if not ident or not all(c.isascii() and (c.isalnum() or c in "._-") for c in ident):
        _wrong(reader, where, f"{ident!r} is no id", "use letters, digits and . _ - alone")


def _check_register(one: RegisterChannel, where: str, reader: Reader) -> None:
    _check_whole(reader, f"{where}.register_index", one.register_index, _MOST_ADDRESS)
    _check_whole(reader, f"{where}.decimal_digits", one.decimal_digits, 9)
    if dimension_streamed(one.unit_of_measure) is None:
        kinds = ", ".join(d.label for d in STREAMED)
        _wrong(
            reader,
            f"{where}.unit_of_measure",
            f"{one.unit_of_measure!r} measures nothing that a reading is made of",
            f"accepted are units of: {kinds}",
        )
    if not one.scale_factor > 0.0:
        _wrong(reader, f"{where}.scale_factor", "a scale of 0 shows nothing", "write e.g. 0.01")
    try:
        float(one.offset)
        for text in one.not_known:
            int(text, 16)
    except ValueError as trouble:
        _wrong(
            reader,
            where,
            f"offset or not_known can't be read: {trouble}",
            'write offset = "-40" and not_known = ["0x8000"]',
        )


def _check_whole(reader: Reader, where: str, value: float, most: int, *, least: int = 0) -> None:
    if value != int(value) or not least <= value <= most:
        _wrong(
            reader,
            where,
            f"{value:g} is no whole number from {least} to {most}",
            "see the device's own list of registers",
        )


def _wrong(reader: Reader, where: str, message: str, remedy: str) -> None:
    reader.mistake(code="device-file", where=where, message=message, remedy=remedy)
