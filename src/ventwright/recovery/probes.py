"""Procedures that cancel the probes' offsets: compare first, swap, or carry one probe round.

They work on readings of one quantity (temperature, or humidity) before air states are made of them.
Offsets cancel by themselves because readings of one probe share the influence of its calibration;
what is added here is what the procedures cost: a comparison, a repeat, a drift of conditions.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import StrEnum

from ventwright.quantities import AirKind, Problem
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import (
    COVERAGE_FACTOR,
    Distribution,
    Estimate,
    Influence,
    combine,
    difference,
    measured,
    u_from_half_width,
    widen,
)

ROUNDING_SI = 1e-9
"""A difference this small is the arithmetic's: far below any probe's step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbeComparison:
    """Probes held in one air: what each shows beyond the reference.

    Parameters
    ----------
    reference_id
        The probe the others are brought in line with.
    offsets
        By probe: its reading less the reference's, in the measure of the readings.
    flags
        Probes that differ by more than their stated limits allow.
    """

    reference_id: str
    offsets: Mapping[str, Estimate]
    flags: tuple[Problem, ...] = ()


def compare_probes(
    readings: Mapping[str, Estimate], *, reference_id: str, u_air_si: float = 0.0
) -> ProbeComparison:
    """Find the probes' offsets from readings in one well-mixed air.

    Parameters
    ----------
    readings
        By probe id, taken side by side after all have settled.
    reference_id
        Which of them is the reference; it may have any offset, for that cancels in differences.
    u_air_si
        How well one air it was: standard uncertainty from place to place, in the readings' measure.

    Returns
    -------
    ProbeComparison
        Offsets and flags.

    Raises
    ------
    ValueError
        If the reference is not among the readings.

    >>> from ventwright.uncertainty import measured
    >>> a = measured(21.0, u_std=0.3, id="instrument:a:temperature:air_state", label="a")
    >>> b = measured(21.4, u_std=0.3, id="instrument:b:temperature:air_state", label="b")
    >>> found = compare_probes({"a": a, "b": b}, reference_id="a")
    >>> round(found.offsets["b"].value, 2), round(found.offsets["b"].u_std, 2)
    (0.4, 0.42)
    """
    if reference_id not in readings:
        raise ValueError(f"reference probe {reference_id!r} was not compared")
    placed = {
        probe: widen(reading, _influence(f"comparison:{probe}:air", "air not one"), u_std=u_air_si)
        for probe, reading in readings.items()
    }
    offsets = {
        probe: difference(reading, placed[reference_id]) for probe, reading in placed.items()
    }
    flags = tuple(
        Problem(
            code="probe-beyond-limits",
            where=probe,
            message=f"the probe differs from {reference_id} by {offset.value:.2g}, more than the "
            f"stated limits of both explain ({COVERAGE_FACTOR * offset.u_std:.2g})",
            remedy="let both settle longer in one air; if it stays, have the probe calibrated. Its "
            "offset is taken out all the same",
        )
        for probe, offset in offsets.items()
        if abs(offset.value) > COVERAGE_FACTOR * offset.u_std + ROUNDING_SI
    )
    return ProbeComparison(reference_id=reference_id, offsets=offsets, flags=flags)


def remove_probe_offsets(
    readings: Mapping[AirKind, tuple[str, Estimate]],
    comparison: ProbeComparison,
    *,
    u_transfer_si: float = 0.0,
) -> dict[AirKind, Estimate]:
    """Bring readings by several probes in line with one reference.

    What remains is the reference's own offset, common to all and without effect on differences, the
    scatter of reading and comparison, and how far an offset found in one air holds in another.

    Parameters
    ----------
    readings
        By stream: the probe's id and its reading.
    comparison
        Offsets of the probes in one air.
    u_transfer_si
        Standard uncertainty of an offset away from the air it was found in, in the readings'
        measure; none for the reference.

    Returns
    -------
    dict of AirKind to Estimate
        Readings as the reference would have shown them.

    Raises
    ------
    ValueError
        If a probe was not compared.

    >>> from ventwright.uncertainty import difference, measured
    >>> def probe(name, value):
    ...     return measured(value, u_std=0.3, id=f"instrument:{name}:temperature:x", label=name)
    >>> found = compare_probes({"a": probe("a", 21.0), "b": probe("b", 21.4)}, reference_id="a")
    >>> read = {AirKind.OUTDOOR: ("a", probe("a", 5.0)), AirKind.SUPPLY: ("b", probe("b", 17.4))}
    >>> put = remove_probe_offsets(read, found)
    >>> step = difference(put[AirKind.SUPPLY], put[AirKind.OUTDOOR])
    >>> round(step.value, 2), round(step.u_std, 9)
    (12.0, 0.0)
    """
    corrected = {}
    for kind, (probe, reading) in readings.items():
        offset = comparison.offsets.get(probe)
        if offset is None:
            raise ValueError(f"probe {probe!r} at {kind.value} was not compared")
        corrected[kind] = reading
        if probe != comparison.reference_id:
            cause = _influence(f"comparison:{probe}:transfer", "offset in another air")
            corrected[kind] = widen(difference(reading, offset), cause, u_std=u_transfer_si)
    return corrected


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """Readings with the probes' offsets made common, and what the procedure noticed.

    Parameters
    ----------
    readings
        By stream, in the measure of the readings.
    drift_si
        How far conditions moved meanwhile, as seen by the procedure.
    flags
        A drift or an offset beyond what the readings explain.
    """

    readings: Mapping[AirKind, Estimate]
    drift_si: Estimate
    flags: tuple[Problem, ...] = ()


def swap_probes(first: Mapping[AirKind, Estimate], second: Mapping[AirKind, Estimate]) -> Round:
    """Two probes at two stations, read together, exchanged and read together again.

    The mean at each station holds half of either probe's offset, so both means hold the same and it
    cancels in their difference. The mean of the two stations tells how far conditions moved between
    the two looks; half of that, as a limit, is taken for what each station may have moved alone.

    Parameters
    ----------
    first
        The two stations with the probes as they were.
    second
        The same stations with the probes exchanged.

    Returns
    -------
    Round
        Means and drift.

    Raises
    ------
    ValueError
        If they are not the same two stations.

    >>> from ventwright.uncertainty import difference, measured
    >>> def probe(name, value):
    ...     return measured(value, u_std=0.3, id=f"instrument:{name}:temperature:x", label=name)
    >>> found = swap_probes(
    ...     {AirKind.OUTDOOR: probe("a", 5.0), AirKind.SUPPLY: probe("b", 17.5)},
    ...     {AirKind.OUTDOOR: probe("b", 5.5), AirKind.SUPPLY: probe("a", 17.0)})
    >>> step = difference(found.readings[AirKind.SUPPLY], found.readings[AirKind.OUTDOOR])
    >>> round(step.value, 2), round(step.u_std, 9)
    (12.0, 0.0)
    """
    if set(first) != set(second) or len(first) != 2:
        raise ValueError("swapping needs the same two stations twice")
    before, after = _mean(list(first.values())), _mean(list(second.values()))
    drift = difference(after, before)
    readings = {
        kind: _with_drift(_mean([first[kind], second[kind]]), f"swap:{kind.value}", drift.value)
        for kind in first
    }
    return Round(readings=readings, drift_si=drift, flags=_drift_flags(drift, "swap"))


def one_probe_round(readings_si: Sequence[tuple[AirKind, Estimate]]) -> Round:
    """One probe carried from stream to stream and back to the first.

    Its offset is common to all. The first stream, read twice, tells how far conditions moved; its
    mean stands for the middle of the round, and every other stream may be off by half the drift.

    Parameters
    ----------
    readings_si
        In order; the last is of the same stream as the first.

    Returns
    -------
    Round
        One reading for each stream.

    Raises
    ------
    ValueError
        If the round does not close, or a stream between was read twice.

    >>> from ventwright.uncertainty import exact
    >>> found = one_probe_round([(AirKind.OUTDOOR, exact(5.0)), (AirKind.SUPPLY, exact(17.0)),
    ...                          (AirKind.EXTRACT, exact(21.0)), (AirKind.OUTDOOR, exact(5.4))])
    >>> found.readings[AirKind.OUTDOOR].value, round(found.readings[AirKind.SUPPLY].u_std, 3)
    (5.2, 0.115)
    """
    kinds = [kind for kind, _ in readings_si]
    if len(kinds) < 3 or kinds[0] is not kinds[-1] or len(set(kinds)) != len(kinds) - 1:
        raise ValueError("a round starts and ends at one stream and sees every other stream once")
    (start, opening), *between, (_, closing) = readings_si
    drift = difference(closing, opening)
    found = {start: _mean([opening, closing])}
    for kind, reading in between:
        found[kind] = _with_drift(reading, f"round:{kind.value}", drift.value)
    return Round(readings=found, drift_si=drift, flags=_drift_flags(drift, "round"))


def _mean(estimates: Sequence[Estimate]) -> Estimate:
    share = 1.0 / len(estimates)
    return combine(share * sum(e.value for e in estimates), [(share, e) for e in estimates])


def _with_drift(reading: Estimate, name: str, drift: float) -> Estimate:
    u_std = u_from_half_width(0.5 * abs(drift), distribution=Distribution.RECTANGULAR)
    cause = Influence(
        id=f"{name}:drift",
        label="conditions moved during the readings",
        distribution=Distribution.RECTANGULAR,
    )
    return widen(reading, cause, u_std=u_std)


def _influence(influence_id: str, label: str) -> Influence:
    return Influence(id=influence_id, label=label)


def _drift_flags(drift: Estimate, where: str) -> tuple[Problem, ...]:
    if abs(drift.value) <= COVERAGE_FACTOR * drift.u_std + ROUNDING_SI:
        return ()
    return (
        Problem(
            code="conditions-moved",
            where=where,
            message=f"conditions moved by {drift.value:.2g} during the readings",
            remedy="repeat when they are steadier, or faster; the drift is in the uncertainty",
        ),
    )


class Procedure(StrEnum):
    """Ways to read two stations whose difference counts."""

    INDEPENDENT = "independent"
    """A probe at each, as they come."""
    COMPARED = "compared"
    """A probe at each, offsets found in one air first."""
    SWAPPED = "swapped"
    """A probe at each, exchanged and read again."""
    ONE_PROBE = "one-probe"
    """One probe carried between them and back."""


def procedure_budgets_si(
    *,
    u_calibration_si: float,
    u_reading_si: float,
    u_transfer_si: float = 0.0,
    drift_si: float = 0.0,
) -> dict[Procedure, float]:
    """Standard uncertainty of a difference between two stations by each procedure.

    Each procedure is run on readings with these uncertainties, so that this can't differ from what
    a real use of it would give.

    Parameters
    ----------
    u_calibration_si
        Of one probe: what all its readings share.
    u_reading_si
        Of one reading: what it shares with none.
    u_transfer_si
        Of an offset used in another air than it was found in.
    drift_si
        How far conditions move between two looks.

    Returns
    -------
    dict of Procedure to float
        In the measure of the inputs.

    >>> budgets = procedure_budgets_si(u_calibration_si=0.3, u_reading_si=0.1)
    >>> {str(p): round(u, 2) for p, u in budgets.items()}
    {'independent': 0.45, 'compared': 0.2, 'swapped': 0.1, 'one-probe': 0.12}
    """
    looks = iter(range(100))

    def look(probe: str, value: float = 0.0) -> Estimate:
        own = Influence(id=f"look:{next(looks)}", label="reading")
        calibration = measured(
            value, u_std=u_calibration_si, id=f"instrument:{probe}", label="calibration"
        )
        return widen(calibration, own, u_std=u_reading_si)

    a, b = AirKind.OUTDOOR, AirKind.SUPPLY
    comparison = compare_probes({"a": look("a"), "b": look("b")}, reference_id="a")
    read = {
        Procedure.INDEPENDENT: {a: look("a"), b: look("b")},
        Procedure.COMPARED: remove_probe_offsets(
            {a: ("a", look("a")), b: ("b", look("b"))}, comparison, u_transfer_si=u_transfer_si
        ),
        Procedure.SWAPPED: swap_probes(
            {a: look("a"), b: look("b")}, {a: look("b", drift_si), b: look("a", drift_si)}
        ).readings,
        Procedure.ONE_PROBE: one_probe_round(
            [(a, look("a")), (b, look("a")), (a, look("a", drift_si))]
        ).readings,
    }
    return {p: difference(found[b], found[a]).u_std for p, found in read.items()}
