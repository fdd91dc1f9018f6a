"""A Modbus server with real registers, read over real sockets of this machine."""

from __future__ import annotations

import asyncio
import socket
import sys
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager
from typing import Any

import pytest

from tests.unit.streams.simulators import FLUTTER, ModbusProbe, modbus_probe
from ventwright.quantities import Problem, UserError
from ventwright.streams import (
    NumberType,
    OpenDevice,
    RegisterChannel,
    RegisterTable,
    RtuDevice,
    Shown,
    StreamHub,
    StreamSample,
    TcpDevice,
    WordOrder,
    open_device,
)


@pytest.fixture(scope="module")
def probe() -> Iterator[ModbusProbe]:
    with modbus_probe() as probe:
        yield probe


def channel(id: str, address: int, number_type: NumberType, **more: Any) -> RegisterChannel:
    more = {"table": RegisterTable.INPUT, "unit_of_measure": "m/s"} | more
    return RegisterChannel(id=id, register_index=float(address), number_type=number_type, **more)


VELOCITY = channel("v", 0, NumberType.INT16, scale_factor=0.01)
POWER = channel(
    "w",
    1,
    NumberType.FLOAT32,
    word_order=WordOrder.LOW_FIRST,
    unit_of_measure="W",
    decimal_digits=1.0,
)
UNKNOWN = channel("u", 3, NumberType.INT16, not_known=("0x8000",))
WARMTH = channel(
    "t",
    0,
    NumberType.INT16,
    table=RegisterTable.HOLDING,
    scale_factor=0.1,
    offset="-40",
    unit_of_measure="°C",
)


def device(probe: ModbusProbe, *channels: RegisterChannel, **more: Any) -> TcpDevice:
    named = {
        "id": "duct",
        "name": "Duct probe",
        "host": "127.0.0.1",
        "port_number": float(probe.port_number),
        "server_number": 7.0,
        "interval_s": 0.05,
        "timeout_s": 1.0,
    }
    return TcpDevice(channels=channels, **(named | more))


async def looks(one: TcpDevice, count: int) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    async with open_device(one) as opened:
        async for shown in opened.shown():
            found.append((shown.channel, shown.text))
            if len(found) == count:
                break
    return found


def test_every_type_and_table_is_read(probe: ModbusProbe) -> None:
    found = asyncio.run(looks(device(probe, POWER, UNKNOWN, WARMTH), 3))
    assert found == [("w", "61.5"), ("u", ""), ("t", "21.3")]


def test_looks_follow_each_other(probe: ModbusProbe) -> None:
    found = [float(text) for _, text in asyncio.run(looks(device(probe, VELOCITY), 8))]
    assert sorted(found) == sorted(raw / 100 for raw in FLUTTER)


@pytest.mark.parametrize(
    ("index", "words"),
    [(99, "register_index counts from 0"), (50, "check server_number and wiring")],
)
def test_a_register_that_is_refused_silences_no_other(
    probe: ModbusProbe, index: int, words: str
) -> None:
    async def listen() -> tuple[StreamSample | Problem, StreamSample | Problem]:
        hub = StreamHub(device(probe, channel("x", index, NumberType.INT16), VELOCITY))
        refused, heard = hub.listen("x"), hub.listen("v")
        found = await asyncio.gather(anext(refused), anext(heard))
        await refused.aclose()
        await heard.aclose()
        return found

    refused, heard = asyncio.run(listen())
    assert isinstance(refused, Problem)
    assert refused.code == "device-refuses"
    assert refused.where == "Duct probe"
    assert words in refused.remedy
    assert isinstance(heard, StreamSample)


def test_nobody_at_an_address_is_told(probe: ModbusProbe) -> None:
    with pytest.raises(UserError, match="Duct probe: it can't be reached at localhost, port 1;"):
        asyncio.run(looks(device(probe, VELOCITY, host="localhost", port_number=1.0), 1))


def test_a_port_that_accepts_and_says_nothing_is_told() -> None:
    with socket.create_server(("127.0.0.1", 0)) as mute:
        silent = TcpDevice(
            id="mute",
            host="127.0.0.1",
            port_number=float(mute.getsockname()[1]),
            timeout_s=0.2,
            channels=(VELOCITY,),
        )
        with pytest.raises(UserError, match="mute: it does not answer"):
            asyncio.run(looks(silent, 1))


def test_a_serial_port_that_is_not_there_is_told() -> None:
    serial = RtuDevice(id="loft", serial_port="/dev/ttyNONE", channels=(VELOCITY,))

    async def listen() -> None:
        async with open_device(serial):
            raise AssertionError("nothing to open")

    with pytest.raises(UserError, match="loft: it can't be reached at /dev/ttyNONE; see that the"):
        asyncio.run(listen())


@pytest.mark.parametrize(
    ("package", "one"),
    [
        ("pymodbus.client", TcpDevice(id="d", host="127.0.0.1", channels=())),
        ("serial", RtuDevice(id="d", serial_port="/dev/ttyNONE", channels=())),
    ],
)
def test_a_missing_extra_is_named(
    monkeypatch: pytest.MonkeyPatch, package: str, one: TcpDevice | RtuDevice
) -> None:
    if package == "serial":
        monkeypatch.delitem(sys.modules, package, raising=False)
    else:
        monkeypatch.setitem(sys.modules, package, None)

    async def listen() -> None:
        async with open_device(one):
            raise AssertionError("nothing to open")

    with pytest.raises(UserError, match=r"pip install 'ventwright\[modbus\]'"):
        asyncio.run(listen())


def test_one_connection_serves_many_listeners(probe: ModbusProbe) -> None:
    opened = []

    def counted(one: Any) -> Any:
        opened.append(one)
        return open_device(one)

    async def listen() -> list[list[StreamSample]]:
        hub = StreamHub(device(probe, VELOCITY, POWER), opener=counted)

        async def few(channel_id: str) -> list[StreamSample]:
            found: list[StreamSample] = []
            heard = hub.listen(channel_id)
            async for one in heard:
                assert isinstance(one, StreamSample)
                found.append(one)
                if len(found) == 4:
                    break
            await heard.aclose()
            return found

        return list(await asyncio.gather(few("v"), few("v"), few("w")))

    first, second, third = asyncio.run(listen())
    assert len(opened) == 1
    assert [s.text for s in first] == [s.text for s in second]
    assert {s.text for s in third} == {"61.5"}
    assert {s.unit_of_measure for s in third} == {"W"}
    times = [s.at_s for s in first]
    assert times == sorted(times)


def test_a_device_is_let_go_when_nobody_listens_and_called_again(probe: ModbusProbe) -> None:
    steps: list[str] = []

    @asynccontextmanager
    async def noted(one: Any) -> AsyncIterator[OpenDevice]:
        steps.append("connect")
        async with open_device(one) as opened:
            yield opened
        steps.append("never by itself")

    @asynccontextmanager
    async def opener(one: Any) -> AsyncIterator[OpenDevice]:
        try:
            async with noted(one) as opened:
                yield opened
        finally:
            steps.append("let go")

    async def listen() -> None:
        hub = StreamHub(device(probe, VELOCITY), opener=opener)
        for _ in range(2):
            heard = hub.listen("v")
            assert isinstance(await anext(heard), StreamSample)
            await heard.aclose()
        for _ in range(100):
            if steps.count("let go") == 2:
                return
            await asyncio.sleep(0.02)

    asyncio.run(listen())
    assert steps == ["connect", "let go", "connect", "let go"]


def test_who_falls_far_behind_is_let_go(probe: ModbusProbe) -> None:
    """A mean with holes in it would be worse than none; the page calls again by itself."""

    async def listen() -> int:
        hub = StreamHub(device(probe, VELOCITY, interval_s=0.05), opener=rushed)
        heard = hub.listen("v")
        await anext(heard)
        await asyncio.sleep(0.3)
        return len([one async for one in heard])

    class Rushed:
        channels = ()

        async def shown(self) -> AsyncIterator[Shown]:
            while True:
                for _ in range(100):
                    yield Shown(channel="v", text="2.31")
                await asyncio.sleep(0.01)

    @asynccontextmanager
    async def rushed(_: Any) -> AsyncIterator[Rushed]:
        yield Rushed()

    assert asyncio.run(listen()) == 0


def test_a_device_that_is_away_is_told_and_tried_again() -> None:
    """First nobody answers; the same listener hears samples once the device is there."""

    async def listen() -> list[StreamSample | Problem]:
        with socket.create_server(("127.0.0.1", 0)) as free:
            port_number = free.getsockname()[1]
        one = TcpDevice(
            id="d", host="127.0.0.1", port_number=float(port_number), channels=(VELOCITY,)
        )
        tries = []

        def opener(device: Any) -> Any:
            tries.append(device)
            return open_device(device if len(tries) == 1 else there)

        hub = StreamHub(one, opener=opener)
        heard = hub.listen("v")
        found = [await anext(heard), await anext(heard)]
        await heard.aclose()
        return found

    with modbus_probe() as probe:
        there = device(probe, VELOCITY)
        trouble, sample = asyncio.run(listen())
    assert isinstance(trouble, Problem)
    assert trouble.code == "device-away"
    assert isinstance(sample, StreamSample)


def test_an_unknown_value_is_told_between_samples(probe: ModbusProbe) -> None:
    async def listen() -> StreamSample | Problem:
        heard = StreamHub(device(probe, UNKNOWN)).listen("u")
        found = await anext(heard)
        await heard.aclose()
        return found

    found = asyncio.run(listen())
    assert isinstance(found, Problem)
    assert found.code == "value-not-known"
