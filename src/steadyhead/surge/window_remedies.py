"""What opens an empty needle window: each change is run before it is told, the smallest step that does it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations
from math import ceil, log, sqrt
from typing import Any

from steadyhead.records.ladder import ComponentLimit
from steadyhead.records.protection import Failure, NeedleWindow, RemedyStep, WindowEdge, WindowRemedy
from steadyhead.surge import defaults as d
from steadyhead.surge import proof_defaults as pd
from steadyhead.surge.ensemble import Threads
from steadyhead.surge.proof import Proving
from steadyhead.surge.proof_run import FailureRun, Situation, situation
from steadyhead.surge.window import LIMITS, Kind, Runs, heights, open_window, opens
from steadyhead.surge.window_changes import Change, Ladder, ladders
from steadyhead.work import Cancel

ROOM = 1.5
"""Slowest over fastest time of a window that a person can set and that lasts a year: ±20 %."""
LOOKED_AT = (8.0, 2.0)
"""Closing times by stopwatch at which deciding cases are looked for, beside that of the needle. [s]"""


def with_remedies(
    made: Proving,
    window: NeedleWindow,
    cancel: Cancel,
    telling: Callable[[str], None] = lambda words: None,
) -> NeedleWindow:
    """Return an empty window with what opens it; any other as it is.

    Each kind of change is tried alone, its strongest step first, then the weakest step that does. Where none
    does, pairs of kinds are tried in the same way until one does. The needle is free in all of them. They are
    tried on the cases that decided alone, until one refuses; what is told is then run in every case.

    Parameters
    ----------
    made, window
        What was asked, and its window.
    cancel
        See `steadyhead.work`.
    telling
        Told what is being tried.
    """
    if window.state != "empty" or cancel():
        return window
    search = _search(_coarser(made), window, cancel)
    kinds = tuple(ladders(search.made))
    tasks: list[Task] = [*(partial(_single, search, kind) for kind in kinds), *_higher_ratings(search)]
    found = _told_of(tasks, telling, "what opens the window, alone")
    if not found and not cancel():
        pairs = [partial(_pair, search, *two) for two in combinations(kinds, 2)]
        found = _told_of(pairs, telling, "what opens the window, two at once", most=1)
    return replace(window, remedies=tuple(found))


Task = Callable[[], WindowRemedy | None]


def _told_of(
    tasks: Sequence[Task], telling: Callable[[str], None], words: str, most: int | None = None
) -> list[WindowRemedy]:
    """Return what tasks find, in their order, made on threads; no more than so many."""
    found: list[WindowRemedy] = []
    telling(words)
    results = Threads().map(lambda task: task(), tasks)
    for number, one in enumerate(results, 1):
        telling(f"{words}: {number} of {len(tasks)} tried")
        found += [] if one is None else [one]
        if most is not None and len(found) >= most:
            break
    results.close()
    return found


def _coarser(made: Proving) -> Proving:
    """Return a question whose mains are cut into half as many reaches: trying takes a quarter of the time."""
    found = []
    for here in made.situations:
        numbers = here.drafted.plan.numbers
        least = int(d.LEAST_REACHES.si) if numbers.reaches > int(d.LEAST_REACHES.si) else numbers.reaches
        coarse = replace(numbers, reaches=max(numbers.reaches // 2, least))
        drafted = replace(here.drafted, plan=replace(here.drafted.plan, numbers=coarse))
        found.append(situation(drafted, here.inlet, here.flow, here.shut_off))
    return replace(made, situations=tuple(found))


Case = tuple[str, str, str, int]
"""A failure by its kind, an inlet pressure, a flow, and the mains behind the zone's."""


def _case(failure: Failure, where: Situation | WindowEdge) -> Case:
    return failure.kind, where.inlet, where.flow, where.mains


@dataclass(frozen=True)
class _Search:
    """An empty window and how a change of it is tried.

    narrow: the question in the situations only in which a case decided; kept: those cases.
    """

    made: Proving
    narrow: Proving
    window: NeedleWindow
    cancel: Cancel
    kept: frozenset[Case]

    def opens(self, made: Proving | None, *, in_all: bool = False) -> bool:
        """Return whether a changed question has a window, of the runs only that decided the edges."""
        if made is None or self.cancel():
            return False
        runs = runs_of(made, self.cancel, None if in_all else self.kept)
        return opens(runs, made.question.limits, made.setting, made.stopwatch, ROOM) and not self.cancel()

    def weakest(
        self, changes: Sequence[Change], start: Proving | None = None, low: int = 0, *, in_all: bool = False
    ) -> int | None:
        """Return the weakest of changes that grow which opens the window; None: the strongest does not.

        Parameters
        ----------
        changes
            Weakest first.
        start
            Question they are made to; None: that of the empty window.
        low
            Weakest that is tried.
        in_all
            Whether every case is run.
        """
        made = start or (self.made if in_all else self.narrow)
        high = len(changes) - 1
        if high < low or not self.opens(changes[high](made), in_all=in_all):
            return None
        while low < high:
            middle = (low + high) // 2
            if self.opens(changes[middle](made), in_all=in_all):
                high = middle
            else:
                low = middle + 1
        return low

    def told(self, steps: Sequence[RemedyStep], made: Proving | None) -> WindowRemedy | None:
        """Return a remedy with the window it leaves, of all runs; None where that is not wide enough.

        The window is that of the cases that decide; every other case is run at its edges and in its middle,
        and where one refuses it is that of all.
        """
        if made is None or self.cancel():
            return None
        runs, tried = runs_of(made, self.cancel), _Tries(made)
        few = [run for run in runs if _case(run.failure, run.here) in self.kept]
        window = tried.window_of(few)
        if window is None:
            return None
        if not _is_wide(window) or not tried.hold([run for run in runs if run not in few], window):
            window = tried.window_of(runs)
        if window is None or self.cancel() or not _is_wide(window):
            return None
        return WindowRemedy(tuple(steps), window.slowest, window.fastest)


class _Tries:
    """Runs of one changed question, and what they came to."""

    def __init__(self, made: Proving) -> None:
        self.made = made
        self.limits = tuple(one for one in made.question.limits if one.fault_at_datum is not None)
        self.known: dict[tuple[int, float], Any] = {}

    def window_of(self, runs: Sequence[FailureRun]) -> NeedleWindow | None:
        """Return the window of some runs; None: it is empty."""
        made = self.made
        return open_window(
            runs, self.limits, made.setting, made.stroke, made.stopwatch, self.known, kv=made.kv
        )

    def hold(self, runs: Sequence[FailureRun], window: NeedleWindow) -> bool:
        """Return whether runs hold every limit, and columns if the window does, at its edges and between."""
        made, tripping = self.made, [run for run in runs if run.trips]
        given = Runs(tripping, self.limits, made.setting, made.stopwatch, known=self.known)
        slow = pd.SLOWEST.si if window.slowest is None else window.slowest.stopwatch
        fast = pd.FASTEST.si if window.fastest is None else window.fastest.stopwatch
        kinds: tuple[Kind, ...] = LIMITS if window.parts else (*LIMITS, "whole")
        order = list(range(len(tripping)))
        return all(
            given.all_hold(order, log(made.stopwatch / time), kind)
            for time in (slow, sqrt(slow * fast), fast)
            for kind in kinds
        )


def runs_of(made: Proving, cancel: Cancel, cases: frozenset[Case] | None = None) -> list[FailureRun]:
    """Return the credited failures of a question, run up to the trip; only those of some cases, if given."""
    return [
        FailureRun(here, failure, made.setting, cancel)
        for here, failure in made.pairs
        if failure.credited and (cases is None or _case(failure, here) in cases)
    ]


def _search(made: Proving, window: NeedleWindow, cancel: Cancel) -> _Search:
    kept = frozenset(_deciding(made, window, cancel))
    places = {(inlet, flow, mains) for _, inlet, flow, mains in kept}
    here = tuple(one for one in made.situations if (one.inlet, one.flow, one.mains) in places)
    return _Search(made, replace(made, situations=here), window, cancel, kept)


def _deciding(made: Proving, window: NeedleWindow, cancel: Cancel) -> Iterator[Case]:
    """Yield the cases that decide an edge, or pass most where there is none; all are run at the end."""
    for edge in (window.slowest, window.fastest):
        if edge is not None:
            yield _case(edge.failure, edge)
    tripping = [run for run in runs_of(made, cancel) if run.trips]
    given = Runs(tripping, made.question.limits, made.setting, made.stopwatch, at_once=True)
    numbers = range(len(tripping))
    for x in (log(made.stopwatch / time) for time in (made.stopwatch, *LOOKED_AT)):
        given.make_ready(numbers, x)
        for kind in LIMITS:
            run = tripping[max(numbers, key=lambda n: given.passed(n, x, kind))] if tripping else None
            if run is not None:
                yield _case(run.failure, run.here)


def _is_wide(window: NeedleWindow) -> bool:
    """Return whether a window is open and wide enough to be set: an edge found, and `ROOM` between two."""
    if window.state != "open" or (window.slowest is None and window.fastest is None):
        return False
    return window.ratio is None or window.ratio >= ROOM * (1.0 - 2.0 * pd.EDGE.si)


def _single(search: _Search, kind: Ladder) -> WindowRemedy | None:
    """Return the weakest step of a kind that opens the window in every case; None: none does."""
    number = search.weakest(kind.changes)
    while number is not None:
        told = search.told([kind.steps[number]], kind.changes[number](search.made))
        if told is not None:
            return told
        number = search.weakest(kind.changes, low=number + 1, in_all=True)
    return None


def _pair(search: _Search, first: Ladder, second: Ladder) -> WindowRemedy | None:
    """Return two changes at once: the weakest step of one kind that does with the strongest of another.

    Then of the other the weakest that does with it.
    """
    strong = None if search.cancel() else second.changes[-1](search.narrow)
    place = None if strong is None else search.weakest(first.changes, strong)
    start = None if place is None else first.changes[place](search.narrow)
    number = None if start is None else search.weakest(second.changes, start)
    whole = None if place is None or number is None else first.changes[place](search.made)
    while place is not None and number is not None and whole is not None:
        told = search.told([first.steps[place], second.steps[number]], second.changes[number](whole))
        if told is not None:
            return told
        number = search.weakest(second.changes, whole, number + 1, in_all=True)
    return None


def _higher_ratings(search: _Search) -> Iterator[Task]:
    """Yield what the consumers' side must bear at the fastest needle, and what lies ahead at the slowest."""
    window = search.window
    pairs: tuple[tuple[Kind, WindowEdge | None, float], ...] = (
        ("slowest", window.fastest, 1.0 / ROOM), ("fastest", window.slowest, ROOM),
    )  # fmt: skip
    for kind, edge, towards in pairs:
        if edge is not None:
            yield partial(_rating, search, kind, edge, towards)


def _rating(search: _Search, kind: Kind, edge: WindowEdge, towards: float) -> WindowRemedy | None:
    made, question = search.made, search.made.question
    speed = search.window.stopwatch / edge.stopwatch * towards
    seen: dict[str, float] = {}
    for run in runs_of(made, search.cancel):
        end = run.finish(made.setting.faster(speed))
        for peak in run.peaks(end, question.limits):
            if peak.limit is not None and peak.verdict not in ("over before", "no main"):
                for height in heights(peak, kind):
                    seen[peak.side] = max(seen.get(peak.side, 0.0), height)
    limits, raised = _raised(question.limits, seen)
    if not raised or any(name in question.protected for name in raised):
        return None
    value = max(one.fault_at_datum or 0.0 for one in limits if one.component in raised)
    step = RemedyStep("higher rating", "; ".join(raised), value)
    return search.told([step], replace(made, question=replace(question, limits=limits)))


def _raised(
    limits: tuple[ComponentLimit, ...], seen: dict[str, float]
) -> tuple[tuple[ComponentLimit, ...], tuple[str, ...]]:
    """Return limits of which each bears what its side sees, rounded up, and the components raised."""
    step, names, found = pd.RATING_STEP.si, [], []
    for one in limits:
        needed = ceil(seen.get(one.side, 0.0) / step) * step
        if one.fault_at_datum is not None and one.fault_at_datum < needed:
            names.append(one.component)
            found.append(replace(one, fault_at_datum=needed))
        else:
            found.append(one)
    return tuple(found), tuple(names)
