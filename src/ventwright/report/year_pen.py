"""What the pages of a year are written with: words, units and the findings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ventwright.quantities import (
    WATER_DENSITY_20C_KG_M3,
    Dimension,
    UnitPreference,
    format_quantity,
    format_with_uncertainty,
)
from ventwright.report.engine_words import in_measures
from ventwright.report.measures import Measures
from ventwright.report.model import Align, Column
from ventwright.report.wording import Words
from ventwright.uncertainty import Estimate, u_expanded

if TYPE_CHECKING:
    from ventwright.climate import YearFindings


@dataclass(frozen=True, slots=True, kw_only=True)
class YearPen:
    """Findings of a year with the words and units they are written in."""

    found: YearFindings
    measures: Measures
    words: Words

    def say(self, key: str, **values: str) -> str:
        """The sentence of a key, with what it says in SI itself in the reader's units."""
        return in_measures(self.words.say(key, **values), self.measures)

    def columns(
        self, *keys: str, numbers: Sequence[str] = (), **symbols: str
    ) -> tuple[Column, ...]:
        """Columns by the keys of their titles; `numbers` stand right, `symbols` name units."""
        return tuple(
            Column(
                title=self.say(f"year-column.{key}"),
                unit_of_measure=symbols.get(key.replace("-", "_"), ""),
                align=Align.NUMBER if key in numbers else Align.TEXT,
            )
            for key in keys
        )

    @property
    def is_ip(self) -> bool:
        """Whether inch-pound units are shown."""
        return self.measures.preference is UnitPreference.IP

    @property
    def water_symbol(self) -> str:
        """Unit of measure of amounts of water."""
        return "pint" if self.is_ip else "L"

    def water(self, mass_kg: float, *, u_kg: float | None = None) -> str:
        """An amount of water as a volume with its symbol."""
        value, u = (None if m is None else m / WATER_DENSITY_20C_KG_M3 for m in (mass_kg, u_kg))
        assert value is not None
        symbol = self.water_symbol
        if u:
            text = format_with_uncertainty(
                value,
                u_si=u,
                dimension=Dimension.VOLUME,
                unit_symbol=symbol,
                number_style=self.measures.number_style,
            )
        else:
            text = format_quantity(
                value,
                dimension=Dimension.VOLUME,
                unit_symbol=symbol,
                digits=0,
                number_style=self.measures.number_style,
            )
        return text

    def water_number(self, mass_kg: float) -> str:
        """An amount of water without its symbol."""
        return self.water(mass_kg).removesuffix(self.water_symbol).rstrip()

    def energy(self, energy_j: float) -> str:
        """An energy in kWh."""
        return self.measures.text(energy_j, Dimension.ENERGY, digits=0)

    def temperature(self, temperature_c: float) -> str:
        """A temperature to a tenth."""
        return self.measures.text(temperature_c, Dimension.TEMPERATURE, digits=1)

    def temperature_number(self, temperature_c: float) -> str:
        """The same without its symbol."""
        return self.measures.number(temperature_c, Dimension.TEMPERATURE, digits=1)

    def percent(self, share_frac: float) -> str:
        """A humidity in whole per cent."""
        return f"{100.0 * share_frac:.0f} %"

    def hours(self, hours_h: float | None) -> str:
        """A count of hours."""
        return "" if hours_h is None else f"{hours_h:.0f}"

    def figure(self, code: str, estimate_si: Estimate) -> tuple[str, str]:
        """Amount and expanded uncertainty of a figure, in its own unit of measure."""
        u = u_expanded(estimate_si)
        if code.endswith("_j"):
            symbol = self.measures.symbol(Dimension.ENERGY)
            texts = [self.energy(v) for v in (estimate_si.value, u)]
            return texts[0], f"{texts[1].removesuffix(symbol).rstrip()} {symbol}"
        if code.endswith("_kg"):
            return self.water(estimate_si.value), self.water(u)
        if code.endswith("_kg_s"):
            return tuple(  # type: ignore[return-value]
                self.measures.text(v, Dimension.MOISTURE_RATE, digits=1)
                for v in (estimate_si.value, u)
            )
        if code.endswith("_frac"):
            return self.percent(estimate_si.value), f"{100.0 * u:.0f} %"
        return self.hours(estimate_si.value), self.hours(u)

    def figure_name(self, code: str) -> str:
        """Words of a figure; a surface's hours carry its name."""
        kind, _, surface_id = code.partition(":")
        if not surface_id:
            return self.say(f"year-figure.{code}")
        name = next(s.name for s in self.found.surfaces if s.surface_id == surface_id)
        return self.say(f"year-figure.{kind}", name=name)

    def day(self, month: int, day_number: int) -> str:
        """A day of the year without a year."""
        return f"{day_number} {self.say(f'year-month.{month}')}"
