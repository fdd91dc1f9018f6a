"""The cautions of every report, from one file, each with the place where it belongs."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib import resources

from ventwright.house import House
from ventwright.report.model import Line, Mark

_WHENS = ("always", "combustion", "no-combustion", "surfaces")


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One caution.

    Parameters
    ----------
    id
        Stable.
    section
        Id of the section it belongs to.
    when
        When it is shown: ``always``, ``combustion`` (the house lists an appliance),
        ``no-combustion``, ``surfaces`` (the house lists surfaces).
    text
        Plain words.
    """

    id: str
    section: str
    when: str
    text: str

    @property
    def line(self) -> Line:
        """The caution as a line of the report."""
        return Line(text=self.text, mark=Mark.CAUTION)


def all_cautions() -> tuple[Caution, ...]:
    """Every caution of the file.

    >>> "codes-decide" in {c.id for c in all_cautions()}
    True
    """
    text = resources.files(__package__).joinpath("cautions.toml").read_text("utf-8")
    found = tuple(Caution(**entry) for entry in tomllib.loads(text)["caution"])
    wrong = [c.id for c in found if c.when not in _WHENS]
    if wrong:
        raise ValueError(f"cautions {wrong} have a `when` that is none of {_WHENS}")
    return found


def cautions_for(house: House) -> tuple[Caution, ...]:
    """The cautions that hold for a house.

    Parameters
    ----------
    house
        Its appliances and surfaces decide.

    >>> barn = House(schema="ventwright-house-1", id="b", name="Barn")
    >>> [c.id for c in cautions_for(barn)][:2]
    ['codes-decide', 'suction-elsewhere']
    """
    holds = {
        "always": True,
        "combustion": bool(house.combustion_appliances),
        "no-combustion": not house.combustion_appliances,
        "surfaces": bool(house.surfaces),
    }
    return tuple(c for c in all_cautions() if holds[c.when])
