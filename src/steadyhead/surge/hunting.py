"""Which member of the uncalibrated band event runs are made with, and how long one that hunts may be read.

A run of a reducer that hunts shows its hunting and little else, and what makes it hunt in the twin is mostly
what nobody has measured. So runs in which reducers go on regulating are made with the first member of a short
list that sits still; measured and stated values are never moved.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite, log

from steadyhead.findings import Finding, Severity
from steadyhead.records.stability import UncalibratedValue
from steadyhead.surge import defaults as d
from steadyhead.surge.from_station import Drafted
from steadyhead.surge.plan import Plan, ReducerRow
from steadyhead.surge.plant import compile_plan
from steadyhead.surge.quiet import Point, unstable_roots
from steadyhead.surge.stability import growth, stability
from steadyhead.surge.starting import steady_rest
from steadyhead.surge.uncalibrated import FEED, LAG, MAINS, between, moved, uncalibrated

STEPS: tuple[Mapping[str, float], ...] = (
    {},
    {MAINS: 0.0},
    {MAINS: 0.0, FEED: 1.0 / 3.0},
    {MAINS: 0.0, FEED: 0.0},
    {MAINS: 0.0, FEED: 0.0, LAG: 0.6},
    {MAINS: 0.0, FEED: 0.0, LAG: 1.0},
)
"""Members tried, in this order, as shares of each band: first the zone, then the needles, then the sensing
line. The proportional band stays: it would move the pressures a run begins with."""


@dataclass(frozen=True, slots=True)
class Hunting:
    """The reducer whose swings grow fastest, at which rate [1/s]; rate 0: none grow."""

    reducer: str = ""
    growth: float = 0.0


@dataclass(frozen=True, slots=True)
class Still:
    """A situation in which a reducer hunts whatever member is taken: growth of its swings. [1/s]"""

    reducer: str
    inlet: str
    flow: str
    growth: float


@dataclass(frozen=True, slots=True)
class Settled:
    """What is moved before reducers regulate in a run, by reducer, and where they hunt all the same.

    Parameters
    ----------
    values
        By reducer and name, in the units of `steadyhead.surge.uncalibrated.uncalibrated`; empty: nothing.
    words
        The same in words; empty: nothing.
    still
        Situations that stay.
    hunted
        Reducers that hunt with every value at its default.
    growth
        Of the swings that grow fastest with every value at its default. [1/s]
    ways
        Of all streams together: what each way alone is settled to.
    """

    values: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    words: str = ""
    still: tuple[Still, ...] = ()
    hunted: tuple[str, ...] = ()
    growth: float = 0.0
    ways: tuple[Settled, ...] = ()

    def plan(self, plan: Plan, failing: str = "") -> Plan:
        """Return a plan as settled; a reducer that fails in the run keeps its defaults."""
        for reducer, values in self.values.items():
            kept = {name: value for name, value in values.items() if name == MAINS or reducer != failing}
            plan = moved(plan, reducer, kept)
        return plan

    def readable(self, situations: Iterable[tuple[str, str]], failing: str = "") -> tuple[str, float]:
        """Return (reducer that hunts, how long a run may be read that goes through these situations [s]).

        Parameters
        ----------
        situations
            (inlet, flow) by name.
        failing
            A reducer that does not regulate in the run.

        Notes
        -----
        ln 3/σ: the time in which swings grow threefold; the fastest of them. No reducer: none hunts.
        """
        asked = set(situations)
        found = [s for s in self.still if (s.inlet, s.flow) in asked and s.reducer != failing]
        if not found:
            return "", d.WATCHED_FOR.si
        worst = max(found, key=lambda one: one.growth)
        return worst.reducer, log(d.SWINGS_GROW.si) / worst.growth

    @property
    def readable_as_usual(self) -> float:
        """How long a run may be read with every value at its default, as in `readable`. [s]"""
        if self.growth <= 0.0:
            return d.WATCHED_FOR.si
        return min(max(log(d.SWINGS_GROW.si) / self.growth, d.LEAST_READ.si), d.WATCHED_FOR.si)

    def findings(self) -> tuple[Finding, ...]:
        """Return what is told of it, once for a reducer."""
        if self.ways:
            return tuple(finding for way in self.ways for finding in way.findings())
        if not self.words:
            return ()
        params = {"moved": self.words}
        return tuple(Finding("SUR-35", name, Severity.NOTE, dict(params)) for name in self.hunted)


def joined_settled(ways: Sequence[Settled]) -> Settled:
    """Return the members of several ways as one, for all streams together."""
    values: dict[str, Mapping[str, float]] = {}
    for way in ways:
        values |= {name: moved for name, moved in way.values.items() if name not in values}
    return Settled(
        values,
        "; ".join(dict.fromkeys(way.words for way in ways if way.words)),
        tuple(still for way in ways for still in way.still),
        tuple(dict.fromkeys(name for way in ways for name in way.hunted)),
        max((way.growth for way in ways), default=0.0),
        tuple(ways),
    )


def settle(situations: Sequence[Drafted], mains: int = 0) -> Settled:
    """Return the first member of `STEPS` with which no reducer of a way hunts; else the one that hunts least.

    One reducer at a time, the other stems standing still; see `steadyhead.surge.stability`.

    Parameters
    ----------
    situations
        Where runs regulate, the way drafted in each.
    mains
        Through how many mains the zone is entered, whatever else is moved; 0: as the member has it.
    """
    rows = [part for part in situations[0].plan.station if isinstance(part, ReducerRow)] if situations else []
    if not rows:
        return Settled()
    bands = {row.id: uncalibrated(situations[0], row) for row in rows}
    tried: list[tuple[int, Settled, list[tuple[Drafted, Point]]]] = []
    for step in STEPS:
        values = _values(bands, step)
        for own in values.values() if mains else ():
            own.pop(MAINS, None)
        for name in bands if mains else ():
            values.setdefault(name, {})[MAINS] = float(mains)
        settled = Settled(values, _words(bands, values))
        if any(settled.values == before.values for _, before, _ in tried):
            continue
        hunting = _hunting(settled, situations, [row.id for row in rows])
        tried.append((len(hunting), settled, hunting))
        if not hunting:
            break
    _, settled, hunting = min(tried, key=lambda one: one[0])
    still = tuple(filter(None, (_still(drafted, point) for drafted, point in hunting)))
    hunted = tuple(dict.fromkeys(point.reducer for _, point in tried[0][2]))
    growths = [growth(p.plant, p.rest, p.reducer) for _, p in tried[0][2]] if settled.words else []
    return Settled(settled.values, settled.words, still, hunted, max(filter(isfinite, growths), default=0.0))


def _values(
    bands: Mapping[str, Sequence[UncalibratedValue]], step: Mapping[str, float]
) -> dict[str, dict[str, float]]:
    found: dict[str, dict[str, float]] = {}
    for reducer, known in bands.items():
        for one in known:
            if one.name in step and not one.is_held:
                found.setdefault(reducer, {})[one.name] = between(one, step[one.name])
    return found


def _words(
    bands: Mapping[str, Sequence[UncalibratedValue]], values: Mapping[str, Mapping[str, float]]
) -> str:
    """Return what is moved, once for reducers that share it."""
    every: dict[str, float] = {}
    for each in values.values():
        every |= each
    said = []
    if MAINS in every:
        count = int(every[MAINS])
        more = "one more main of its kind" if count == 1 else f"{count} more mains of its kind"
        said.append(f"the zone's main going on in {more} at its end")
    if FEED in every:
        said.append(f"its needles turned in, feed_kv and pilot_kv at {every[FEED]:.2g} of their default")
    if LAG in every:
        said.append(f"sense_lag {every[LAG]:.2g} s")
    return ", ".join(said)


def _hunting(
    settled: Settled, situations: Sequence[Drafted], reducers: Sequence[str]
) -> list[tuple[Drafted, Point]]:
    """Return where which reducer hunts; one that stands on its seat or is wide open does not."""
    places: list[tuple[Drafted, Point]] = []
    for drafted in situations:
        plant = compile_plan(settled.plan(drafted.plan))
        rest = steady_rest(plant)
        places += [(drafted, Point(plant, rest, name)) for name in reducers if 0.0 < rest.pilots[name] < 1.0]
    if not places:
        return []
    counts = unstable_roots([point for _, point in places])
    return [place for place, count in zip(places, counts, strict=True) if count > 0]


def _still(drafted: Drafted, point: Point) -> Still | None:
    """Return how fast swings grow; None where a run may be read in full all the same."""
    found = stability(point.plant, point.rest, point.reducer)
    if found.unstable_roots == 0 or not found.growth > log(d.SWINGS_GROW.si) / d.WATCHED_FOR.si:
        return None
    return Still(point.reducer, drafted.case.inlet, drafted.case.flow, found.growth)


def hunting_of(drafted: Drafted) -> Hunting:
    """Return the reducer whose swings grow fastest where a run starts, every value as drafted."""
    plant = compile_plan(drafted.plan)
    rest = steady_rest(plant)
    worst = Hunting()
    for part in drafted.plan.station:
        if isinstance(part, ReducerRow) and 0.0 < rest.pilots[part.id] < 1.0:
            found = stability(plant, rest, part.id)
            if found.unstable_roots > 0 and found.growth > worst.growth:
                worst = Hunting(part.id, found.growth)
    return worst
