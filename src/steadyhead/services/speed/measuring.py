"""The figures of speed on this machine, each with its spread, what is aimed at, or why it is missing."""

from __future__ import annotations

import os
import platform
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from statistics import median
from typing import Any, Literal

from steadyhead import __version__
from steadyhead.laws.compiling import mode
from steadyhead.services.speed.timing import Figure, interleaved
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

FORMAT = "steadyhead/speed/1"
QUICK_RUNS, ALL_RUNS = 100, 1000
STARTED = (sys.executable, "-m", "steadyhead", "surge", "-", "--event", "demand-falls")
MORE_MEMORY = 4.0
"""[kB]"""
RAN = (0, 1)
"""Exit statuses of an event that was run, its limits held or passed."""


@dataclass(frozen=True, slots=True)
class Measured:
    """One figure.

    Parameters
    ----------
    name, about
        What was measured, in words.
    value, unit
        Median; None where `missing` says why.
    spread
        Half the distance between the quartiles, as share of the median. [1]
    rounds
        How often it was measured.
    goal, better
        What is aimed at, and whether a good value lies below or above; None: nothing is.
    missing
        Why there is no value; else empty.
    ratio, ratio_spread
        Times as long as `ratio_to`, by rounds, and its spread; None: it stands alone, or is the first.
    """

    name: str
    about: str
    value: float | None
    unit: str
    spread: float = 0.0
    rounds: int = 0
    goal: float | None = None
    better: Literal["below", "above"] = "below"
    missing: str = ""
    ratio: float | None = None
    ratio_spread: float = 0.0
    ratio_to: str = ""

    @property
    def is_met(self) -> bool | None:
        """Whether the goal is met; None where there is no goal or no value."""
        if self.goal is None or self.value is None:
            return None
        return self.value < self.goal if self.better == "below" else self.value >= self.goal


@dataclass(frozen=True, slots=True)
class SpeedAnswer:
    """All figures, of a quick or a full measurement, and whether it was stopped before its end."""

    figures: tuple[Measured, ...]
    is_full: bool
    was_stopped: bool
    machine: str


@dataclass(frozen=True)
class _Job:
    """What makes one or several figures; returns none where it was cancelled."""

    words: str
    measure: Callable[[], list[Measured]]


def measure_speed(
    *, full: bool = False, progress: Progress = no_progress, cancel: Cancel = never_cancel
) -> SpeedAnswer:
    """Return how fast the transient twin is here; candidates that are compared take turns.

    Figures hold for this machine as busy as it is now. In plain mode, without compiled code, nothing is
    measured.

    Parameters
    ----------
    full
        More rounds, all 1,000 runs, every setting of scipy: some minutes; else below a minute once compiled.
    progress, cancel
        See `steadyhead.work`; what is finished when stopped is returned.
    """
    machine = f"Python {platform.python_version()}, {platform.system()} {platform.machine()}, {_cores()}"
    found: list[Measured] = []
    jobs = _jobs(full, progress, cancel)
    for done, job in enumerate(jobs):
        progress(done, len(jobs), job.words)
        if cancel():
            return SpeedAnswer(tuple(found), full, True, machine)
        if mode() == "plain":
            found.append(_missing(job.words, "kernels run plain here, not compiled"))
            continue
        made = job.measure()
        found += made
        if not made:
            return SpeedAnswer(tuple(found), full, True, machine)
    progress(len(jobs), len(jobs), "done")
    return SpeedAnswer(tuple(found), full, False, machine)


def _cores() -> str:
    return f"{os.cpu_count()} cores"


def _missing(name: str, why: str) -> Measured:
    return Measured(name, "", None, "", missing=why)


def _jobs(full: bool, progress: Progress, cancel: Cancel) -> list[_Job]:
    few, some = (5, 15) if full else (3, 7)
    return [
        _Job("inner nodes against C", partial(_interior, some, cancel)),
        _Job("step of a station", partial(_steps, some, cancel)),
        _Job("friction by table", partial(_friction, cancel)),
        _Job("event of a minute", partial(_events, some, cancel)),
        _Job("window of a needle", partial(_windows, few, cancel)),
        _Job("many runs", partial(_many, few if full else 1, full, cancel)),
        _Job("memory of many runs", partial(_memory, full, cancel)),
        _Job("against scipy", partial(_stiff, few, full, progress, cancel)),
        _Job("later start", partial(_start, few, cancel)),
        _Job("judging a record", partial(_judging, full, cancel)),
    ]


def _plain(
    name: str, about: str, unit: str, scale: float, one: Figure, rounds: int, goal: float | None
) -> Measured:
    return Measured(name, about, one.median_s * scale, unit, one.spread, rounds, goal)


def _to_first(found: list[Measured], figures: list[Figure]) -> list[Measured]:
    """Return figures that took turns, each but the first with its ratio to that."""
    return found[:1] + [
        replace(one, ratio=figure.ratio, ratio_spread=figure.ratio_spread, ratio_to=found[0].name)
        for one, figure in zip(found[1:], figures[1:], strict=True)
    ]


def _interior(rounds: int, cancel: Cancel) -> list[Measured]:
    from steadyhead.services.speed import interior

    name = "inner nodes against C"
    about = (
        f"share of the speed of the same arithmetic in C, {' '.join(interior.FLAGS)}; friction and cavities"
    )
    if interior.compiled_c() is None:
        return [Measured(name, about, None, "", missing="no C compiler here that takes the text")]
    both = interior.Interior()
    found = interleaved({"C": both.in_c, "kernel": both.ours}, 3 * rounds, cancel=cancel)
    if not found:
        return []
    one = found["kernel"]
    return [Measured(name, about, 1.0 / one.ratio, "", one.ratio_spread, 3 * rounds, 0.70, "above")]


def _steps(rounds: int, cancel: Cancel) -> list[Measured]:
    from steadyhead.services.speed import cases

    calls: dict[str, Callable[[], object]] = {
        "262 nodes": partial(cases.steps, cases.FINE),
        "67 nodes": partial(cases.steps, cases.STUDY),
        "two streams, 262 nodes": partial(cases.steps, cases.FINE, 2),
    }
    goals = {"262 nodes": 6.0, "67 nodes": 6.0}
    found = interleaved(calls, 3 * rounds, cancel=cancel)
    about = "reducer, shut-off, two mains with friction and cavities; one core"
    made = [
        _plain(f"step of a station, {name}", about, "µs", 1e6 / cases.STEPS, one, 3 * rounds, goals.get(name))
        for name, one in found.items()
    ]
    return _to_first(made, list(found.values()))


def _judging(full: bool, cancel: Cancel) -> list[Measured]:
    """Return the time of judging a reading in a short record and in a long one: it is the same."""
    from steadyhead.services.speed import judging

    short, long = 1000, 100_000 if full else 10_000
    calls: dict[str, Callable[[], object]] = {
        f"{count:,} entries": partial(judging.judged, count) for count in (short, long)
    }
    found = interleaved(calls, 3, cancel=cancel)
    about = "one reading of a step that proves, in a record of that length"
    made = [
        _plain(f"judging a record, {name}", about, "µs", 1e6 / count, one, 3, None)
        for (name, one), count in zip(found.items(), (short, long), strict=False)
    ]
    scaled = [replace(one, ratio=one.ratio * short / long) for one in found.values()]
    return _to_first(made, scaled) if made else []


def _friction(cancel: Cancel) -> list[Measured]:
    """Return the largest error of the friction factors a step reads from its table."""
    from steadyhead.services.speed import cases

    if cancel():
        return []
    about = "against Churchill 1977 between the points of the table, Re 10 to 10⁸, the mains of these steps"
    return [Measured("friction by table, largest error", about, cases.friction_error(), "", goal=1e-4)]


def _events(rounds: int, cancel: Cancel) -> list[Measured]:
    from steadyhead.services.speed import cases

    grids = {"262 nodes": cases.FINE, "67 nodes": cases.STUDY}
    found = interleaved({k: partial(cases.event, n) for k, n in grids.items()}, rounds, cancel=cancel)
    about = "layout, steady start, 60 s of station time, trace"
    made = [
        _plain(f"event of a minute, {name}", about, "s", 1.0, one, rounds, 0.1) for name, one in found.items()
    ]
    return _to_first(made, list(found.values()))


def _windows(rounds: int, cancel: Cancel) -> list[Measured]:
    from steadyhead.services.speed import cases

    goals = {"one design case": (1, 2.0), "four design cases": (4, 4.0)}
    searches = {name: cases.window(count) for name, (count, _) in goals.items()}
    found = interleaved(searches, rounds, cancel=cancel)
    about = f"both edges to 2 %, example {cases.EXAMPLE}"
    made = [
        _plain(f"window of a needle, {name}", about, "s", 1.0, one, rounds, goals[name][1])
        for name, one in found.items()
    ]
    return _to_first(made, list(found.values()))


def _many(rounds: int, full: bool, cancel: Cancel) -> list[Measured]:
    from steadyhead.services.speed import cases

    count = ALL_RUNS if full else QUICK_RUNS
    cases.many(4)
    found = interleaved({"runs": partial(cases.many, count, cancel)}, rounds, cancel=cancel)
    about = f"tolerances drawn, example {cases.EXAMPLE}, {_cores()}"
    about += "" if full else f"; from {count} runs"
    return [
        _plain("1,000 runs of 30 s", about, "s", ALL_RUNS / count, one, rounds, 30.0)
        for one in found.values()
    ]


def _memory(full: bool, cancel: Cancel) -> list[Measured]:
    """Return how much memory each further run takes of the highest."""
    from steadyhead.services.speed import cases

    fewer, more = (QUICK_RUNS, 4 * QUICK_RUNS) if full else (QUICK_RUNS // 5, 4 * QUICK_RUNS // 5)
    low, high = cases.memory_of(fewer, cancel), cases.memory_of(more, cancel)
    if cancel():
        return []
    each = max(high - low, 0) / (more - fewer) / 1e3
    about = f"from the highest of {fewer} and of {more} runs, {high / 1e6:.1f} MB: a run leaves a few numbers"
    return [Measured("memory of one run more", about, each, "kB", goal=MORE_MEMORY)]


def _stiff(rounds: int, full: bool, progress: Progress, cancel: Cancel) -> list[Measured]:
    name = "times as fast as scipy"
    try:
        from steadyhead.services.speed import stiff

        pair = stiff.rivals(full, progress, cancel)
    except ImportError:
        return [_missing(name, "scipy is not installed; the product does without")]
    except RuntimeError as problem:
        return [_missing(name, str(problem))]
    if pair is None:
        return []
    found = interleaved({"ours": pair.ours, "theirs": pair.theirs}, rounds, cancel=cancel)
    if not found:
        return []
    about = f"best of stiff settings: {pair.theirs_words}; engine: {pair.ours_words}; 12 s of a demand step"
    one = found["theirs"]
    return [Measured(name, about, one.ratio, "", one.ratio_spread, rounds)]


def _start(rounds: int, cancel: Cancel) -> list[Measured]:
    from steadyhead.services.speed import cases
    from steadyhead.station.examples import read

    text, name = read(cases.EXAMPLE), "later start"

    # Bytecode is kept where a person starts it; who measures may have switched that off.
    variables = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    worked: list[float] = []

    def begin() -> None:
        before = os.times()
        done = subprocess.run(
            STARTED, input=text, env=variables, check=False,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        if done.returncode not in RAN:
            raise RuntimeError("the command could not be run in a process of its own")
        after = os.times()
        worked.append(
            after.children_user + after.children_system - before.children_user - before.children_system
        )

    try:
        found = interleaved({"start": begin}, rounds, cancel=cancel)
    except (RuntimeError, OSError) as problem:
        return [_missing(name, str(problem))]
    about = "steadyhead surge with one event in a process of its own, compiled before"
    if worked and worked[-1] > 0.0:
        about += f"; {median(worked[1:] or worked):.2f} s of processor time"
    return [_plain(name, about, "s", 1.0, one, rounds, 2.0) for one in found.values()]


def speed_data(answer: SpeedAnswer) -> dict[str, Any]:
    """Return the figures as plain data."""
    return {
        "format": FORMAT,
        "steadyhead": __version__,
        "machine": answer.machine,
        "full": answer.is_full,
        "stopped": answer.was_stopped,
        "figures": [
            {
                "name": one.name,
                "about": one.about,
                "value": None if one.value is None else float(f"{one.value:.6g}"),
                "unit": one.unit,
                "spread": float(f"{one.spread:.3g}"),
                "rounds": one.rounds,
                "goal": one.goal,
                "better": one.better,
                "met": one.is_met,
                "missing": one.missing,
                "ratio": None if one.ratio is None else float(f"{one.ratio:.4g}"),
                "ratio_spread": float(f"{one.ratio_spread:.3g}"),
                "ratio_to": one.ratio_to,
            }
            for one in answer.figures
        ],
    }
