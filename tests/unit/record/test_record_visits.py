"""Houses and visits in the record: what is added stays, what contradicts is kept and decided."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from tests.unit.record.sample import JPEG, PNG, example, opened
from ventwright.actions.record import (
    Ledger,
    add_entry,
    add_house,
    attach_photo,
    change_house,
    close_visit,
    decide,
    entries_since,
    find_houses,
    find_visits,
    look_at_visit,
    mend_fault,
    open_house,
    read_picture,
    record_reading,
    record_typed_reading,
    sign_visit,
    start_visit,
    withdraw,
)
from ventwright.house import (
    Adjustment,
    AdjustmentKind,
    Conditions,
    EntryKind,
    Fault,
    House,
    Note,
    Reading,
    Signature,
    SignerRole,
    Visit,
    entry_of,
    readings_in_force,
)
from ventwright.quantities import UserError


@pytest.fixture
def ledger(record_url: str) -> Iterator[Ledger]:
    with opened(record_url) as one:
        yield one


@pytest.fixture
def visit(ledger: Ledger) -> Visit:
    house, found = example()
    add_house(ledger, house, by="ada")
    start_visit(ledger, found, by="ada")
    return found


def reading_of(visit: Visit, **changes: object) -> Reading:
    return replace(visit.readings[0], **changes)  # type: ignore[arg-type]


def in_force(ledger: Ledger, visit: Visit) -> dict[str, Reading]:
    return {r.id: r for r in readings_in_force(look_at_visit(ledger, visit.id).visit)}


def code_of(mistake: pytest.ExceptionInfo[UserError]) -> str:
    return mistake.value.problems[0].code


@pytest.mark.parametrize("name", ["juniper_mesa", "harbour_terrace"])
def test_a_whole_visit_comes_back_as_it_was(ledger, name):
    house, visit = example(name)
    add_house(ledger, house)
    start_visit(ledger, visit)
    seen = look_at_visit(ledger, visit.id)
    assert (seen.house, seen.visit) == (house, visit)
    assert start_visit(ledger, visit).receipt.state == "already"
    assert look_at_visit(ledger, visit.id).head == seen.head


def test_a_visit_needs_its_house_and_an_id_of_its_own(ledger, visit):
    with pytest.raises(UserError, match="ventwright import HOUSE") as caught:
        start_visit(ledger, replace(visit, id="w", house="nowhere"))
    assert code_of(caught) == "unknown-house"
    other, _ = example("harbour_terrace")
    add_house(ledger, other)
    with pytest.raises(UserError, match="another id"):
        start_visit(ledger, replace(visit, house=other.id))


def test_plans_are_kept_by_revision_and_a_change_to_an_old_one_is_refused(ledger):
    house, _ = example()
    add_house(ledger, house)
    second = replace(house, name="Mesa House")
    assert change_house(ledger, second, expected_number=1).receipt.number == 2
    with pytest.raises(UserError, match="is now revision 2") as caught:
        change_house(ledger, replace(house, name="Other"), expected_number=1)
    assert code_of(caught) == "changed-meanwhile"
    with pytest.raises(UserError):
        add_house(ledger, replace(house, name="Other"))
    assert change_house(ledger, second, expected_number=1).receipt.state == "already"
    assert open_house(ledger, house.id).house == second
    assert open_house(ledger, house.id, number=1).house == house
    assert [line.name for line in find_houses(ledger, words="mesa HOUSE").lines] == ["Mesa House"]
    with pytest.raises(UserError) as unknown:
        open_house(ledger, house.id, number=9)
    assert code_of(unknown) == "unknown-revision"
    with pytest.raises(UserError) as missing:
        change_house(ledger, replace(house, id="new"), expected_number=4)
    assert code_of(missing) == "unknown-house"


def test_a_reading_handed_in_twice_is_one_and_another_under_its_id_waits_for_a_decision(
    ledger, visit
):
    first = reading_of(visit, id="new", note="first")
    other = reading_of(visit, id="new", note="other")
    states = [record_reading(ledger, visit.id, r).receipt.state for r in (first, first, other)]
    assert states == ["recorded", "already", "contested"]
    seen = look_at_visit(ledger, visit.id)
    assert in_force(ledger, visit)["new"] == first
    assert "contested" in {p.code for p in seen.problems}
    (contest,) = seen.folded.contests
    assert [k.entry.what for k in (contest.standing, *contest.others)] == [first, other]
    dropped = (contest.standing.content_sha256,)
    kept = contest.others[0].content_sha256
    decide(ledger, visit.id, kept_sha256=kept, dropped_sha256=dropped, reason="typed on site")
    seen = look_at_visit(ledger, visit.id)
    assert in_force(ledger, visit)["new"] == other
    assert "contested" not in {p.code for p in seen.problems}
    assert len(entries_since(ledger, visit.id, after_number=seen.head.number - 3)) == 3
    decide(ledger, visit.id, kept_sha256=dropped[0], dropped_sha256=(kept,), reason="no, the first")
    assert in_force(ledger, visit)["new"] == first


def test_only_entries_of_one_contest_can_be_decided_between(ledger, visit):
    shas = [e.content_sha256 for e in entries_since(ledger, visit.id)[:2]]
    with pytest.raises(UserError) as caught:
        decide(ledger, visit.id, kept_sha256=shas[0], dropped_sha256=(shas[1],))
    assert code_of(caught) == "unknown-contest"


def test_a_correction_supersedes_and_a_withdrawn_correction_brings_nothing_back(ledger, visit):
    old = visit.readings[0].id
    record_reading(ledger, visit.id, reading_of(visit, id="again", supersedes=old))
    assert old not in in_force(ledger, visit)
    assert "again" in in_force(ledger, visit)
    withdraw(ledger, visit.id, entry_id="again", reason="wrong terminal", by="ada")
    assert {old, "again"}.isdisjoint(in_force(ledger, visit))
    seen = look_at_visit(ledger, visit.id).visit
    assert {old, "again"} <= {r.id for r in seen.readings}, "both stay in the record"
    assert seen.withdrawals[0].reason == "wrong terminal"
    # The withdrawal was the mistake: undone by withdrawing it.
    withdraw(ledger, visit.id, entry_id="reading:again", kind=EntryKind.WITHDRAWAL)
    assert "again" in in_force(ledger, visit)


def test_two_corrections_of_one_reading_contest_each_other(ledger, visit):
    old = visit.readings[0].id
    states = [
        record_reading(ledger, visit.id, reading_of(visit, id=name, supersedes=old)).receipt.state
        for name in ("by-ada", "by-ben")
    ]
    assert states == ["recorded", "contested"]
    assert "by-ada" in in_force(ledger, visit)
    assert "by-ben" not in in_force(ledger, visit)


def test_typed_readings_are_kept_as_typed_and_unreadable_ones_say_why(ledger, visit):
    typed = {
        "id": "typed",
        "station": "SUP",
        "method": "direct_flow",
        "flows": "118 cfm",
        "setting": "continuous",
        "phase": "as_left",
        "acuracy": "3 %",
    }
    handed = record_typed_reading(ledger, visit.id, typed)
    assert [p.code for p in handed.problems] == ["unknown-key"]
    assert in_force(ledger, visit)["typed"].typed[0].text == "118 cfm"
    with pytest.raises(UserError) as caught:
        record_typed_reading(ledger, visit.id, {**typed, "id": "bad", "flows": "lots"})
    assert any("flows" in p.where for p in caught.value.problems)
    assert "bad" not in in_force(ledger, visit)


def test_faults_are_noted_mended_and_tested_again(ledger, visit):
    add_entry(ledger, visit.id, entry_of(Fault(id="leak", what="loose joint"), by="ada"))
    for _ in range(2):
        mend_fault(ledger, visit.id, fault_id="leak", entry_id="leak-mended", retest_reading="r01")
    (leak,) = [f for f in look_at_visit(ledger, visit.id).visit.faults if f.id == "leak"]
    assert (leak.is_mended, leak.retest_reading, leak.what) == (True, "r01", "loose joint")
    with pytest.raises(UserError) as caught:
        mend_fault(ledger, visit.id, fault_id="none", entry_id="x")
    assert code_of(caught) == "unknown-fault"


def test_everything_else_of_a_visit_is_added_and_superseded(ledger, visit):
    ident = visit.id
    turned = Adjustment(id="a9", kind=AdjustmentKind.DAMPER, target="b1", position_deg=40.0)
    add_entry(ledger, ident, entry_of(turned))
    add_entry(ledger, ident, entry_of(Note(id="n1", text="hatch stuck", where="loft")))
    better = Note(id="n1b", text="hatch stuck, oil it", where="loft")
    add_entry(ledger, ident, entry_of(better, supersedes="n1", reason="more to say"))
    cold = Conditions(outdoor_temperature_c=-4.0)
    add_entry(ledger, ident, entry_of(cold, entry_id="c2", supersedes="conditions"))
    seen = look_at_visit(ledger, ident).visit
    assert turned in seen.adjustments
    assert seen.notes == (better,)
    assert seen.conditions == cold


def test_photos_and_signatures_come_back_byte_for_byte(ledger, visit):
    attach_photo(ledger, visit.id, JPEG, photo_id="p1", caption="joint", about="f1")
    sign_visit(
        ledger,
        visit.id,
        Signature(id="s1", name="C. Owner", role=SignerRole.OWNER, statement="handed over"),
        picture=PNG,
    )
    seen = look_at_visit(ledger, visit.id).visit
    assert read_picture(ledger, seen.photos[0].sha256) == (JPEG, "image/jpeg")
    assert read_picture(ledger, seen.signatures[0].picture_sha256 or "") == (PNG, "image/png")
    again = attach_photo(ledger, visit.id, JPEG, photo_id="p1", caption="joint", about="f1")
    assert again.receipt.state == "already"
    with pytest.raises(UserError, match="JPEG"):
        attach_photo(ledger, visit.id, b"GIF89a", photo_id="p2")


def test_what_arrives_after_closing_is_kept_and_said_to_be_late(ledger, visit):
    close_visit(ledger, visit.id, entry_id="closed")
    assert find_visits(ledger, house_id=visit.house)[0].is_closed
    late = record_reading(ledger, visit.id, reading_of(visit, id="late"))
    assert (late.receipt.state, late.problems[0].code) == ("recorded", "visit-closed")
    assert "late" in in_force(ledger, visit)
    withdraw(ledger, visit.id, entry_id="closed", kind=EntryKind.CLOSING)
    assert not find_visits(ledger, house_id=visit.house)[0].is_closed
    assert record_reading(ledger, visit.id, reading_of(visit, id="later")).problems == ()


def test_a_second_phone_asks_for_what_is_new(ledger, visit):
    known = look_at_visit(ledger, visit.id).head.number
    record_reading(ledger, visit.id, reading_of(visit, id="new"), by="ben")
    (fresh,) = entries_since(ledger, visit.id, after_number=known)
    assert (fresh.number, fresh.entry.id, fresh.entry.by, fresh.via) == (
        known + 1,
        "new",
        "ben",
        "test",
    )


@pytest.mark.parametrize("ident", ["", "a\nb", "nul\x00", "x" * 201])
def test_ids_that_can_not_name_anything_are_refused(ledger, visit, ident):
    with pytest.raises(UserError) as caught:
        record_reading(ledger, visit.id, reading_of(visit, id=ident))
    assert code_of(caught) == "unusable-id"


def test_half_a_character_is_refused_before_anything_is_written(ledger, visit):
    before = look_at_visit(ledger, visit.id).head
    with pytest.raises(UserError) as caught:
        add_entry(ledger, visit.id, entry_of(Note(id="n", text="\ud83d")))
    assert code_of(caught) == "not-text"
    assert look_at_visit(ledger, visit.id).head == before


def test_unknown_houses_and_visits_are_named(ledger):
    for ask in (
        lambda: look_at_visit(ledger, "v9"),
        lambda: entries_since(ledger, "v9"),
        lambda: add_entry(ledger, "v9", entry_of(Note(id="n", text=""))),
    ):
        with pytest.raises(UserError, match="v9") as caught:
            ask()
        assert code_of(caught) == "unknown-visit"
    with pytest.raises(UserError):
        find_visits(ledger, house_id="h9")


def test_lists_survive_texts_that_a_database_column_can_not_hold(ledger):
    house = House(schema="ventwright-house-1", id="h", name="a\x00b", place="\x00")
    add_house(ledger, house)
    start_visit(ledger, Visit(schema="ventwright-visit-1", id="v", house="h", technician="t\x00"))
    assert open_house(ledger, "h").house == house
    assert look_at_visit(ledger, "v").visit.technician == "t\x00"
    assert find_houses(ledger).lines[0].name == "a\ufffdb"
