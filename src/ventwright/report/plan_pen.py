"""What every part of a written plan needs: findings, house, words, measures, names of things."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.findings import (
    DamperPlan,
    PlanFindings,
    PlanSnapshot,
    SettingPlan,
    SidePlan,
    SystemPlan,
    TerminalPlan,
)
from ventwright.quantities import Dimension, Side, UnitPreference, format_quantity
from ventwright.report.measures import Measures
from ventwright.report.model import Align, Column
from ventwright.report.wording import Words

_HUNDRED_FEET_M = 30.48


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPen:
    """A plan and its record, in one language and one habit of units."""

    found: PlanFindings
    snapshot: PlanSnapshot
    measures: Measures
    words: Words

    @property
    def is_ip(self) -> bool:
        """Whether the reader measures in inches."""
        return self.measures.preference is UnitPreference.IP

    def say(self, key: str, **values: str) -> str:
        """A sentence of the catalogue."""
        return self.words.say(key, **values)

    def side(self, side: Side) -> str:
        """Word of a side, as it begins a sentence."""
        return self.say(f"side.{side.value}").capitalize()

    def of_system(self, system: SystemPlan) -> str:
        """Prefix that names a system where a house has more than one."""
        if len(self.found.systems) < 2:
            return ""
        return self.say("system.name", name=system.name or system.system_id)

    def setting(self, setting_id: str) -> str:
        """Name of a fan setting; full speed where a system lists none."""
        return setting_id or "1"

    @property
    def flow_digits(self) -> int:
        """Decimals that suit a predicted flow: tenths of a litre per second, else whole."""
        return 1 if self.measures.preference is UnitPreference.SI_LS else 0

    def flow(self, flow_m3_s: float | None) -> str:
        """A flow with its unit of measure."""
        return self.measures.text(flow_m3_s, Dimension.FLOW, digits=self.flow_digits)

    def flow_number(self, flow_m3_s: float | None) -> str:
        """A flow without its unit of measure."""
        return self.measures.number(flow_m3_s, Dimension.FLOW, digits=self.flow_digits)

    def velocity_number(self, velocity_m_s: float) -> str:
        """A velocity without its unit of measure."""
        digits = 0 if self.is_ip else 1
        return self.measures.number(velocity_m_s, Dimension.VELOCITY, digits=digits)

    def pressure(self, pressure_pa: float | None) -> str:
        """A pressure with its unit of measure."""
        return self.measures.text(
            pressure_pa, Dimension.PRESSURE, digits=self.pressure_digits(pressure_pa)
        )

    def pressure_number(self, pressure_pa: float | None) -> str:
        """A pressure without its unit of measure."""
        return self.measures.number(
            pressure_pa, Dimension.PRESSURE, digits=self.pressure_digits(pressure_pa)
        )

    def pressure_digits(self, pressure_pa: float | None) -> int:
        """Decimals that suit a predicted pressure: a tenth of a pascal below ten, else whole."""
        if self.is_ip:
            return 3
        return 1 if pressure_pa is not None and abs(pressure_pa) < 10.0 else 0

    def gradient(self, gradient_pa_m: float) -> str:
        """Loss per length as the reader knows it: per metre, or per hundred feet."""
        if self.is_ip:
            return self.measures.number(
                gradient_pa_m * _HUNDRED_FEET_M, Dimension.PRESSURE, digits=2
            )
        return self.measures.number(gradient_pa_m, Dimension.PRESSURE, digits=2)

    def house_pressure(self, pressure_pa: float) -> str:
        """Pressure of the house, in pascals everywhere: what blower-door people speak in."""
        return format_quantity(
            pressure_pa,
            dimension=Dimension.PRESSURE,
            unit_symbol="Pa",
            digits=1,
            number_style=self.measures.number_style,
        ).removesuffix(" Pa")

    @property
    def gradient_symbol(self) -> str:
        """Unit of measure of a loss per length."""
        return "in. w.c./100 ft" if self.is_ip else "Pa/m"

    def gradient_text(self, gradient_pa_m: float) -> str:
        """A loss per length with its unit of measure."""
        return f"{self.gradient(gradient_pa_m)} {self.gradient_symbol}"

    def ratio(self, ratio_value: float) -> str:
        """A ratio in whole per cent."""
        return f"{100.0 * ratio_value:.0f} %"

    def speed(self, setting: SettingPlan) -> str:
        """Speed of a setting, or that its fan holds the flow."""
        return (
            self.say("plan-mark.held") if setting.is_flow_held else self.ratio(setting.speed_frac)
        )

    def diameter(self, diameter_m: float | None) -> str:
        """A diameter in inches or millimetres."""
        if diameter_m is None:
            return ""
        symbol, digits = ("in", 1) if self.is_ip else ("mm", 0)
        return format_quantity(
            diameter_m,
            dimension=Dimension.LENGTH,
            unit_symbol=symbol,
            digits=digits,
            number_style=self.measures.number_style,
        )

    def size(self, diameter_m: float | None, width_m: float | None, height_m: float | None) -> str:
        """A section: a diameter, or two sides."""
        if width_m is not None and height_m is not None:
            return f"{self.diameter(width_m)} × {self.diameter(height_m)}"
        return self.diameter(diameter_m)

    def opening(self, terminal: TerminalPlan) -> str:
        """How a terminal is to be set."""
        if terminal.at_terminal_pa <= 0.0 and terminal.opening_turns is None:
            return self.say("plan-mark.open")
        if terminal.opening_turns is not None:
            turns = self.measures.decimal(terminal.opening_turns, digits=1)
            return f"{turns} {self.measures.symbol(Dimension.TURNS)}"
        return self.measures.text(terminal.flow_factor, Dimension.FLOW_FACTOR)

    def position(self, damper: DamperPlan) -> str:
        """How a damper is to be set."""
        if damper.throw_away_pa <= 0.0 and not damper.is_stuck:
            return self.say("plan-mark.open")
        if damper.closing_deg is not None:
            return f"{damper.closing_deg:.0f}°"
        return self.ratio(damper.open_ratio or 0.0)

    def terminal_name(self, side: SidePlan, terminal_id: str | None) -> str:
        """Id and room of a terminal."""
        found = next((t for t in side.terminals if t.terminal_id == terminal_id), None)
        return "" if found is None else f"{found.terminal_id} {found.room_name}"

    def columns(
        self, *keys: str, numbers: Sequence[str] = (), **symbols: str
    ) -> tuple[Column, ...]:
        """Columns by the keys of their titles; `numbers` stand right, `symbols` name units."""
        return tuple(
            Column(
                title=self.say(f"plan-column.{key}"),
                unit_of_measure=symbols.get(key, ""),
                align=Align.NUMBER if key in numbers else Align.TEXT,
            )
            for key in keys
        )
