"""What one part of the fit gives: values, what is open, how values go together, readings left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations
from math import inf

from steadyhead.records.baseline import Correlation, Fitted, LeftOut, Undetermined
from steadyhead.visits.fitting.adjusting import Adjusted
from steadyhead.visits.fitting.defaults import CORRELATED


@dataclass(frozen=True, slots=True)
class Outcome:
    """Values fitted and not fitted, correlations, readings left out; two are added part by part."""

    fitted: tuple[Fitted, ...] = ()
    undetermined: tuple[Undetermined, ...] = ()
    correlations: tuple[Correlation, ...] = ()
    left_out: tuple[LeftOut, ...] = ()

    def __add__(self, other: Outcome) -> Outcome:
        return Outcome(
            self.fitted + other.fitted,
            self.undetermined + other.undetermined,
            self.correlations + other.correlations,
            self.left_out + other.left_out,
        )


def relative(within: float, value: float) -> float:
    """Return a half-width over the value it belongs to. [1]"""
    return within / abs(value) if value != 0.0 else inf


def correlated(found: Adjusted, keys: Mapping[str, str], fitted: Iterable[Fitted]) -> tuple[Correlation, ...]:
    """Return the correlations that matter between fitted values.

    Parameters
    ----------
    found
        The adjustment.
    keys
        Key of a fitted value by the name of its unknown.
    fitted
        Values that were taken.
    """
    taken = {one.key for one in fitted}
    names = [name for name, key in keys.items() if key in taken and name in found.names]
    pairs = ((a, b, found.correlation(a, b)) for a, b in combinations(names, 2))
    return tuple(Correlation(keys[a], keys[b], value) for a, b, value in pairs if abs(value) >= CORRELATED)
