"""Whether the parts of a rule file fit together: a table whose rows are too short, a bare term."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ventwright.quantities import Problem, Severity
from ventwright.requirements.rate_rules import (
    Counts,
    CreditForm,
    InfiltrationRule,
    RateMethod,
    RateRule,
    RateTable,
    RateTerm,
)
from ventwright.requirements.room_rules import EquipmentLimit, Per, RoomRule

_BY_AREA = (Counts.FLOOR_AREA, Counts.FLOOR_AREA_SQUARED)
_NEEDED = {
    CreditForm.CAPPED: ("cap_frac",),
    CreditForm.ABOVE_DEFAULT: ("credited_frac", "default_flow_m3_s", "default_per_area_m2"),
}


def check_rate(rule: RateRule | None) -> tuple[Problem, ...]:
    """Problems of a rate rule taken as a whole.

    Parameters
    ----------
    rule
        The rate of a rule set, or None where it has none.

    >>> check_rate(None)
    ()
    """
    return () if rule is None else tuple(_of_rate(rule))


def _of_rate(rule: RateRule) -> Iterator[Problem]:
    if not rule.methods:
        yield _mistake("no-method", "rate.methods", "the rate has no method", "give terms or table")
    ids = [method.id for method in rule.methods]
    for i, method in enumerate(rule.methods):
        where = f"rate.methods[{i}]"
        if ids.count(method.id) > 1:
            yield _mistake(
                "repeated-id", f"{where}.id", f"id {method.id!r} stands twice", "name each once"
            )
        yield from _of_method(method, where)
    if rule.infiltration is not None:
        yield from _of_infiltration(rule.infiltration)
    if rule.cycling is not None:
        runs = [point.run_frac for point in rule.cycling.points]
        if any(low >= high for low, high in pairwise(runs)):
            yield _mistake(
                "unordered", "rate.cycling.points", "run times do not rise", "list the least first"
            )


def _of_method(method: RateMethod, where: str) -> Iterator[Problem]:
    if bool(method.terms) == (method.table is not None):
        yield _mistake(
            "terms-or-table", where, "a method has either terms or a table", "give one of the two"
        )
    for i, term in enumerate(method.terms):
        yield from _of_term(term, f"{where}.terms[{i}]")
    if method.table is not None:
        yield from _of_table(method.table, f"{where}.table")


def _of_term(term: RateTerm, where: str) -> Iterator[Problem]:
    is_volume = term.counts is Counts.VOLUME
    wanted, unwanted = term.air_changes_1_h, term.flow_m3_s
    if not is_volume:
        wanted, unwanted = unwanted, wanted
    if wanted is None or unwanted is not None:
        key = "air_changes" if is_volume else "flow"
        yield _mistake(
            "missing-key",
            where,
            f"a term that counts {term.counts.value} has '{key}' alone",
            f"write {key} = " + ('"0.3 1/h"' if is_volume else '"7.5 cfm"'),
        )
    if (term.counts in _BY_AREA) != bool(term.per_area_m2):
        yield _mistake(
            "area-step",
            where,
            "'per_area' belongs to a term that counts floor area, and to no other",
            'write per_area = "100 ft²", or leave it out',
        )
    if (term.counts is Counts.ROOMS) != bool(term.room_kinds):
        yield _mistake(
            "room-kinds",
            where,
            "'room_kinds' belongs to a term that counts rooms, and to no other",
            'write room_kinds = ["bedroom"], or leave it out',
        )


def _of_table(table: RateTable, where: str) -> Iterator[Problem]:
    columns = len(table.bedrooms)
    for i, row in enumerate(table.rows):
        if len(row.flows_m3_s) != columns or len(row.most_flows_m3_s) not in (0, columns):
            yield _mistake(
                "row-length",
                f"{where}.rows[{i}]",
                f"the row does not have the {columns} flows of its columns",
                "give one flow for each column",
            )
    if any(low >= high for low, high in pairwise(table.bedrooms)) or not columns:
        yield _mistake("unordered", f"{where}.bedrooms", "bedrooms do not rise", "least first")
    areas = [row.up_to_area_m2 for row in table.rows]
    closed = [area for area in areas if area is not None]
    is_open_inside = None in areas[:-1]
    if is_open_inside or not areas or any(low >= high for low, high in pairwise(closed)):
        yield _mistake(
            "unordered",
            f"{where}.rows",
            "areas do not rise, or an open row is not the last",
            "list the smallest area first and the open row last",
        )
    if table.is_last_column_open and table.further_bedroom_m3_s is not None:
        yield _mistake(
            "two-ways-on",
            where,
            "an open last column and a flow for each further bedroom contradict each other",
            "give one of the two",
        )


def _of_infiltration(rule: InfiltrationRule) -> Iterator[Problem]:
    for name in _NEEDED.get(rule.form, ()):
        if not getattr(rule, name):
            yield _mistake(
                "missing-key",
                "rate.infiltration",
                f"the form {rule.form.value!r} needs {name!r}",
                "add it, or choose another form",
            )
    if (rule.short_coeff is None) != (rule.short_pressure_pa is None):
        yield _mistake(
            "missing-key",
            "rate.infiltration.short_coeff",
            "the short form needs its coefficient and the pressure of its flow",
            "give short_coeff and short_pressure, or neither",
        )


def check_rooms(
    rules: tuple[RoomRule, ...], equipment: tuple[EquipmentLimit, ...] = ()
) -> tuple[Problem, ...]:
    """Problems of the rules for single rooms and of the limits on equipment.

    Parameters
    ----------
    rules
        Rules for rooms.
    equipment
        Limits on the ventilation unit.

    >>> check_rooms(())
    ()
    """
    found = [p for i, rule in enumerate(rules) for p in _of_room(rule, f"rooms[{i}]")]
    for i, limit in enumerate(equipment):
        values = (
            limit.most_specific_fan_power_w_per_m3_s,
            limit.least_sensible_frac,
            limit.least_supply_temperature_c,
            limit.most_sound_level_db_a,
        )
        if sum(value is not None for value in values) != 1:
            found.append(
                _mistake(
                    "one-limit", f"equipment[{i}]", "a limit sets exactly one value", "split it"
                )
            )
    return tuple(found)


def _of_room(rule: RoomRule, where: str) -> Iterator[Problem]:
    if not rule.room_kinds:
        yield _mistake("room-kinds", where, "the rule names no kind of room", "list some")
    if (rule.per is Per.VOLUME) != (rule.air_changes_1_h is not None):
        yield _mistake(
            "missing-key",
            where,
            "'air_changes' belongs to a rule per volume, and to no other",
            'write per = "volume" and air_changes = "5 1/h"',
        )
    if (rule.per is Per.AREA) != bool(rule.per_area_m2):
        yield _mistake(
            "area-step",
            where,
            "'per_area' belongs to a rule per area, and to no other",
            'write per = "area" and per_area = "1 m²"',
        )
    needs_flow = rule.per in (Per.PERSON, Per.AREA)
    if rule.flow_m3_s is None and needs_flow:
        yield _mistake("missing-key", where, "the rule has no flow", 'write flow = "4 L/s"')


def _mistake(code: str, where: str, message: str, remedy: str) -> Problem:
    return Problem(
        code=code, where=where, message=message, remedy=remedy, severity=Severity.MISTAKE
    )
