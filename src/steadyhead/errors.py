"""The few errors of the house; each knows the field, what was got and the remedy."""

from __future__ import annotations

from collections.abc import Sequence


class StationError(Exception):
    """Base of every error that a person can do something about."""


class InputError(StationError, ValueError):
    """One value that cannot be used; knows the field, so that a form can point at it.

    Parameters
    ----------
    field
        Path of the field in the station file, e.g. ``supply.pressure.static``.
    problem
        What was got and which limit, with its unit, it misses.
    remedy
        What to write or do instead.
    """

    def __init__(self, field: str, problem: str, remedy: str) -> None:
        super().__init__(f"{field}: {problem} {remedy}")
        self.field = field
        self.problem = problem
        self.remedy = remedy


class InputErrors(StationError, ValueError):
    """Every bad field of one input, collected so that nobody has to try five times."""

    def __init__(self, errors: Sequence[InputError], where: str = "") -> None:
        self.errors = tuple(errors)
        self.where = where
        super().__init__("\n".join(str(error) for error in self.errors))


class NotConverged(StationError):
    """An iteration that stopped short; it never hands out its last guess.

    Parameters
    ----------
    what
        The thing that was being worked out.
    residual
        What was left over, in `unit`.
    unit
        Unit of the residual.
    iterations
        Steps taken.
    """

    def __init__(self, what: str, residual: float, unit: str, iterations: int) -> None:
        super().__init__(
            f"{what}: not converged, {residual:.3g} {unit} left after {iterations} steps. "
            "Check the station file for values that contradict each other."
        )
        self.what = what
        self.residual = residual
        self.unit = unit
        self.iterations = iterations
