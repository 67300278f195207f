"""The window of the closing needle: how slow the consumers allow it, how fast supply main and section do."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from math import ceil, exp, log
from typing import Literal

from steadyhead.records.ladder import ComponentLimit
from steadyhead.records.protection import (
    INLETS,
    NeedleWindow,
    Side,
    SidePeak,
    Stroke,
    WindowEdge,
    zone_words,
)
from steadyhead.surge import proof_defaults as pd
from steadyhead.surge.ensemble import Threads
from steadyhead.surge.proof_run import FailureRun, Setting

Kind = Literal["slowest", "fastest", "ahead", "thrown back", "whole"]
SIDES_OF: dict[Kind, tuple[Side, ...]] = {
    "slowest": ("consumer", "outlet"),
    "fastest": ("between", "inlet"),
    "ahead": ("between", "inlet"),
    "thrown back": (),
    "whole": (),
}
"""Whose highest pressure decides how slow and how fast the needle may be; the wave that a zone throws back
once it is shut decides how fast as well: *fastest* is both, *ahead* and *thrown back* are one of them each.
*whole*: no water column parts."""
THROWN_BACK: tuple[Kind, ...] = ("fastest", "thrown back")
"""Kinds that hold the wave thrown back against a limit."""
LIMITS: tuple[Kind, ...] = ("slowest", "fastest")
"""Kinds of what components bear."""
LOOK = log(1.5)
"""Step of the logarithm of the closing speed in which limits are looked at."""
MOST_TRIES = 40
SAME = 1e3
"""A wave thrown back that is no higher than that over the rise before it is that rise. [Pa]"""
COARSE = 0.05
"""Width of an edge where a remedy is only tried."""


@dataclass
class _Tried:
    """A run tried at one speed: peaks of each side, the closing time [s], how far a column is from parting.

    column: of the main that is nearest to it, and its side; above 0: it parts. [Pa]
    """

    peaks: tuple[SidePeak, ...]
    closing: float
    column: tuple[float, Side]


@dataclass
class Runs:
    """Credited failures that trip, each run up to its trip, and what they came to at each needle tried.

    at_once: whether runs that are all needed are made on threads; known: what was tried, by run and speed.
    """

    runs: Sequence[FailureRun]
    limits: tuple[ComponentLimit, ...]
    setting: Setting
    stopwatch: float
    at_once: bool = False
    known: dict[tuple[int, float], _Tried] = field(default_factory=dict)

    def tried(self, number: int, speed: float) -> _Tried:
        """Return what one run comes to with a stroke so many times as fast."""
        run = self.runs[number]
        key = (id(run), speed)
        if key not in self.known:
            end = run.finish(self.setting.faster(speed))
            trip, _, shut = run.times(end)
            waited = end.state.time - run.now.state.time if trip is not None else 0.0
            closing = waited if shut is None else shut
            self.known[key] = _Tried(tuple(run.peaks(end, self.limits)), closing, run.column(end))
        return self.known[key]

    def all_hold(self, order: list[int], x: float, kind: Kind) -> bool:
        """Return whether runs hold the limits of a kind at a logarithm of the speed, likely refusals first.

        The first that passes one ends it, and goes to the head of `order`.
        """
        for place, number in enumerate(order):
            if place == 1:
                self.make_ready(order[1:], x)
            if self.passed(number, x, kind) > 0.0:
                order.insert(0, order.pop(place))
                return False
        return True

    def make_ready(self, numbers: Iterable[int], x: float) -> None:
        """Make runs that are all needed, on threads."""
        if self.at_once:
            for _ in Threads().map(lambda number: self.tried(number, exp(x)), numbers):
                pass

    def over(self, number: int, speed: float, kind: Kind) -> tuple[float, Side, str] | None:
        """Return how far a run passes the limits of a kind [Pa], the side, the component; None: none stated.

        A limit passed before the failure is not the needle's; one that hangs on a supply main that is not
        stated is not known.
        """
        if kind == "whole":
            far, side = self.tried(number, speed).column
            return far, side, COLUMNS[side]
        found = [
            (height - one.limit, one.side, named(one, kind))
            for one in self.tried(number, speed).peaks
            for height in heights(one, kind)
            if one.limit is not None and one.verdict not in ("over before", "no main")
        ]
        return max(found, key=lambda each: each[0], default=None)

    def passed(self, number: int, x: float, kind: Kind) -> float:
        """Return how far a run passes the limits of a kind at a logarithm of the speed; below 0: not. [Pa]"""
        over = self.over(number, exp(x), kind)
        return -1.0 if over is None else over[0]


COLUMNS: dict[Side, str] = {
    "inlet": "water column of the supply main", "consumer": "water column of the consumer main",
}  # fmt: skip
"""What parts, where an edge of the window is that a column does."""


def heights(peak: SidePeak, kind: Kind) -> Iterator[float]:
    """Yield what of a side is held against its limit for a kind of edge. [Pa at datum]

    A wave thrown back that is no higher than the rise before it is that rise: where that passes a limit, so
    does what follows it.
    """
    if peak.side in SIDES_OF[kind]:
        yield peak.peak
    elif kind in THROWN_BACK and peak.rebound is not None:
        yield peak.rebound if _is_higher(peak) else peak.peak


def named(peak: SidePeak, kind: Kind) -> str:
    """Return what is named where a side decides: its component, and whether a wave thrown back does it."""
    is_thrown_back = peak.side not in SIDES_OF[kind] and _is_higher(peak)
    return f"wave thrown back, {peak.component}" if is_thrown_back else peak.component


def _is_higher(peak: SidePeak) -> bool:
    return peak.rebound is not None and peak.rebound > peak.peak + SAME


@dataclass(frozen=True)
class _Edge:
    """Logarithm of the speed at an edge, on the side where limits hold; run and limits that decide."""

    x: float
    number: int
    kind: Kind


@dataclass(frozen=True)
class _Span:
    """Logarithms of speeds between which limits hold, and its edges; None: the end of what is looked at."""

    start: float
    end: float
    low: _Edge | None
    high: _Edge | None


def needle_window(
    runs: Sequence[FailureRun],
    limits: Iterable[ComponentLimit],
    setting: Setting,
    stroke: Stroke,
    stopwatch: float,
    *,
    kv: float | None,
) -> NeedleWindow:
    """Return the needles for which every limit holds in every run.

    Needles are looked at in steps of a half, from closing in 2 min by stopwatch to closing in half a second;
    each edge is then found within 1 %, for the case that decides, and the others are looked at there. Faster
    is not always worse for what lies ahead: a reducer that still opens passes more, the later it is cut off.
    Of several windows the one that holds the needle as it is, else the widest. The middle is run in every
    case. Where some needle keeps every water column whole, the window is of those that do; else it is of all
    that hold the limits, and says that in each of them a column parts.

    Parameters
    ----------
    runs
        Credited failures in every situation; those that do not trip say nothing of the needle.
    limits
        Of the components, at datum.
    setting
        The shut-off as it is.
    stroke, stopwatch
        State of the site test, and the closing time there with the needle as it is. [s]
    kv
        Of the needle as it is [m³/h at 1 bar]; None where a spring or a weight sets the time.
    """
    is_hydraulic = kv is not None
    tripping = [run for run in runs if run.trips]
    stated = tuple(one for one in limits if one.fault_at_datum is not None)
    given = Runs(tripping, stated, setting, stopwatch, at_once=True)
    shown = (kv, stopwatch, stroke)
    if not tripping:
        return NeedleWindow("no trip", is_hydraulic, None, None, *shown)
    if all(given.over(n, 1.0, kind) is None for n in range(len(tripping)) for kind in LIMITS):
        return NeedleWindow("no limit", is_hydraulic, None, None, *shown)
    behind, ahead = _spans(given, pd.EDGE.si)
    found = _open_one(given, behind, ahead, stroke, kv)
    if found is not None:
        return found
    slower, spans = _of_an_empty_one(given, behind)
    never = tuple(_never(given, kind) for kind, held in spans.items() if not held)
    low, high = _told_both(given, *_crossing(behind, slower), kv)
    return NeedleWindow("empty", is_hydraulic, low, high, *shown, never_held=never)


def _open_one(
    given: Runs, behind: Sequence[_Span], ahead: Sequence[_Span], stroke: Stroke, kv: float | None
) -> NeedleWindow | None:
    """Return the window of where limits behind and ahead hold; None: it is empty."""
    both = _met(behind, ahead)
    best = _best(both)
    if best is None or not _holds_in_the_middle(given, best):
        return None
    whole = _best(_met(both, _held(given, "whole", _inside(given, behind), pd.EDGE.si)))
    best = whole or best
    low, high = _told_both(given, best.low, best.high, kv)
    shown = (kv, given.stopwatch, stroke)
    return NeedleWindow("open", kv is not None, low, high, *shown, parts=whole is None)


def open_window(
    runs: Sequence[FailureRun],
    limits: Iterable[ComponentLimit],
    setting: Setting,
    stroke: Stroke,
    stopwatch: float,
    known: dict[tuple[int, float], _Tried],
    *,
    kv: float | None,
) -> NeedleWindow | None:
    """Return `needle_window` where it is open; None: it is not, and nobody asks what sets it.

    known: what these runs came to, kept from one question of them to the next.
    """
    stated = tuple(one for one in limits if one.fault_at_datum is not None)
    given = Runs([run for run in runs if run.trips], stated, setting, stopwatch, known=known)
    if not given.runs:
        return None
    return _open_one(given, *_spans(given, pd.EDGE.si), stroke, kv)


def _of_an_empty_one(given: Runs, behind: list[_Span]) -> tuple[list[_Span], dict[Kind, list[_Span]]]:
    """Return of an empty window what sets how fast it may be, and where each kind of limit holds.

    What lies ahead of the shut-off is looked at for every needle; waves thrown back only where the rise
    before them holds: where that passes a limit at once, a slower needle is no cure. What lies ahead sets no
    edge where the limits behind hold with it: then the waves thrown back do.
    """
    ahead = _held(given, "ahead", _points(given.stopwatch), pd.EDGE.si)
    found: dict[Kind, list[_Span]] = {"slowest": behind, "ahead": ahead}
    if not behind:
        return ahead, found
    thrown = found["thrown back"] = _held(given, "thrown back", _inside(given, behind), pd.EDGE.si)
    return (thrown if _met(behind, ahead) else ahead), found


def _spans(given: Runs, width: float) -> tuple[list[_Span], list[_Span]]:
    """Return where the limits behind hold, and where those ahead do of what is not too slow for them."""
    behind = _slowest(given, _points(given.stopwatch), width)
    if not behind:
        return [], []
    return behind, _held(given, "fastest", _inside(given, behind), width)


def _inside(given: Runs, behind: Sequence[_Span]) -> list[float]:
    """Return the speeds that are looked at of those that are fast enough for what lies behind."""
    start = behind[0].start
    return [start, *(x for x in _points(given.stopwatch) if x > start)]


def _slowest(given: Runs, points: Sequence[float], width: float) -> list[_Span]:
    """Return where the limits behind hold: until it is shut, faster never means higher for the consumers."""
    first = _first_held(given, points)
    if first is None:
        return []
    edge = _edge(given, "slowest", points[first], points[first - 1], width) if first > 0 else None
    return [_Span(edge.x if edge else points[0], points[-1], edge, None)]


def _first_held(given: Runs, points: Sequence[float]) -> int | None:
    """Return the slowest of speeds at which the limits behind hold; None: not at the fastest either."""
    order = list(range(len(given.runs)))

    def holds(x: float) -> bool:
        return given.all_hold(order, x, "slowest")

    return bisect_left(points, True, key=holds) if holds(points[-1]) else None


def _points(stopwatch: float) -> list[float]:
    """Return the logarithms of closing speeds that are looked at, slow ones first.

    They belong to the same closing times by stopwatch whatever the needle is set to.
    """
    slow, fast = log(stopwatch / pd.SLOWEST.si), log(stopwatch / pd.FASTEST.si)
    steps = ceil((fast - slow) / LOOK)
    return [slow + (fast - slow) * n / steps for n in range(steps + 1)]


def _held(given: Runs, kind: Kind, points: Sequence[float], width: float) -> list[_Span]:
    """Return where the limits of one kind hold in every run, slow ones first; everywhere without limits."""
    numbers = [n for n in range(len(given.runs)) if given.over(n, 1.0, kind) is not None]
    states = [given.all_hold(numbers, x, kind) for x in points]
    spans: list[_Span] = []
    for place, state in enumerate(states):
        if not state or (place > 0 and states[place - 1]):
            continue
        last = place
        while last + 1 < len(points) and states[last + 1]:
            last += 1
        low = _edge(given, kind, points[place], points[place - 1], width) if place > 0 else None
        is_end = last + 1 == len(points)
        high = None if is_end else _edge(given, kind, points[last], points[last + 1], width)
        spans.append(_Span(low.x if low else points[0], high.x if high else points[-1], low, high))
    return spans


def _edge(given: Runs, kind: Kind, good: float, bad: float, width: float) -> _Edge:
    """Return the edge between a speed that holds every limit of a kind and one that passes one."""
    numbers = range(len(given.runs))
    at = bad
    active = max(numbers, key=lambda n: given.passed(n, bad, kind))
    for _ in numbers:
        at = _secant(lambda x, n=active: given.passed(n, x, kind), good, at, width)  # type: ignore[misc]
        given.make_ready(numbers, at)
        worst = max(numbers, key=lambda n: given.passed(n, at, kind))
        if given.passed(worst, at, kind) <= 0.0:
            break
        active = worst
    return _Edge(at, active, kind)


def _secant(passed: Callable[[float], float], good: float, bad: float, width: float) -> float:
    """Return a point within `width` of where a limit is first passed, on the side where it holds.

    Notes
    -----
    Regula falsi with the stale end's value halved (Illinois); each point is moved off the ends by half the
    width looked for, so that the bracket closes from both sides.
    """
    f_good, f_bad = passed(good), passed(bad)
    last = 0
    for _ in range(MOST_TRIES):
        span = bad - good
        if abs(span) <= width:
            break
        share = -f_good / (f_bad - f_good) if f_bad > f_good else 0.5
        margin = min(0.5 * width / abs(span), 0.25)
        middle = good + span * min(max(share, margin), 1.0 - margin)
        found = passed(middle)
        if found > 0.0:
            bad, f_bad = middle, found
            f_good *= 0.5 if last > 0 else 1.0
            last = 1
        else:
            good, f_good = middle, found
            f_bad *= 0.5 if last < 0 else 1.0
            last = -1
    return good


def _met(first: Sequence[_Span], second: Sequence[_Span]) -> list[_Span]:
    """Return the spans that lie in one of each."""
    both = []
    for one in first:
        for other in second:
            low = one if one.start >= other.start else other
            high = one if one.end <= other.end else other
            if low.start < high.end:
                both.append(_Span(low.start, high.end, low.low, high.high))
    return both


def _best(spans: Sequence[_Span]) -> _Span | None:
    """Return the span of the needle as it is, else the widest."""
    here = [span for span in spans if span.start <= 0.0 <= span.end]
    return max(here or spans, key=lambda span: span.end - span.start, default=None)


def _crossing(behind: Sequence[_Span], ahead: Sequence[_Span]) -> tuple[_Edge | None, _Edge | None]:
    """Return of an empty window how slow the consumers allow it, and how fast what lies ahead does."""
    slowest = behind[0].low if behind else None
    start = behind[0].start if behind else 0.0
    nearest = min(ahead, key=lambda span: abs(span.end - start), default=None)
    return slowest, None if nearest is None else nearest.high


def _holds_in_the_middle(given: Runs, span: _Span) -> bool:
    middle = 0.5 * (span.start + span.end)
    return all(
        given.passed(number, middle, kind) <= 0.0 for number in range(len(given.runs)) for kind in LIMITS
    )


def _never(given: Runs, kind: Kind) -> str:
    """Return what passes a limit of a kind most with the needle as it is, and where."""
    number = max(range(len(given.runs)), key=lambda n: given.passed(n, 0.0, kind))
    over = given.over(number, 1.0, kind)
    assert over is not None
    here = given.runs[number].here
    entered = f", {zone_words(here.mains)}" if here.mains else ""
    return f"{over[2]}, at {INLETS[here.inlet]} inlet pressure and {here.flow} flow{entered}"


def opens(
    runs: Sequence[FailureRun],
    limits: Iterable[ComponentLimit],
    setting: Setting,
    stopwatch: float,
    room: float,
) -> bool:
    """Return whether a window that wide holds every limit in every run.

    Coarser than `needle_window`, for trying what opens an empty one: two needles in a row of those looked at
    are enough, slow ones first, and the first run that refuses one is tried first at the next.

    Parameters
    ----------
    runs, limits, setting, stopwatch
        As for `needle_window`.
    room
        Slowest over fastest time. [1]
    """
    stated = tuple(one for one in limits if one.fault_at_datum is not None)
    given = Runs([run for run in runs if run.trips], stated, setting, stopwatch)
    if not given.runs:
        return False
    points = _points(stopwatch)
    first = _first_held(given, points)
    if first is None:
        return False
    order, held = list(range(len(given.runs))), [False]
    for x in points[first:]:
        held.append(given.all_hold(order, x, "fastest"))
        if held[-1] and held[-2]:
            return True
    if not any(held):
        return False
    best = _best(_met(*_spans(given, COARSE)))
    return best is not None and best.end - best.start >= log(room)


def _told_both(
    given: Runs, low: _Edge | None, high: _Edge | None, kv: float | None
) -> tuple[WindowEdge | None, WindowEdge | None]:
    return (
        None if low is None else _told(given, low, kv),
        None if high is None else _told(given, high, kv),
    )


def _told(given: Runs, edge: _Edge, kv: float | None) -> WindowEdge:
    speed = exp(edge.x)
    run = given.runs[edge.number]
    over = given.over(edge.number, speed, edge.kind)
    assert over is not None
    return WindowEdge(
        needle_kv=None if kv is None else kv * speed,
        worst_time=given.tried(edge.number, speed).closing,
        stopwatch=given.stopwatch / speed,
        side=over[1],
        component=over[2],
        failure=run.failure,
        inlet=run.here.inlet,
        flow=run.here.flow,
        mains=run.here.mains,
    )
