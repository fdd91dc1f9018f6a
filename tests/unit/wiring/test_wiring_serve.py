"""Serving: the address printed, the port that is taken, devices listed and shut out."""

from __future__ import annotations

import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from ventwright.actions.record import open_ledger
from ventwright.cli import main
from ventwright.web import DeviceBook
from ventwright.wiring import device_file, page_address


def test_token_stands_in_the_fragment_where_no_log_sees_it() -> None:
    address = page_address("192.168.1.5", port_number=8470, token="abc")
    assert address.partition("#")[2] == "abc"
    assert "abc" not in address.partition("#")[0]
    assert page_address("::1", port_number=1) == "http://[::1]:1/"


def test_a_taken_port_is_said_plainly(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port_number = taken.getsockname()[1]
        url = f"sqlite:///{tmp_path / 'record.db'}"
        assert main(["serve", "--port", str(port_number), "--database", url]) == 2
    assert f"can't serve on port {port_number}" in capsys.readouterr().err


def test_devices_are_listed_and_shut_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    url = f"sqlite:///{tmp_path / 'record.db'}"
    with open_ledger(url) as ledger:
        book = DeviceBook(device_file(ledger))
    assert main(["devices", "--database", url]) == 0
    assert "No device is paired." in capsys.readouterr().out
    token = book.let_in("Ada's phone")
    device = book.who(token)
    assert device is not None
    assert main(["devices", "--database", url]) == 0
    assert f"{device.id}  " in capsys.readouterr().out
    assert main(["devices", "--revoke", device.id, "--database", url]) == 0
    assert book.who(token) is None
    assert main(["devices", "--revoke", device.id, "--database", url]) == 2
    assert "no paired device" in capsys.readouterr().err


def test_a_spoilt_device_file_is_said_plainly(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "devices.json").write_text("{")
    url = f"sqlite:///{tmp_path / 'record.db'}"
    assert main(["devices", "--database", url]) == 2
    assert "can't read the paired devices" in capsys.readouterr().err


def test_lan_prints_a_code_to_scan_and_ends_when_told(tmp_path: Path) -> None:
    words = ["serve", "--lan", "--address", "ladder.test", "--port", "0"]
    url = f"sqlite:///{tmp_path / 'record.db'}"
    process = subprocess.Popen(
        [sys.executable, "-m", "ventwright", *words, "--database", url],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    lines = []
    for line in process.stdout:
        lines.append(line)
        if line.startswith("Ctrl-C"):
            break
    process.terminate()
    out, trouble = process.communicate()
    assert any("http://ladder.test:" in line and "/pair#" in line for line in lines)
    assert sum(("█" in line) or ("▀" in line) or ("▄" in line) for line in lines) > 10
    assert "Traceback" not in out + trouble


def test_devices_are_named_and_a_listener_does_not_hold_the_end_up(tmp_path: Path) -> None:
    device = tmp_path / "duct.toml"
    device.write_text(
        'schema = "ventwright-device-1"\nid = "duct"\nname = "Duct probe"\n'
        'link = "modbus_tcp"\nhost = "127.0.0.1"\nport_number = 1\n'
        '[[channels]]\nid = "v"\nname = "velocity"\ntable = "input"\nregister_index = 0\n'
        'number_type = "int16"\nunit_of_measure = "m/s"\n',
        encoding="utf-8",
    )
    url = f"sqlite:///{tmp_path / 'record.db'}"
    words = ["serve", "--port", "0", "--database", url, "--device", str(device)]
    process = subprocess.Popen(
        [sys.executable, "-m", "ventwright", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    address = process.stdout.readline().removeprefix("Pages: ").strip()
    named = process.stdout.readline()
    for _ in range(100):
        try:
            heard = urllib.request.urlopen(f"{address}api/streams/duct/v/events", timeout=10)
            break
        except OSError:
            time.sleep(0.1)
    words_heard = [heard.readline() for _ in range(4)]
    process.terminate()
    out, trouble = process.communicate(timeout=20)
    heard.close()
    assert named == "Listened to when asked for: Duct probe: velocity\n"
    assert words_heard[2] == b"event: trouble\n"
    assert b"can't be reached at 127.0.0.1, port 1" in words_heard[3]
    assert "Traceback" not in out + trouble


def test_help_needs_no_web_server() -> None:
    code = (
        "import sys; from ventwright.cli import main\n"
        "try: main(['serve', '--help'])\n"
        "except SystemExit: pass\n"
        "print([m for m in ('fastapi', 'uvicorn', 'sqlalchemy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
