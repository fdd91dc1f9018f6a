"""The served pages and the browsers of these tests; skipped as a whole where there is none."""

from __future__ import annotations

import pytest

from tests.pages import (
    CHROMIUM,
    FLAGS,
    Phone,
    Server,
    browser,
    free_port,
    needs_chromium,
    open_page,
    phone,
    playing,
    ready,
    sent,
    server,
)

__all__ = [
    "CHROMIUM",
    "FLAGS",
    "Phone",
    "Server",
    "browser",
    "free_port",
    "open_page",
    "phone",
    "playing",
    "ready",
    "sent",
    "server",
]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what needs a browser."""
    for item in items:
        if "browser" in item.path.parts:
            item.add_marker(needs_chromium)
