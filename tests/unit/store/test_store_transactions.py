"""What one transaction of the record promises, on both databases."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from ventwright.house import CHAIN_START, Draft, Series, link_problem, seal
from ventwright.store import ReceiptState, Store, count_record, list_houses, open_store

AT = datetime(2026, 3, 4, 16, 20, 0, 123456, tzinfo=UTC)
COLUMNS = {"name": "Barn", "place": "", "name_key": "barn", "search_text": "h barn"}


@pytest.fixture
def store(record_url: str) -> Iterator[Store]:
    with open_store(record_url) as opened:
        with opened.writing() as change:
            change.begin_series(Series.HOUSE, "h", at=AT, columns=COLUMNS)
        yield opened


def append(store: Store, ident: str, content: str = "{}", **more):
    supersedes = more.pop("supersedes", None)
    draft = Draft(kind="note", id=ident, content=content, supersedes=supersedes)
    with store.writing() as change:
        return change.append(draft, series=Series.HOUSE, owner="h", via="t", at=AT, **more)


def entries(store: Store):
    with store.reading() as now:
        return list(now.entries(Series.HOUSE, "h"))


def test_entries_come_back_as_they_were_sealed_and_in_order(store):
    texts = ["{}", '{"a":"\\u0000 nul"}', '{"b":"żółć 🜁 \u2028"}', '{"c":"%s %% :x \'q\'"}']
    for i, content in enumerate(texts):
        receipt = append(store, f"n{i}", content)
        assert (receipt.state, receipt.number) == (ReceiptState.RECORDED, i + 1)
    found = entries(store)
    assert [e.content for e in found] == texts
    assert [e.sealed_at for e in found] == [AT] * 4
    previous = None
    for entry in found:
        assert link_problem(entry, previous=previous) is None
        previous = entry


def test_the_same_entry_again_is_acknowledged_and_other_content_is_kept_as_contesting(store):
    first = append(store, "n")
    again = append(store, "n")
    assert (again.state, again.number, again.sha256) == (ReceiptState.ALREADY, 1, first.sha256)
    other = append(store, "n", '{"other":1}')
    assert (other.state, other.number, other.contests_number) == (ReceiptState.CONTESTED, 2, 1)
    once_more = append(store, "n", '{"other":1}')
    assert (once_more.state, once_more.contests_number) == (ReceiptState.ALREADY, 1)
    assert len(entries(store)) == 2


def test_a_second_entry_that_supersedes_the_same_one_contests_the_first(store):
    append(store, "a")
    assert append(store, "b", supersedes="a").state is ReceiptState.RECORDED
    later = append(store, "c", supersedes="a")
    assert (later.state, later.contests_number) == (ReceiptState.CONTESTED, 2)


def test_a_change_to_what_moved_on_meanwhile_is_not_recorded(store):
    append(store, "a", expected_number=0)
    stale = append(store, "b", expected_number=0)
    assert (stale.state, stale.number) == (ReceiptState.STALE, 1)
    assert append(store, "a", expected_number=0).state is ReceiptState.ALREADY
    assert [e.id for e in entries(store)] == ["a"]


def test_a_transaction_that_fails_leaves_nothing(store):
    append(store, "a")
    with pytest.raises(ZeroDivisionError), store.writing() as change:
        draft = Draft(kind="note", id="b", content="{}")
        change.append(draft, series=Series.HOUSE, owner="h", via="t", at=AT)
        change.put_blob(b"x", media_type="image/png")
        1 / 0  # noqa: B018
    assert [e.id for e in entries(store)] == ["a"]
    with store.reading() as now:
        assert now.blob_names() == []
        assert now.head(Series.HOUSE, "h").number == 1


def test_lists_show_nothing_of_an_entry_that_contests(store):
    append(store, "a", columns={"name": "Mill"})
    append(store, "a", '{"x":1}', columns={"name": "Tower"})
    with store.reading() as now:
        assert [line.name for line in list_houses(now).lines] == ["Mill"]


def test_blobs_are_kept_once_and_come_back_byte_for_byte(store):
    contents = [bytes(range(256)) * 5, b"", b'{"a":1}' * 1000]
    with store.writing() as change:
        names = [change.put_blob(c, media_type="application/json") for c in contents]
        assert names == [change.put_blob(c, media_type="image/png") for c in contents]
    with store.reading() as now:
        assert [now.blob(name)[0] for name in names] == contents
        assert count_record(now).blob_count == 3
        assert now.blob("0" * 64) is None


SEALED = "INSERT INTO house_entry SELECT owner, {number}, kind, {id}, supersedes, contests_number, "
SEALED += "'forged', content_sha256, via, sealed_at, previous_sha256, sha256 FROM house_entry "
FORBIDDEN = [
    "UPDATE house_entry SET content = 'forged'",
    "UPDATE house_entry SET sealed_at = '2020-01-01T00:00:00.000000Z'",
    "DELETE FROM house_entry",
    "DELETE FROM house",
    "UPDATE house SET number = 0",
    "UPDATE house SET id = 'other'",
    "UPDATE blob SET content = ''",
    "DELETE FROM blob",
    SEALED.format(number="9", id="'z'"),
    SEALED.format(number="2", id="'z'"),
]


@pytest.mark.parametrize("statement", FORBIDDEN)
def test_the_database_itself_refuses_to_change_delete_or_forge(store, statement):
    append(store, "a")
    with store.writing() as change:
        change.put_blob(b"x", media_type="image/png")
    before = entries(store)
    with pytest.raises(DBAPIError), store.writing() as change:
        change.connection.execute(text(statement))
    assert entries(store) == before


@pytest.mark.parametrize(
    "statement",
    [
        SEALED.format(number="number", id="id").replace("INSERT", "INSERT OR REPLACE"),
        "INSERT OR REPLACE INTO blob SELECT sha256, media_type, 0, 0, x'' FROM blob",
        "INSERT OR REPLACE INTO house SELECT id, 0, sha256, changed_at, name, place, name_key, "
        "search_text FROM house",
    ],
)
def test_sqlite_does_not_replace_rows_either(sqlite_url, statement):
    import sqlite3

    with open_store(sqlite_url) as store:
        with store.writing() as change:
            change.begin_series(Series.HOUSE, "h", at=AT, columns=COLUMNS)
            change.put_blob(b"x", media_type="image/png")
        append(store, "a")
    plain = sqlite3.connect(sqlite_url.removeprefix("sqlite:///"))
    with pytest.raises(sqlite3.IntegrityError, match=r"never replaced|after the last one"):
        plain.execute(statement)
    plain.close()


def test_postgresql_does_not_empty_tables(postgres_url):
    with (
        open_store(postgres_url) as store,
        pytest.raises(DBAPIError, match="never changed or deleted"),
        store.writing() as change,
    ):
        change.connection.execute(text("TRUNCATE visit_entry, report"))


def test_a_reading_transaction_can_not_write_on_a_server(postgres_url):
    from ventwright.quantities import UserError

    with (
        open_store(postgres_url) as store,
        pytest.raises(UserError, match="only be read"),
        store.reading() as now,
    ):
        now.put_blob(b"x", media_type="image/png")


def test_an_entry_sealed_elsewhere_is_taken_over_as_it_is(store):
    sealed = seal(
        Draft(kind="note", id="a", content="{}"),
        series=Series.HOUSE,
        owner="h",
        number=1,
        via="elsewhere",
        sealed_at=AT,
        previous_sha256=CHAIN_START,
    )
    with store.writing() as change:
        change.append_sealed(sealed)
    assert entries(store) == [sealed]


def test_pages_of_houses_hold_every_house_once(store):
    with store.writing() as change:
        for i in range(23):
            name = f"House {i % 7}"
            columns = {**COLUMNS, "name": name, "name_key": name.casefold()}
            change.begin_series(Series.HOUSE, f"x{i}", at=AT, columns=columns)
    seen, after = [], None
    while True:
        with store.reading() as now:
            page = list_houses(now, after_key=after, page_count=5)
        seen += [line.id for line in page.lines]
        after = page.next_key
        if after is None:
            break
    assert len(seen) == len(set(seen)) == 24


@pytest.mark.parametrize("words", ["100%", "a_b", "\\", "'"])
def test_words_that_mean_something_to_sql_are_only_words(store, words):
    columns = {**COLUMNS, "search_text": f"the {words} house"}
    with store.writing() as change:
        change.begin_series(Series.HOUSE, "odd", at=AT, columns=columns)
    with store.reading() as now:
        assert [line.id for line in list_houses(now, words=words).lines] == ["odd"]
