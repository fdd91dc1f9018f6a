"""What guidance has learnt from the readings of each side, beside what it assumed."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.findings import ShareLearnt, SideLearnt, TerminalLearnt, learn
from ventwright.quantities import Dimension
from ventwright.report.measures import percent
from ventwright.report.model import Cell, Line, Mark, Picture, Section, Table
from ventwright.report.pen import Pen, cells, mark_of, table_if
from ventwright.report.pictures.inference import Bar, inference_chart

_MOST_ODDS = 1e6


def learnt_section(pen: Pen) -> Section:
    """One picture and two tables for each side, or a sentence why there are none.

    Parameters
    ----------
    pen
        What is written about.
    """
    sides = [_Side(pen, one) for one in learn(pen.snapshot, pen.findings)]
    return Section(
        id="learnt",
        title=pen.say("section.learnt"),
        lines=tuple(line for side in sides for line in side.lines()),
        tables=tuple(table for side in sides for table in side.tables()),
        pictures=tuple(side.picture() for side in sides if side.found.terminals),
    )


class _Side:
    """One side in the words of the report."""

    def __init__(self, pen: Pen, found: SideLearnt) -> None:
        self.pen, self.found = pen, found
        self.side = pen.say(f"side.{found.side.value}")
        self.key = f"{found.system_id}-{found.side.value}"
        self.title = pen.of_system(found.system_id)
        self.doubted = {s.thing_id for s in found.surprises}

    def lines(self) -> Iterator[Line]:
        say, found = self.pen.say, self.found
        if found.reason_code:
            text = self.title + say(
                "learnt.nothing", side=self.side, reason=self.pen.reason(found.reason_code)
            )
            yield Line(text=text, mark=Mark.NOT_SHOWN)
            return
        yield Line(
            text=self.title
            + say(
                "learnt.basis",
                side=self.side.capitalize(),
                setting=self.pen.setting(found.setting),
                readings=str(found.reading_count),
                turns=str(found.move_count),
            )
        )
        for one in found.surprises:
            m = self.pen.measures
            odds = say("learnt.odds-most") if one.odds_ratio > _MOST_ODDS else ""
            yield Line(
                text=say(
                    "learnt.surprise",
                    reading=one.reading_id,
                    what=self.pen.terminal(one.thing_id),
                    shown=m.text(one.shown_m3_s, Dimension.FLOW),
                    expected=m.text(one.expected_m3_s, Dimension.FLOW),
                    odds=odds or f"{one.odds_ratio:.0f}",
                ),
                mark=Mark.CAUTION,
                reading_ids=(one.reading_id,),
            )

    def tables(self) -> Iterator[Table]:
        pen = self.pen
        share = pen.measures.symbol(Dimension.FRACTION)
        flow = pen.measures.symbol(Dimension.FLOW)
        numbers = ("assumed_share", "learnt_share")
        yield from table_if(
            [self._share_row(s) for s in self.found.shares],
            id=f"learnt-shares-{self.key}",
            title=self.title + pen.say("learnt.shares", side=self.side),
            columns=pen.columns(
                "path",
                *numbers,
                "taught",
                numbers=(*numbers, "taught"),
                **dict.fromkeys((*numbers, "taught"), share),
            ),
            note=pen.say("learnt.shares-note"),
        )
        flows = ("predicted", "allowed", "last_read")
        yield from table_if(
            [self._flow_row(t) for t in self.found.terminals],
            id=f"learnt-flows-{self.key}",
            title=self.title + pen.say("learnt.flows", side=self.side),
            columns=pen.columns(
                "terminal",
                *flows,
                "odds",
                "verdict",
                numbers=(*flows, "odds"),
                **dict.fromkeys(flows, flow),
            ),
            note=pen.say("learnt.flows-note"),
        )

    def path(self, share: ShareLearnt) -> str:
        """Name of a branch, or of what all terminals share."""
        if not share.branch_id:
            return self.pen.say("learnt.shared-path")
        branches = {b.id: b.name for s in self.pen.snapshot.house.systems for b in s.branches}
        name = branches.get(share.branch_id, "")
        known = f"{share.branch_id} ({name})" if name else share.branch_id
        return self.pen.say("learnt.branch", name=known)

    def _percent(self, value_frac: float) -> str:
        return self.pen.measures.number(value_frac, Dimension.FRACTION, digits=0)

    def _with_ends(self, value: float, low: float, high: float) -> str:
        say = self.pen.say
        p = self._percent
        return say("learnt.with-ends", value=p(value), low=p(low), high=p(high))

    def _share_row(self, s: ShareLearnt) -> tuple[Cell, ...]:
        return cells(
            self.path(s),
            self._with_ends(s.assumed_frac, s.assumed.low, s.assumed.high),
            self._with_ends(s.learnt_frac, s.learnt.low, s.learnt.high),
            self._percent(max(0.0, 1.0 - s.narrowed_ratio)),
        )

    def _flow_row(self, t: TerminalLearnt) -> tuple[Cell, ...]:
        m, now = self.pen.measures, t.predicted
        u = 2.0 * now.u_frac * now.flow_m3_s
        number = m.number(now.flow_m3_s, Dimension.FLOW, u_si=u)
        return cells(
            self.pen.terminal(now.outlet_id),
            f"{number} ± {m.number(u, Dimension.FLOW, u_si=u)}",
            m.range(
                Dimension.FLOW,
                low_si=now.wanted_m3_s - now.band_m3_s,
                high_si=now.wanted_m3_s + now.band_m3_s,
                u_si=u,
            ),
            "–" if t.read_m3_s is None else m.number(t.read_m3_s, Dimension.FLOW, u_si=u),
            percent(now.prob_within_frac),
            Cell(text=self.pen.verdict(now.verdict), mark=mark_of(now.verdict)),
        )

    def picture(self) -> Picture:
        """Losses above, flows below."""
        say = self.pen.say
        flows = [self._flow_bar(t) for t in self.found.terminals]
        rows = [
            say(
                "learnt.alt-share",
                name=self.path(s),
                assumed=self._with_ends(s.assumed_frac, s.assumed.low, s.assumed.high),
                learnt=self._with_ends(s.learnt_frac, s.learnt.low, s.learnt.high),
            )
            for s in self.found.shares
        ]
        for t in self.found.terminals:
            name, known, allowed, read, *_ = (cell.text for cell in self._flow_row(t))
            rows.append(say("learnt.alt-flow", name=name, known=known, allowed=allowed, read=read))
        return Picture(
            id=f"learnt-{self.key}",
            svg=inference_chart(
                [self._share_bar(s) for s in self.found.shares],
                flows,
                side=self.found.side,
                measures=self.pen.measures,
                words=self.pen.words,
            ),
            alt=say(
                "learnt.alt",
                side=self.side,
                symbol=self.pen.measures.symbol(Dimension.FLOW),
                rows=" ".join(rows),
            ),
            caption=self.title + say("learnt.caption", side=self.side),
            follows=f"learnt-shares-{self.key}",
        )

    def _share_bar(self, s: ShareLearnt) -> Bar:
        return Bar(
            label=self.path(s),
            low=s.assumed.low,
            high=s.assumed.high,
            tick=s.assumed_frac,
            value=s.learnt_frac,
            value_low=s.learnt.low,
            value_high=s.learnt.high,
        )

    def _flow_bar(self, t: TerminalLearnt) -> Bar:
        now = t.predicted
        u = 2.0 * now.u_frac * now.flow_m3_s
        return Bar(
            label=self.pen.terminal(now.outlet_id),
            low=now.wanted_m3_s - now.band_m3_s,
            high=now.wanted_m3_s + now.band_m3_s,
            tick=now.wanted_m3_s,
            value=now.flow_m3_s,
            value_low=now.flow_m3_s - u,
            value_high=now.flow_m3_s + u,
            read=t.read_m3_s,
            is_doubted=now.outlet_id in self.doubted,
        )
