"""Run each credited failure with the shut-off closing faster and slower: what each side sees over it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import log2

from steadyhead.records.closing import ClosingSweep, SweptPeak, SweptPoint
from steadyhead.records.protection import SIDES, Side, SidePeak
from steadyhead.surge import proof_defaults as pd
from steadyhead.surge.ensemble import Threads
from steadyhead.surge.proof import Proving, Question, proving
from steadyhead.surge.proof_run import FailureRun
from steadyhead.surge.window import needle_window
from steadyhead.surge.window_remedies import runs_of
from steadyhead.units import two_figures
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

APART = 0.2
"""Closing times nearer than that by doublings are one. Own estimate."""
NEAR = 4.0
"""Within so many times the closing time as it is, times lie closer. Own estimate."""
Finished = Callable[[float], SweptPoint | None]
Keep = Callable[[float, SweptPoint], None]


def closing_times(stopwatch: float) -> tuple[float, ...]:
    """Return the closing times that are run: doublings, halved steps near the time as it is, and that. [s]

    Examples
    --------
    >>> [round(time, 2) for time in closing_times(3.0)]
    [0.5, 0.75, 1.06, 1.5, 2.12, 3.0, 4.24, 6.0, 8.49, 12.0, 24.0, 48.0, 96.0, 120.0]
    """
    fast, slow = pd.FASTEST.si, pd.SLOWEST.si
    found = {fast, slow, min(max(stopwatch, fast), slow)}
    for half in range(-20, 21):
        time = stopwatch * 2.0 ** (half / 2.0)
        is_near = stopwatch / NEAR <= time <= stopwatch * NEAR
        if fast < time < slow and (half % 2 == 0 or is_near):
            found.add(time)
    kept: list[float] = []
    for time in sorted(found):
        if kept and log2(time / kept[-1]) < APART:
            if time < slow:
                continue
            kept.pop()
        kept.append(time)
    return tuple(kept)


def sweep(
    question: Question,
    *,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
    finished: Finished = lambda time: None,
    keep: Keep = lambda time, point: None,
) -> ClosingSweep | None:
    """Return what each side sees over the closing time, and the window; None where it was cancelled.

    Limits of validity are those of the proof. The window is without remedies.

    Parameters
    ----------
    question
        What is to be proved, see `steadyhead.design.protection.questions`.
    progress, cancel
        See `steadyhead.work`.
    finished, keep
        Asked for a point that is there already, by its closing time; told each that was made.

    Raises
    ------
    InputError, NotConverged
        No situation has a steady state to begin in.
    """
    made = proving(question)
    progress(0, 1, "failures up to the trip")
    runs = [run for run in runs_of(made, cancel) if run.trips]
    times = closing_times(made.stopwatch) if runs else ()
    points: list[SweptPoint] = []
    for number, time in enumerate(times):
        progress(number, len(times) + 2, f"closing in {two_figures(time)} s")
        point = finished(time)
        if point is None:
            if cancel():
                return None
            point = _Point(made, runs, time).worked_out()
            keep(time, point)
        points.append(point)
    if cancel():
        return None
    progress(len(times), len(times) + 2, "window of the closing time")
    window = needle_window(runs, question.limits, made.setting, made.stroke, made.stopwatch, kv=made.kv)
    return ClosingSweep(
        question.view.id,
        question.view.words,
        question.shut_off,
        made.stopwatch,
        tuple(points),
        window,
        len(runs),
    )


@dataclass(frozen=True)
class _Point:
    """One closing time to be run."""

    made: Proving
    runs: Sequence[FailureRun]
    time: float

    def worked_out(self) -> SweptPoint:
        setting = self.made.setting.faster(self.made.stopwatch / self.time)
        found: list[tuple[str, SidePeak]] = []
        parts = False

        def one(run: FailureRun) -> tuple[list[SidePeak], bool]:
            end = run.finish(setting)
            return list(run.peaks(end, self.made.question.limits)), run.column(end)[0] > 0.0

        for run, (peaks, is_parted) in zip(self.runs, Threads().map(one, self.runs), strict=True):
            found += [(_words(run), peak) for peak in peaks]
            parts = parts or is_parted
        sides = [_worst(side, [(w, p) for w, p in found if p.side == side]) for side in SIDES]
        return SweptPoint(self.time, tuple(one for one in sides if one is not None), parts)


def _worst(side: Side, found: Sequence[tuple[str, SidePeak]]) -> SweptPeak | None:
    if not found:
        return None
    words, top = max(found, key=lambda one: one[1].peak)
    waves = [(said, one.rebound) for said, one in found if one.rebound is not None]
    thrown_in, thrown = max(waves, key=lambda one: one[1]) if waves else ("", None)
    is_known = top.limit is not None and not any(one.verdict == "no main" for _, one in found)
    return SweptPeak(side, top.peak, words, thrown, thrown_in, top.component, top.limit if is_known else None)


def _words(run: FailureRun) -> str:
    here, failure = run.here, run.failure
    within = "" if failure.within is None else f" in {failure.within:g} s"
    return f"{failure.reducer} {failure.kind}{within}, {here.inlet} inlet pressure, {here.flow} flow"
