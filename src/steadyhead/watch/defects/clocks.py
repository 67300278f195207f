"""Clocks: what visits read of the logger's clock, and lags between channels that must move together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from steadyhead.records.logger import Context
from steadyhead.watch.defects import own_clocks, whiles
from steadyhead.watch.defects.defaults import (
    CLOCK,
    CLOCK_SPREAD,
    LAG_LEAST,
    LAG_STEPS,
)
from steadyhead.watch.defects.episode import Code, Episode, moment
from steadyhead.watch.defects.lags import course, lag
from steadyhead.watch.defects.saying import lasting
from steadyhead.watch.defects.series import Series, one_of


def found(every: Sequence[Series], context: Context) -> list[Episode]:
    """Return the clocks that are off, by visits and by lags between channels.

    A visit reads the pressure logger's clock: where a channel's stamps do not share its fault, that one is on
    another clock and is left out; where those of one logger alone show it, it is that logger's.
    """
    read, lags = by_visits(every, context), by_lags(every)
    if not read:
        return lags
    if not lags:
        return read
    if lags[0].code is Code.CLOCK_WHILE:
        return [*read, *lags]
    visit = read[0]
    flows = {s.id for s in every if s.quantity == "flow"}
    for apart in lags:
        rest = [e for e in lags if e is not apart]
        why = (*visit.evidence, *apart.evidence)
        if _alike(visit, apart, -1.0):
            others = tuple(s.id for s in every if s.id not in apart.channels)
            return [replace(visit, channels=others, evidence=why), *rest]
        if _alike(visit, apart, 1.0) and not flows & set(apart.channels):
            return [replace(visit, channels=apart.channels, evidence=why), *rest]
    return [*read, *lags]


def _alike(visit: Episode, apart: Episode, sign: float) -> bool:
    """Return whether the clock read is as far off as the channel's stamps, to one side or the other."""
    ours, theirs = visit.magnitude or 0.0, sign * (apart.magnitude or 0.0)
    return abs(ours - theirs) < 0.25 * abs(ours) + 60.0


def by_visits(every: Sequence[Series], context: Context) -> list[Episode]:
    """Return a clock that is off by a constant or runs away, from the clock readings of visits.

    Method (design handbook 6.2): one offset of all visits, or the line through two and more of them, taken to
    the end of the record.
    """
    read = [(v.when.timestamp(), v.clock) for v in context.visits if v.clock is not None]
    if not read or not every:
        return []
    start, end = min(float(s.t[0]) for s in every), max(float(s.t[-1]) for s in every)
    when = np.array([w for w, _ in read])
    off = np.array([c for _, c in read], dtype=np.float64)
    middle = float(np.median(off))
    why = (f"{off.size} clock reading{'s' if off.size > 1 else ''} of visits",)
    if off.size > 1 and float(np.ptp(off)) > max(CLOCK_SPREAD.si, 0.1 * abs(middle)):
        slope, level = np.polyfit(when - when[0], off, 1)
        at_end = float(level + slope * (end - when[0]))
        words = f"The logger's clock runs away: {_fast(at_end)} by the end of the record."
        return [Episode(Code.CLOCK_DRIFT, moment(start), moment(end), (), at_end, "s", words, why)]
    if abs(middle) < CLOCK.si:
        return []
    words = f"The logger's clock is {_fast(middle)}."
    return [Episode(Code.CLOCK_OFFSET, moment(start), moment(end), (), middle, "s", words, why)]


def _fast(seconds: float) -> str:
    return f"{lasting(seconds)} {'fast' if seconds > 0.0 else 'slow'}"


def by_lags(every: Sequence[Series]) -> list[Episode]:
    """Return a channel whose stamps lag behind or run ahead of the others'.

    Method (own): what is slower than two hours is taken out; the flow's short swings must show at the same
    time in travel, inlet and outlet. A clear peak of the correlation away from zero, found in both halves
    of the record, is a lag. One channel against all others: that one; with one pair only it is the flow,
    *likely*. Where days show one and others
    none, that is told (`whiles`).
    """
    flow = one_of(every, "flow")
    if flow is None or not flow.regular:
        return []
    pairs = [(q, sign, one_of(every, q)) for q, sign in own_clocks.ANSWERS]
    regular = [(q, sign, other) for q, sign, other in pairs if other is not None and other.regular]
    least = max(LAG_LEAST.si, LAG_STEPS.si * flow.step)
    if parts := whiles.found(flow, regular, least):
        return parts
    if own := own_clocks.found(flow, every, least):
        return own
    found = {q: lag(flow, other, sign) for q, sign, other in regular}
    lags = {q: x for q, x in found.items() if x is not None}
    late = {q: x for q, x in lags.items() if abs(x) > least}
    start, end = moment(flow.t[0]), moment(flow.t[-1])
    if not lags:
        courses = {q: c for q, sign, other in regular if (c := course(flow, other, sign)) is not None}
        return _running_away(flow, courses, least)
    sizes = list(late.values())
    if len(late) < len(lags) or max(sizes) - min(sizes) > 2.0 * flow.step + 120.0:
        return []
    middle = float(np.median(sizes))
    words = (
        f"The flow's stamps stand {lasting(middle)} {'after' if middle > 0.0 else 'before'} the pressures'."
    )
    why = tuple(f"short swings of flow and {q}" for q in late)
    return [Episode(Code.CLOCK_OFFSET, start, end, (flow.id,), middle, "s", words, why, "likely")]


def _running_away(flow: Series, courses: dict[str, tuple[float, float]], least: float) -> list[Episode]:
    """Return the drift told by the lags of quarters: (first, last) by channel. [s]"""
    away = {q: last for q, (first, last) in courses.items() if abs(last - first) > least}
    if not away or len(away) < len(courses) or np.ptp(list(away.values())) > 2.0 * flow.step + 240.0:
        return []
    size = float(np.median(list(away.values())))
    words = f"The flow's clock runs away from the pressures': {_fast(size)} by the end of the record."
    why = tuple(f"short swings of flow and {q}, by quarters of the record" for q in away)
    start, end = moment(flow.t[0]), moment(flow.t[-1])
    return [Episode(Code.CLOCK_DRIFT, start, end, (flow.id,), size, "s", words, why, "likely")]
