"""How often a limit is passed in an event whose inputs are known only within tolerances."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.findings import Finding
from steadyhead.records.stability import Spread


@dataclass(frozen=True, slots=True)
class Chance:
    """A share of the runs, and the interval the share lies in with 95 %."""

    found: int
    runs: int
    share: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Weight:
    """A tolerance, and the share of the variance of a peak it explains alone.

    low, high: its band [Pa], factor [1] or count; `is_offset`: [Pa]; `is_count`; words: where it comes from.
    """

    name: str
    low: float
    high: float
    is_offset: bool
    words: str
    share: float
    is_count: bool = False


@dataclass(frozen=True, slots=True)
class LimitChance:
    """One component: its limit in a fault [Pa at datum], how often it is passed, the peaks it sees [Pa].

    Behind a shut-off that trips `passed` and `peak` are those until it stands shut, as in the proof.
    weights: by tolerance, the heaviest first; thrown_back: how often the wave thrown back alone passes it;
    None: the file states no main of the zone, and of what a stub throws back nothing is told.
    """

    component: str
    side: str
    limit_at_datum: float
    passed: Chance
    peak: Spread
    weights: tuple[Weight, ...]
    thrown_back: Chance | None = Chance(0, 0, 0.0, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Chances:
    """One event run many times.

    Parameters
    ----------
    event, happens, way
        As in `steadyhead.records.surge.SurgeRun`.
    runs, seed
        Runs asked for, and the seed of their Latin hypercube.
    finished, not_begun
        Runs made; of them those without a steady state to begin with.
    limits
        By component, the one passed most often first.
    trips, closing
        How often a shut-off trips, and from trip to shut [s]; None: never.
    parted
        How often a column parts.
    unjudged
        Components of which nothing is told: they hang on a supply main that the file does not state.
    noise
        Weight that what moves nothing may show with so many runs. [1]
    """

    event: str
    happens: str
    way: str
    runs: int
    seed: int
    finished: int
    not_begun: int
    limits: tuple[LimitChance, ...]
    trips: Chance
    closing: Spread | None
    parted: Chance
    findings: tuple[Finding, ...]
    noise: float = 0.0
    unjudged: tuple[str, ...] = ()
