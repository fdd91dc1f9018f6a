"""Every test here runs on both databases."""

from tests.databases import postgres_url, record_url, sqlite_url

__all__ = ["postgres_url", "record_url", "sqlite_url"]
