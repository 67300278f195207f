"""Proof that the shut-off protects, and the window of its closing needle, as data; SI throughout.

Plain records of numbers and words: they can be hashed, written as JSON and read again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

FORMAT = "steadyhead/protection/1"

FailureKind = Literal["drifts open", "fails open", "pilot stuck", "diaphragm torn"]
Side = Literal["consumer", "outlet", "between", "inlet"]
Closing = Literal["slow", "fast"]
Inlet = Literal["lowest", "typical", "static"]
INLETS: dict[Inlet, str] = {"lowest": "lowest", "typical": "typical", "static": "highest static"}
"""Inlet pressures in words."""
Verdict = Literal["inside", "over", "over before", "no verdict", "within error", "no main", "no limit"]
"""*over before*: passed before the failure; *no verdict*: nothing was passed, but a column parted and its
cavity fell in: what that does is not judged; *within error*: held by less than halving the step moves it;
*no main*: it hangs on the surge in a supply main that the file does not state."""
Main = Literal["supply", "consumer"]


def zone_words(mains: int) -> str:
    """Return in words through how many mains a zone is entered.

    Examples
    --------
    >>> zone_words(1), zone_words(3)
    ('the zone entered through 1 main', 'the zone entered through 3 mains')
    """
    return f"the zone entered through {mains} main{'s' if mains != 1 else ''}"


UNJUDGED: tuple[Verdict, ...] = ("no verdict", "within error", "no main")
"""Verdicts that show neither that a limit holds nor that it is passed."""

SIDES: tuple[Side, ...] = ("consumer", "outlet", "between", "inlet")


@dataclass(frozen=True, slots=True)
class Failure:
    """A failure of a reducer: which, of what kind, fully open within [s]; None: as fast as the kind goes."""

    reducer: str
    kind: FailureKind
    within: float | None = None
    credited: bool = False


@dataclass(frozen=True, slots=True)
class SidePeak:
    """Highest pressure of one side, and the weakest component of that side. [Pa at datum]

    Parameters
    ----------
    side
        Where, as limits name it.
    peak
        Highest anywhere on that side before a cavity fell in: behind the shut-off until it stands shut.
    rebound
        Highest behind the shut-off until some time after it is shut, the wave thrown back by the zone with
        it; None: ahead of it, or it was not shut.
    begun
        Highest before the failure.
    place
        Where it stands: tap or section, or the distance along a main.
    level
        Of that place. [m]
    component, limit
        Weakest component of the side and what it bears in a fault; None: no limit is stated.
    verdict
        See `Verdict`; of the rise until it is shut.
    rebound_least
        Where `rebound` alone passes a limit: the highest at the other end of the band of mains that go on
        behind the zone's; None: it passes none, or the band has one end only.
    """

    side: Side
    peak: float
    rebound: float | None
    begun: float
    place: str
    level: float
    component: str
    limit: float | None
    verdict: Verdict
    rebound_least: float | None = None

    @property
    def highest(self) -> float:
        """Highest at all, the wave thrown back with it. [Pa at datum]"""
        return self.peak if self.rebound is None else max(self.peak, self.rebound)

    @property
    def is_rebound_over(self) -> bool:
        """Whether the wave thrown back passes a limit that the rise before it does not."""
        held = self.limit is not None and self.verdict in ("inside", *UNJUDGED)
        return held and self.rebound is not None and self.rebound > (self.limit or 0.0)


@dataclass(frozen=True, slots=True)
class Low:
    """Lowest pressure along a main at its own level [Pa], where, and the largest cavity there [m³].

    at_highest: the lowest head of the consumer main, carried to the level of the highest consumers [Pa];
    None: another main, or that level is not stated.
    """

    pressure: float
    place: str
    level: float
    cavity: float
    is_separated: bool
    at_highest: float | None = None


@dataclass(frozen=True, slots=True)
class CaseWorth:
    """How far the run of a case may be trusted.

    mass_error: of the mass account, over what entered [1]; adjusted: largest change of a wave speed to whole
    reaches, over the stated one [1]; open_steps: steps that did not close; broken_at: when a figure left all
    bounds and the run ended [s], None: none did.
    """

    mass_error: float = 0.0
    adjusted: float = 0.0
    open_steps: int = 0
    broken_at: float | None = None


@dataclass(frozen=True, slots=True)
class ProofCase:
    """One failure in one situation, the needle at one edge of its band.

    Parameters
    ----------
    failure
        What fails.
    inlet, flow
        Situation it begins in.
    closing
        Edge of the band of the closing time.
    trip_after
        From the failure to the trip [s]; None: it does not trip.
    switch_after, shut_after
        From the trip until the switch makes and until it stands shut [s]; None: not.
    until
        Time watched after the failure. [s]
    peaks
        Of every side there is.
    consumers, supply
        Lowest along the consumer main and along the supply main, until some seconds after it is shut.
    has_fallen_in
        Whether a cavity stood in a main and closed again.
    worth
        How far the run may be trusted.
    mains
        How many mains like the zone's its lumped rest is entered through; 0: none.
    """

    failure: Failure
    inlet: Inlet
    flow: Literal["night", "average", "peak"]
    closing: Closing
    trip_after: float | None
    switch_after: float | None
    shut_after: float | None
    until: float
    peaks: tuple[SidePeak, ...]
    consumers: Low
    supply: Low
    has_fallen_in: bool
    worth: CaseWorth = CaseWorth()
    mains: int = 0

    @property
    def place(self) -> tuple[Failure, Inlet, str, Closing]:
        """What is run, but for how the zone is entered."""
        return self.failure, self.inlet, self.flow, self.closing

    @property
    def words(self) -> str:
        """The situation in words."""
        entered = f", {zone_words(self.mains)}" if self.mains else ""
        return f"{INLETS[self.inlet]} inlet pressure, {self.flow} flow, {self.closing} closing{entered}"

    def peak(self, side: Side) -> SidePeak | None:
        """Return the peak of a side; None where the station has no such side."""
        return next((one for one in self.peaks if one.side == side), None)

    @property
    def consumer_peak(self) -> float:
        """Highest pressure of the consumers' side until it is shut, outlet included. [Pa at datum]"""
        return max(one.peak for one in self.peaks if one.side in ("consumer", "outlet"))

    @property
    def is_held(self) -> bool:
        """Whether every limit is shown to hold: none is passed, none is left without a verdict."""
        return not any(one.verdict in ("over", *UNJUDGED) or one.is_rebound_over for one in self.peaks)

    @property
    def has_parted(self) -> bool:
        """Whether a column parted in a main."""
        return self.consumers.is_separated or self.supply.is_separated


@dataclass(frozen=True, slots=True)
class Stroke:
    """State a closing time by stopwatch belongs to: pressures at the shut-off [Pa] and flow [m³/s].

    is_stated: as the file states it, or as a usual trickle.
    """

    inlet: float
    outlet: float
    flow: float
    is_stated: bool


@dataclass(frozen=True, slots=True)
class WindowEdge:
    """One edge of the window of the closing needle.

    Parameters
    ----------
    needle_kv
        Kv of the needle [m³/h at 1 bar]; None for a shut-off that a spring or a weight closes.
    worst_time
        Closing time in the case that decides. [s]
    stopwatch
        Closing time in the state of the site test. [s]
    side, component
        Where the limit is that decides, and what bears it.
    failure, inlet, flow, mains
        The case that decides.
    """

    needle_kv: float | None
    worst_time: float
    stopwatch: float
    side: Side
    component: str
    failure: Failure
    inlet: Inlet
    flow: Literal["night", "average", "peak"]
    mains: int = 0

    @property
    def words(self) -> str:
        """The situation that decides in words."""
        entered = f", {zone_words(self.mains)}" if self.mains else ""
        return f"{INLETS[self.inlet]} inlet pressure, {self.flow} flow{entered}"


RemedyKind = Literal["lower trip", "relief", "vessel", "higher rating", "smaller reducer", "slower failure"]


@dataclass(frozen=True, slots=True)
class RemedyStep:
    """One change that was tried.

    Parameters
    ----------
    kind
        What is changed.
    what
        Component, part or place it is done to, in words.
    value
        Trip or rating at datum [Pa], Kv of the relief valve or of the reducer [m³/h at 1 bar], volume of the
        vessel [m³], time in which the failures credited take at least [s].
    crack
        Of a relief valve; of a vessel its precharge. [Pa at datum]
    """

    kind: RemedyKind
    what: str
    value: float
    crack: float | None = None


@dataclass(frozen=True, slots=True)
class WindowRemedy:
    """What opens an empty window, tried by simulation: one change, or two where no single one does.

    Parameters
    ----------
    steps
        One or two.
    slowest, fastest
        Edges of the window it leaves.
    """

    steps: tuple[RemedyStep, ...]
    slowest: WindowEdge | None
    fastest: WindowEdge | None


WindowState = Literal["open", "empty", "no limit", "no trip"]


@dataclass(frozen=True, slots=True)
class NeedleWindow:
    """Closing needles for which every limit holds in every credited failure and situation.

    Parameters
    ----------
    state
        *no limit*: no component states what it bears; *no trip*: no credited failure trips it.
    is_hydraulic
        Whether a needle sets the time, or a spring or weight.
    slowest, fastest
        Edges, within 2 %; None: no edge was found from 2 min to half a second by stopwatch. Of an
        empty window: what the consumers ask at least, and what supply main and section bear at most.
    needle_kv, stopwatch
        Needle as it is [m³/h at 1 bar], and its closing time in the state of the test [s].
    stroke
        The state of the site test.
    remedies
        What opens an empty window.
    never_held
        Limits passed at every needle that was looked at, in words.
    parts
        Whether a water column parts in a credited failure at each needle of an open window.
    unknown
        Mains the file does not state, on whose waves a limit of a credited failure hangs: without the supply
        main no edge says how fast it may close, without the consumer main the slow one knows no wave.
    is_ahead_limited
        Whether anything on the inlet side states what it bears; where not, no edge says how fast it may be.
    """

    state: WindowState
    is_hydraulic: bool
    slowest: WindowEdge | None
    fastest: WindowEdge | None
    needle_kv: float | None
    stopwatch: float
    stroke: Stroke
    remedies: tuple[WindowRemedy, ...] = ()
    never_held: tuple[str, ...] = ()
    parts: bool = False
    unknown: tuple[Main, ...] = ()
    is_ahead_limited: bool = True

    @property
    def ratio(self) -> float | None:
        """Slowest over fastest time by stopwatch; None where an edge is missing. [1]"""
        if self.slowest is None or self.fastest is None:
            return None
        return self.slowest.stopwatch / self.fastest.stopwatch

    @property
    def is_inside(self) -> bool | None:
        """Whether the needle as it is lies in an open window; None: there is none to lie in."""
        return self.holds(self.stopwatch) if self.state == "open" else None

    def holds(self, time: float) -> bool:
        """Return whether a closing time by stopwatch lies between the edges."""
        is_fast_enough = self.slowest is None or time <= self.slowest.stopwatch
        return is_fast_enough and (self.fastest is None or time >= self.fastest.stopwatch)


@dataclass(frozen=True, slots=True)
class Protection:
    """What the shut-off of one way does in every failure it is credited for, and in others.

    Parameters
    ----------
    way, words
        Way through the station; empty where there is one only.
    shut_off
        Its id.
    trip, trip_edge
        Trip as chosen or worked out, and its upper edge, which every case is run with. [Pa at datum]
    closing_times
        Slow and fast edge of the closing time in the state of the site test. [s]
    closing_source
        Where needle and band come from.
    cases
        Credited failures first; of each failure every situation, both ends of the band of mains behind the
        zone's, and both edges of the closing time.
    grid_change
        Change of a highest pressure of the worst case when the time step was halved, over that pressure [1];
        None: nothing was run.
    grid_changes
        The same of the worst case of each side.
    missing
        Situations without a steady state to begin in, in words.
    mains
        Which mains the file states: supply main, consumer main.
    is_zone_known
        Whether the elasticity of the zone behind the main is known.
    is_trip_stated
        Whether the file states the trip; else it is the one its window was worked out for.
    mains_behind
        How many mains like the zone's go on behind its end, fewest and most; 0: nothing of the zone does.
    hunts
        Reducers that go on regulating and hunt in the twin; figures may be those of the hunting.
    window
        Of the closing needle.
    engine_version
        What worked it out.
    """

    way: str
    words: str
    shut_off: str
    trip: float
    trip_edge: float
    closing_times: tuple[float, float]
    closing_source: str
    cases: tuple[ProofCase, ...]
    grid_change: float | None
    missing: tuple[str, ...]
    mains: tuple[bool, bool]
    is_zone_known: bool
    hunts: tuple[str, ...]
    window: NeedleWindow
    engine_version: str
    mains_behind: tuple[int, int] = (0, 0)
    is_trip_stated: bool = True
    grid_changes: tuple[tuple[Side, float], ...] = ()

    @property
    def failures(self) -> tuple[Failure, ...]:
        """Every failure that was run, credited ones first."""
        return tuple(dict.fromkeys(case.failure for case in self.cases))

    def of(self, failure: Failure) -> tuple[ProofCase, ...]:
        """Return the cases of a failure."""
        return tuple(case for case in self.cases if case.failure == failure)

    def worst(self, failure: Failure, *sides: Side) -> ProofCase | None:
        """Return the case of a failure with the least room on the given sides (all: none given)."""
        return max(
            (case for case in self.of(failure) if _peaks(case, sides)),
            key=lambda case: max(_used(one) for one in _peaks(case, sides)),
            default=None,
        )

    @property
    def overshoot(self) -> float | None:
        """Rise of the consumers' pressure above the trip's edge, worst of credited failures that trip. [Pa]

        None: no credited failure was run; 0: none trips.
        """
        run = [case for case in self.cases if case.failure.credited]
        if not run:
            return None
        rises = [case.consumer_peak - self.trip_edge for case in run if case.trip_after is not None]
        return max((*rises, 0.0))

    @property
    def highest(self) -> ProofCase | None:
        """The credited case that drives the consumers' pressure highest."""
        run = [case for case in self.cases if case.failure.credited]
        return max(run, key=lambda case: case.consumer_peak, default=None)


def _peaks(case: ProofCase, sides: tuple[Side, ...]) -> list[SidePeak]:
    return [one for one in case.peaks if not sides or one.side in sides]


def _used(one: SidePeak) -> float:
    """Return how much of a limit is used; without one that is judged, how much is by far less than any."""
    is_held = one.limit is not None and one.limit > 0.0 and one.verdict != "no main"
    return one.peak / (one.limit or 1.0) if is_held else 1e-12 * one.peak


@dataclass(frozen=True, slots=True)
class ProofSheet:
    """The proofs of every way with a shut-off, and the ways that could not be proved, each with why."""

    ways: tuple[Protection, ...]
    refused: tuple[tuple[str, str], ...] = ()

    def of(self, way: str) -> Protection | None:
        """Return the proof of a way by id; None: there is none."""
        return next((one for one in self.ways if one.way == way), None)
