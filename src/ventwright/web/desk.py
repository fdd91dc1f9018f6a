"""What the routes share: the record seen from a device, templates, and pages made once."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import replace

from jinja2 import Environment

from ventwright.actions.field import FieldPage, Habits, field_page, visit_number
from ventwright.actions.record import Ledger

_PAGES_KEPT_COUNT = 16


class Desk:
    """The record with the pages that were made of it last.

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
        self._pages: OrderedDict[tuple[str, int, Habits], FieldPage] = OrderedDict()
        self._lock = threading.Lock()

    def ledger_of(self, device: str) -> Ledger:
        """The record as a device's door to it, so that entries say where they came from."""
        return replace(self.ledger, via=f"page on {device}"[:200])

    def html(self, template: str, **values: object) -> str:
        """A template filled in."""
        return self.environment.get_template(template).render(**values)

    def page(self, visit_id: str, habits: Habits) -> FieldPage:
        """The page of a visit; the same entries and habits are worked out once.

        One at a time: phones that ask together would all wait for the same work.
        """
        with self._lock:
            key = (visit_id, visit_number(self.ledger, visit_id), habits)
            found = self._pages.get(key)
            if found is None:
                found = field_page(self.ledger, visit_id, habits=habits)
                # An entry may have come between: the page says itself how far it goes.
                self._pages[visit_id, found.number, habits] = found
                while len(self._pages) > _PAGES_KEPT_COUNT:
                    self._pages.popitem(last=False)
            return found
