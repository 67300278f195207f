"""What a surge run came to: extremes along the mains, times of the shut-off, limits, and its trace."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from steadyhead.findings import Finding

FAILING = ("fails-open", "pilot-stuck", "diaphragm-torn")
"""Events in which a reducer fails."""
Verdict = Literal["inside", "over", "no verdict", "no main"]
"""*no verdict*: nothing was passed, but a column parted; what its cavity does falling in is not judged; *no
main*: it hangs on waves of a main that the file does not state."""


@dataclass(frozen=True, slots=True)
class MainExtremes:
    """Highest and lowest pressure anywhere along a main. [Pa]

    Parameters
    ----------
    highest, lowest
        At the level of the place where it stands.
    highest_at_datum, lowest_at_datum
        Carried to the station datum.
    judged_at_datum
        Highest at datum before a cavity fell in that is felt there; `highest_at_datum` where none did.
    most_gas
        Largest cavity at one place. [m³]
    is_separated
        Whether the column parted somewhere in it.
    parted_at
        Distance of that cavity from the station; None: none. [m]
    """

    highest: float
    lowest: float
    highest_at_datum: float
    lowest_at_datum: float
    judged_at_datum: float
    most_gas: float
    is_separated: bool
    parted_at: float | None = None


@dataclass(frozen=True, slots=True)
class Reached:
    """Highest or lowest pressure of a main at datum [Pa], and where: pipe, distance from the station [m]."""

    pressure: float
    pipe: str
    distance: float


@dataclass(frozen=True, slots=True)
class MainProfile:
    """Highest and lowest pressure along one pipe, by place.

    Parameters
    ----------
    pipe, side
        Its name; ``"supply"`` or ``"consumer"``.
    distance
        From the station along the pipes. [m]
    level
        Of the pipe over the station datum. [m]
    begun, highest, lowest
        Before the event, and extremes in it, at datum; the highest before a cavity fell in anywhere. [Pa]
    weight
        ρ g, which carries a pressure at datum to its own level. [N/m³]
    """

    pipe: str
    side: str
    distance: tuple[float, ...]
    level: tuple[float, ...]
    begun: tuple[float, ...]
    highest: tuple[float, ...]
    lowest: tuple[float, ...]
    weight: float


@dataclass(frozen=True, slots=True)
class SmallestTrip:
    """The smallest change of flow that trips a shut-off, and the slowest that still does, found by halving.

    Parameters
    ----------
    shut_off
        The one that trips; empty: none does.
    change, within
        Change of flow as the file states it [m³/s], and its time [s].
    trips
        Whether the event trips it as stated.
    least
        Smallest change in that time that trips it [m³/s]; None: not even `most`.
    most
        Largest change tried: until nothing is drawn, or as far as the steady twin has an answer. [m³/s]
    slowest
        Longest time in which the stated change trips it [s]; None: not even in `fastest`.
    fastest
        Shortest time tried. [s]
    is_any_time
        Whether it trips however slowly: where the change ends the trip is passed at rest.
    """

    shut_off: str
    change: float
    within: float
    trips: bool
    least: float | None
    most: float
    slowest: float | None
    fastest: float
    is_any_time: bool = False


@dataclass(frozen=True, slots=True)
class SectionPeak:
    """Highest and lowest pressure of one section of the station [Pa at datum], and when highest [s].

    `judged`: the highest before a cavity fell in that is felt there.
    """

    id: str
    highest: float
    lowest: float
    highest_time: float
    judged: float


@dataclass(frozen=True, slots=True)
class ShutOffTimes:
    """When a shut-off first tripped, its switch then made, and it stood shut [s]; None: it did not."""

    id: str
    trips: int
    trip: float | None
    switch: float | None
    shut: float | None

    @property
    def closing(self) -> float | None:
        """From trip to shut. [s]"""
        return None if self.trip is None or self.shut is None else self.shut - self.trip


@dataclass(frozen=True, slots=True)
class SurgeLimit:
    """The limit of one component in a fault against the highest pressure it sees, both at datum. [Pa]

    Parameters
    ----------
    component, side, level
        What bears it, where limits name it, and its level. [m]
    limit_at_datum
        What it bears.
    peak_at_datum
        Highest it sees before a cavity fell in: behind a shut-off that trips and shuts until it stands shut.
    begun_at_datum
        What it sees before the event.
    verdict
        See `Verdict`; of `peak_at_datum`.
    rebound_at_datum
        Highest behind the shut-off until the end of the run, the wave thrown back by the zone with it; None:
        ahead of it, it was not shut, or the file states no main of the zone.
    rebound_least_at_datum
        Where that alone passes the limit: the highest at the other end of the band of mains the zone is
        entered through; None: it passes none, or one end only was run.
    mains
        Through how many mains the zone is entered where it sees that most; 0: through none.
    """

    component: str
    side: str
    level: float
    limit_at_datum: float
    peak_at_datum: float
    begun_at_datum: float
    verdict: Verdict
    rebound_at_datum: float | None = None
    rebound_least_at_datum: float | None = None
    mains: int = 0

    @property
    def is_rebound_over(self) -> bool:
        """Whether the wave thrown back passes the limit and nothing before it does."""
        rebound = self.rebound_at_datum
        return self.verdict != "over" and rebound is not None and rebound > self.limit_at_datum

    @property
    def is_rebound_sure(self) -> bool:
        """Whether it passes the limit at both ends of the band of what goes on behind the zone's main."""
        least = self.rebound_least_at_datum
        return self.is_rebound_over and (least is None or least > self.limit_at_datum)

    @property
    def margin(self) -> float:
        """Limit less what it sees. [Pa]"""
        return self.limit_at_datum - self.sees_at_datum

    @property
    def sees_at_datum(self) -> float:
        """What it is judged by: the rise if that passes the limit, else the wave thrown back too. [Pa]"""
        rebound = self.peak_at_datum if self.rebound_at_datum is None else self.rebound_at_datum
        return self.peak_at_datum if self.verdict == "over" else max(self.peak_at_datum, rebound)


@dataclass(frozen=True, slots=True)
class SurgeTrace:
    """Columns of one length over `time` [s]: pressures at datum [Pa], flows [m³/s], shares of lift [1]."""

    time: tuple[float, ...]
    pressures: Mapping[str, tuple[float, ...]]
    flows: Mapping[str, tuple[float, ...]]
    lifts: Mapping[str, tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class SurgeRun:
    """One event run once, and once more with its time step halved; figures are those of the finer run.

    Parameters
    ----------
    event
        Its name.
    happens
        What happens, in a few words.
    inlet_case, flow_case
        Situation in which it happens; no flow case where an event of the file states the flow before.
    event_at, until
        When it begins and where the run ends. [s]
    step, nodes
        Time step [s] and pipe nodes of the finer run.
    grid_change
        Largest change of a highest or lowest pressure when the step was halved, over the highest of that
        side. [1]
    mass_error
        Error of the mass account over what entered. [1]
    outlet, outlet_before, outlet_end
        Tap or section where consumers are fed, its pressure at the start and over the last tenth. [Pa]
    settled
        When that pressure last left 0.1 bar about its end [s]; None: never did.
    wave_return
        2 L/a of the supply main [s]; None: no main is stated.
    group
        The event this is a run of.
    profiles
        Highest and lowest along the mains.
    smallest
        Of an event of the file: the smallest one that trips.
    fell_in
        When a cavity fell in; what comes after is not judged [s]. None: none did.
    fallen
        Sides on which that was felt: the other, behind or ahead of a shut valve, is judged on.
    mains
        How many mains like the zone's go on behind its end in the run that is shown, the worse one; 0:
        nothing of the zone does.
    mains_behind
        Fewest and most of those that were run; limits are held against both.
    untold
        Places whose highest pressure is not told: a stub stands there for a main that is not stated.
    is_uncredited
        Whether a reducer fails, a shut-off behind it, in a way the file credits no failure for.
    broken_at
        When a figure left all bounds and the run stood still, without a verdict [s]. None: none did.
    """

    event: str
    happens: str
    way: str
    inlet_case: str
    flow_case: str
    event_at: float
    until: float
    step: float
    nodes: int
    grid_change: float
    mass_error: float
    supply: MainExtremes
    consumer: MainExtremes
    sections: tuple[SectionPeak, ...]
    shut_offs: tuple[ShutOffTimes, ...]
    trip_pressures: Mapping[str, float]
    limits: tuple[SurgeLimit, ...]
    outlet: str
    outlet_before: float
    outlet_end: float
    settled: float | None
    swing: float
    period: float | None
    wave_return: float | None
    findings: tuple[Finding, ...]
    trace: SurgeTrace = field(repr=False)
    group: str = ""
    profiles: tuple[MainProfile, ...] = field(default=(), repr=False)
    smallest: SmallestTrip | None = None
    fell_in: float | None = None
    broken_at: float | None = None
    fallen: tuple[str, ...] = ()
    mains_behind: tuple[int, int] = (0, 0)
    mains: int = 0
    untold: frozenset[str] = frozenset()
    is_uncredited: bool = False

    @property
    def is_separated(self) -> bool:
        """Whether a column parted in one of the mains."""
        return self.supply.is_separated or self.consumer.is_separated

    def highest(self, side: str) -> Reached | None:
        """Return the highest pressure of a side before a cavity fell in, and where; None: no profile."""
        return max(self._places(side, highest=True), key=lambda one: one.pressure, default=None)

    def lowest(self, side: str) -> Reached | None:
        """Return the lowest pressure of a side at its own level, and where; None: no profile."""
        return min(self._places(side, highest=False), key=lambda one: one.pressure, default=None)

    def _places(self, side: str, *, highest: bool) -> list[Reached]:
        return [
            Reached(high if highest else low - one.weight * level, one.pipe, distance)
            for one in self.profiles
            if one.side == side
            for distance, level, high, low in zip(
                one.distance, one.level, one.highest, one.lowest, strict=True
            )
        ]

    @property
    def nearest(self) -> SurgeLimit | None:
        """The limit with the least room left over its height; None where none is stated that is judged."""
        known = [one for one in self.limits if one.verdict != "no main"]
        return min(known, key=lambda one: one.margin / one.limit_at_datum, default=None)

    @property
    def unjudged(self) -> tuple[SurgeLimit, ...]:
        """The limits that hang on waves of a main that is not stated."""
        return tuple(one for one in self.limits if one.verdict == "no main")
