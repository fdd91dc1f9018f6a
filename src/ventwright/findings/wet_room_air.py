"""What is found about a bathroom while a shower runs and after it."""

from __future__ import annotations

from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class ShowerCourse:
    """One shower at one extract, at the least, middle and most vapour it may release.

    Parameters
    ----------
    extract_m3_s
        Extract while the shower runs, as left where it was read so [m³/s].
    setting
        Setting of the extract.
    boost_s
        How long the extract is raised from the start of the shower; 0 for the continuous setting
        [s].
    fogs_at_s
        When the mirror first fogs, from the start, at each vapour [s]; None where it never does.
    clears_after_s
        When it is clear again, from the end of the shower [s]; 0 where it is clear by then, None
        where it is still fogged at the end of the run.
    peak_rel_humidity_frac
        Highest relative humidity of the air at each vapour.
    curve_time_s
        Moments of the course at the middle vapour, a minute apart, from the start [s].
    curve_rel_humidity_frac
        Relative humidity of the air at each.
    """

    extract_m3_s: Estimate
    setting: str
    boost_s: float
    fogs_at_s: tuple[float | None, float | None, float | None]
    clears_after_s: tuple[float | None, float | None, float | None]
    peak_rel_humidity_frac: tuple[float, float, float]
    curve_time_s: tuple[float, ...]
    curve_rel_humidity_frac: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WetRoomFinding:
    """A bathroom whose extract was measured, with a shower: a model, nothing that was seen.

    Parameters
    ----------
    room_id, room_name
        The bathroom.
    shower_s
        How long the shower runs [s].
    run_s
        How long it is followed from the start of the shower [s].
    vapour_kg_s
        Least, middle and most vapour that the shower releases [kg/s]: what the times depend on
        most. All else that is assumed stands at its middle.
    mirror_m2
        Area of the mirror, assumed [m²].
    soon_s
        What `soon_extract_m3_s` clears the mirror within [s].
    volume_m3
        Volume of the room [m³].
    is_volume_assumed
        Whether only its floor is stated.
    is_air_assumed
        Whether nobody read the air of the house.
    courses
        At the continuous extract, and at the boost where that was measured.
    free_extract_m3_s
        Smallest constant extract that keeps the mirror free of film at the middle vapour [m³/s];
        None where none looked at does.
    soon_extract_m3_s
        Smallest constant extract that clears it soon after [m³/s]; None likewise.
    reason_code
        Why nothing could be worked out.
    """

    room_id: str
    room_name: str
    shower_s: float
    run_s: float
    vapour_kg_s: tuple[float, float, float]
    mirror_m2: float
    soon_s: float
    volume_m3: float | None = None
    is_volume_assumed: bool = False
    is_air_assumed: bool = False
    courses: tuple[ShowerCourse, ...] = ()
    free_extract_m3_s: float | None = None
    soon_extract_m3_s: float | None = None
    reason_code: str = ""
