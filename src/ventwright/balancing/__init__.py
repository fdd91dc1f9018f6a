"""Balancing: re-targeting to what the machine can do; guidance for the dampers.

Works on plain estimates and bands and knows nothing of files or forms.
"""

from ventwright.balancing.retarget import Retarget, TerminalDesign, retarget

__all__ = ["Retarget", "TerminalDesign", "retarget"]
