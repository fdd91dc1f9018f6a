"""The four streams at a ventilation unit, each with its state."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.air.states import MoistAir
from ventwright.quantities.records import dataclass
from ventwright.quantities.words import AirKind


@dataclass(frozen=True, slots=True, kw_only=True)
class FourStreams:
    """Outdoor, supply, extract and exhaust air, by the letters of EN 16798-3.

    Parameters
    ----------
    oda
        Outdoor air, entering the supply side.
    sup
        Supply air, leaving towards the rooms.
    eta
        Extract air, entering from the rooms.
    eha
        Exhaust air, leaving the house.

    Raises
    ------
    ValueError
        If some states carry the enhancement factor and others don't: their humidity ratios differ
        by 0.4 % for the same air.

    >>> from ventwright.air import moist_air_from
    >>> air = moist_air_from(pressure_pa=101325.0, temperature_c=20.0, rel_humidity_frac=0.5)
    >>> streams = FourStreams(oda=air, sup=air, eta=air, eha=air)
    >>> streams.at(AirKind.EXTRACT).temperature_c, [str(kind) for kind, _ in streams]
    (20.0, ['ODA', 'SUP', 'ETA', 'EHA'])
    """

    oda: MoistAir
    sup: MoistAir
    eta: MoistAir
    eha: MoistAir

    def __post_init__(self) -> None:
        if len({air.is_enhanced for _, air in self}) > 1:
            raise ValueError("states with and without enhancement factor can't be compared")

    def at(self, kind: AirKind) -> MoistAir:
        """State of one stream.

        Parameters
        ----------
        kind
            Which stream.

        Returns
        -------
        MoistAir
            Its state.
        """
        return dict(self)[kind]

    def __iter__(self) -> Iterator[tuple[AirKind, MoistAir]]:
        yield AirKind.OUTDOOR, self.oda
        yield AirKind.SUPPLY, self.sup
        yield AirKind.EXTRACT, self.eta
        yield AirKind.EXHAUST, self.eha
