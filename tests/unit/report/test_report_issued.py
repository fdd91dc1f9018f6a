"""An issued report says so once: its number, its hash, and how to check it."""

from __future__ import annotations

from tests.unit.report import cases
from ventwright.actions.record import issue_report, practice_ledger


def test_the_first_page_of_an_issued_report_is_no_draft() -> None:
    with practice_ledger() as ledger:
        kept = issue_report(ledger, "v")
    first = cases.squeezed(cases.read_pdf(kept.document).pages[0].extract_text())
    assert first.count("Reportnumber") == 1
    assert f"{kept.report.house}/{kept.report.number}" in first
    assert "draft" not in first
    assert "ventwrightverify" in first
    assert kept.report.snapshot_sha256 in first
