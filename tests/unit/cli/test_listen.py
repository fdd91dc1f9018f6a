"""``ventwright listen`` against a Modbus server on loopback."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.unit.streams.simulators import ModbusProbe, modbus_probe
from ventwright.cli import main
from ventwright.exchange import read_log
from ventwright.house import LogColumn, LogMapping

DEVICE = """\
schema = "ventwright-device-1"
id = "duct"
name = "Duct probe"
link = "modbus_tcp"
host = "127.0.0.1"
port_number = {port_number}
server_number = 7
interval = "0.05 s"

[[channels]]
id = "supply"
name = "supply velocity"
table = "input"
register_index = 0
number_type = "int16"
scale_factor = 0.01
unit_of_measure = "m/s"

[[channels]]
id = "unknown"
table = "input"
register_index = 3
number_type = "int16"
not_known = ["0x8000"]
unit_of_measure = "m/s"
"""


@pytest.fixture(scope="module")
def probe() -> Iterator[ModbusProbe]:
    with modbus_probe() as probe:
        yield probe


@pytest.fixture
def device(tmp_path: Path, probe: ModbusProbe) -> str:
    path = tmp_path / "duct.toml"
    path.write_text(DEVICE.format(port_number=probe.port_number), encoding="utf-8")
    return str(path)


def test_samples_are_printed_averaged_and_written(
    device: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "samples.csv"
    assert main(["listen", device, "--for", "1", "--wanted", "10", "--csv", str(out)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Duct probe: supply velocity [m/s]"
    assert lines[1].split() == ["0.0", "s", lines[1].split()[2]]
    assert lines[-1].startswith("Mean 2.3")
    assert lines[-1].endswith("Steady. That is enough.")
    # What was written is a log that a visit takes in.
    column = LogColumn(header="supply [m/s]", key="flows", unit_of_measure="m³/h")
    mapping = LogMapping(time_header="Time", columns=(column,))
    found = read_log(out.read_bytes(), mapping, path=out)
    assert len(found.samples) == len(lines) - 2
    assert not found.problems


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--channel", "attic"], "it has: supply, unknown"),
        (["--channel", "unknown"], "knows no value of unknown"),
        (["--for", "0"], "--for wants seconds above 0"),
        (["--wanted", "nan"], "--wanted per cent"),
    ],
)
def test_what_can_not_be_heard_is_the_users_to_mend(
    device: str, words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["listen", device, *words]) == 2
    assert said in capsys.readouterr().err


def test_a_device_that_is_away_is_told(device: str, capsys: pytest.CaptureFixture[str]) -> None:
    path = Path(device)
    text = path.read_text(encoding="utf-8")
    start = text.index("port_number")
    line = text[start : text.index("\n", start)]
    path.write_text(text.replace(line, "port_number = 1"), encoding="utf-8")
    assert main(["listen", device]) == 2
    assert "Duct probe: it can't be reached at 127.0.0.1, port 1" in capsys.readouterr().err


def test_a_folder_that_is_not_there_is_told(
    device: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["listen", device, "--csv", str(tmp_path / "none" / "out.csv")]) == 2
    assert "can't write" in capsys.readouterr().err


def test_nothing_to_listen_to_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["listen"]) == 2
    assert "--near" in capsys.readouterr().err


@pytest.mark.skipif(sys.platform != "linux", reason="other systems have no bus to take away")
def test_looking_around_without_a_radio_says_so(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", f"unix:path={tmp_path / 'nobody'}")
    assert main(["listen", "--near"]) == 2
    assert "Bluetooth can't be used on this machine" in capsys.readouterr().err


def test_serving_with_a_device_file_that_is_not_there_is_told(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["serve", "--device", "none.toml"]) == 2
    assert "no such file: none.toml" in capsys.readouterr().err
