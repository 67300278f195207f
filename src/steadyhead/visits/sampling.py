"""Draw true stations around the stated one: every tolerance is a named, independent random parameter.

Each parameter has a stream of its own, seeded by (seed, its name), so that a fact added to the station or
taken away changes no other draw. Within a parameter the draws are stratified: one in each n-th of its
distribution (McKay, Beckman and Conover 1979, from memory), in an order of its own.

Shapes
------
* *between*: nothing but two ends is known: every value between them alike (JCGM 100:2008, 4.3.7);
* *about*: repeatability: normal, the stated tolerance being two standard deviations;
* *factor*: a size known to a factor: log-normal, 95 % within the factor;
* *ladder*: straight between stated points of the distribution.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Shape = Literal["between", "about", "factor", "ladder"]
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Parameter:
    """One thing that may differ from the stated station.

    Parameters
    ----------
    name
        Part and fact, e.g. ``ST.kv``; names its stream.
    shape
        See the module's text.
    centre
        Middle of the distribution. [SI]
    half
        Half-width (between), two standard deviations (about), factor that holds 95 % (factor). [SI or 1]
    source
        Where the width comes from.
    steps
        For a ladder: (share below, value), both rising.
    nominal
        What the twin itself takes, where that is not the middle. [SI]
    """

    name: str
    shape: Shape
    centre: float
    half: float
    source: str
    steps: tuple[tuple[float, float], ...] = ()
    nominal: float | None = None

    @property
    def as_stated(self) -> float:
        """Value at the station as stated. [SI]"""
        return self.centre if self.nominal is None else self.nominal

    def at(self, shares: Array) -> Array:
        """Return the values below which these shares of the distribution lie."""
        if self.shape == "between":
            return self.centre + self.half * (2.0 * shares - 1.0)
        if self.shape == "ladder":
            below, values = zip(*self.steps, strict=True)
            return np.asarray(np.interp(shares, below, values), dtype=np.float64)
        normal = _normal(shares)
        if self.shape == "about":
            return self.centre + 0.5 * self.half * normal
        return np.asarray(self.centre * self.half ** (normal / 1.959964), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Samples:
    """Drawn stations: for each parameter one value per station.

    values: arrays of one length by parameter name. [SI]
    """

    parameters: tuple[Parameter, ...]
    values: Mapping[str, Array]
    n: int

    def __getitem__(self, name: str) -> Array:
        return self.values[name]

    def get(self, name: str, default: float) -> Array:
        """Return the draws of a parameter, or a constant where this station has no such parameter."""
        found = self.values.get(name)
        return np.full(self.n, default) if found is None else found


def draw(parameters: Iterable[Parameter], n: int, seed: int) -> Samples:
    """Return `n` stations drawn from the given tolerances.

    The same name and seed give the same draws whatever else is asked for.

    Parameters
    ----------
    parameters
        What varies; names must differ.
    n
        Number of stations.
    seed
        Any integer.

    Raises
    ------
    ValueError
        When two parameters carry one name.
    """
    listed = tuple(parameters)
    values = {p.name: p.at(_shares(p.name, n, seed)) for p in listed}
    if len(values) != len(listed):
        names = [p.name for p in listed]
        twice = sorted({name for name in names if names.count(name) > 1})
        raise ValueError(f"parameters drawn twice: {', '.join(twice)}")
    return Samples(listed, values, n)


def _shares(name: str, n: int, seed: int) -> Array:
    """Return one share in each n-th of (0, 1), in the order of the stream called `name`."""
    digest = hashlib.sha256(f"{seed}/{name}".encode()).digest()
    stream = np.random.Generator(np.random.PCG64(int.from_bytes(digest[:16], "big")))
    order = np.argsort(stream.random(n))
    return np.asarray((order + stream.random(n)) / n, dtype=np.float64)


def _normal(shares: Array) -> Array:
    inverse = NormalDist().inv_cdf
    return np.array([inverse(min(max(share, 1e-9), 1.0 - 1e-9)) for share in shares.tolist()])
