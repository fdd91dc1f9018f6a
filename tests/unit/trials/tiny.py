"""A house to work out by hand: two supply terminals, one extract terminal, no ducts."""

from __future__ import annotations

import numpy as np

from ventwright.quantities.words import Side
from ventwright.trials.dampers import Ring, table_of
from ventwright.trials.physics import Elements
from ventwright.trials.truth import (
    NO_LOSS,
    Fan,
    Layout,
    Place,
    Setting,
    TruthBranch,
    TruthHouse,
    TruthTerminal,
)

LOFT = Place(name="loft", area="loft", x_m=0.0, y_m=0.0)
KITCHEN = Place(name="kitchen", area="storey 1", x_m=2.0, y_m=2.0)
STUDY = Place(name="study", area="storey 1", x_m=5.0, y_m=3.0)
BEDROOM = Place(name="bedroom", area="storey 2", x_m=1.0, y_m=2.0)
TARGET_M3_S = 0.01
FACTOR = 0.002


def ring(flow_factor: float) -> Ring:
    """A ring whose fully open flow factor is given [m³/s/Pa^½]."""
    return Ring(
        gap_factor=flow_factor * np.sqrt(2.0),
        neck_factor=flow_factor * np.sqrt(2.0),
        shape=1.0,
        scale=1.0,
        low_stop_frac=0.02,
        high_stop_frac=1.0,
        play_frac=0.0,
        is_stuck=False,
    )


def tiny_house(ratio: float) -> TruthHouse:
    """The second supply terminal's ring is `ratio` times the first one's; targets are equal."""
    names = (
        ("S1", Side.SUPPLY, STUDY),
        ("S2", Side.SUPPLY, BEDROOM),
        ("E1", Side.EXTRACT, KITCHEN),
    )
    rings = (ring(FACTOR), ring(ratio * FACTOR), ring(2 * FACTOR))
    targets = (TARGET_M3_S, TARGET_M3_S, 2 * TARGET_M3_S)
    terminals = tuple(
        TruthTerminal(
            id=name,
            side=side,
            branch=0 if side is Side.SUPPLY else 1,
            target_m3_s=target,
            place=place,
            damper_place=LOFT,
            ring=item,
            coeff=item.coeff(1.0),
            table=table_of(item, distortion=0.0),
            is_table_known=True,
        )
        for (name, side, place), item, target in zip(names, rings, targets, strict=True)
    )
    fan = Fan(shut_off_pa=100.0, free_m3_s=0.1, power=2.0, efficiency_frac=0.4, standby_w=2.0)
    fan_coeff = fan.shut_off_pa / fan.free_m3_s**2
    coeff = [item.coeff for item in terminals] + [NO_LOSS] * 5 + [fan_coeff] * 2 + [NO_LOSS]
    incidence = [
        *np.eye(3).tolist(),
        *np.eye(3).tolist(),
        [1, 1, 0],
        [0, 0, 1],
        [1, 1, 0],
        [0, 0, 1],
        [1, 1, -1],
    ]
    return TruthHouse(
        name="tiny",
        layout=Layout.TRUNK,
        terminals=terminals,
        branches=(
            TruthBranch(id="SB1", side=Side.SUPPLY, place=LOFT, flap=None, table=()),
            TruthBranch(id="EB1", side=Side.EXTRACT, place=LOFT, flap=None, table=()),
        ),
        fans=(fan, fan),
        unit_place=LOFT,
        elements=Elements(
            coeff=np.array(coeff),
            exponent=np.full(11, 2.0),
            core_m3_s=np.full(11, 1e-7),
            lift_pa=np.array([0.0] * 8 + [100.0, 100.0] + [0.0]),
            incidence=np.array(incidence, dtype=np.float64),
        ),
        as_found=Setting(
            terminal_frac=(1.0, 1.0, 1.0), branch_frac=(1.0, 1.0), speed_frac=(0.8, 0.8)
        ),
    )
