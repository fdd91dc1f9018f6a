"""Numbers as the reader of a report wants them: in the units of a habit, rounded by uncertainty."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from ventwright.quantities import (
    Dimension,
    NumberStyle,
    UnitPreference,
    format_interval,
    format_quantity,
    format_with_uncertainty,
    from_si,
    to_si,
    unit_of_measure,
)
from ventwright.uncertainty import Estimate, Interval, u_expanded

_POINT = re.compile(r"(?<=\d)\.(?=\d)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """Writes quantities in one habit of units and one style of numbers.

    >>> m = Measures(preference=UnitPreference.IP)
    >>> m.text(0.0557, Dimension.FLOW, digits=0), m.number(0.0557, Dimension.FLOW, digits=0)
    ('118 cfm', '118')
    """

    preference: UnitPreference
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT

    def symbol(self, dimension: Dimension) -> str:
        """Symbol of the unit of measure for a kind of quantity."""
        return self.preference.symbol(dimension)

    def decimal(self, number: float, *, digits: int) -> str:
        """A bare number with so many decimals.

        >>> Measures(preference=UnitPreference.SI_LS, number_style=NumberStyle.DECIMAL_COMMA
        ...     ).decimal(-0.94, digits=1)
        '−0,9'
        """
        return self.marked(f"{number + 0.0:.{digits}f}".replace("-", "−"))

    def marked(self, text: str) -> str:
        """A text whose decimal points become the reader's mark; it holds nothing typed."""
        if self.number_style is NumberStyle.DECIMAL_POINT:
            return text
        return _POINT.sub(",", text)

    def wind(self, speed_m_s: float | None) -> str:
        """Wind as weather reports give it, not in the feet per minute of ducts."""
        if speed_m_s is None:
            return ""
        symbol = "mph" if self.preference is UnitPreference.IP else "m/s"
        text = format_quantity(
            speed_m_s,
            dimension=Dimension.VELOCITY,
            unit_symbol=symbol,
            digits=1,
            number_style=self.number_style,
        )
        return text.replace(".0 ", " ").replace(",0 ", " ")

    def house_pressure(self, pressure_pa: Estimate) -> str:
        """House against outside: pascals in every habit, since inches of water would be zeros."""
        return format_with_uncertainty(
            pressure_pa.value,
            u_si=u_expanded(pressure_pa),
            dimension=Dimension.PRESSURE,
            unit_symbol="Pa",
            number_style=self.number_style,
        )

    def pascals(self, limit_pa: float) -> str:
        """A limit on such a pressure, in pascals as well, without idle zeros."""
        text = format_quantity(
            limit_pa,
            dimension=Dimension.PRESSURE,
            unit_symbol="Pa",
            digits=1,
            number_style=self.number_style,
        )
        return text.replace(".0 ", " ").replace(",0 ", " ")

    def breath(self, rate_m3_s: float) -> str:
        """What one person gives off, in litres an hour: too small a flow for the habit."""
        return f"{rate_m3_s * 3.6e6:.0f} L/h"

    def opening(self, area_m2: float | None, *, digits: int = 0) -> str:
        """Area of a gap or grille, too small for the habit's square metres or feet."""
        if area_m2 is None:
            return ""
        symbol = "in²" if self.preference is UnitPreference.IP else "cm²"
        return format_quantity(
            area_m2,
            dimension=Dimension.AREA,
            unit_symbol=symbol,
            digits=digits,
            number_style=self.number_style,
        )

    def gap(self, height_m: float | None) -> str:
        """Height of a gap under a door."""
        if height_m is None:
            return ""
        is_ip = self.preference is UnitPreference.IP
        return format_quantity(
            height_m,
            dimension=Dimension.LENGTH,
            unit_symbol="in" if is_ip else "mm",
            digits=1 if is_ip else 0,
            number_style=self.number_style,
        )

    def text(
        self,
        value_si: float | None,
        dimension: Dimension,
        *,
        u_si: float | None = None,
        digits: int | None = None,
    ) -> str:
        """Number and symbol, rounded by the expanded uncertainty if one is given."""
        if value_si is None:
            return ""
        return format_quantity(
            value_si,
            dimension=dimension,
            unit_symbol=self.symbol(dimension),
            u_si=u_si,
            digits=digits,
            number_style=self.number_style,
        )

    def plain(self, value_si: float | None, dimension: Dimension) -> str:
        """A typed or agreed value with its symbol, without idle zeros behind the mark."""
        return self._joined(_without_idle_zeros(self.number(value_si, dimension)), dimension)

    def number(
        self,
        value_si: float | None,
        dimension: Dimension,
        *,
        u_si: float | None = None,
        digits: int | None = None,
    ) -> str:
        """As `text`, without the symbol: for a table whose column names it."""
        return self._bare(self.text(value_si, dimension, u_si=u_si, digits=digits), dimension)

    def flow_number(self, flow_m3_s: float | None, *, u_si: float | None) -> str:
        """A planned flow: as many digits as the reading beside it, else one decimal."""
        return self.number(flow_m3_s, Dimension.FLOW, u_si=u_si or None, digits=1)

    def at_most(self, value_si: float, dimension: Dimension) -> str:
        """An upper limit with symbol, rounded down to a whole one so that it stays safe."""
        symbol = self.symbol(dimension)
        shown = from_si(value_si, unit_of_measure=unit_of_measure(symbol, dimension=dimension))
        return f"{math.floor(shown + 1e-9)} {symbol}".replace("-", "−")

    def about(self, value_si: float | None, dimension: Dimension) -> str:
        """Two digits and symbol, for a value that is told without its uncertainty.

        >>> m = Measures(preference=UnitPreference.SI_M3H)
        >>> m.about(109.8 / 3600.0, Dimension.FLOW), m.about(3.04 / 3600.0, Dimension.FLOW)
        ('110 m³/h', '3 m³/h')
        """
        if value_si is None:
            return ""
        measure = unit_of_measure(self.symbol(dimension), dimension=dimension)
        shown = from_si(value_si, unit_of_measure=measure)
        digits = 1 - math.floor(math.log10(abs(shown))) if shown else 0
        # Rounded to tens, hundreds and so on before it is written without decimals.
        rounded = to_si(round(shown, digits), unit_of_measure=measure)
        text = self.number(rounded, dimension, digits=max(0, digits))
        return self._joined(_without_idle_zeros(text), dimension)

    def with_uncertainty(
        self, value_si: float, dimension: Dimension, *, u_si: float | None = None
    ) -> str:
        """Value ± expanded uncertainty and symbol; the value alone where none is known."""
        if not u_si:
            return self.text(value_si, dimension)
        return format_with_uncertainty(
            value_si,
            u_si=u_si,
            dimension=dimension,
            unit_symbol=self.symbol(dimension),
            number_style=self.number_style,
        )

    def estimate(self, estimate_si: Estimate | None, dimension: Dimension) -> str:
        """Value ± expanded uncertainty (k = 2) and symbol."""
        if estimate_si is None:
            return ""
        return self.with_uncertainty(
            estimate_si.value, dimension, u_si=max(u_expanded(estimate_si), 0.0)
        )

    def estimate_number(self, estimate_si: Estimate | None, dimension: Dimension) -> str:
        """As `estimate`, without the symbol."""
        return self._bare(self.estimate(estimate_si, dimension), dimension)

    def value(self, estimate_si: Estimate | None, dimension: Dimension) -> str:
        """Value and symbol alone, rounded by its uncertainty."""
        if estimate_si is None:
            return ""
        return self.text(estimate_si.value, dimension, u_si=u_expanded(estimate_si) or None)

    def range(
        self,
        dimension: Dimension,
        *,
        low_si: float | None,
        high_si: float | None,
        u_si: float,
    ) -> str:
        """Limits without symbol, rounded as the value that is judged against them."""
        low = self.number(low_si, dimension, u_si=u_si)
        high = self.number(high_si, dimension, u_si=u_si)
        if low and high:
            return f"{low} to {high}"
        return f"≥ {low}" if low else (f"≤ {high}" if high else "")

    def interval(self, interval: Interval | None, dimension: Dimension) -> str:
        """Both ends of an interval and symbol."""
        if interval is None:
            return ""
        return format_interval(
            low_si=interval.low,
            high_si=interval.high,
            dimension=dimension,
            unit_symbol=self.symbol(dimension),
            number_style=self.number_style,
        )

    def _joined(self, number: str, dimension: Dimension) -> str:
        symbol = self.symbol(dimension)
        gap = "" if symbol == "°" else " "
        return f"{number}{gap}{symbol}".rstrip() if number else ""

    def _bare(self, text: str, dimension: Dimension) -> str:
        return text.removesuffix(self.symbol(dimension)).rstrip()


def _without_idle_zeros(number: str) -> str:
    return number.rstrip("0").rstrip(".,") if "." in number or "," in number else number


def percent(prob_frac: float) -> str:
    """A probability in whole per cent that never claims certainty.

    Parameters
    ----------
    prob_frac
        Between 0 and 1.

    >>> percent(0.637), percent(0.9999), percent(0.0002)
    ('64 %', 'over 99 %', 'under 1 %')
    """
    if prob_frac > 0.99:
        return "over 99 %"
    if prob_frac < 0.01:
        return "under 1 %"
    return f"{100.0 * prob_frac:.0f} %"
