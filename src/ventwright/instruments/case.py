"""What every method is handed, and what it hands back."""

from __future__ import annotations

from enum import Enum

from ventwright.house import Instrument, Reading, Terminal, VentilationUnit, station_text
from ventwright.instruments.classes import Channel, Figures
from ventwright.instruments.results import StationAir
from ventwright.instruments.wording import Flags, channel_text
from ventwright.quantities import AirKind, Side
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One reading with what is known around it; `flags` collects what is to be said."""

    reading: Reading
    instrument: Instrument | None
    air: StationAir
    flags: Flags
    ventilation_unit: VentilationUnit | None = None
    terminal: Terminal | None = None
    side: Side | None = None

    @property
    def station_id(self) -> str:
        """Prefix of the influences that belong to the place: all readings there share them."""
        system = self.reading.station.system
        place = station_text(self.reading.station)
        return f"station:{system}/{place}" if system else f"station:{place}"

    @property
    def place(self) -> str:
        """The station in words for a budget: ``SUP``, ``terminal x1``."""
        return station_text(self.reading.station).replace(":", " ")

    @property
    def meter_id(self) -> str:
        """Prefix of the meter's influences, or the reading's if nobody named the meter."""
        if self.instrument is None:
            return f"reading:{self.reading.id}"
        return f"instrument:{self.instrument.id}"

    @property
    def stream_side(self) -> Side | None:
        """Which tree of ducts the station lies in, from what was said of it."""
        if self.side is not None:
            return self.side
        if self.terminal is not None:
            return self.terminal.side
        stream = self.reading.station.stream
        if stream is None:
            return None
        return Side.SUPPLY if stream in (AirKind.OUTDOOR, AirKind.SUPPLY) else Side.EXTRACT


class Scaling(Enum):
    """How an indicated flow goes with density: actual = indicated · (1.2014/ρ)^exponent."""

    ACTUAL = 0.0
    PRESSURE = 0.5
    STANDARD = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Indicated:
    """A flow as the method gives it, and the air it is true for.

    Parameters
    ----------
    flow_m3_s
        Indicated flow.
    scaling
        How it goes with density.
    method_note
        What was done, without the density, as the first half of a sentence.
    is_reference_open
        The instrument's reference is not known, and no habit of its class tells.
    """

    flow_m3_s: Estimate
    scaling: Scaling
    method_note: str
    is_reference_open: bool = False


def check_range(flags: Flags, value_si: float, *, figures: Figures, channel: Channel) -> None:
    """Refuse what lies outside a typed range; warn outside a range typical of the class.

    Parameters
    ----------
    flags
        Takes the refusal or warning.
    value_si
        What was shown.
    figures
        Limits of the channel.
    channel
        Which one.
    """
    low, high = figures.low_si, figures.high_si
    is_low = low is not None and value_si < low
    if not is_low and (high is None or value_si <= high):
        return
    limit = low if is_low else high
    assert limit is not None
    side = "below" if is_low else "above"
    text = f"{channel_text(value_si, channel=channel)} is {side} the "
    bound = f"{channel_text(limit, channel=channel)}"
    if figures.is_range_typed:
        flags.refuse(
            "outside-range",
            f"{text}instrument's range, which {'begins' if is_low else 'ends'} at {bound}",
            "use an instrument whose range takes in this value",
        )
    flags.warn(
        "outside-class-range",
        f"{text}{bound} usual for its class (from memory)",
        "type the instrument's range, or use one made for this value",
    )
