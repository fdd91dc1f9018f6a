"""What every section needs to write: findings, record, words, measures, and the names of things."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from ventwright.findings import Findings, JudgedLine, SystemFindings, VisitSnapshot
from ventwright.house import Phase, Station, System, station_text
from ventwright.quantities import AirKind
from ventwright.report.engine_words import in_measures, sentence
from ventwright.report.measures import Measures
from ventwright.report.model import Align, Cell, Column, Line, Mark, Table
from ventwright.report.wording import Words
from ventwright.requirements import Trust
from ventwright.uncertainty import Verdict

_FIELD = re.compile(r"\b[a-z]+(?:_[a-z0-9]+)+\b")
_MARKS = {
    Verdict.MET: Mark.MET,
    Verdict.NOT_MET: Mark.NOT_MET,
    Verdict.NOT_SHOWN: Mark.NOT_SHOWN,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """Findings and their record, in one language and one habit of units."""

    findings: Findings
    snapshot: VisitSnapshot
    measures: Measures
    words: Words
    photos: Mapping[str, bytes] = field(default_factory=dict)

    def say(self, key: str, **values: str) -> str:
        """A sentence of the catalogue."""
        return self.words.say(key, **values)

    def systems(self) -> list[tuple[System, SystemFindings]]:
        """Each system of the house with what was found about it."""
        found = {s.system_id: s for s in self.findings.systems}
        return [(s, found[s.id]) for s in self.snapshot.house.systems if s.id in found]

    def of_system(self, system_id: str) -> str:
        """Prefix that names a system where a house has more than one."""
        systems = self.snapshot.house.systems
        if len(systems) < 2:
            return ""
        name = next((s.name for s in systems if s.id == system_id), "") or system_id
        return self.say("system.name", name=name)

    def setting(self, setting_id: str) -> str:
        """Id of a fan setting with its name."""
        names = (f.name for s in self.snapshot.house.systems for f in s.fan_settings)
        ids = (f.id for s in self.snapshot.house.systems for f in s.fan_settings)
        name = dict(zip(ids, names, strict=True)).get(setting_id, "")
        return f"{setting_id} ({name})" if name and name != setting_id else setting_id

    def setting_name(self, setting_id: str) -> str:
        """A fan setting as those who live there know it.

        Its name as typed, up to the first comma where that tells it from the others; else its id.
        """
        known = {f.id: f.name for s in self.snapshot.house.systems for f in s.fan_settings}
        name = known.get(setting_id, "") or setting_id
        short = name.partition(",")[0].strip()
        alike = [n for n in known.values() if n.partition(",")[0].strip() == short]
        return self.say("setting.named", name=short if short and len(alike) < 2 else name)

    def terminal(self, terminal_id: str) -> str:
        """Id of a terminal with its name, else its room's."""
        house = self.snapshot.house
        rooms = {r.id: r.name for r in house.rooms}
        for system in house.systems:
            for t in system.terminals:
                if t.id == terminal_id:
                    name = t.name or rooms.get(t.room, t.room)
                    return self.say("subject.terminal", id=t.id, name=name)
        return terminal_id

    def surface(self, surface_id: str) -> str:
        """Name of a surface, else its id."""
        found = (s.name for s in self.snapshot.house.surfaces if s.id == surface_id)
        return next(found, "") or surface_id

    def stream(self, kind: AirKind) -> str:
        """Letters of a stream with its word."""
        return f"{kind.value} {self.say(f'stream.{kind.value}')}"

    def streams(self, kinds: Iterable[AirKind]) -> str:
        """Several streams in one phrase."""
        return ", ".join(self.stream(k) for k in kinds)

    def station(self, station: Station) -> str:
        """A station as it is written in files."""
        return station_text(station)

    def phase(self, phase: Phase) -> str:
        """As found, on the way, as left."""
        return self.say(f"phase.{phase.value}")

    def in_measures(self, text: str) -> str:
        """A text of the engine, which writes SI, in the reader's units."""
        return in_measures(text, self.measures)

    def told(self, text: str) -> str:
        """The same as a sentence, with fields named in words where the catalogue has them."""
        return sentence(_FIELD.sub(self._field, self.in_measures(text)))

    def _field(self, found: re.Match[str]) -> str:
        for key in (f"conditions.{found[0]}", f"field.{found[0]}"):
            if key in self.words:
                return self.say(key)
        return found[0]

    def reason(self, code: str) -> str:
        """Why no judgement could be drawn."""
        return self.say(f"reason.{code}")

    def columns(
        self,
        *keys: str,
        numbers: Sequence[str] = (),
        optional: Sequence[str] = (),
        **symbols: str,
    ) -> tuple[Column, ...]:
        """Columns by the keys of their titles; `numbers` stand right, `symbols` name units."""
        return tuple(
            Column(
                title=self.say(f"column.{key}"),
                unit_of_measure=symbols.get(key, ""),
                align=Align.NUMBER if key in numbers else Align.TEXT,
                is_optional=key in optional,
            )
            for key in keys
        )

    def verdict_cell(self, line: JudgedLine, *, is_brief: bool = False) -> Cell:
        """The verdict of a line; a rule known from memory says so.

        Without a judgement it says why, or in brief *not shown* where the reason stands elsewhere.
        """
        if line.judgement is None:
            why = self.verdict(Verdict.NOT_SHOWN) if is_brief else self.reason(line.reason_code)
            return Cell(text=why, mark=Mark.NOT_SHOWN)
        return Cell(text=self.verdict(line.verdict, line), mark=_MARKS[line.verdict])

    def verdict(self, verdict: Verdict, line: JudgedLine | None = None) -> str:
        """The word of a verdict."""
        word = self.say(f"verdict.{verdict.value}")
        judgement = None if line is None else line.judgement
        if judgement is not None and judgement.citation.trust is Trust.MEMORY:
            return self.say("verdict.memory", verdict=word)
        return word

    def rule_name(self, rule_set_id: str) -> str:
        """Name of a rule set, with its edition where another has the same name; else its id."""
        rule_sets = self.snapshot.rule_sets
        found = next((r for r in rule_sets if r.id == rule_set_id), None)
        if found is None:
            return rule_set_id
        is_shared = sum(r.name == found.name for r in rule_sets) > 1
        return f"{found.name} ({found.edition or found.id})" if is_shared else found.name


def mark_of(verdict: Verdict) -> Mark:
    """The mark that stands beside a verdict's word.

    Parameters
    ----------
    verdict
        Any verdict.

    >>> mark_of(Verdict.NOT_MET).value
    'not met'
    """
    return _MARKS[verdict]


def cells(*texts: str | Cell) -> tuple[Cell, ...]:
    """A row of plain texts and ready cells.

    Parameters
    ----------
    *texts
        Left to right.

    >>> cells("a", Cell(text="b"))[1].text
    'b'
    """
    return tuple(t if isinstance(t, Cell) else Cell(text=t) for t in texts)


def table_if(
    rows: Sequence[tuple[Cell, ...]],
    *,
    id: str,
    title: str,
    columns: tuple[Column, ...],
    note: str = "",
    is_form: bool = False,
) -> tuple[Table, ...]:
    """A table in a tuple, or none where it would have no rows; idle optional columns left out.

    Parameters
    ----------
    rows
        Its rows.
    id, title, columns, note, is_form
        As in `Table`.

    >>> table_if([], id="t", title="T", columns=())
    ()
    """
    if not rows:
        return ()
    kept = [
        i
        for i, column in enumerate(columns)
        if not column.is_optional or any(row[i].text for row in rows)
    ]
    return (
        Table(
            id=id,
            title=title,
            columns=tuple(columns[i] for i in kept),
            rows=tuple(tuple(row[i] for i in kept) for row in rows),
            note=note,
            is_form=is_form,
        ),
    )


def lines_of(texts: Iterable[str]) -> tuple[Line, ...]:
    """Plain lines, empty texts left out.

    Parameters
    ----------
    texts
        Sentences.

    >>> [line.text for line in lines_of(["a", "", "b"])]
    ['a', 'b']
    """
    return tuple(Line(text=t) for t in texts if t)
