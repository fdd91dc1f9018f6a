"""From the registers of a Modbus device to a number as it would be displayed. Pure."""

from __future__ import annotations

import math
import struct
from collections.abc import Sequence

from ventwright.streams.description import NumberType, RegisterChannel, WordOrder

_FORMS = {
    NumberType.INT16: (">h", 1),
    NumberType.UINT16: (">H", 1),
    NumberType.INT32: (">i", 2),
    NumberType.UINT32: (">I", 2),
    NumberType.FLOAT32: (">f", 2),
}


def word_count(number_type: NumberType) -> int:
    """How many registers a number fills.

    Parameters
    ----------
    number_type
        Its type.

    >>> word_count(NumberType.INT16), word_count(NumberType.FLOAT32)
    (1, 2)
    """
    return _FORMS[number_type][1]


def text_from_registers(words: Sequence[int], channel: RegisterChannel) -> str:
    """What registers show, as a plain number with the digits the device resolves.

    Parameters
    ----------
    words
        Registers in the order of their addresses, as many as the type fills, each 0 to 65535.
    channel
        What they mean. Bytes within a register come high first, as the protocol has it.

    Returns
    -------
    str
        Raw · scale factor + offset, with as many decimals as these two are written with (a float
        with `decimal_digits`); empty where the device says that it knows none, or sends a float
        that is no number.

    Raises
    ------
    ValueError
        If the number of registers does not fit: a fault of the caller.

    Source: modbus_application

    >>> from ventwright.streams.description import RegisterTable
    >>> channel = RegisterChannel(id="v", table=RegisterTable.INPUT, register_index=0.0,
    ...     scale_factor=0.01, number_type=NumberType.INT16, unit_of_measure="m/s",
    ...     not_known=("0x8000",))
    >>> text_from_registers([231], channel), text_from_registers([0x8000], channel)
    ('2.31', '')
    """
    form, count = _FORMS[channel.number_type]
    if len(words) != count:
        raise ValueError(f"{len(words)} registers for a {channel.number_type.value}")
    ordered = words if channel.word_order is WordOrder.HIGH_FIRST else list(reversed(words))
    packed = struct.pack(f">{count}H", *ordered)
    if int.from_bytes(packed, "big") in {int(text, 16) for text in channel.not_known}:
        return ""
    (raw,) = struct.unpack(form, packed)
    if not math.isfinite(raw):
        return ""
    value = raw * channel.scale_factor + float(channel.offset)
    if channel.number_type is NumberType.FLOAT32:
        decimals = int(channel.decimal_digits)
    else:
        decimals = max(_decimals(f"{channel.scale_factor:.12f}"), _decimals(channel.offset))
    return f"{value:.{decimals}f}"


def _decimals(text: str) -> int:
    return len(text.partition(".")[2].rstrip("0"))
