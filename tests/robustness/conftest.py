"""The databases of the record."""

from tests.databases import postgres_url, sqlite_url

__all__ = ["postgres_url", "sqlite_url"]
