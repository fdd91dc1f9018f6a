"""The pictures of the field page: each side of each system as a tree, in each setting."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ventwright.findings import SystemFindings, TerminalFinding
from ventwright.house import Phase, System
from ventwright.quantities import Dimension, Side
from ventwright.report.field.model import FieldPicture
from ventwright.report.model import Mark
from ventwright.report.pen import Pen, mark_of
from ventwright.report.pictures.field_tree import TreeRow, field_tree
from ventwright.uncertainty import Estimate, u_expanded


def pictures(pen: Pen, settings: Sequence[str]) -> Iterator[FieldPicture]:
    """Every side that has terminals, in every setting.

    Parameters
    ----------
    pen
        What is drawn.
    settings
        Ids of fan settings.
    """
    for system, found in pen.systems():
        for setting in settings:
            for side in Side:
                rows = list(_rows(pen, system, found, side, setting))
                if any(r.is_terminal for r in rows):
                    yield _picture(pen, system, rows, side, setting)


def verdict_at(pen: Pen, found: TerminalFinding, phase: Phase) -> tuple[str, Mark | None]:
    """The verdict's word with its sign, and its mark; empty in a phase that is not judged.

    Parameters
    ----------
    pen
        For the words.
    found
        The terminal.
    phase
        Which phase.
    """
    if found.judged_phase is not phase or not found.lines:
        return "", None
    line = found.lines[0]
    return pen.say(f"field-verdict.{line.verdict.value}"), mark_of(line.verdict)


def _picture(
    pen: Pen, system: System, rows: Sequence[TreeRow], side: Side, setting: str
) -> FieldPicture:
    say = pen.say
    words = " ".join(
        say("field-picture.row", name=r.label, value=r.text, verdict=r.verdict)
        for r in rows
        if r.is_terminal
    )
    side_word = say(f"side.{side.value}")
    alt = say("field-picture.alt", side=side_word, setting=setting, rows=words)
    return FieldPicture(
        setting=setting,
        system=system.id,
        alt=alt,
        svg=field_tree(
            rows,
            side=side,
            title=pen.of_system(system.id) + side_word.capitalize(),
            legend=say("field-picture.legend"),
            alt=alt,
        ),
    )


def _rows(
    pen: Pen, system: System, found: SystemFindings, side: Side, setting: str
) -> Iterator[TreeRow]:
    findings = {t.terminal_id: t for t in found.terminals if t.setting == setting}
    branches = [b for b in system.branches if b.side is side]

    def below(parent: str | None, depth_count: int) -> Iterator[TreeRow]:
        for branch in branches:
            if branch.parent != parent:
                continue
            yield TreeRow(
                station=f"branch:{branch.id}",
                label=f"{branch.id} {branch.name}".strip(),
                depth_count=depth_count,
                is_terminal=False,
            )
            yield from below(branch.id, depth_count + 1)
        for terminal in system.terminals:
            if terminal.side is side and terminal.branch == parent:
                yield _row(pen, terminal.id, findings.get(terminal.id), depth_count)

    return below(None, 0)


def _row(pen: Pen, terminal_id: str, found: TerminalFinding | None, depth_count: int) -> TreeRow:
    label = pen.terminal(terminal_id)
    none = pen.say("field-verdict.none")
    row = TreeRow(
        station=f"terminal:{terminal_id}",
        label=label,
        depth_count=depth_count,
        is_terminal=True,
        verdict=none,
    )
    if found is None:
        return row
    flow = found.as_left or found.as_found
    phase = Phase.AS_LEFT if found.as_left else Phase.AS_FOUND
    estimate = flow.figure.flow_m3_s if flow is not None else None
    target = found.target_m3_s
    low, high = band_of(found)
    verdict, mark = verdict_at(pen, found, phase) if flow is not None else (none, None)
    m = pen.measures
    text = m.estimate(estimate, Dimension.FLOW) or pen.say(
        "field-picture.target", value=m.text(target, Dimension.FLOW, digits=0)
    )
    ratios = _ratios(target, estimate)
    return TreeRow(
        station=row.station,
        label=label,
        depth_count=depth_count,
        is_terminal=True,
        text=text if target or estimate else "",
        verdict=verdict,
        mark=mark,
        low_ratio=low / target if target and low is not None else None,
        high_ratio=high / target if target and high is not None else None,
        flow_low_ratio=ratios[0],
        flow_ratio=ratios[1],
        flow_high_ratio=ratios[2],
        has_target=bool(target),
    )


def band_of(found: TerminalFinding) -> tuple[float | None, float | None]:
    """Limits of the first rule that judged, else the room's own [m³/s].

    Parameters
    ----------
    found
        The terminal.
    """
    decided = [line.judgement.decision for line in found.lines if line.judgement is not None]
    if decided:
        return decided[0].low, decided[0].high
    return found.low_m3_s, found.high_m3_s


def _ratios(
    target_m3_s: float | None, flow_m3_s: Estimate | None
) -> tuple[float | None, float | None, float | None]:
    if not target_m3_s or flow_m3_s is None:
        return None, None, None
    u = u_expanded(flow_m3_s)
    ends = (flow_m3_s.value - u, flow_m3_s.value, flow_m3_s.value + u)
    low, middle, high = (end / target_m3_s for end in ends)
    return low, middle, high
