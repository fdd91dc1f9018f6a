"""Names of fittings as a house file writes them, and the loss each stands for."""

from __future__ import annotations

from ventwright.ducts import (
    MITRE_GROWTH_REYNOLDS,
    DuctAir,
    EndPiece,
    Loss,
    bend_loss_coeff,
    end_piece_loss_coeff,
    mitre_loss_coeff,
    narrowing_loss_coeff,
    segment_bend_loss_coeff,
    tee_branch_loss_coeff,
    tee_straight_loss_coeff,
    widening_loss_coeff,
)
from ventwright.quantities.records import dataclass

_BENDS = {
    "bend_90": (1.0, 90.0),
    "bend_90_tight": (0.5, 90.0),
    "bend_90_wide": (1.5, 90.0),
    "bend_45": (1.0, 45.0),
    "bend_45_wide": (1.5, 45.0),
    "bend_30": (1.0, 30.0),
}
"""Radius of the centre line over diameter, and angle."""
_MITRES = {"mitre_90": 90.0, "mitre_45": 45.0}
_ENDS = {piece.value.replace("-", "_"): piece for piece in EndPiece}
_TEES = {"tee_branch": 90, "wye_branch": 45}
TEE_AREA_RATIO_LEAST, TEE_AREA_RATIO_MOST = 0.2, 0.8
TEE_FLOW_RATIO_LEAST, TEE_FLOW_RATIO_MOST = 0.1, 0.9
_USUAL_AREA_RATIO, _USUAL_FLOW_RATIO = 0.6, 0.5
_CONE_RATIO, _NARROWING_DEG, _WIDENING_DEG = 2.0, 60.0, 45.0
FITTING_NAMES = (
    *_BENDS,
    *_MITRES,
    "segment_bend_90",
    "tee_branch",
    "wye_branch",
    "tee_straight",
    "reducer",
    "widening",
    *_ENDS,
)
"""Every name that is known; ``loss 1.8`` gives a loss coefficient by itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Junction:
    """Where a run leaves its parent: what a tee needs to know.

    Parameters
    ----------
    main_diameter_m
        Of the parent's last duct [m]; None if unknown.
    flow_ratio
        Design flow of the run over that of its parent; None if unknown.
    """

    main_diameter_m: float | None = None
    flow_ratio: float | None = None


def fitting_loss(
    name: str, *, diameter_m: float, area_m2: float | None, junction: Junction, air: DuctAir
) -> tuple[Loss, bool] | None:
    """The loss of one fitting, and whether something about it had to be assumed.

    A tee takes the loss of the design split and keeps it; outside the table (area ratio 0.2 to
    0.8, flow ratio 0.1 to 0.9) the nearest entry stands in. The tables speak of dividing flow; they
    serve joining flow too, by judgement. Cones are taken at an area ratio of 2.

    Parameters
    ----------
    name
        As the file writes it; ``loss 1.8`` is a coefficient.
    diameter_m
        Of the section it is referred to [m].
    area_m2
        Its area where it is not round [m²].
    junction
        Where the run leaves its parent.
    air
        Air in the ducts.

    Returns
    -------
    tuple or None
        None for a name that is not known.

    Source: smacna_tables_code, duct_judgement

    >>> from ventwright.ducts import STANDARD_DUCT_AIR
    >>> found = fitting_loss("bend_90", diameter_m=0.125, area_m2=None, junction=Junction(),
    ...                      air=STANDARD_DUCT_AIR)
    >>> found[0].loss_coeff, found[1]
    (0.22, False)
    """
    words = name.strip().lower().replace("-", "_").replace(" ", "_")
    coeff = _coeff(words, diameter_m=diameter_m, junction=junction)
    if coeff is None:
        return None
    loss_coeff, is_assumed = coeff
    kept = {} if words not in _MITRES else {"growth_reynolds": MITRE_GROWTH_REYNOLDS}
    law = Loss(loss_coeff=loss_coeff, diameter_m=diameter_m, area_m2=area_m2, air=air, **kept)
    return law, is_assumed


def _coeff(words: str, *, diameter_m: float, junction: Junction) -> tuple[float, bool] | None:
    if words in _TEES:
        return _tee(_TEES[words], diameter_m=diameter_m, junction=junction)
    if words == "tee_straight":
        return _straight_through(diameter_m=diameter_m, junction=junction)
    fixed = _bend(words)
    if fixed is None:
        fixed = _end_or_cone(words)
    return _typed(words) if fixed is None else (fixed, False)


def _bend(words: str) -> float | None:
    if words in _BENDS:
        radius_ratio, angle_deg = _BENDS[words]
        return bend_loss_coeff(radius_ratio=radius_ratio, angle_deg=angle_deg)
    if words in _MITRES:
        return mitre_loss_coeff(angle_deg=_MITRES[words])
    if words == "segment_bend_90":
        return segment_bend_loss_coeff(radius_ratio=1.0, piece_count=5)
    return None


def _end_or_cone(words: str) -> float | None:
    if words in _ENDS:
        return end_piece_loss_coeff(_ENDS[words])
    if words == "reducer":
        return narrowing_loss_coeff(area_ratio=_CONE_RATIO, angle_deg=_NARROWING_DEG)
    if words == "widening":
        return widening_loss_coeff(area_ratio=_CONE_RATIO, angle_deg=_WIDENING_DEG)
    return None


def _typed(words: str) -> tuple[float, bool] | None:
    head, _, number = words.partition("_")
    if head != "loss":
        return None
    try:
        value = float(number.replace(",", "."))
    except ValueError:
        return None
    return (value, False) if 0.0 <= value < float("inf") else None


def _ratios(*, diameter_m: float, junction: Junction) -> tuple[float, float, bool]:
    """Area and flow ratio of a junction, the usual ones where they are unknown."""
    main_m, flow_ratio = junction.main_diameter_m, junction.flow_ratio
    is_assumed = main_m is None or flow_ratio is None
    area_ratio = _USUAL_AREA_RATIO if main_m is None else (diameter_m / main_m) ** 2
    return area_ratio, _USUAL_FLOW_RATIO if flow_ratio is None else flow_ratio, is_assumed


def _tee(angle_deg: int, *, diameter_m: float, junction: Junction) -> tuple[float, bool]:
    area_ratio, flow_ratio, is_assumed = _ratios(diameter_m=diameter_m, junction=junction)
    area_ratio = min(max(area_ratio, TEE_AREA_RATIO_LEAST), TEE_AREA_RATIO_MOST)
    flow_ratio = min(max(flow_ratio, TEE_FLOW_RATIO_LEAST), TEE_FLOW_RATIO_MOST)
    loss = tee_branch_loss_coeff(area_ratio=area_ratio, flow_ratio=flow_ratio, angle_deg=angle_deg)
    return loss, is_assumed


def _straight_through(*, diameter_m: float, junction: Junction) -> tuple[float, bool]:
    """On the run's own velocity; the table speaks of the velocity before the tee."""
    area_ratio, flow_ratio, is_assumed = _ratios(diameter_m=diameter_m, junction=junction)
    velocity_ratio = min(max(flow_ratio / area_ratio, TEE_AREA_RATIO_LEAST), 1.0)
    on_common = tee_straight_loss_coeff(velocity_ratio=velocity_ratio)
    return on_common / (velocity_ratio * velocity_ratio), is_assumed
