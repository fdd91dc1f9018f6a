"""What is said when no state of moist air can be given."""

from __future__ import annotations

from ventwright.quantities.problems import Problem, Severity, UserError


class AirStateError(UserError):
    """No moist-air state follows from what was given; `problems` says why and what to do.

    >>> error = air_state_error("air-out-of-range", "pressure_pa", "pressure 30 Pa",
    ...                         "give 50–110 kPa")
    >>> str(error), error.problems[0].code
    ('pressure 30 Pa: give 50–110 kPa', 'air-out-of-range')
    """


def air_state_error(code: str, where: str, message: str, remedy: str) -> AirStateError:
    """Build the error with its one problem.

    Parameters
    ----------
    code
        Stable code of the problem.
    where
        Name of the field.
    message
        What was found.
    remedy
        What is accepted.

    Returns
    -------
    AirStateError
        To be raised.
    """
    problem = Problem(
        code=code, where=where, message=message, remedy=remedy, severity=Severity.REFUSAL
    )
    return AirStateError(f"{message}: {remedy}", problems=(problem,))
