"""Problems as lines on the screen."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ventwright.quantities import Problem


def say_problems(problems: tuple[Problem, ...]) -> None:
    """Print each problem with its place and what to do about it.

    Parameters
    ----------
    problems
        Any problems.
    """
    for problem in problems:
        ahead = "" if problem.message.startswith(problem.where) else f"{problem.where}: "
        print(f"  {ahead}{problem.message}", file=sys.stderr)
        if problem.remedy:
            print(f"    → {problem.remedy}", file=sys.stderr)
