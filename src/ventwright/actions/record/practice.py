"""A record to practise on: an empty barn and a visit to it, gone when it is closed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from ventwright.actions.record.houses import add_house
from ventwright.actions.record.ledger import Ledger, open_ledger
from ventwright.actions.record.visits import start_visit
from ventwright.house import HOUSE_SCHEMA, VISIT_SCHEMA, House, Visit


@contextmanager
def practice_ledger() -> Iterator[Ledger]:
    """A record in a temporary folder that holds house ``h`` and visit ``v``.

    >>> from ventwright.actions.record import find_visits
    >>> with practice_ledger() as ledger:
    ...     [line.id for line in find_visits(ledger)]
    ['v']
    """
    with (
        TemporaryDirectory() as folder,
        open_ledger(f"sqlite:///{Path(folder, 'record.db')}", via="practice") as ledger,
    ):
        add_house(ledger, House(schema=HOUSE_SCHEMA, id="h", name="Barn", altitude_m=0.0))
        start_visit(ledger, Visit(schema=VISIT_SCHEMA, id="v", house="h"))
        yield ledger
