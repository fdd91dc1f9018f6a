"""Registers and characteristic values into numbers, against other people's packers."""

from __future__ import annotations

import math
import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pymodbus.client.mixin import ModbusClientMixin

from ventwright.streams import (
    SENSED,
    NumberType,
    RegisterChannel,
    RegisterTable,
    Sampling,
    Sensed,
    WordOrder,
    es_measurement,
    is_paced,
    text_from_registers,
    text_from_value,
    word_count,
)

TYPES = {
    NumberType.INT16: (ModbusClientMixin.DATATYPE.INT16, st.integers(-(2**15), 2**15 - 1)),
    NumberType.UINT16: (ModbusClientMixin.DATATYPE.UINT16, st.integers(0, 2**16 - 1)),
    NumberType.INT32: (ModbusClientMixin.DATATYPE.INT32, st.integers(-(2**31), 2**31 - 1)),
    NumberType.UINT32: (ModbusClientMixin.DATATYPE.UINT32, st.integers(0, 2**32 - 1)),
    NumberType.FLOAT32: (
        ModbusClientMixin.DATATYPE.FLOAT32,
        st.floats(-1e6, 1e6, width=32),
    ),
}


def channel(number_type: NumberType, **more: object) -> RegisterChannel:
    return RegisterChannel(
        id="c",
        table=RegisterTable.INPUT,
        register_index=0.0,
        number_type=number_type,
        unit_of_measure="Pa",
        **more,  # type: ignore[arg-type]
    )


@pytest.mark.parametrize("order", WordOrder)
@pytest.mark.parametrize("number_type", NumberType)
@given(data=st.data())
def test_registers_read_as_a_general_library_packs_them(
    number_type: NumberType, order: WordOrder, data: st.DataObject
) -> None:
    kind, values = TYPES[number_type]
    value = data.draw(values)
    words = ModbusClientMixin.convert_to_registers(
        value, kind, word_order="big" if order is WordOrder.HIGH_FIRST else "little"
    )
    assert len(words) == word_count(number_type)
    found = float(text_from_registers(words, channel(number_type, word_order=order)))
    assert found == pytest.approx(value, abs=5.001e-4)


def test_scale_and_offset_give_the_digits() -> None:
    """613 tenths of a degree above −40 °C are 21.3 °C."""
    one = channel(NumberType.INT16, scale_factor=0.1, offset="-40")
    assert text_from_registers([613], one) == "21.3"
    assert text_from_registers([613], channel(NumberType.UINT16, scale_factor=0.05)) == "30.65"
    assert text_from_registers([613], channel(NumberType.UINT16)) == "613"


@pytest.mark.parametrize("raw", [0x7FC00000, 0x7F800000, 0xFF800000])
def test_a_float_that_is_no_number_shows_nothing(raw: int) -> None:
    words = [raw >> 16, raw & 0xFFFF]
    assert text_from_registers(words, channel(NumberType.FLOAT32)) == ""


def test_a_register_too_few_is_our_mistake() -> None:
    with pytest.raises(ValueError, match="1 registers for a int32"):
        text_from_registers([1], channel(NumberType.INT32))


CODES = {(1, True): "<b", (2, True): "<h", (2, False): "<H", (4, False): "<I"}


@pytest.mark.parametrize("sensed", Sensed)
@given(data=st.data())
def test_characteristics_read_as_struct_packs_them(sensed: Sensed, data: st.DataObject) -> None:
    form = SENSED[sensed]
    bits = 8 * form.size_bytes
    low, high = (-(2 ** (bits - 1)), 2 ** (bits - 1) - 1) if form.is_signed else (0, 2**bits - 1)
    raw = data.draw(st.integers(low, high))
    shown = text_from_value(struct.pack(CODES[form.size_bytes, form.is_signed], raw), sensed)
    value = raw / 10**form.decimal_digits
    is_allowed = (
        (form.low if form.low is not None else -math.inf)
        <= value
        <= (form.high if form.high is not None else math.inf)
    )
    if raw == form.not_known or not is_allowed:
        assert shown == ""
    else:
        assert float(shown) == pytest.approx(value, abs=1e-9)
        assert len(shown.partition(".")[2]) == form.decimal_digits


@pytest.mark.parametrize(
    ("sensed", "data"),
    [
        (Sensed.TEMPERATURE, "0080"),
        (Sensed.HUMIDITY, "ffff"),
        # 100.01 % and a value with a byte missing are forbidden.
        (Sensed.HUMIDITY, "1127"),
        (Sensed.TEMPERATURE, "69"),
        # −273.16 °C.
        (Sensed.TEMPERATURE, "4c95"),
    ],
)
def test_what_the_specification_forbids_shows_nothing(sensed: Sensed, data: str) -> None:
    assert text_from_value(bytes.fromhex(data), sensed) == ""


def test_descriptors_of_the_environmental_sensing_service() -> None:
    found = es_measurement(bytes.fromhex("0000 02 580200 0a0000 01 04"))
    assert found is not None
    assert (found.sampling, found.update_interval_s) == (Sampling.ARITHMETIC_MEAN, 10)
    assert es_measurement(b"") is None
    assert es_measurement(bytes.fromhex("0000 08 000000 000000 00 ff")) is None
    assert [is_paced(bytes.fromhex(t)) for t in ("01 010000", "01 000000", "02 010000", "03")] == [
        True,
        False,
        False,
        False,
    ]
    assert not is_paced(b"")
