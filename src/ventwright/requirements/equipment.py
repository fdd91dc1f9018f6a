"""Limits on the ventilation unit and the air it gives."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.requirements.judge import Judgement
from ventwright.requirements.room_rules import EquipmentLimit
from ventwright.requirements.rules import RuleSet
from ventwright.uncertainty import Estimate, decide


def judge_equipment(
    rule_set: RuleSet,
    *,
    specific_fan_power_w_per_m3_s: Estimate | None = None,
    sensible_frac: Estimate | None = None,
    supply_temperature_c: Estimate | None = None,
    sound_level_db_a: Estimate | None = None,
    confidence_frac: float = 0.95,
) -> tuple[Judgement, ...]:
    """Judge a ventilation unit against the limits of a rule set.

    Parameters
    ----------
    rule_set
        Whose limits.
    specific_fan_power_w_per_m3_s
        Electric power of both fans per flow [W/(m³/s)].
    sensible_frac
        Sensible recovery [1].
    supply_temperature_c
        Supply air in the coldest weather [°C].
    sound_level_db_a
        Sound level in a room [dB(A)].
    confidence_frac
        Confidence asked of a guarded verdict.

    Returns
    -------
    tuple of Judgement
        One for each limit whose quantity was handed in, in the order of the file.

    >>> from ventwright.requirements.citation import Citation, Trust
    >>> from ventwright.uncertainty import exact
    >>> limit = EquipmentLimit(least_sensible_frac=0.75,
    ...     citation=Citation(source="own", trust=Trust.OWN))
    >>> rules = RuleSet(schema="ventwright-rules-1", id="x", name="X", equipment=(limit,))
    >>> judge_equipment(rules, sensible_frac=exact(0.8))[0].decision.verdict.value
    'met'
    """
    values = (
        specific_fan_power_w_per_m3_s,
        sensible_frac,
        supply_temperature_c,
        sound_level_db_a,
    )
    found = [
        (limit, judged, low, high)
        for limit in rule_set.equipment
        for judged, low, high in _bands(limit, values)
    ]
    return tuple(
        Judgement(
            decision=decide(
                judged,
                low=low,
                high=high,
                decision_rule=limit.decision_rule,
                confidence_frac=confidence_frac,
            ),
            judged_si=judged,
            rule_set_id=rule_set.id,
            citation=limit.citation,
        )
        for limit, judged, low, high in found
    )


def _bands(
    limit: EquipmentLimit, values: tuple[Estimate | None, ...]
) -> Iterator[tuple[Estimate, float | None, float | None]]:
    bands = (
        (None, limit.most_specific_fan_power_w_per_m3_s),
        (limit.least_sensible_frac, None),
        (limit.least_supply_temperature_c, None),
        (None, limit.most_sound_level_db_a),
    )
    for judged, (low, high) in zip(values, bands, strict=True):
        if judged is not None and (low is not None or high is not None):
            yield judged, low, high
