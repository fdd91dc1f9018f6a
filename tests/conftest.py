"""What holds for every test: no network, an awkward time zone, reproducible searches.

It also counts which reference values were executed, prints the count by shelf at the end, and fails
a run of the whole suite that missed one, whether one process ran it or several.
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


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Run the check on executed rows after everything that executes them.

    Where tests are shared among processes none of them sees all: the one that shares them checks.
    """
    items.sort(key=lambda item: item.name == LAST)
    if hasattr(config, "workerinput"):
        items[:] = [item for item in items if item.name != LAST]


def _rows(item: pytest.Item) -> set[tuple[str, str]]:
    params = getattr(getattr(item, "callspec", None), "params", {})
    return {row.key for row in params.values() if isinstance(row, shelves.Row)}


def _is_whole(config: pytest.Config) -> bool:
    option = config.option
    by_folders = config.args_source is pytest.Config.ArgsSource.TESTPATHS
    return by_folders and not (option.keyword or option.markexpr or option.collectonly)


def _missed(config: pytest.Config) -> list[str]:
    """Reference rows that nothing executed, where processes shared a run of the whole suite."""
    if not getattr(config.option, "numprocesses", None) or not _is_whole(config):
        return []
    executed = config.stash[EXECUTED]
    return [
        f"{row.file}:{row.line} {row.case_id}"
        for row in shelves.all_rows()
        if row.key not in executed
    ]


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """Hand what a process executed to the one that counts; that one fails for missed rows."""
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["executed"] = sorted(session.config.stash[EXECUTED])
    elif session.exitstatus == pytest.ExitCode.OK and _missed(session.config):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Take in what a process executed."""
    found = getattr(node, "workeroutput", {}).get("executed", ())
    node.config.stash[EXECUTED] |= {(file, case) for file, case in found}


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    """Note each reference row whose test ran to its end."""
    report = yield
    if call.when == "call" and report.passed:
        item.config.stash[EXECUTED] |= _rows(item)
    return report


@pytest.fixture
def executed_rows(request: pytest.FixtureRequest) -> set[tuple[str, str]]:
    """Reference rows executed so far; only meaningful in a run of the whole suite."""
    if not _is_whole(request.config):
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
    for line in _missed(config):
        terminalreporter.write_line(f"never executed: {line}")
