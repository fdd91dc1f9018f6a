"""Timed averages on a phone: typed, and streamed from a Modbus device; one reading each."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Server, ready, sent
from tests.browser.thumbs import shut
from tests.unit.streams.simulators import FLUTTER, ModbusProbe, modbus_probe
from ventwright.actions.record import look_at_visit, open_ledger
from ventwright.house import Reading, SampleOrigin, sample_numbers
from ventwright.uncertainty import timed_average

DEVICE = """\
schema = "ventwright-device-1"
id = "duct"
name = "Duct probe"
link = "modbus_tcp"
host = "127.0.0.1"
port_number = {port_number}
server_number = 7
interval = "0.1 s"

[[channels]]
id = "supply"
name = "supply velocity"
table = "input"
register_index = 0
number_type = "int16"
scale_factor = 0.01
unit_of_measure = "m/s"
station = "SUP"

[[channels]]
id = "other"
name = "a register that is not there"
table = "input"
register_index = 99
number_type = "int16"
unit_of_measure = "m/s"
"""


MANY = re.compile(r"^(1[6-9]|[2-9]\d|\d{3,}) samples")


@pytest.fixture(scope="module")
def probe() -> Iterator[ModbusProbe]:
    with modbus_probe() as probe:
        yield probe


@pytest.fixture
def listening(tmp_path: Path, probe: ModbusProbe) -> Iterator[Server]:
    device = tmp_path / "duct.toml"
    device.write_text(DEVICE.format(port_number=probe.port_number), encoding="utf-8")
    server = Server(tmp_path, "--device", str(device))
    yield server
    server.kill()


def last_reading(server: Server) -> Reading:
    with open_ledger(server.url) as ledger:
        return look_at_visit(ledger, server.visit).visit.readings[-1]


def test_the_phone_works_out_what_the_engine_does(
    server: Server, open_page: Callable[..., Page]
) -> None:
    """The same series through both; numbers agree to nine digits, words exactly."""
    draw = random.Random(20260304)
    cases = [{"values": [3.0] * 9, "interval_s": 1.0, "wanted_frac": 0.02, "resolution": 0.0}]
    for count in (1, 2, 3, 4, 5, 7, 20, 150, 900):
        for likeness in (0.0, 0.7, 0.95):
            value, values = 5.0, []
            for i in range(count):
                value = 5.0 + likeness * (value - 5.0) + draw.gauss(0.0, 0.3)
                values.append(round(value + (0.01 * i if likeness == 0.7 else 0.0), 3))
            for resolution in (0.0, 0.1):
                cases.append(
                    {
                        "values": values,
                        "interval_s": draw.uniform(0.1, 5.0),
                        "wanted_frac": draw.choice([0.01, 0.05]),
                        "resolution": resolution,
                    }
                )
    page = open_page("phone")
    page.goto(f"{server.address}/pair")
    found = page.evaluate(
        """async (cases) => {
            const { timedAverage } = await import("/static/average.js");
            return cases.map((one) => timedAverage(one.values, one));
        }""",
        cases,
    )
    steady = set()
    for case, here in zip(cases, found, strict=True):
        there = asdict(timed_average(case.pop("values"), **case))  # type: ignore[arg-type]
        assert here.keys() == there.keys()
        for name, value in there.items():
            if value is None or isinstance(value, bool):
                assert here[name] is value, (name, case)
            else:
                assert here[name] == pytest.approx(value, rel=1e-9, abs=1e-12), (name, case)
        steady.add(here["is_steady"])
    assert steady == {True, False}


def test_typed_samples_become_one_reading(server: Server, open_page: Callable[..., Page]) -> None:
    page = open_page("phone", locale="de-DE")
    ready(page, f"{server.address}/visits/{server.visit}")
    page.click("#sweep")
    page.select_option("#sweep-symbol", "m/s")
    for text in ("2,31", "2,36", "9,99"):
        page.fill("#sweep-sample", text)
        page.keyboard.press("Enter")
    page.click("#sweep-undo")
    for text in ("2,28", "2.33"):
        page.fill("#sweep-sample", text)
        page.keyboard.press("Enter")
    expect(page.locator("#sweep-facts")).to_contain_text("4 samples")
    expect(page.locator("#sweep-mean b")).to_have_text("2,32")
    expect(page.locator("#sweep-facts")).to_contain_text("spread 0,03")
    page.click("#sweep-go")
    page.select_option("#sweep-place", label="SUP supply air")
    page.click("#sweep-take")
    page.get_by_label("Duct, inside diameter", exact=True).fill("160")
    page.click("#entry-save")
    shut(page)
    sent(page)
    reading = last_reading(server)
    assert reading.station.stream is not None
    assert reading.station.stream.value == "SUP"
    assert reading.samples is not None
    assert reading.samples.texts == ("2.31", "2.36", "2.28", "2.33")
    assert reading.samples.origin is SampleOrigin.TYPED
    assert reading.look.velocities_m_s == (pytest.approx(2.32),)  # type: ignore[union-attr]
    assert [t.text for t in reading.typed if t.key == "velocities[0]"] == ["2,3200 m/s"]


def test_samples_of_a_device_arrive_and_become_one_reading(
    listening: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    ready(page, f"{listening.address}/visits/{listening.visit}")
    page.click('[data-group="unit"] [data-station="SUP"]')
    page.click("#entry .average >> nth=0")
    page.select_option("#sweep-source", label="Duct probe: supply velocity")
    expect(page.locator("#sweep-live")).to_contain_text("m/s")
    page.click("#sweep-go")
    expect(page.locator("#sweep-facts")).to_contain_text(MANY, timeout=20_000)
    page.click("#sweep-go")
    expect(page.locator("#sweep-take")).to_be_in_viewport(ratio=1)
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    mean = page.locator("#sweep-mean b").inner_text()
    page.click("#sweep-take")
    page.get_by_label("Duct, inside diameter", exact=True).fill("160")
    page.click("#entry-save")
    shut(page)
    sent(page)
    reading = last_reading(listening)
    samples = reading.samples
    assert samples is not None
    assert (samples.origin, samples.device) == (
        SampleOrigin.STREAMED,
        "Duct probe: supply velocity",
    )
    numbers = sample_numbers(samples)
    assert len(numbers) >= 16
    # Each value that the device holds in turn, one after the other, none lost and none doubled.
    turns = [FLUTTER.index(round(100 * one)) for one in numbers]
    assert turns == [(turns[0] + i) % len(FLUTTER) for i in range(len(turns))]
    assert samples.interval_s == pytest.approx(0.1, rel=0.3)
    expected = sum(numbers) / len(numbers)
    assert reading.look.velocities_m_s == (pytest.approx(expected, abs=1e-4),)  # type: ignore[union-attr]
    assert float(mean) == pytest.approx(expected, abs=0.006)
    assert reading.look.duration_s is not None  # type: ignore[union-attr]


def test_a_server_that_dies_midway_costs_no_sample(
    listening: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    ready(page, f"{listening.address}/visits/{listening.visit}")
    page.click('[data-group="unit"] [data-station="SUP"]')
    page.click("#entry .average >> nth=0")
    page.select_option("#sweep-source", label="Duct probe: supply velocity")
    page.click("#sweep-go")
    expect(page.locator("#sweep-facts")).to_contain_text(MANY, timeout=20_000)
    listening.kill()
    expect(page.locator("#sweep-live")).to_contain_text("The server does not answer")
    page.click("#sweep-go")
    page.click("#sweep-take")
    page.get_by_label("Duct, inside diameter", exact=True).fill("160")
    page.click("#entry-save")
    shut(page)
    expect(page.locator("#outbox")).to_contain_text("1 waiting")
    listening.start()
    sent(page)
    samples = last_reading(listening).samples
    assert samples is not None
    assert len(samples.texts) >= 16


def test_a_pause_is_no_time_of_the_average(server: Server, open_page: Callable[..., Page]) -> None:
    page = open_page("phone")
    page.clock.install()
    ready(page, f"{server.address}/visits/{server.visit}")
    page.click('[data-group="unit"] [data-station="SUP"]')
    page.get_by_label("Unit of Velocity", exact=True).select_option("fpm")
    page.click("#entry .average >> nth=0")
    # The unit that was chosen for the field is that of its samples.
    assert page.input_value("#sweep-symbol") == "fpm"
    for i, text in enumerate(("412", "420", "416", "421", "413", "417")):
        if i == 3:
            page.click("#sweep-go")
            page.clock.fast_forward(600_000)
            page.click("#sweep-go")
        page.fill("#sweep-sample", text)
        page.keyboard.press("Enter")
        page.clock.fast_forward(2_000)
    expect(page.locator("#sweep-facts")).to_contain_text("6 samples in 12 s")


def test_a_mean_that_is_typed_over_stands_without_samples(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{server.visit}")
    page.click('[data-group="unit"] [data-station="SUP"]')
    page.click("#entry .average >> nth=0")
    for text in ("2.31", "2.36"):
        page.fill("#sweep-sample", text)
        page.keyboard.press("Enter")
    page.click("#sweep-go")
    page.click("#sweep-take")
    page.get_by_label("Velocity", exact=True).fill("2.5")
    page.get_by_label("Duct, inside diameter", exact=True).fill("160")
    page.click("#entry-save")
    shut(page)
    sent(page)
    assert last_reading(server).samples is None


def test_what_keeps_samples_away_is_said(listening: Server, open_page: Callable[..., Page]) -> None:
    page = open_page("phone")
    ready(page, f"{listening.address}/visits/{listening.visit}")
    page.click("#sweep")
    page.select_option("#sweep-source", label="Duct probe: a register that is not there")
    expect(page.locator("#sweep-live")).to_contain_text("register_index counts from 0")
    page.select_option("#sweep-source", label="Duct probe: supply velocity")
    expect(page.locator("#sweep-live")).to_contain_text("now 2.")


def test_samples_are_not_thrown_away_unasked(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{server.visit}")
    page.click("#sweep")
    page.fill("#sweep-sample", "412")
    page.keyboard.press("Enter")
    page.once("dialog", lambda asked: asked.dismiss())
    page.keyboard.press("Escape")
    expect(page.locator("#sweep-facts")).to_contain_text("1 sample in")
    page.once("dialog", lambda asked: asked.accept())
    page.click("#sweep-close")
    expect(page.locator("#sweep-dialog")).to_have_count(0)
