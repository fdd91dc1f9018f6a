"""What a user does with the record: houses, visits, entries, instruments, reports.

Kept apart from the actions on files, which need no database and start faster without one.
"""

from ventwright.actions.record.backups import back_up_record, restore_record
from ventwright.actions.record.bundles import (
    Imported,
    export_bundle,
    import_bundle,
    is_empty,
)
from ventwright.actions.record.changes import changelog_text, numbers_that_change
from ventwright.actions.record.corrections import decide, mend_fault, withdraw
from ventwright.actions.record.files import Exported, export_files, import_paths
from ventwright.actions.record.houses import (
    OpenHouse,
    add_house,
    change_house,
    find_houses,
    find_visits,
    house_columns,
    open_house,
    plan_of,
    put_house,
)
from ventwright.actions.record.instruments import (
    OpenInstrument,
    find_instruments,
    instrument_columns,
    instrument_of,
    open_instrument,
    put_instrument,
    record_calibration,
    remember_mapping,
)
from ventwright.actions.record.ledger import (
    Handed,
    Ledger,
    check_id,
    draft_from,
    entry_from,
    hand_in,
    kept_from,
    open_ledger,
    refuse_unknown,
    utc_now,
)
from ventwright.actions.record.pictures import (
    attach_photo,
    picture_type,
    read_picture,
    sign_visit,
)
from ventwright.actions.record.plan_parts import (
    PartChange,
    begin_house,
    change_instrument,
    change_part,
)
from ventwright.actions.record.practice import practice_ledger
from ventwright.actions.record.probe_logs import LogStretch, reading_from_log, take_log
from ventwright.actions.record.readings import record_reading, record_typed_reading
from ventwright.actions.record.recomputing import Difference, Recomputation, recompute
from ventwright.actions.record.reports import (
    KeptReport,
    assess_visit,
    issue_report,
    kept_report,
    photos_of,
    read_report,
    snapshot_of,
)
from ventwright.actions.record.verify import Verification, verify_record
from ventwright.actions.record.visits import (
    OpenVisit,
    SealedEntry,
    add_entry,
    close_visit,
    entries_since,
    look_at_visit,
    put_entry,
    put_visit,
    start_visit,
    visit_columns,
    visit_of,
)
from ventwright.house import LogColumn, LogMapping, Phase

__all__ = [
    "Difference",
    "Exported",
    "Handed",
    "Imported",
    "KeptReport",
    "Ledger",
    "LogColumn",
    "LogMapping",
    "LogStretch",
    "OpenHouse",
    "OpenInstrument",
    "OpenVisit",
    "PartChange",
    "Phase",
    "Recomputation",
    "SealedEntry",
    "Verification",
    "add_entry",
    "add_house",
    "assess_visit",
    "attach_photo",
    "back_up_record",
    "begin_house",
    "change_house",
    "change_instrument",
    "change_part",
    "changelog_text",
    "check_id",
    "close_visit",
    "decide",
    "draft_from",
    "entries_since",
    "entry_from",
    "export_bundle",
    "export_files",
    "find_houses",
    "find_instruments",
    "find_visits",
    "hand_in",
    "house_columns",
    "import_bundle",
    "import_paths",
    "instrument_columns",
    "instrument_of",
    "is_empty",
    "issue_report",
    "kept_from",
    "kept_report",
    "look_at_visit",
    "mend_fault",
    "numbers_that_change",
    "open_house",
    "open_instrument",
    "open_ledger",
    "photos_of",
    "picture_type",
    "plan_of",
    "practice_ledger",
    "put_entry",
    "put_house",
    "put_instrument",
    "put_visit",
    "read_picture",
    "read_report",
    "reading_from_log",
    "recompute",
    "record_calibration",
    "record_reading",
    "record_typed_reading",
    "refuse_unknown",
    "remember_mapping",
    "restore_record",
    "sign_visit",
    "snapshot_of",
    "start_visit",
    "take_log",
    "utc_now",
    "verify_record",
    "visit_columns",
    "visit_of",
    "withdraw",
]
