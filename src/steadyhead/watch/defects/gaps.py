"""Time without rows. A clock change is no gap; the silence of a report by exception is none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np

from steadyhead.watch.defects.defaults import GAP_BY_EXCEPTION, GAP_LEAST, GAP_STEPS
from steadyhead.watch.defects.episode import Code, Episode, moment
from steadyhead.watch.defects.saying import lasting
from steadyhead.watch.defects.series import Floats, Series

HOUR = 3600.0


def found(every: Sequence[Series], zone: str) -> list[Episode]:
    """Return gaps and hours lost to a clock change.

    Method (own): in a regular channel an interval of three and more usual ones, at least two minutes; equal
    gaps of several channels are one of the station. Reports by exception are looked at together: only a
    silence of all channels far beyond their longest usual one counts. One hour missing at a change of the
    clocks of the file's zone is named as that.
    """
    long = {s.id: long_intervals(s) for s in every if s.regular and s.stamps.size > 3}
    silent = [s for s in every if not s.regular]
    for before, after in _of_silence(silent):
        for one in silent:
            long.setdefault(one.id, []).append((before, after))
    spans = [(float(s.stamps[0]), float(s.stamps[-1])) for s in every if s.stamps.size]
    changes = clock_changes(spans, zone)
    return told(long, {s.id: s.step for s in every}, changes) + twice(every, changes)


def twice(every: Sequence[Series], changes: Sequence[float]) -> list[Episode]:
    """Return the hours whose stamps stand twice because the clocks were put back.

    Method (design handbook 6.2): nearly all stamps of one hour doubled, within four hours of a change.
    """
    out = []
    for at in changes:
        hours: dict[tuple[float, float], list[str]] = {}
        for one in every:
            near = one.stamps[np.abs(one.stamps - at) <= 4.0 * HOUR]
            again = near[1:][np.diff(near) == 0.0]
            wanted = 0.8 * HOUR / one.step if one.regular and one.step > 0.0 else np.inf
            if again.size >= max(wanted, 1.0) and again[-1] - again[0] <= HOUR:
                hours.setdefault((float(again[0]), float(again[-1])), []).append(one.id)
        for (start, end), ids in hours.items():
            channels = () if len(ids) == len(every) else tuple(ids)
            words = "One hour stands twice where this zone's clocks change: the stamps follow the wall clock."
            out.append(Episode(Code.CLOCK_CHANGE, moment(start), moment(end), channels, HOUR, "s", words))
    return out


def long_intervals(one: Series) -> list[tuple[float, float]]:
    """Return the stamps on either side of each interval that is too long for a regular channel. [s]"""
    limit = max(GAP_STEPS.si * one.step - 1e-3, GAP_LEAST.si)
    places = np.flatnonzero(np.diff(one.stamps) >= limit).tolist()
    return [(float(one.stamps[i]), float(one.stamps[i + 1])) for i in places]


def told(
    long: Mapping[str, Sequence[tuple[float, float]]], steps: Mapping[str, float], changes: Sequence[float]
) -> list[Episode]:
    """Return the episodes of long intervals by channel; one for the station where all channels share it."""
    seen: dict[tuple[float, float], list[str]] = {}
    for name, intervals in long.items():
        for interval in intervals:
            seen.setdefault(interval, []).append(name)
    out = []
    for (before, after), ids in sorted(seen.items()):
        channels = () if len(ids) == len(steps) else tuple(ids)
        out.append(_told(before, after, channels, max(steps[i] for i in ids), changes))
    return out


def is_hour(length: float | None, step: float) -> bool:
    """Return whether an interval [s] between rows is one in which an hour of rows is missing."""
    return length is not None and abs(length - HOUR - step) <= max(0.2 * step, 2.0)


def _told(
    before: float, after: float, channels: tuple[str, ...], step: float, changes: Sequence[float]
) -> Episode:
    length = after - before
    if is_hour(length, step) and any(abs(at - before) <= HOUR + 2.0 * step for at in changes):
        words = "One hour is missing where the clocks of this zone change: the stamps follow the wall clock."
        return Episode(Code.CLOCK_CHANGE, moment(before), moment(after), channels, length, "s", words)
    words = f"No rows for {lasting(length)}."
    return Episode(
        Code.GAP, moment(before), moment(after), channels, length, "s", words, ("time between rows",)
    )


def _of_silence(irregular: Sequence[Series]) -> list[tuple[float, float]]:
    stamps: Floats = np.unique(np.concatenate([s.stamps for s in irregular])) if irregular else np.empty(0)
    if stamps.size < 50:
        return []
    between = np.diff(stamps)
    usual = float(np.quantile(between, 0.99))
    long = np.flatnonzero(between > max(GAP_BY_EXCEPTION.si * usual, 2.0 * HOUR))
    return [(float(stamps[i]), float(stamps[i + 1])) for i in long]


def clock_changes(spans: Sequence[tuple[float, float]], zone: str) -> list[float]:
    """Return the moments within the spans of the record at which the zone's clocks change. [s since 1970]"""
    if not zone or not spans:
        return []
    try:
        there = ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        return []
    at = datetime.fromtimestamp(min(a for a, _ in spans) - 2.0 * HOUR, tz=UTC).replace(minute=0, second=0)
    last, out = datetime.fromtimestamp(max(b for _, b in spans) + 2.0 * HOUR, tz=UTC), []
    while at < last:
        day = at + timedelta(days=1)
        if at.astimezone(there).utcoffset() != day.astimezone(there).utcoffset():
            hours = [at + timedelta(hours=n) for n in range(25)]
            out += [
                b.timestamp()
                for a, b in pairwise(hours)
                if a.astimezone(there).utcoffset() != b.astimezone(there).utcoffset()
            ]
        at = day
    return out
