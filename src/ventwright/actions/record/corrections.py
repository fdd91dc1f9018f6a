"""Setting a visit right: withdraw an entry, mend a fault, choose between entries that disagree."""

from __future__ import annotations

from dataclasses import replace

from ventwright.actions.record.ledger import Handed, Ledger, kept_from, refuse_unknown
from ventwright.actions.record.visits import add_entry, put_entry, visit_of
from ventwright.house import Decision, Entry, EntryKind, Fault, Series, Withdrawal, entry_of


def withdraw(
    ledger: Ledger,
    visit_id: str,
    *,
    entry_id: str,
    kind: EntryKind = EntryKind.READING,
    withdrawal_id: str = "",
    reason: str = "",
    by: str = "",
) -> Handed:
    """Take an entry out of force; it stays in the record, with the reason beside it.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    entry_id, kind
        Which entry.
    withdrawal_id
        Id of the withdrawal; empty makes one of the entry's kind and id.
    reason, by
        Why and who.

    >>> from ventwright.actions.record import add_entry, look_at_visit, practice_ledger
    >>> from ventwright.house import Note
    >>> with practice_ledger() as ledger:
    ...     _ = add_entry(ledger, "v", entry_of(Note(id="n", text="dry")))
    ...     _ = withdraw(ledger, "v", entry_id="n", kind=EntryKind.NOTE, reason="other house")
    ...     look_at_visit(ledger, "v").visit.notes
    ()
    """
    what = Withdrawal(entry=entry_id, kind=kind, reason=reason, by=by)
    named = withdrawal_id or f"{kind.value}:{entry_id}"
    return add_entry(ledger, visit_id, entry_of(what, entry_id=named, by=by))


def mend_fault(
    ledger: Ledger,
    visit_id: str,
    *,
    fault_id: str,
    entry_id: str,
    retest_reading: str | None = None,
    by: str = "",
) -> Handed:
    """Mark a line of the punch list as mended, with the reading that tested it again.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    fault_id
        Id of the fault.
    entry_id
        Id of this entry.
    retest_reading
        The reading.
    by
        Who.

    Raises
    ------
    UserError
        ``unknown-fault`` if it is not on the list.

    >>> from ventwright.actions.record import add_entry, look_at_visit, practice_ledger
    >>> with practice_ledger() as ledger:
    ...     _ = add_entry(ledger, "v", entry_of(Fault(id="f", what="crushed duct")))
    ...     _ = mend_fault(ledger, "v", fault_id="f", entry_id="f-mended")
    ...     [(f.id, f.is_mended) for f in look_at_visit(ledger, "v").visit.faults]
    [('f', True)]
    """
    with ledger.store.writing() as change:
        kept = kept_from(change.entries(Series.VISIT, visit_id))
        about = [k.entry for k in kept if _is_about(k.entry, fault_id)]
        if not about:
            raise refuse_unknown("fault", fault_id, remedy="note it first")
        # The same mending handed in again must give the same entry, whatever came after it.
        before = [entry for entry in about if entry.id != entry_id]
        again = next((entry for entry in about if entry.id == entry_id), None)
        last = before[-1] if again is None else next(e for e in about if e.id == again.supersedes)
        assert isinstance(last.what, Fault)
        mended = replace(last.what, is_mended=True, retest_reading=retest_reading)
        entry = entry_of(mended, entry_id=entry_id, supersedes=last.id, by=by)
        return put_entry(change, ledger, visit_id, entry)


def _is_about(entry: Entry, fault_id: str) -> bool:
    return isinstance(entry.what, Fault) and entry.what.id == fault_id


def decide(
    ledger: Ledger,
    visit_id: str,
    *,
    kept_sha256: str,
    dropped_sha256: tuple[str, ...],
    reason: str = "",
    by: str = "",
) -> Handed:
    """Choose between entries that contest each other; those dropped stay in the record.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    kept_sha256, dropped_sha256
        Hashes of the contents of all of them, as `OpenVisit.folded.contests` gives them.
    reason, by
        Why and who.

    Raises
    ------
    UserError
        ``unknown-contest`` if these entries don't contest each other.

    >>> from ventwright.actions.record import add_entry, look_at_visit, practice_ledger
    >>> from ventwright.house import Note
    >>> with practice_ledger() as ledger:
    ...     for text in ("dry", "wet"):
    ...         _ = add_entry(ledger, "v", entry_of(Note(id="n", text=text)))
    ...     contest = look_at_visit(ledger, "v").folded.contests[0]
    ...     _ = decide(ledger, "v", kept_sha256=contest.others[0].content_sha256,
    ...         dropped_sha256=(contest.standing.content_sha256,))
    ...     look_at_visit(ledger, "v").visit.notes[0].text
    'wet'
    """
    wanted = {kept_sha256, *dropped_sha256}
    with ledger.store.writing() as change:
        seen = visit_of(change, visit_id)
        known = [
            {one.content_sha256 for one in (contest.standing, *contest.others)}
            for contest in seen.folded.contests
        ]
        if wanted not in known:
            raise refuse_unknown(
                "contest", kept_sha256[:12], remedy="name all entries of one contest"
            )
        entry = entry_of(
            Decision(kept_sha256=kept_sha256, dropped_sha256=dropped_sha256),
            entry_id=f"decision-{seen.head.number + 1}",
            reason=reason,
            by=by,
        )
        return put_entry(change, ledger, visit_id, entry)
