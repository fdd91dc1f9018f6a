"""Where a turn stops, in words: what the display is to show, and the flow that stands for."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from ventwright.balancing import TOTAL_ID, NextStep, SettingStyle
from ventwright.findings import StopShown
from ventwright.quantities import Dimension, format_quantity, from_si, unit_of_measure
from ventwright.report.model import Line, Mark
from ventwright.report.pen import Pen


@dataclass(frozen=True, slots=True, kw_only=True)
class StopWords:
    """The stop of one turn with the pen that words it.

    `what` names the damper; `shown` is None where nothing is known of a display.
    """

    pen: Pen
    step: NextStep
    style: SettingStyle
    what: str
    shown: StopShown | None

    def sentences(self) -> Iterator[str]:
        """What to turn and where to stop; the flow of its own where the display shows another."""
        shown, flow = self.shown, self._flow(self.step.stop_m3_s)
        if shown is None or shown.value_si is None:
            yield self._by_flow(flow)
            return
        number = self._number(shown.value_si)
        yield self._by_display(shown, number)
        is_flow = shown.dimension is Dimension.FLOW
        if not is_flow or number != self._number(self.step.stop_m3_s):
            yield self.pen.say("next.stands-for", flow=flow)

    def cautions(self) -> Iterator[Line]:
        """Why the display is not to be trusted at the stop: the gravest reason alone."""
        if self.shown is None or not self.shown.cautions:
            return
        why = self.shown.cautions[0]
        code = f"next.why-{why.code}"
        key = "next.stop-refused" if self.shown.value_si is None else "next.stop-doubtful"
        text = self.pen.say(
            key,
            device=self._device(self.shown),
            why=self.pen.say(code) if code in self.pen.words else self.pen.told(why.message),
            remedy=self.pen.told(why.remedy),
        )
        yield Line(text=text, mark=Mark.CAUTION)

    def _by_flow(self, flow: str) -> str:
        step, measures = self.step, self.pen.measures
        low, high = (
            measures.number(flow_m3_s, Dimension.FLOW)
            for flow_m3_s in (step.stop_low_m3_s, step.stop_high_m3_s)
        )
        return self._worded("next.turn", stop=flow, near=self._between(low, high))

    def _by_display(self, shown: StopShown, number: str) -> str:
        device, near = self._device(shown), self._near()
        if shown.opening_turns is not None:
            turns = self.pen.measures.decimal(shown.opening_turns, digits=1)
            return self.pen.say(
                "next.turn-opening",
                what=self.what,
                turns=turns,
                device=device,
                stop=number,
                near=near,
            )
        return self._worded("next.turn-shown", stop=number, near=near, device=device)

    def _worded(self, key: str, **values: str) -> str:
        if self.style is not SettingStyle.LIVE:
            key += "-blind"
        return self.pen.say(key, what=self.what, at=self._at(), **values)

    def _at(self) -> str:
        """Where the meter is."""
        step = self.step
        if step.read_id == TOTAL_ID:
            return self.pen.say("next.at-total", side=step.side.value)
        if step.read_id in ("", step.thing_id):
            return self.pen.say("next.there")
        return self.pen.say("next.at", where=self.pen.terminal(step.read_id))

    def _near(self) -> str:
        """How near is near enough; nothing where the display can't tell it apart from the stop."""
        shown = self.shown
        if shown is None:
            return ""
        value, low, high = (
            "" if one is None else self._bare(self._number(one))
            for one in (shown.value_si, shown.low_si, shown.high_si)
        )
        return self._between("" if low == value else low, "" if high == value else high)

    def _between(self, low: str, high: str) -> str:
        if low and high:
            return self.pen.say("next.near", low=low, high=high)
        if low or high:
            return self.pen.say("next.near-one", end=low or high)
        return ""

    def _device(self, shown: StopShown) -> str:
        return self.pen.say(f"next.device-{shown.method.value.replace('_', '-')}")

    def _flow(self, flow_m3_s: float | None) -> str:
        return self.pen.measures.text(flow_m3_s, Dimension.FLOW)

    def _symbol(self) -> str:
        """The unit of measure the last reading there was typed in, else the reader's habit."""
        assert self.shown is not None
        return self.shown.typed_symbol or self.pen.measures.symbol(self.shown.dimension)

    def _number(self, value_si: float | None) -> str:
        """A number of the display with its unit of measure."""
        if value_si is None or self.shown is None:
            return ""
        return format_quantity(
            value_si,
            dimension=self.shown.dimension,
            unit_symbol=self._symbol(),
            digits=self._digits(self.shown),
            number_style=self.pen.measures.number_style,
        )

    def _bare(self, number: str) -> str:
        return number.removesuffix(self._symbol()).rstrip()

    def _digits(self, shown: StopShown) -> int | None:
        """As many decimals as were typed, or more where those can't tell near enough from too far.

        A mean typed with many is cut to one more than that takes. Three significant digits where
        neither is known.
        """
        measure = unit_of_measure(self._symbol(), dimension=shown.dimension)
        ends = [one for one in (shown.low_si, shown.value_si, shown.high_si) if one is not None]
        scale = [from_si(one, unit_of_measure=measure) for one in ends]
        wide = (max(scale) - min(scale)) * (0.5 if len(scale) > 2 else 1.0)
        typed = _decimals(shown.typed_step_si / measure.factor)
        needed = _decimals(wide)
        if typed is None or needed is None:
            return needed if typed is None else typed
        return max(needed, min(typed, needed + 1))


def _decimals(step: float) -> int | None:
    """Decimals that show a step on the scale shown; None where there is none."""
    return max(0, math.ceil(-math.log10(step) - 1e-9)) if step > 0.0 else None
