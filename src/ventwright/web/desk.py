"""What the routes share: the record seen from a device, templates, and pages made once."""

from __future__ import annotations

import json
import threading
from collections import OrderedDict
from dataclasses import asdict, replace

from jinja2 import Environment

from ventwright.actions.field import (
    Habits,
    VisitMarks,
    WorkedVisit,
    field_forms,
    field_page,
    visit_marks,
    work_out,
)
from ventwright.actions.record import Ledger, find_visits
from ventwright.quantities import UserError

_PAGES_KEPT_COUNT = 16
_WORKED_KEPT_COUNT = 4


class Desk:
    """The record with the visits that were worked out last, and the pages that were made of them.

    Parameters
    ----------
    ledger
        The record.
    environment
        Templates.
    """

    def __init__(self, ledger: Ledger, environment: Environment) -> None:
        self.ledger = ledger
        self.environment = environment
        self._pages: OrderedDict[tuple[str, VisitMarks, Habits], bytes] = OrderedDict()
        self._worked: OrderedDict[str, WorkedVisit] = OrderedDict()
        self._lock = threading.Lock()

    def ledger_of(self, device: str) -> Ledger:
        """The record as a device's door to it, so that entries say where they came from."""
        return replace(self.ledger, via=f"page on {device}"[:200])

    def html(self, template: str, **values: object) -> str:
        """A template filled in."""
        return self.environment.get_template(template).render(**values)

    def page(self, visit_id: str, habits: Habits) -> bytes:
        """The page of a visit as JSON; the same entries, plan and habits are worked out once.

        One at a time: phones that ask together would all wait for the same work.
        """
        with self._lock:
            key = (visit_id, visit_marks(self.ledger, visit_id), habits)
            found = self._pages.get(key)
            if found is None:
                worked = self._work_out(visit_id, key[1])
                found = self._written(worked, habits)
                # An entry may have come between: the page says itself how far it goes.
                self._pages[visit_id, worked.marks, habits] = found
                while len(self._pages) > _PAGES_KEPT_COUNT:
                    self._pages.popitem(last=False)
            return found

    def get_ready(self, visit_id: str) -> None:
        """Work a visit out while the phone still loads the page that will ask for it."""
        try:
            with self._lock:
                self._work_out(visit_id, visit_marks(self.ledger, visit_id))
        except UserError:
            # Whoever asks for it is told.
            return

    def begin(self) -> None:
        """Make the page of the visit that changed last.

        The first page of all takes twice the time of any other, since everything that makes one
        is loaded with it.
        """
        try:
            for line in find_visits(self.ledger)[:1]:
                self.page(line.id, Habits())
        except UserError:
            return

    def _work_out(self, visit_id: str, marks: VisitMarks) -> WorkedVisit:
        """The visit worked out, whatever the habits of who looks."""
        worked = self._worked.get(visit_id)
        if worked is None or worked.marks != marks:
            worked = work_out(self.ledger, visit_id)
            self._worked[visit_id] = worked
        self._worked.move_to_end(visit_id)
        while len(self._worked) > _WORKED_KEPT_COUNT:
            self._worked.popitem(last=False)
        return worked

    def _written(self, worked: WorkedVisit, habits: Habits) -> bytes:
        page = field_page(worked, habits=habits)
        sections, cautions = page.model.sections, page.model.cautions
        # Sections are sent as the page shows them; their cells would be copied for nothing.
        plain = asdict(replace(page, model=replace(page.model, sections=(), cautions=())))
        plain["model"]["sections"] = [
            {
                "id": section.id,
                "title": section.title,
                "html": self.html("section.html", section=section),
            }
            for section in sections
        ]
        plain["model"]["cautions"] = [line.text for line in cautions]
        plain["forms"] = [asdict(form) for form in field_forms(habits.preference)]
        return json.dumps(plain, ensure_ascii=False, separators=(",", ":")).encode()
