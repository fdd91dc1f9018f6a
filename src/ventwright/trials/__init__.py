"""Simulated houses, meters and hands on which balancing procedures are tried.

Nothing here is shared with the engine: the physics is richer than the engine's model and written
apart from it (exponents 1.8 to 2 and laminar cores, trunks in segments, leaking ducts, an envelope
that couples the sides, play, stops, dampers that will not move). A procedure sees a `Site`; the
truth stays in the `World` with the scorer. Everything random comes from the seeds passed in.

- `draw_houses`, `draw_house`, `Traits`: truth houses.
- `MeterModel`, `HandModel`, `Style`: how well is read and set.
- `Site`, `Procedure`, `Outcome`: what a procedure has, does and answers.
- `Ratio`, `OwnTarget`, `AllAtOnce`: the reference procedures.
- `floor_of`, `try_procedure`, `Score`: the least effort, and what a visit cost and left behind.
"""

from __future__ import annotations

from ventwright.trials.cards import BranchCard, Outcome, SiteReading, TerminalCard, Turn
from ventwright.trials.exact import exact_setting, shares
from ventwright.trials.floor import Floor, acceptable_setting, floor_of, least_trips
from ventwright.trials.ledger import Deed, Entry, Ledger, Pace, Style
from ventwright.trials.make import Traits, draw_house, draw_houses
from ventwright.trials.meters import COARSE, FINE, PERFECT, MeterModel, SlipKind
from ventwright.trials.physics import Elements, FlowField, Unsolved, solve
from ventwright.trials.ratio import Ratio
from ventwright.trials.reference import AllAtOnce, OwnTarget
from ventwright.trials.score import Score, score, try_procedure
from ventwright.trials.site import Procedure, Site
from ventwright.trials.truth import CFM_M3_S, Layout, Place, Setting, TruthHouse
from ventwright.trials.world import Claim, HandModel, Slip, World

__all__ = [
    "CFM_M3_S",
    "COARSE",
    "FINE",
    "PERFECT",
    "AllAtOnce",
    "BranchCard",
    "Claim",
    "Deed",
    "Elements",
    "Entry",
    "Floor",
    "FlowField",
    "HandModel",
    "Layout",
    "Ledger",
    "MeterModel",
    "Outcome",
    "OwnTarget",
    "Pace",
    "Place",
    "Procedure",
    "Ratio",
    "Score",
    "Setting",
    "Site",
    "SiteReading",
    "Slip",
    "SlipKind",
    "Style",
    "TerminalCard",
    "Traits",
    "TruthHouse",
    "Turn",
    "Unsolved",
    "World",
    "acceptable_setting",
    "draw_house",
    "draw_houses",
    "exact_setting",
    "floor_of",
    "least_trips",
    "score",
    "shares",
    "solve",
    "try_procedure",
]
