"""The databases of the record, and the served pages with their browser."""

from tests.databases import postgres_url, sqlite_url
from tests.pages import phone, playing, server

__all__ = ["phone", "playing", "postgres_url", "server", "sqlite_url"]
