"""What opens an empty needle window: each change is run before it is told, the smallest step that does it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations
from math import ceil, log

from steadyhead.records.ladder import ComponentLimit
from steadyhead.records.protection import Failure, NeedleWindow, RemedyStep, WindowEdge, WindowRemedy
from steadyhead.surge import defaults as d
from steadyhead.surge import proof_defaults as pd
from steadyhead.surge.proof import Proving
from steadyhead.surge.proof_run import FailureRun, situation
from steadyhead.surge.window import LIMITS, Kind, Runs, heights, needle_window, opens
from steadyhead.surge.window_changes import Change, Ladder, ladders
from steadyhead.work import Cancel

ROOM = 1.5
"""Slowest over fastest time of a window that a person can set and that lasts a year: ±20 %."""
LOOKED_AT = (8.0, 2.0)
"""Closing times by stopwatch at which deciding cases are looked for, beside that of the needle. [s]"""


def with_remedies(made: Proving, window: NeedleWindow, cancel: Cancel) -> NeedleWindow:
    """Return an empty window with what opens it; any other as it is.

    Each kind of change is tried alone, its strongest step first, then the weakest step that does. Where none
    does, pairs of kinds are tried in the same way until one does. The needle is free in all of them.
    """
    if window.state != "empty":
        return window
    search = _Search(_coarser(made), window, cancel)
    kinds = tuple(ladders(search.made))
    found = [*_singles(search, kinds), *_higher_rating(search)]
    if not found:
        pair = _pair(search, kinds)
        found = [] if pair is None else [pair]
    return replace(window, remedies=tuple(found))


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


Case = tuple[str, str, str]
"""A failure by its kind, an inlet pressure and a flow."""


def _case(failure: Failure, inlet: str, flow: str) -> Case:
    return failure.kind, inlet, flow


@dataclass(frozen=True)
class _Search:
    """An empty window and how a change of it is tried."""

    made: Proving
    window: NeedleWindow
    cancel: Cancel
    kept: list[frozenset[Case]] = field(default_factory=list)

    def after(self, made: Proving) -> NeedleWindow:
        """Return the window of a changed question."""
        return needle_window(
            self._runs(made), made.question.limits, made.setting, made.stroke, made.stopwatch,
            kv=made.kv,
        )  # fmt: skip

    def _runs(self, made: Proving) -> list[FailureRun]:
        claims = tuple(one for one in made.question.claims if one.failure.credited)
        question = replace(made.question, claims=claims)
        return list(replace(made, question=question).runs(cancel=self.cancel))

    def opens(self, made: Proving | None) -> bool:
        """Return whether a changed question has a window, of the runs only that decided the edges."""
        if made is None or self.cancel():
            return False
        runs = [run for run in self._runs(made) if self._decides(run)]
        return opens(runs, made.question.limits, made.setting, made.stopwatch, ROOM)

    def _decides(self, run: FailureRun) -> bool:
        if not self.kept:
            self.kept.append(frozenset(self._deciding()))
        return _case(run.failure, run.here.inlet, run.here.flow) in self.kept[0]

    def _deciding(self) -> Iterator[Case]:
        """Yield the cases that decide an edge, or pass most where there is none; all are run at the end."""
        for edge in (self.window.slowest, self.window.fastest):
            if edge is not None:
                yield _case(edge.failure, edge.inlet, edge.flow)
        made = self.made
        given = Runs(
            [run for run in self._runs(made) if run.trips], made.question.limits, made.setting, made.stopwatch
        )
        for time in (made.stopwatch, *LOOKED_AT):
            for kind in LIMITS:
                number = max(
                    range(len(given.runs)), key=lambda n: given.passed(n, log(made.stopwatch / time), kind),
                )  # fmt: skip
                run = given.runs[number]
                yield _case(run.failure, run.here.inlet, run.here.flow)

    def weakest(self, changes: Sequence[Change], start: Proving | None = None) -> int | None:
        """Return the weakest of changes that grow which opens the window; None: the strongest does not.

        Parameters
        ----------
        changes
            Weakest first.
        start
            Question they are made to; None: that of the empty window.
        """
        made = start or self.made
        low, high = 0, len(changes) - 1
        if high < 0 or not self.opens(changes[high](made)):
            return None
        while low < high:
            middle = (low + high) // 2
            if self.opens(changes[middle](made)):
                high = middle
            else:
                low = middle + 1
        return low

    def told(self, steps: Sequence[RemedyStep], made: Proving | None) -> WindowRemedy | None:
        """Return a remedy with the window it leaves, of all runs; None where that is not wide enough."""
        window = None if made is None else self.after(made)
        if window is None or not _is_wide(window):
            return None
        return WindowRemedy(tuple(steps), window.slowest, window.fastest)


def _is_wide(window: NeedleWindow) -> bool:
    """Return whether a window is open and wide enough to be set: an edge found, and `ROOM` between two."""
    if window.state != "open" or (window.slowest is None and window.fastest is None):
        return False
    return window.ratio is None or window.ratio >= ROOM * (1.0 - 2.0 * pd.EDGE.si)


def _singles(search: _Search, kinds: Sequence[Ladder]) -> Iterator[WindowRemedy]:
    for kind in kinds:
        first = search.weakest(kind.changes)
        if first is None:
            continue
        for number in range(first, len(kind.steps)):
            told = search.told([kind.steps[number]], kind.changes[number](search.made))
            if told is not None:
                yield told
                break


def _pair(search: _Search, kinds: Sequence[Ladder]) -> WindowRemedy | None:
    """Return two changes at once: the weakest step of one kind that does with the strongest of another.

    Then of the other the weakest that does with it.
    """
    for first, second in combinations(kinds, 2):
        strong = None if search.cancel() else second.changes[-1](search.made)
        place = None if strong is None else search.weakest(first.changes, strong)
        start = None if place is None else first.changes[place](search.made)
        other = None if start is None else search.weakest(second.changes, start)
        if place is None or start is None or other is None:
            continue
        for number in range(other, len(second.steps)):
            told = search.told([first.steps[place], second.steps[number]], second.changes[number](start))
            if told is not None:
                return told
    return None


def _higher_rating(search: _Search) -> Iterator[WindowRemedy]:
    """Yield what the consumers' side must bear at the fastest needle, and what lies ahead at the slowest."""
    window = search.window
    pairs: tuple[tuple[Kind, WindowEdge | None, float], ...] = (
        ("slowest", window.fastest, 1.0 / ROOM), ("fastest", window.slowest, ROOM),
    )  # fmt: skip
    for kind, edge, towards in pairs:
        if edge is not None and not search.cancel():
            told = _rating(search, kind, edge, towards)
            if told is not None:
                yield told


def _rating(search: _Search, kind: Kind, edge: WindowEdge, towards: float) -> WindowRemedy | None:
    made, question = search.made, search.made.question
    speed = search.window.stopwatch / edge.stopwatch * towards
    seen: dict[str, float] = {}
    for run in made.runs(cancel=search.cancel):
        if run.failure.credited:
            end = run.finish(made.setting.faster(speed))
            for peak in run.peaks(end, question.limits):
                if peak.limit is not None and peak.verdict != "over before":
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
