"""When an activity is due at a place, and why: base interval, factors, clamp, history, deferral."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from math import floor

from steadyhead.upkeep import defaults
from steadyhead.upkeep.days import interval, later, told
from steadyhead.upkeep.factors import Factor, made
from steadyhead.upkeep.history import Beginning, Crossing, Deferral, Done, Past, Stay
from steadyhead.upkeep.tasks import Task

DOUBLED = 2.0
"""Loss of a strainer over that when clean from which it is opened. [1]"""


@dataclass(frozen=True, slots=True)
class Interval:
    """The interval in force.

    Parameters
    ----------
    months
        What it is. [months]
    steps
        How it came about, a sentence each.
    is_own
        Whether the owner set it.
    """

    months: float
    steps: tuple[str, ...]
    is_own: bool = False


@dataclass(frozen=True, slots=True)
class Due:
    """What is due at a place.

    Parameters
    ----------
    task
        What and where.
    last
        When it was done last and counts; None: never.
    counted_from, counted_words
        Day the interval runs from, and what that day is.
    interval
        In force.
    on
        Day it is due by its interval; a deferral does not change it.
    deferral
        In force: of those after the last time done, the last; None: none.
    pull_from
        From this day it is worth doing with another thing of the same isolation.
    because
        What makes it due now rather than by its interval; empty for none.
    piece
        The piece standing there.
    crossings
        Limits crossed by measures of loggers, of data that end after it was done last.
    foreseen
        The limit to be met first, of such data, where it brings this forward.
    """

    task: Task
    last: Done | None
    counted_from: date
    counted_words: str
    interval: Interval
    on: date
    deferral: Deferral | None
    deferrals: int
    pull_from: date
    because: str
    piece: Stay | None
    crossings: tuple[Crossing, ...] = ()
    foreseen: Crossing | None = None

    @property
    def is_new_piece(self) -> bool:
        """Whether it was never done since the piece that stands there was put in."""
        return self.last is None and self.piece is not None and self.piece.words in self.counted_words

    @property
    def acts_on(self) -> date:
        """Day it comes up: the one it was deferred to, else the one it is due."""
        return self.on if self.deferral is None else self.deferral.until


def work_out(task: Task, past: Past, beginning: Beginning) -> Due:
    """Return what is due of a task, from what was done and the interval in force.

    It follows from the history alone and not from the day it is asked: the same entries give the same day.
    """
    counting = tuple(_counting(task, past))
    last = counting[-1] if counting else None
    start, words = _start(task, last, past.stay, beginning)
    runs = interval_of(task, past, counting, start)
    on, because = later(start, runs.months), ""
    if last is None and task.activity.proves:
        since = past.stay is not None and bool(past.done)
        named = past.stay.words if past.stay is not None else ""
        on, because = start, f"no proof since {named} was put in" if since else "no proof is on record"
    elif last is not None and (reading := _doubled(task, past, last)) is not None and reading.on < on:
        on, because = reading.on, f"its loss was {reading.ratio or 0.0:.1f} × clean on {told(reading.on)}"
    on, more = _with_reliefs(task, past, start, runs, on)
    crossings = tuple(one for one in past.crossings if last is None or last.on < one.until)
    if crossings:
        on = min(on, *(one.on for one in crossings))
        because = "; ".join([*(one.words for one in crossings), *([because] if because else [])])
    foreseen = tuple(one for one in past.foreseen if last is None or last.on < one.until)
    ahead = min(foreseen, key=lambda one: one.on, default=None)
    if ahead is not None and ahead.on < on:
        on, because = ahead.on, ahead.words
    deferrals = [one for one in past.deferrals if one.until > on and (last is None or one.on >= last.on)]
    return Due(
        task, last, start, words, more, on, deferrals[-1] if deferrals else None, len(deferrals),
        later(on, -more.months * defaults.PULL_SHARE.si), because, past.stay, crossings,
        ahead if ahead is not None and because == ahead.words else None,
    )  # fmt: skip


def _counting(task: Task, past: Past) -> Iterator[Done]:
    """Yield the times that count: of the place, of the piece in it, or of the place since that piece came."""
    stay, follows = past.stay, task.activity.follows
    for one in sorted(past.done, key=lambda done: (done.on, done.by == "certificate")):
        if stay is None or follows == "place":
            yield one
        elif follows == "piece":
            if one.piece == stay.piece or (not one.piece and one.on >= stay.since):
                yield one
        elif one.on >= stay.since:
            yield one


def _start(task: Task, last: Done | None, stay: Stay | None, beginning: Beginning) -> tuple[date, str]:
    if last is not None:
        return last.on, f"done last {told(last.on)}, {last.source}"
    if stay is not None and task.activity.follows != "place":
        day = stay.first if task.activity.follows == "piece" else stay.since
        if day >= beginning.on or task.activity.follows == "piece":
            return day, f"{stay.words} was put in {told(day)}; not done since"
    return beginning.on, f"never done on record; counted from {told(beginning.on)}, {beginning.words}"


def interval_of(task: Task, past: Past, counting: tuple[Done, ...], start: date) -> Interval:
    """Return the interval in force: the owner's own, else base × factors, clamped, rounded down."""
    if past.habit is not None and past.habit.months > 0:
        by = f" by {past.habit.who}" if past.habit.who else ""
        words = f"{interval(past.habit.months)}, set{by}: {past.habit.reason}"
        return Interval(past.habit.months, (words,), is_own=True)
    factors = (*task.factors, *_of_history(task, past, counting, start))
    steps = [f"{interval(task.months)}, {task.base.evidence.value}: {task.base.source}"]
    months = task.months
    for factor in factors:
        months *= factor.value
        steps.append(f"× {factor.value:g}, because {factor.because}")
    least, most = task.activity.least, task.activity.most
    held = min(max(months, min(least, task.months)), max(most, task.months))
    if held != months:
        steps.append(f"held to {interval(held)}, the {'least' if held > months else 'most'} for this")
    rounded = _down(held)
    if factors:
        steps.append(f"together {interval(rounded)}")
    return Interval(rounded, tuple(steps))


def _down(months: float) -> float:
    """Return an interval rounded down to whole months; one below a month stays."""
    return float(floor(months + 1e-9)) if months >= 1.0 else months


def _of_history(task: Task, past: Past, counting: tuple[Done, ...], start: date) -> Iterator[Factor]:
    drivers = task.activity.drivers
    if "debris" in drivers:
        yield from _debris(counting)
    if "drift" in drivers:
        yield from _drift(counting)
    old = defaults.OLD_FROM.si / defaults.MONTH
    if "old" in drivers and past.stay is not None and later(past.stay.first, old) <= start:
        yield made(defaults.OLD, f"{past.stay.words} has been in use since {told(past.stay.first)}")


def _debris(counting: tuple[Done, ...]) -> Iterator[Factor]:
    told_of = [one for one in counting if one.found]
    if told_of and told_of[-1].found == "much":
        yield made(defaults.DIRTY, f"much debris was found {told(told_of[-1].on)}")
    elif len(told_of) > 1 and all(one.found == "clean" for one in told_of[-2:]):
        yield made(defaults.CLEAN, "it was found clean twice running")


def _drift(counting: tuple[Done, ...]) -> Iterator[Factor]:
    moved = [one for one in counting if one.moved is not None]
    if moved and abs(moved[-1].moved or 0.0) > 0.5:
        by = f"{abs(moved[-1].moved or 0.0):.1f} of the tolerance"
        yield made(defaults.DRIFTED, f"as found {told(moved[-1].on)} it had moved by {by}")
    elif len(moved) >= 3 and all(abs(one.moved or 0.0) < 0.25 for one in moved[-3:]):
        yield made(
            defaults.STEADY, "three times running it had moved by less than a quarter of the tolerance"
        )


def _doubled(task: Task, past: Past, last: Done) -> Done | None:
    """Return the reading since the last cleaning that asks for the next one; None: none does."""
    if task.activity.key != "strainer_clean":
        return None
    found = [one for one in past.readings if one.ratio is not None and one.on > last.on]
    return next(
        (one for one in sorted(found, key=lambda done: done.on) if (one.ratio or 0.0) >= DOUBLED), None
    )


def _with_reliefs(task: Task, past: Past, start: date, runs: Interval, on: date) -> tuple[date, Interval]:
    """Return day and interval of a trip proof that a relief valve in date stretches, no longer than that."""
    if "redundant" not in task.activity.drivers or runs.is_own or not past.reliefs or on <= start:
        return on, runs
    stretched = min(_down(runs.months * defaults.REDUNDANT.si), task.activity.most)
    day = min(later(start, stretched), max(past.reliefs))
    if day <= on:
        return on, runs
    words = (
        f"× {defaults.REDUNDANT.si:g}, because a relief valve is proved too; no longer than that one is in "
        f"date, {told(max(past.reliefs))}"
    )
    months = runs.months
    while months + 1.0 <= stretched and later(start, months + 1.0) <= day:
        months += 1.0
    return day, Interval(months, (*runs.steps, words))
