"""Writes what a release leaves behind for later versions to open: run once for each release.

``python -m tests.compat.make_compat`` writes ``bundle-VERSION.zip``, a bundle with one of
everything, and ``rows-REVISION.json``, the rows of a database in the form of that release. Neither
is ever written again once the version is released; a later version that can't open them is wrong.
"""

from __future__ import annotations

import json
import tempfile
from dataclasses import replace
from pathlib import Path

from sqlalchemy import select

from tests.unit.record.sample import JPEG, PNG, example, opened
from ventwright import __version__
from ventwright.actions.record import (
    Ledger,
    LogStretch,
    add_entry,
    add_house,
    attach_photo,
    change_house,
    close_visit,
    decide,
    export_bundle,
    issue_report,
    look_at_visit,
    mend_fault,
    put_instrument,
    record_calibration,
    record_reading,
    sign_visit,
    start_visit,
    take_log,
    withdraw,
)
from ventwright.house import (
    Calibration,
    LogColumn,
    LogMapping,
    Note,
    Phase,
    Signature,
    SignerRole,
    entry_of,
)
from ventwright.store.migrate import HEAD_REVISION
from ventwright.store.tables import METADATA

FOLDER = Path(__file__).parent
LOG = b"Time,T,RH\n2026-02-11T17:00:00Z,68.2,38\n2026-02-11T17:00:10Z,68.4,38.5\n"


def fill(ledger: Ledger) -> None:
    """One of everything that the record can hold."""
    house, visit = example()
    readings = visit.readings[:8]
    add_house(ledger, house, by="ada")
    change_house(ledger, replace(house, note="loft seen"), expected_number=1, reason="seen")
    start_visit(ledger, replace(visit, readings=readings), by="ada")
    ident = visit.id
    attach_photo(ledger, ident, JPEG, photo_id="p1", caption="loose joint", where="loft")
    again = replace(readings[0], id="again", supersedes=readings[0].id, note="read once more")
    record_reading(ledger, ident, again, by="ada")
    withdraw(ledger, ident, entry_id=readings[1].id, reason="wrong terminal", by="ada")
    for text in ("hatch stuck", "hatch sticks"):
        add_entry(ledger, ident, entry_of(Note(id="n1", text=text, where="loft"), by="ben"))
    contest = look_at_visit(ledger, ident).folded.contests[0]
    decide(
        ledger,
        ident,
        kept_sha256=contest.others[0].content_sha256,
        dropped_sha256=(contest.standing.content_sha256,),
        reason="tried again",
        by="ada",
    )
    mend_fault(ledger, ident, fault_id=visit.faults[0].id, entry_id="mended", by="ada")
    mapping = LogMapping(
        time_header="Time",
        columns=(
            LogColumn(header="T", key="temperature", unit_of_measure="°F"),
            LogColumn(header="RH", key="rel_humidity", unit_of_measure="%"),
        ),
    )
    hygro = next(i for i in visit.instruments if i.id == "hygro")
    put_instrument(ledger, hygro, by="ada")
    done = Calibration(id="c1", calibrated_on=hygro.calibrated_on, certificate_no="K-17")  # type: ignore[arg-type]
    record_calibration(ledger, hygro.id, done, certificate=b"%PDF-1.7 certificate", by="ada")
    stretch = LogStretch(
        reading_id="logged",
        instrument=hygro.id,
        station="SUP",
        setting=readings[0].setting,
        phase=Phase.AS_LEFT,
    )
    take_log(ledger, ident, LOG, stretch, name="log.csv", mapping=mapping, by="ada")
    signature = Signature(id="s1", name="C. Owner", role=SignerRole.OWNER, statement="seen")
    sign_visit(ledger, ident, signature, picture=PNG)
    issue_report(ledger, ident, by="ada")
    close_visit(ledger, ident, by="ada")


def rows(ledger: Ledger) -> dict[str, list[dict[str, object]]]:
    """Every row of every table; the bytes of files lie in the bundle."""
    with ledger.store.reading() as now:
        return {
            table.name: [
                {k: v for k, v in row._mapping.items() if not isinstance(v, bytes)}
                for row in now.connection.execute(
                    select(table).order_by(*table.primary_key.columns)
                )
            ]
            for table in METADATA.sorted_tables
        }


def main() -> None:
    """Run as a script."""
    with tempfile.TemporaryDirectory() as folder:
        with opened(f"sqlite:///{folder}/record.db", via="compat") as ledger:
            fill(ledger)
            export_bundle(ledger, FOLDER / f"bundle-{__version__}.zip")
            text = json.dumps(rows(ledger), indent=0, ensure_ascii=False, sort_keys=True)
        (FOLDER / f"rows-{HEAD_REVISION}.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
