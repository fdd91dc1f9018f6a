"""Chooses the next step from what is known of both sides and from where one stands."""

from __future__ import annotations

from ventwright.balancing.advice import Finished, Method, NextStep
from ventwright.balancing.chooser_live import LiveChooser
from ventwright.balancing.chooser_rounds import RoundsChooser
from ventwright.balancing.site_data import Session, SettingStyle


def choose(session: Session, method: Method) -> NextStep | Finished:
    """The next step.

    Parameters
    ----------
    session
        All that was done.
    method
        Figures of the method.
    """
    is_live = session.options.style is SettingStyle.LIVE
    chooser = LiveChooser(session, method) if is_live else RoundsChooser(session, method)
    return chooser.choose()
