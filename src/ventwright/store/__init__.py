"""The record on disk: series of sealed entries, blobs, heads and lists, in SQLite or PostgreSQL.

Tables and statements live here and nowhere else. Entries are only ever added: the database refuses
to change or delete them, and each carries the hash of the one before it.
"""

from ventwright.store.backup import back_up, is_sqlite_file, restore
from ventwright.store.lists import (
    HouseLine,
    HousePage,
    InstrumentLine,
    RecordCounts,
    ReportLine,
    VisitLine,
    count_record,
    house_line,
    list_houses,
    list_instruments,
    list_reports,
    list_visits,
    owners,
    visit_line,
)
from ventwright.store.mistakes import user_error
from ventwright.store.opened import Store, open_store
from ventwright.store.places import URL_VARIABLE, default_url
from ventwright.store.soundness import soundness_problems
from ventwright.store.transaction import Head, Receipt, ReceiptState, Transaction

__all__ = [
    "URL_VARIABLE",
    "Head",
    "HouseLine",
    "HousePage",
    "InstrumentLine",
    "Receipt",
    "ReceiptState",
    "RecordCounts",
    "ReportLine",
    "Store",
    "Transaction",
    "VisitLine",
    "back_up",
    "count_record",
    "default_url",
    "house_line",
    "is_sqlite_file",
    "list_houses",
    "list_instruments",
    "list_reports",
    "list_visits",
    "open_store",
    "owners",
    "restore",
    "soundness_problems",
    "user_error",
    "visit_line",
]
