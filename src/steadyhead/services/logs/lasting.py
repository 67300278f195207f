"""Steps of an outlet that is raised for a while: when it stands highest, when it is back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from statistics import median

import polars as pl

from steadyhead.records.logger import Channel
from steadyhead.watch.defects.episode import Episode
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.happening import Event
from steadyhead.watch.incident import Incident, Step

BEYOND = timedelta(hours=2)
"""How far beyond an event the samples before and after it are looked for."""
HIGHEST = "The outlet stands highest"


def with_lasting(
    one: Incident, channels: Sequence[tuple[Channel, pl.LazyFrame]], episodes: Sequence[Episode]
) -> tuple[Step, ...]:
    """Return the steps of an event, with peak and end where its outlet was raised for a while.

    Nothing is added where the outlet's data are doubted about then: a spike would be told for the peak.
    """
    if one.event.code is not Event.RAISED or any(step.words.startswith(HIGHEST) for step in one.steps):
        return one.steps
    found = next(
        ((c, f) for c, f in channels if c.id in one.event.channels and c.quantity == "outlet pressure"), None
    )
    if found is None or _is_doubted(found[0], one, episodes):
        return one.steps
    return _in_order([*one.steps, *_peak_and_end(*found, one)])


def _is_doubted(channel: Channel, one: Incident, episodes: Sequence[Episode]) -> bool:
    low, high = one.event.start - BEYOND, one.event.end + BEYOND
    return any(
        each.start <= high and each.end >= low and (not each.channels or channel.id in each.channels)
        for each in episodes
    )


def _peak_and_end(channel: Channel, frame: pl.LazyFrame, one: Incident) -> list[Step]:
    start, end = one.event.start, one.event.end
    about = pl.col("t").is_between(start - BEYOND, end + BEYOND) & pl.col("v").is_not_null()
    rows: list[tuple[datetime, float]] = frame.filter(about).select("t", "v").collect().rows()
    inside = [at for at, (when, _) in enumerate(rows) if start <= when <= end]
    before = [value for when, value in rows if when < start]
    if not inside or not before or one.event.magnitude is None:
        return []
    top = max(inside, key=lambda at: rows[at][1])
    out = [_step(channel, rows, top, min(top + 1, len(rows) - 1), f"{HIGHEST}: {bar(rows[top][1])}.")]
    half = median(before) + 0.5 * one.event.magnitude
    low = (at for at in range(top, len(rows) - 1) if max(rows[at][1], rows[at + 1][1]) <= half)
    if (back := next(low, None)) is not None:
        out.append(_step(channel, rows, back, back, f"The outlet is back: {bar(rows[back][1])}."))
    return out


def _step(channel: Channel, rows: list[tuple[datetime, float]], at: int, by: int, words: str) -> Step:
    """Return a step shown by the sample at one place, by the time of the sample at another."""
    after = rows[max(at - 1, 0)][0]
    if channel.statistic == "mean":
        after -= rows[at][0] - after  # the sample holds what came before its stamp
    return Step(after, rows[by][0], channel.id, words, rows[at][1], "Pa")


def _in_order(steps: Sequence[Step]) -> tuple[Step, ...]:
    out: list[Step] = []
    for one in sorted(steps, key=lambda each: (each.by, each.after)):
        sure = not out or one.after >= max(each.by for each in out)
        out.append(replace(one, in_order=sure))
    return tuple(out)
