"""Least squares with known errors: values, covariance, intervals, and readings that do not belong.

Gauss and Newton's method on a handful of unknowns. What is only known within its error (the zero of a gauge,
the play of a screw) is an unknown with a prior, so that it is shared by all readings it touches.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import inf, sqrt

import numpy as np

from steadyhead.visits.fitting.defaults import MOST_OUTLIERS, OUTLIER

Values = Mapping[str, float]
NORMAL_95 = 1.959964
STUDENT_95 = (
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131,
    2.120, 2.110, 2.101, 2.093, 2.086,
)  # fmt: skip
"""Two-sided 95 % points of Student's t for 1 to 20 degrees of freedom; textbook values, from memory."""
_ROUNDS = 60
_CLOSE = 1e-7
_STEP = 1e-4
_LOOSE = 1e4
"""Standard deviation of an unknown without a prior, in its own scale: it weighs nothing."""


@dataclass(frozen=True, slots=True)
class Unknown:
    """One unknown: where the search starts, its order of size, its edges, its prior error about the start.

    sigma: None where nothing is known beforehand. [as the unknown]
    """

    name: str
    start: float
    scale: float
    low: float = -inf
    high: float = inf
    sigma: float | None = None


@dataclass(frozen=True, slots=True)
class Sight:
    """One reading: what it showed, its own standard deviation, and what the unknowns make it."""

    label: str
    value: float
    sigma: float
    predict: Callable[[Values], float]


@dataclass(frozen=True, slots=True)
class Adjusted:
    """The outcome.

    Parameters
    ----------
    values, sigmas
        By name; standard deviations without the spread of what does not fit.
    covariance, names
        Of all unknowns, in the order of `names`.
    chi2, degrees
        Sum of squares of the weighted residuals, priors included, and how many are free.
    residuals
        By label: residual over its standard deviation. Readings left out are not among them.
    left_out
        Labels of readings left out, with how far above the rest each was, in standard deviations.
    at_edge
        Unknowns that ended on an edge.
    """

    values: Mapping[str, float]
    names: tuple[str, ...]
    covariance: np.ndarray
    chi2: float
    degrees: int
    residuals: Mapping[str, float]
    left_out: tuple[tuple[str, float], ...] = ()
    at_edge: frozenset[str] = frozenset()

    @property
    def misfit(self) -> float:
        """Sum of squares per degree of freedom; 1 where the readings scatter as stated."""
        return self.chi2 / self.degrees if self.degrees > 0 else 1.0

    @property
    def factor(self) -> float:
        """Half-width of a 95 % interval over the standard deviation.

        Where readings scatter more than their stated errors, it widens with the scatter; where they do so
        beyond chance (one in twenty), the scatter alone is believed, with Student's t.
        """
        if self.degrees <= 0 or self.misfit <= 1.0:
            return NORMAL_95
        if self.chi2 <= by_chance(self.degrees):
            return NORMAL_95 * sqrt(self.misfit)
        student = STUDENT_95[self.degrees - 1] if self.degrees <= len(STUDENT_95) else NORMAL_95 * 1.03
        return student * sqrt(self.misfit)

    def within(self, name: str) -> float:
        """Return the half-width of the 95 % interval of an unknown."""
        at = self.names.index(name)
        return self.factor * sqrt(max(float(self.covariance[at, at]), 0.0))

    def within_of(self, worked: Callable[[Values], float], steps: Mapping[str, float]) -> float:
        """Return the half-width of the 95 % interval of something worked out from the unknowns.

        Parameters
        ----------
        worked
            What it is of the unknowns; taken as straight over their errors.
        steps
            Scale of each unknown it depends on.
        """
        slope = np.zeros(len(self.names))
        for name, scale in steps.items():
            step = _STEP * scale
            up = worked({**self.values, name: self.values[name] + step})
            down = worked({**self.values, name: self.values[name] - step})
            slope[self.names.index(name)] = (up - down) / (2.0 * step)
        return self.factor * sqrt(max(float(slope @ self.covariance @ slope), 0.0))

    def correlation(self, one: str, other: str) -> float:
        """Return the correlation of two unknowns, −1 to 1."""
        a, b = self.names.index(one), self.names.index(other)
        product = float(self.covariance[a, a] * self.covariance[b, b])
        return float(self.covariance[a, b]) / sqrt(product) if product > 0.0 else 0.0


def by_chance(degrees: int) -> float:
    """Return the sum of squares that is passed by chance once in twenty times.

    Notes
    -----
    χ² ≈ ν (1 − 2/(9ν) + 1.645 √(2/(9ν)))³ (Wilson and Hilferty 1931, from memory; within 1 % from ν = 2).

    Examples
    --------
    >>> round(by_chance(10), 1)
    18.3
    """
    part = 2.0 / (9.0 * degrees)
    return degrees * (1.0 - part + 1.645 * sqrt(part)) ** 3


def adjust(unknowns: Sequence[Unknown], sights: Sequence[Sight]) -> Adjusted:
    """Return the unknowns that fit the readings best.

    Sound where the readings are nearly straight in the unknowns over their errors.

    Parameters
    ----------
    unknowns
        At least one.
    sights
        The readings; errors independent of each other, what they share being unknowns.

    Notes
    -----
    Minimises Σ((reading − predicted)/σ)² + Σ((unknown − start)/σ_prior)² by Gauss–Newton with halved steps;
    covariance (JᵀJ)⁻¹ (textbook method, from memory).
    """
    problem = _Problem(unknowns, sights)
    at = problem.start
    cost = problem.cost(at)
    for _ in range(_ROUNDS):
        rows, slope = problem.rows(at), problem.slope(at)
        move = np.linalg.lstsq(slope, -rows, rcond=None)[0]
        share = 1.0
        new = problem.clipped(at + move)
        while problem.cost(new) > cost * (1.0 + 1e-12) and share > 1e-4:
            share /= 2.0
            new = problem.clipped(at + share * move)
        done = float(np.max(np.abs(new - at))) < _CLOSE
        at, cost = new, min(problem.cost(new), cost)
        if done:
            break
    return problem.outcome(at)


def adjust_and_sift(unknowns: Sequence[Unknown], sights: Sequence[Sight]) -> Adjusted:
    """Return the fit without readings that lie far from all others; each left out is named.

    One after the other, the farthest first. A reading is held against the rest, whose own scatter counts
    where it is larger than stated. At most a quarter goes.
    """
    kept = list(sights)
    left_out: list[tuple[str, float]] = []
    most = int(MOST_OUTLIERS * len(sights))
    while True:
        found = adjust(unknowns, kept)
        worst = _farthest(unknowns, kept, found)
        if worst is None or abs(worst[1]) <= OUTLIER or len(left_out) >= most or found.degrees < 3:
            break
        left_out.append(worst)
        kept = [one for one in kept if one.label != worst[0]]
    return Adjusted(
        found.values, found.names, found.covariance, found.chi2, found.degrees, found.residuals,
        tuple(left_out), found.at_edge,
    )  # fmt: skip


def _farthest(
    unknowns: Sequence[Unknown], sights: Sequence[Sight], found: Adjusted
) -> tuple[str, float] | None:
    """Return the reading farthest from the rest, and how many standard deviations above it."""
    problem = _Problem(unknowns, sights)
    at = np.array([found.values[one.name] / one.scale for one in unknowns])
    slope = problem.slope(at)[: len(sights)]
    scaled = found.covariance / np.outer(problem.scales, problem.scales)
    leverage = np.einsum("ij,jk,ik->i", slope, scaled, slope)
    worst: tuple[str, float] | None = None
    for one, hat in zip(sights, leverage, strict=True):
        free = 1.0 - float(hat)
        if free < 0.05 or found.degrees < 2:
            continue
        own = found.residuals[one.label] / sqrt(free)
        rest = max((found.chi2 - own * own) / (found.degrees - 1), 1.0)
        off = own / sqrt(rest)
        if worst is None or abs(off) > abs(worst[1]):
            worst = (one.label, -off)
    return worst


class _Problem:
    """Rows of weighted residuals over scaled unknowns: readings first, then priors."""

    def __init__(self, unknowns: Sequence[Unknown], sights: Sequence[Sight]) -> None:
        self.unknowns, self.sights = unknowns, sights
        self.scales = np.array([one.scale for one in unknowns])
        self.start = np.array([one.start for one in unknowns]) / self.scales
        self.low = np.array([one.low for one in unknowns]) / self.scales
        self.high = np.array([one.high for one in unknowns]) / self.scales
        self.priors = np.array([_LOOSE if one.sigma is None else one.sigma / one.scale for one in unknowns])

    def named(self, at: np.ndarray) -> dict[str, float]:
        return {one.name: float(value) for one, value in zip(self.unknowns, at * self.scales, strict=True)}

    def clipped(self, at: np.ndarray) -> np.ndarray:
        return np.asarray(np.clip(at, self.low, self.high))

    def rows(self, at: np.ndarray) -> np.ndarray:
        values = self.named(at)
        seen = [(one.predict(values) - one.value) / one.sigma for one in self.sights]
        return np.concatenate([np.array(seen), (at - self.start) / self.priors])

    def cost(self, at: np.ndarray) -> float:
        rows = self.rows(at)
        return float(rows @ rows)

    def slope(self, at: np.ndarray) -> np.ndarray:
        columns = []
        for place in range(len(at)):
            up, down = at.copy(), at.copy()
            up[place], down[place] = up[place] + _STEP, down[place] - _STEP
            up, down = self.clipped(up), self.clipped(down)
            columns.append((self.rows(up) - self.rows(down)) / (up[place] - down[place]))
        return np.stack(columns, axis=1)

    def outcome(self, at: np.ndarray) -> Adjusted:
        slope, rows = self.slope(at), self.rows(at)
        covariance = np.linalg.pinv(slope.T @ slope, hermitian=True) * np.outer(self.scales, self.scales)
        known = sum(one.sigma is not None for one in self.unknowns)
        edge = {
            one.name
            for one, value, low, high in zip(self.unknowns, at, self.low, self.high, strict=True)
            if value <= low or value >= high
        }
        return Adjusted(
            values=self.named(at),
            names=tuple(one.name for one in self.unknowns),
            covariance=covariance,
            chi2=float(rows @ rows),
            degrees=len(self.sights) + known - len(self.unknowns),
            residuals={one.label: float(rows[at_]) for at_, one in enumerate(self.sights)},
            at_edge=frozenset(edge),
        )
