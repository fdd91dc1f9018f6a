"""Names of a room that are imported when they are first asked for.

Reading and judging a visit needs a part of each room only. The rest, planning a house or building
its network say, is as public as ever and is loaded by whoever uses it, so that a command starts
quickly on a slow machine.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from importlib import import_module
from typing import Any

__all__ = ["later"]


def later(room: str, *homes: str) -> Callable[[str], Any]:
    """Make the ``__getattr__`` of a room whose modules are partly imported later.

    Type checkers should see the plain imports instead.

    Parameters
    ----------
    room
        Name of the package, as ``__name__`` gives it.
    homes
        Modules of the package to look into, in this order, for a name that it makes public
        (``__all__``) and does not hold yet. They belong to one job: a name may load several.

    Returns
    -------
    Callable
        Finds the name and leaves it in the package. A name that is not public, or that no module
        has, raises AttributeError, as the language asks.

    >>> import ventwright.uncertainty
    >>> later("ventwright.uncertainty", "timed_average", "monte_carlo")("monte_carlo").__name__
    'monte_carlo'
    """

    def load(name: str) -> Any:
        package = sys.modules[room]
        for home in homes if name in package.__all__ else ():
            module = import_module(f"{room}.{home}")
            if hasattr(module, name):
                setattr(package, name, getattr(module, name))
                return getattr(module, name)
        raise AttributeError(f"module {room!r} has no attribute {name!r}")

    return load
