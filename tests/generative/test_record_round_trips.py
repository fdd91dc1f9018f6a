"""Any house and visit, with any text in any field, goes through the record and comes back."""

from __future__ import annotations

import tempfile
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from hashlib import sha256
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.databases import postgres_url, record_url, sqlite_url
from tests.generative.test_exchange_round_trips import houses, readings, visits
from ventwright.actions.record import (
    Ledger,
    add_entry,
    add_house,
    export_bundle,
    import_bundle,
    look_at_visit,
    open_house,
    open_ledger,
    start_visit,
    verify_record,
)
from ventwright.house import (
    Decision,
    Entry,
    EntryKind,
    House,
    Kept,
    Note,
    Reading,
    Visit,
    Withdrawal,
    entries_of,
    entry_of,
    fold_visit,
    in_force,
    readings_in_force,
    standing_entries,
)

__all__ = ["postgres_url", "record_url", "sqlite_url"]

NUMBERS = count()
PICTURE = b"\x89PNG\r\n\x1a\n drawn"
PICTURE_SHA256 = sha256(PICTURE).hexdigest()
# Each example makes files or talks to a server: a failing one is shown as it is, not shrunk.
SHARED = [HealthCheck.function_scoped_fixture]  # examples share a record, under ids of their own
UNSHRUNK = (Phase.explicit, Phase.generate)


def usable(ident: str, taken: set[str]) -> str:
    """An id without control characters that nothing else of its kind has."""
    plain = "".join(c for c in ident if unicodedata.category(c) not in ("Cc", "Cs")) or "x"
    found = next(name for i in count() if (name := f"{plain}{i or ''}") not in taken)
    taken.add(found)
    return found


def recordable(visit: Visit) -> Visit:
    """The same visit, its ids naming one thing each and no two readings correcting one."""
    changed: dict[str, Any] = {}
    for field in ("instruments", "adjustments", "faults", "notes", "photos", "signatures"):
        taken: set[str] = set()
        parts = getattr(visit, field)
        changed[field] = tuple(replace(part, id=usable(part.id, taken)) for part in parts)
    # Files are kept by their hash before anything speaks of them.
    changed["photos"] = tuple(replace(p, sha256=PICTURE_SHA256) for p in changed["photos"])
    changed["signatures"] = tuple(
        replace(s, picture_sha256=s.picture_sha256 and PICTURE_SHA256)
        for s in changed["signatures"]
    )
    return replace(
        visit,
        id=usable(visit.id, set()),
        readings=recordable_readings(visit.readings),
        withdrawals=tuple(replace(w, kind=EntryKind.READING) for w in visit.withdrawals),
        **changed,
    )


def recordable_readings(some: Iterable[Reading]) -> tuple[Reading, ...]:
    taken: set[str] = set()
    targets: set[str | None] = {None}
    found = []
    for reading in some:
        target = None if reading.supersedes in targets else reading.supersedes
        targets.add(target)
        found.append(replace(reading, id=usable(reading.id, taken), supersedes=target))
    return tuple(found)


VISITS = visits().map(recordable)


def kept(entries: tuple[Entry, ...]) -> list[Kept]:
    return [Kept(number=i, content_sha256=str(i), entry=e) for i, e in enumerate(entries, 1)]


@given(VISITS)
@settings(max_examples=150)
def test_a_visit_taken_apart_and_put_together_is_the_same(visit: Visit) -> None:
    folded = fold_visit(kept(entries_of(visit)), visit_id=visit.id)
    assert folded.visit == visit
    assert folded.contests == ()


NOTES = st.builds(
    Entry,
    id=st.sampled_from("abc"),
    what=st.builds(Note, id=st.just("n"), text=st.sampled_from(["dry", "wet"])),
    supersedes=st.none() | st.sampled_from("abc"),
)
WITHDRAWALS = st.builds(
    Entry,
    id=st.sampled_from("wxyz"),
    what=st.builds(
        Withdrawal,
        entry=st.sampled_from("abcwx"),
        kind=st.sampled_from([EntryKind.NOTE, EntryKind.WITHDRAWAL]),
    ),
)
DECISIONS = st.builds(
    Entry,
    id=st.uuids().map(str),
    what=st.builds(
        Decision,
        kept_sha256=st.sampled_from(["1", "2", "3"]),
        dropped_sha256=st.lists(st.sampled_from(["4", "5"]), max_size=1).map(tuple),
    ),
)


@given(st.lists(NOTES | WITHDRAWALS | DECISIONS, max_size=9))
def test_whatever_is_added_every_entry_stands_is_contested_or_was_dropped(entries) -> None:
    everything = kept(tuple(entries))
    standing, contests = standing_entries(everything)
    others = [one for contest in contests for one in contest.others]
    assert sorted([*standing, *others], key=lambda k: k.number) == everything
    ids = Counter((k.entry.kind, k.entry.id) for k in standing)
    assert set(ids.values()) <= {1}
    forced = in_force(standing)
    assert set(forced) <= set(standing)
    superseded = {(k.entry.kind, k.entry.supersedes) for k in forced if k.entry.supersedes}
    loose = {(k.entry.kind, k.entry.id) for k in forced if k.entry.id != k.entry.supersedes}
    # Only a circle of entries that supersede each other leaves one that was superseded in force.
    for kind, ident in superseded & loose:
        assert any(
            k.entry.supersedes for k in standing if (k.entry.kind, k.entry.id) == (kind, ident)
        )


def recorded(ledger: Ledger, house: House, visit: Visit) -> tuple[House, Visit]:
    """Both in the record, under ids that no other example has."""
    number = next(NUMBERS)
    house = replace(house, id=f"h{number}")
    visit = replace(visit, id=f"v{number}", house=house.id)
    add_house(ledger, house)
    with ledger.store.writing() as change:
        change.put_blob(PICTURE, media_type="image/png")
    start_visit(ledger, visit)
    return house, visit


@pytest.fixture
def ledger(record_url: str) -> Iterator[Ledger]:
    with open_ledger(record_url) as opened:
        yield opened


@given(houses(), VISITS)
@settings(
    max_examples=40, phases=UNSHRUNK, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_houses_and_visits_survive_the_store(ledger: Ledger, house: House, visit: Visit) -> None:
    house, visit = recorded(ledger, house, visit)
    assert open_house(ledger, house.id).house == house
    assert look_at_visit(ledger, visit.id).visit == visit


@given(st.lists(st.tuples(houses(), VISITS), min_size=1, max_size=3))
@settings(max_examples=12, phases=UNSHRUNK)
def test_records_survive_a_bundle(some: list[tuple[House, Visit]]) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with (
            open_ledger(f"sqlite:///{folder / 'a.db'}") as first,
            open_ledger(f"sqlite:///{folder / 'b.db'}") as second,
        ):
            pairs = [recorded(first, house, visit) for house, visit in some]
            export_bundle(first, folder / "a.zip")
            import_bundle(second, folder / "a.zip")
            export_bundle(second, folder / "b.zip")
            for house, visit in pairs:
                assert open_house(second, house.id).house == house
                assert look_at_visit(second, visit.id).visit == visit
            assert verify_record(second).is_intact
        assert (folder / "a.zip").read_bytes() == (folder / "b.zip").read_bytes()


@given(st.lists(readings(), min_size=1, max_size=6), st.randoms(use_true_random=False))
@settings(
    max_examples=25, phases=UNSHRUNK, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_an_outbox_sent_in_any_order_and_often_gives_the_same_readings(
    ledger: Ledger, some: list[Reading], order
) -> None:
    """Phones resend until acknowledged: what counts is each reading once, whatever came when."""
    some = [replace(r, supersedes=None) for r in recordable_readings(some)]
    empty = Visit(schema="ventwright-visit-1", id="x", house="h")
    _, visit = recorded(ledger, House(schema="ventwright-house-1", id="h", name="Barn"), empty)
    sent = [*some, *order.choices(some, k=len(some))]
    order.shuffle(sent)
    for reading in sent:
        add_entry(ledger, visit.id, entry_of(reading))
    seen = look_at_visit(ledger, visit.id)
    assert {r.id: r for r in readings_in_force(seen.visit)} == {r.id: r for r in some}
    assert seen.head.number == 1 + len(some)
