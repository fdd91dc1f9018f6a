"""What holds for every test: no network, an awkward time zone, reproducible searches.

It also counts which reference values were executed and prints the count by shelf at the end.
"""

from __future__ import annotations

import ipaddress
import os
import socket
import time
from collections import Counter
from collections.abc import Iterator
from typing import Any

import hypothesis
import pytest

from tests.reference import shelves

# Quarter-hour offset, daylight saving and the date line: a local time taken for UTC shows at once.
os.environ["TZ"] = "Pacific/Chatham"
if hasattr(time, "tzset"):
    time.tzset()

hypothesis.settings.register_profile(
    "ventwright", derandomize=True, deadline=None, database=None, max_examples=50
)
hypothesis.settings.load_profile("ventwright")

EXECUTED: pytest.StashKey[set[tuple[str, str]]] = pytest.StashKey()
LAST = "test_every_row_was_executed"


def is_loopback(address: Any) -> bool:
    """Tell whether an address of `socket.connect` stays on this machine."""
    if not isinstance(address, tuple):
        return True  # a path: a socket of this machine's file system
    host = str(address[0])
    if host in {"localhost", ""}:
        return True
    try:
        return ipaddress.ip_address(host.split("%", maxsplit=1)[0]).is_loopback
    except ValueError:
        return False


@pytest.fixture(autouse=True, scope="session")
def no_network() -> Iterator[None]:
    """Refuse every connection that would leave this machine."""
    guarded = ("connect", "connect_ex")
    patch = pytest.MonkeyPatch()
    for name in guarded:
        original = getattr(socket.socket, name)

        def guard(self: socket.socket, address: Any, original: Any = original) -> Any:
            if not is_loopback(address):
                raise RuntimeError(f"a test tried to reach {address!r}; tests use no network")
            return original(self, address)

        patch.setattr(socket.socket, name, guard)
    resolve = socket.getaddrinfo

    def guarded_resolve(host: Any, *args: Any, **kwargs: Any) -> Any:
        name = host.decode() if isinstance(host, bytes) else host
        if not is_loopback((name or "",)):
            raise RuntimeError(f"a test tried to look up {host!r}; tests use no network")
        return resolve(host, *args, **kwargs)

    patch.setattr(socket, "getaddrinfo", guarded_resolve)
    yield
    patch.undo()


def pytest_configure(config: pytest.Config) -> None:
    config.stash[EXECUTED] = set()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Run the check on executed rows after everything that executes them."""
    items.sort(key=lambda item: item.name == LAST)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    """Note each reference row whose test ran to its end."""
    report = yield
    callspec = getattr(item, "callspec", None)
    if call.when == "call" and report.passed and callspec is not None:
        executed = item.config.stash[EXECUTED]
        executed |= {row.key for row in callspec.params.values() if isinstance(row, shelves.Row)}
    return report


@pytest.fixture
def executed_rows(request: pytest.FixtureRequest) -> set[tuple[str, str]]:
    """Reference rows executed so far; only meaningful in a run of the whole suite."""
    option = request.config.option
    whole = request.config.args_source is pytest.Config.ArgsSource.TESTPATHS
    if not whole or option.keyword or option.markexpr:
        pytest.skip("only a run of the whole suite can tell")
    return request.config.stash[EXECUTED]


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    """Print how many reference values were executed, by shelf."""
    executed = config.stash[EXECUTED]
    if not executed:
        return
    passed = Counter(row.kind for row in shelves.all_rows() if row.key in executed)
    stored = shelves.counts_by_kind()
    terminalreporter.section("reference values")
    for kind in shelves.KINDS:
        terminalreporter.write_line(f"{kind:12} {passed[kind]:5d} passed of {stored[kind]:5d}")
