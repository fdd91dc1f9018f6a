"""Sentences of the engine in the reader's units: it writes SI, a reader thinks in a habit."""

from __future__ import annotations

import re

from ventwright.quantities import Dimension, NumberStyle, format_quantity
from ventwright.report.measures import Measures

_MINUS = re.compile(r"(?<![\w.)-])-(?=\d)")
"""A hyphen that stands for a minus; those in dates and ids follow a letter or digit."""
_DIMENSIONS = {
    "°C": Dimension.TEMPERATURE,
    "K": Dimension.TEMPERATURE_DIFF,
    "m³/s": Dimension.FLOW,
    "m/s": Dimension.VELOCITY,
}
_NUMBER = r"[-−]?\d+(?:\.\d+)?(?:e-?\d+)?"
_QUANTITY = re.compile(
    rf"(?P<typed>'[^']*'|\"[^\"]*\")"
    rf"|(?P<wind>\bwind of )?(?<![\w./'-])(?P<low>{_NUMBER})(?: to (?P<high>{_NUMBER}))?"
    r" (?P<symbol>°C|m³/s|m/s|K)(?![\w²³/·])"
)

_OTHER_NUMBER = re.compile(
    r"(?P<typed>'[^']*'|\"[^\"]*\"|(?:ASHRAE|Standard|ISO|EN|CSA|clause|section|table) [\w.:-]+)"
    r"|(?<![\w.])\d+\.\d+(?![\w.])"
)
"""What is left of decimals; numbers of standards and of their clauses are none."""


def sentence(text: str) -> str:
    """A clause as a sentence: capital first, full stop last.

    Parameters
    ----------
    text
        Words of a problem.

    >>> sentence("the vane stands still"), sentence("")
    ('The vane stands still.', '')
    """
    if not text:
        return ""
    text = _MINUS.sub("−", text)
    end = "" if text[-1] in ".!?…" else "."
    return text[0].upper() + text[1:] + end


def in_measures(text: str, measures: Measures) -> str:
    """A text of the engine with its flows, velocities and temperatures in the reader's units.

    What stands in quotation marks was typed by somebody and stays as it is. Pressures stay in
    pascals, which are read in every habit.

    Parameters
    ----------
    text
        A message, remedy or note.
    measures
        The habit.

    >>> from ventwright.quantities import UnitPreference
    >>> ip = Measures(preference=UnitPreference.IP)
    >>> in_measures("outdoor air at -6.0 °C lies 2.5 K below 'the 3 K' set", ip)
    "outdoor air at 21.2 °F lies 4.5 °F below 'the 3 K' set"
    >>> in_measures("the rating serves 0.02 to 0.04 m³/s", ip)
    'the rating serves 42.4 to 84.8 cfm'
    """

    def shown(found: re.Match[str]) -> str:
        if found["typed"]:
            return found[0]
        dimension = _DIMENSIONS[found["symbol"]]
        if found["wind"]:
            return found["wind"] + measures.wind(_value(found["low"]))
        symbol = measures.symbol(dimension)
        if symbol == found["symbol"]:
            return found[0]
        values = [v for v in (found["low"], found["high"]) if v]
        texts = [_rounded(v, dimension, measures) for v in values]
        first = [t.removesuffix(symbol).rstrip() for t in texts[:-1]]
        return " to ".join([*first, texts[-1]])

    text = _QUANTITY.sub(shown, text)
    if measures.number_style is NumberStyle.DECIMAL_POINT:
        return text
    return _OTHER_NUMBER.sub(lambda found: found["typed"] or measures.marked(found[0]), text)


def _value(text: str) -> float:
    return float(text.replace("−", "-"))


def _rounded(typed: str, dimension: Dimension, measures: Measures) -> str:
    """The same quantity: temperatures with the decimals written, others with three digits."""
    is_warmth = dimension in (Dimension.TEMPERATURE, Dimension.TEMPERATURE_DIFF)
    digits = len(typed.partition(".")[2]) if is_warmth else None
    return format_quantity(
        _value(typed),
        dimension=dimension,
        unit_symbol=measures.symbol(dimension),
        digits=digits,
        number_style=measures.number_style,
    )
