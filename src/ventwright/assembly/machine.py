"""The ventilation unit as laws: fan at its setting, exchanger where its table allows it.

A maker's fan curve speaks of the unit's own ports: exchanger and clean filters are inside. At full
speed that is all one needs. At a lower speed the fan's own rise falls with the square of speed, but
the loss of the exchanger, which is nearly laminar, only with the flow; so where a table of the
exchanger is at hand the two are taken apart, and otherwise the curve is scaled as it is.
"""

from __future__ import annotations

from collections.abc import Sequence

from ventwright.assembly.pieces import Piece, PieceKind, doubts_of
from ventwright.ducts import (
    STANDARD_DUCT_AIR,
    DuctAir,
    FanCurve,
    FanPoint,
    Law,
    Polynomial,
    SteadyFlowFan,
)
from ventwright.house import FanControl, FanSetting, PressureFlowPoint, VentilationUnit
from ventwright.quantities import AirKind, Problem, Severity, Side
from ventwright.quantities.records import dataclass

_STREAMS = {
    Side.SUPPLY: (AirKind.SUPPLY, AirKind.OUTDOOR),
    Side.EXTRACT: (AirKind.EXTRACT, AirKind.EXHAUST),
}
MOST_MISFIT_FRAC = 0.10


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """One side of a ventilation unit at a setting.

    Parameters
    ----------
    pieces
        Fan first, then the exchanger where it stands by itself.
    speed_frac
        Speed that the setting asks for; 1 where it says nothing.
    is_speed_assumed
        Whether it says nothing.
    problems
        What stands in the way.
    """

    pieces: tuple[Piece, ...]
    speed_frac: float
    is_speed_assumed: bool
    problems: tuple[Problem, ...]

    @property
    def has_fan(self) -> bool:
        """Whether there is a fan law, so that flows can be found."""
        return any(piece.kind is PieceKind.FAN for piece in self.pieces)


def machine_of(
    ventilation_unit: VentilationUnit,
    *,
    side: Side,
    setting: FanSetting | None,
    set_flow_m3_s: float | None,
    air: DuctAir,
    where: str,
) -> Machine:
    """Fan and exchanger of one side.

    Rises and the quadratic part of the exchanger's loss go with density, from standard air.

    Parameters
    ----------
    ventilation_unit
        The unit.
    side
        Which side.
    setting
        Fan setting; None is full speed.
    set_flow_m3_s
        Flow that a constant-flow fan holds in this setting [m³/s].
    air
        Air in the ducts.
    where
        Key path of the system.

    Source: fan_laws, filter_and_exchanger_forms
    """
    typed = None
    if setting is not None:
        is_supply = side is Side.SUPPLY
        typed = setting.supply_speed_frac if is_supply else setting.extract_speed_frac
    points = next((c.points for c in ventilation_unit.fan_curves if c.side is side), ())
    place = f"{where}.ventilation_unit.fan_curves[{side.value}]"
    if not points:
        missing = Problem(
            code="fan-curve-missing",
            where=place,
            message=f"the unit has no fan curve for the {side.value} side: no operating point, "
            "total or split can be predicted",
            remedy="write pressure and flow at the unit's ports from the maker's paper",
            severity=Severity.REFUSAL,
        )
        return Machine(pieces=(), speed_frac=1.0, is_speed_assumed=True, problems=(missing,))
    speed_frac = 1.0 if typed is None else typed
    if ventilation_unit.fan_control is FanControl.CONSTANT_FLOW:
        return _steady(points, set_flow_m3_s, air=air, place=place)
    return _by_speed(
        ventilation_unit,
        points,
        side=side,
        typed=typed,
        speed_frac=speed_frac,
        air=air,
        place=place,
    )


def _by_speed(
    ventilation_unit: VentilationUnit,
    points: Sequence[PressureFlowPoint],
    *,
    side: Side,
    typed: float | None,
    speed_frac: float,
    air: DuctAir,
    place: str,
) -> Machine:
    problems: list[Problem] = []
    inside, accuracy_frac, remarks = _exchanger(ventilation_unit, side, place)
    problems += remarks
    curve = _curve(points, inside, speed_frac=speed_frac, air=air)
    if inside is not None and curve.problems():
        # A curve that rises once the exchanger is taken out can't be split; it serves as it is.
        problems.append(_unusable(place, "without it the fan's own curve would rise with flow"))
        inside = None
        curve = _curve(points, None, speed_frac=speed_frac, air=air)
    refused = curve.problems()
    if refused:
        problems.append(_refused(place, refused[0]))
        return Machine(
            pieces=(),
            speed_frac=speed_frac,
            is_speed_assumed=typed is None,
            problems=tuple(problems),
        )
    pieces = [_fan_piece(curve, place)]
    if inside is not None:
        pieces.append(_exchanger_piece(inside, accuracy_frac, air=air, place=place))
    return Machine(
        pieces=tuple(pieces),
        speed_frac=speed_frac,
        is_speed_assumed=typed is None,
        problems=tuple(problems),
    )


def _steady(
    points: Sequence[PressureFlowPoint], set_flow_m3_s: float | None, *, air: DuctAir, place: str
) -> Machine:
    full = _curve(points, None, speed_frac=1.0, air=air)
    problem: Problem | None = None
    if set_flow_m3_s is None or set_flow_m3_s <= 0.0:
        problem = Problem(
            code="set-flow-missing",
            where=place,
            message="a constant-flow fan needs the flow it is set to",
            remedy="write 'supply_flow' and 'extract_flow' at the fan setting",
            severity=Severity.REFUSAL,
        )
    elif full.problems():
        problem = _refused(place, full.problems()[0])
    if problem is not None or set_flow_m3_s is None:
        found = () if problem is None else (problem,)
        return Machine(pieces=(), speed_frac=1.0, is_speed_assumed=False, problems=found)
    fan = SteadyFlowFan(set_flow_m3_s=set_flow_m3_s, full=full)
    return Machine(
        pieces=(_fan_piece(fan, place),), speed_frac=1.0, is_speed_assumed=False, problems=()
    )


def _curve(
    points: Sequence[PressureFlowPoint],
    inside: Polynomial | None,
    *,
    speed_frac: float,
    air: DuctAir,
) -> FanCurve:
    """The fan's curve at the air's density, the exchanger's drop put back where it is known."""
    denser = air.density_kg_m3 / STANDARD_DUCT_AIR.density_kg_m3
    ordered = sorted(points, key=lambda p: p.flow_m3_s)
    return FanCurve(
        points=tuple(
            FanPoint(flow_m3_s=p.flow_m3_s, rise_pa=denser * (p.pressure_pa + _drop(inside, p)))
            for p in ordered
        ),
        speed_frac=speed_frac,
    )


def _drop(inside: Polynomial | None, point: PressureFlowPoint) -> float:
    return 0.0 if inside is None else inside.terms().drop_and_slope(point.flow_m3_s)[0]


def _exchanger(
    ventilation_unit: VentilationUnit, side: Side, place: str
) -> tuple[Polynomial | None, float | None, list[Problem]]:
    """Linear and quadratic part of the exchanger's table at standard air, if it has one."""
    table = next(
        (
            t
            for stream in _STREAMS[side]
            for t in ventilation_unit.exchanger_tables
            if t.stream is stream
        ),
        None,
    )
    if table is None:
        return None, None, []
    usable = [p for p in table.points if p.flow_m3_s > 0.0 and p.pressure_pa > 0.0]
    law = _fitted(usable)
    if law is None:
        return None, None, [_unusable(place, "it needs two points above zero")]
    worst = max(abs(_drop(law, p) / p.pressure_pa - 1.0) for p in usable)
    if worst > MOST_MISFIT_FRAC:
        said = f"no law of laminar and turbulent loss comes within {worst:.0%} of its points"
        return None, None, [_unusable(place, said)]
    return law, table.accuracy_frac, []


def _unusable(place: str, said: str) -> Problem:
    return Problem(
        code="exchanger-table-unusable",
        where=place,
        message=f"the exchanger's table is left out of the plan: {said}; the fan curve is scaled "
        "as it is",
        remedy="check pressures and flows of the table",
    )


def _fitted(points: Sequence[PressureFlowPoint]) -> Polynomial | None:
    """Least squares of drop = a·flow + b·flow² in relative terms, neither part below zero."""
    if len({p.flow_m3_s for p in points}) < 2:
        return None
    # Divided by the pressure the points weigh alike: 1 = a·x + b·y.
    x = [p.flow_m3_s / p.pressure_pa for p in points]
    y = [p.flow_m3_s * p.flow_m3_s / p.pressure_pa for p in points]
    xx, yy = sum(v * v for v in x), sum(v * v for v in y)
    xy = sum(v * w for v, w in zip(x, y, strict=True))
    determinant = xx * yy - xy * xy
    linear = (sum(x) * yy - sum(y) * xy) / determinant
    quadratic = (sum(y) * xx - sum(x) * xy) / determinant
    if linear < 0.0:
        linear, quadratic = 0.0, sum(y) / yy
    elif quadratic < 0.0:
        linear, quadratic = sum(x) / xx, 0.0
    return Polynomial(linear_pa_per_m3_s=linear, quadratic_pa_per_m6_s2=quadratic)


def _fan_piece(law: Law, place: str) -> Piece:
    return Piece(
        law=law, kind=PieceKind.FAN, where=place, doubts=doubts_of(PieceKind.FAN, where=place)
    )


def _exchanger_piece(
    inside: Polynomial, accuracy_frac: float | None, *, air: DuctAir, place: str
) -> Piece:
    """The exchanger in the house's air: laminar loss goes with viscosity, the rest with density."""
    thicker = air.viscosity_pa_s / STANDARD_DUCT_AIR.viscosity_pa_s
    denser = air.density_kg_m3 / STANDARD_DUCT_AIR.density_kg_m3
    law = Polynomial(
        linear_pa_per_m3_s=inside.linear_pa_per_m3_s * thicker,
        quadratic_pa_per_m6_s2=inside.quadratic_pa_per_m6_s2 * denser,
    )
    where = place.replace("fan_curves", "exchanger_tables")
    return Piece(
        law=law,
        kind=PieceKind.EXCHANGER,
        where=where,
        # An accuracy that a paper states is taken as two standard uncertainties.
        doubts=doubts_of(
            PieceKind.EXCHANGER,
            where=where,
            u_shared_ln_ratio=None if accuracy_frac is None else 0.5 * accuracy_frac,
        ),
    )


def _refused(place: str, found: Problem) -> Problem:
    return Problem(
        code=found.code,
        where=place,
        message=f"{place}: {found.message}",
        remedy=found.remedy,
        severity=Severity.REFUSAL,
    )
