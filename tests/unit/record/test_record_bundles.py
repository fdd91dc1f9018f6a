"""Bundles, files, backups: out and in again without loss, merged where records have gone apart."""

from __future__ import annotations

import json
import zipfile
from dataclasses import replace
from datetime import date

import pytest

from tests.unit.record.sample import DAY, EXAMPLES, everything, example, fill, opened
from ventwright.actions.record import (
    add_entry,
    add_house,
    change_house,
    export_bundle,
    export_files,
    find_houses,
    find_visits,
    import_bundle,
    import_paths,
    issue_report,
    look_at_visit,
    open_house,
    open_instrument,
    put_instrument,
    read_report,
    record_calibration,
    start_visit,
    verify_record,
)
from ventwright.exchange import open_bundle
from ventwright.house import (
    Calibration,
    Note,
    Visit,
    entry_of,
)
from ventwright.quantities import UserError


@pytest.fixture
def full(record_url, tmp_path):
    with opened(record_url) as ledger:
        visit = fill(ledger)
        yield ledger, visit, tmp_path


@pytest.fixture
def reported(record_url, tmp_path):
    with opened(record_url) as ledger:
        visit = fill(ledger, has_report=True)
        yield ledger, visit, tmp_path


def empty(tmp_path, name="other.db"):
    return opened(f"sqlite:///{tmp_path / name}", via="elsewhere")


def test_the_whole_record_goes_through_a_bundle_without_loss(reported):
    ledger, _, folder = reported
    export_bundle(ledger, folder / "all.zip")
    with empty(folder) as other:
        found = import_bundle(other, folder / "all.zip")
        assert found.problems == ()
        assert everything(other) == everything(ledger)
        assert verify_record(other).is_intact
        assert find_visits(other) == tuple(
            replace(v, changed_at=w.changed_at)
            for v, w in zip(find_visits(ledger), find_visits(other), strict=True)
        )
        assert [line.name for line in find_houses(other).lines] == ["Juniper Mesa"]
        assert read_report(other, "juniper-mesa", number=1) == read_report(
            ledger, "juniper-mesa", number=1
        )
        again = import_bundle(other, folder / "all.zip")
        assert (again.new_count, again.problems) == (0, ())
        export_bundle(other, folder / "again.zip")
    assert (folder / "again.zip").read_bytes() == (folder / "all.zip").read_bytes()


def test_a_house_bundle_holds_that_house_and_no_other(full):
    ledger, visit, folder = full
    other_house, other_visit = example("harbour_terrace")
    add_house(ledger, other_house)
    start_visit(ledger, other_visit)
    export_bundle(ledger, folder / "one.zip", house_id=visit.house)
    with empty(folder) as other:
        import_bundle(other, folder / "one.zip")
        assert [line.id for line in find_houses(other).lines] == [visit.house]
        assert [line.id for line in find_visits(other)] == [visit.id]
    with pytest.raises(UserError, match="nowhere"):
        export_bundle(ledger, folder / "none.zip", house_id="nowhere")
    assert not (folder / "none.zip").exists()


def test_a_bundle_with_more_of_a_visit_continues_it_as_it_was_sealed(full):
    ledger, visit, folder = full
    export_bundle(ledger, folder / "early.zip", house_id=visit.house)
    add_entry(ledger, visit.id, entry_of(Note(id="n1", text="later")))
    export_bundle(ledger, folder / "late.zip", house_id=visit.house)
    with empty(folder) as other:
        import_bundle(other, folder / "early.zip")
        found = import_bundle(other, folder / "late.zip")
        assert found.new_count == 1
        assert look_at_visit(other, visit.id).head == look_at_visit(ledger, visit.id).head
        assert import_bundle(other, folder / "early.zip").new_count == 0


def test_records_that_went_apart_keep_both_and_say_what_contradicts(reported):
    ledger, visit, folder = reported
    export_bundle(ledger, folder / "base.zip", house_id=visit.house)
    with empty(folder) as other:
        import_bundle(other, folder / "base.zip")
        for one, text in ((ledger, "dry"), (other, "wet")):
            add_entry(one, visit.id, entry_of(Note(id="n1", text=text)))
            add_entry(one, visit.id, entry_of(Note(id=f"only-{text}", text=text)))
            plan = open_house(one, visit.house)
            change_house(one, replace(plan.house, note=text), expected_number=plan.number)
            issue_report(one, visit.id)
        export_bundle(other, folder / "other.zip", house_id=visit.house)
        theirs = read_report(other, visit.house, number=2)
    found = import_bundle(ledger, folder / "other.zip")
    assert {p.code for p in found.problems} == {"contested", "report-number-taken"}
    seen = look_at_visit(ledger, visit.id)
    assert {n.id: n.text for n in seen.visit.notes} == {
        "n1": "dry",
        "only-dry": "dry",
        "only-wet": "wet",
    }
    now = open_house(ledger, visit.house)
    assert now.house.note == "dry"
    assert [p.code for p in now.problems] == ["contested"]
    assert read_report(ledger, visit.house, number=2) != theirs
    checked = verify_record(ledger)
    assert {p.code for p in checked.problems} == set(), checked.problems
    again = import_bundle(ledger, folder / "other.zip")
    assert again.new_count == 0
    plan = open_house(ledger, visit.house)
    change_house(ledger, replace(plan.house, note="both"), expected_number=plan.number)
    now = open_house(ledger, visit.house)
    assert (now.house.note, now.problems) == ("both", ())


def test_a_visit_whose_id_belongs_to_another_house_is_left_out_by_name(full):
    ledger, visit, folder = full
    house, _ = example("harbour_terrace")
    with empty(folder) as other:
        add_house(other, house)
        start_visit(other, Visit(schema=visit.schema, id=visit.id, house=house.id))
        export_bundle(other, folder / "clash.zip", house_id=house.id)
    found = import_bundle(ledger, folder / "clash.zip")
    assert [p.code for p in found.problems] == ["taken-id"]
    assert look_at_visit(ledger, visit.id).visit.readings == visit.readings


def test_a_bundle_of_a_visit_without_its_house_is_refused(full):
    ledger, visit, folder = full
    export_bundle(ledger, folder / "one.zip", house_id=visit.house)

    def orphaned(name, data):
        if name.startswith("house/"):
            return None
        if name != "manifest.json":
            return data
        manifest = json.loads(data)
        kept = [part for part in manifest["series"] if part["series"] == "visit"]
        return json.dumps({**manifest, "series": kept})

    orphan = rewritten(folder / "one.zip", folder / "orphan.zip", orphaned)
    with empty(folder) as other, pytest.raises(UserError, match="take its bundle in first"):
        import_bundle(other, orphan)


def rewritten(source, target, change):
    """A bundle with some of its parts changed."""
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            data = change(name, old.read(name))
            if data is not None:
                new.writestr(name, data)
    return target


def test_a_bundle_of_a_newer_schema_is_refused_with_what_to_do(full):
    ledger, _, folder = full
    export_bundle(ledger, folder / "all.zip")

    def newer(name, data):
        if name != "manifest.json":
            return data
        return json.dumps({**json.loads(data), "schema": "ventwright-bundle-9", "more": 1})

    newest = rewritten(folder / "all.zip", folder / "new.zip", newer)
    with empty(folder) as other, pytest.raises(UserError, match="newer ventwright") as caught:
        import_bundle(other, newest)
    assert caught.value.problems[0].code == "unknown-schema"


@pytest.mark.parametrize("what", ["visit/000001.jsonl", "files/", "house/000001.jsonl"])
@pytest.mark.parametrize("how", ["altered", "missing", "line lost"])
def test_a_damaged_bundle_adds_nothing(full, what, how):
    ledger, _, folder = full
    export_bundle(ledger, folder / "all.zip")

    def harm(name, data):
        if not name.startswith(what):
            return data
        if how == "missing":
            return None
        if how == "line lost":
            return b"".join(data.splitlines(keepends=True)[:-1])
        return data.replace(b"a", b"b", 1)

    harmed = rewritten(folder / "all.zip", folder / "harmed.zip", harm)
    with empty(folder) as other:
        with pytest.raises(UserError):
            import_bundle(other, harmed)
        assert everything(other)[0] == {}


def test_what_is_no_bundle_is_said_so(tmp_path):
    (tmp_path / "x.zip").write_bytes(b"not a zip")
    for name, code in (("x.zip", "not-a-bundle"), ("none.zip", "no-such-file")):
        with pytest.raises(UserError) as caught:
            open_bundle(tmp_path / name)
        assert caught.value.problems[0].code == code


def test_a_bundle_that_can_not_be_written_leaves_no_half(full):
    ledger, _, folder = full
    with pytest.raises(UserError, match="can't write"):
        export_bundle(ledger, folder / "no" / "where.zip")
    assert list(folder.glob("**/*.part")) == []


def test_house_and_visit_files_go_out_and_come_in_without_loss(full):
    ledger, visit, folder = full
    written = export_files(ledger, visit.house, folder / "files").paths
    assert {path.suffix for path in written} == {".toml", ".jpg", ".png"}
    with empty(folder) as other:
        found = import_paths(other, [folder / "files"])
        assert found.new_count > 0
        assert open_house(other, visit.house).house == open_house(ledger, visit.house).house
        mine, theirs = look_at_visit(ledger, visit.id), look_at_visit(other, visit.id)
        assert theirs.visit == mine.visit
        assert import_paths(other, [folder / "files"]).new_count == 0


def test_a_visit_file_whose_photos_are_missing_is_not_taken_in(full):
    ledger, visit, folder = full
    export_files(ledger, visit.house, folder / "files")
    for photo in (folder / "files" / "photos").iterdir():
        photo.unlink()
    with empty(folder) as other, pytest.raises(UserError, match="pictures"):
        import_paths(other, [folder / "files"])


def test_files_that_can_not_be_read_whole_are_not_taken_in(record_url):
    with opened(record_url) as ledger:
        import_paths(ledger, [EXAMPLES / "harbour_terrace" / "house.toml"])
        with pytest.raises(UserError, match="to mend") as caught:
            import_paths(ledger, [EXAMPLES / "malformed" / "visit.toml"])
        assert all("visit.toml:" in p.where for p in caught.value.problems)
        assert find_visits(ledger) == ()


def test_readings_in_a_table_alone_need_the_name_of_their_house(record_url):
    table = EXAMPLES / "harbour_terrace" / "recheck.csv"
    with opened(record_url) as ledger:
        import_paths(ledger, [EXAMPLES / "harbour_terrace" / "house.toml"])
        with pytest.raises(UserError, match="which house"):
            import_paths(ledger, [table])
        found = import_paths(ledger, [table], house_id="harbour-terrace")
        assert found.visits == ("recheck",)
        assert look_at_visit(ledger, "recheck").visit.readings


def test_a_changed_house_file_becomes_the_next_revision(record_url, tmp_path):
    with opened(record_url) as ledger:
        house = EXAMPLES / "juniper_mesa" / "house.toml"
        import_paths(ledger, [house])
        text = house.read_text(encoding="utf-8").replace("Juniper Mesa", "Juniper Ridge")
        (tmp_path / "house.toml").write_text(text, encoding="utf-8")
        assert import_paths(ledger, [tmp_path / "house.toml"]).new_count == 1
        assert import_paths(ledger, [tmp_path / "house.toml"]).new_count == 0
        seen = open_house(ledger, "juniper-mesa")
        assert (seen.number, seen.house.name) == (2, "Juniper Ridge")


def test_instruments_keep_their_calibrations(full):
    ledger, _, _ = full
    seen = open_instrument(ledger, "vane")
    assert seen.instrument.calibrated_on == DAY
    older = Calibration(id="c0", calibrated_on=date(2024, 1, 5), certificate_no="K-2")
    record_calibration(ledger, "vane", older)
    seen = open_instrument(ledger, "vane")
    assert [c.id for c in seen.calibrations] == ["c1", "c0"]
    assert seen.instrument.certificate_no == "K-17", "an older certificate replaces none"
    renamed = replace(seen.instrument, name="100 mm vane")
    with pytest.raises(UserError, match="revision"):
        put_instrument(ledger, renamed, expected_number=1)
    put_instrument(ledger, renamed, expected_number=seen.number)
    assert open_instrument(ledger, "vane").instrument == renamed
