"""A year of a station with a fault and the same year without it: what is told, how early, what is false."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import Event, Happening, tell
from tests.logger.habits import HABITS, live
from tests.logger.handing import channels, context
from tests.logger.happening import EVENTS, LATER, sound_shut_off
from tests.logger.measuring import Seen, measured
from tests.logger.truth import DAY, MONDAY, Happened, Water, place, water

YEAR = 365.0
CALLED = {
    "surge": Event.SURGE,
    "burst": Event.BURST,
    "supply loss": Event.SUPPLY_LOSS,
    "trip": Event.TRIP,
    "night creep": Event.CREEP,
    "hunting": Event.HUNTING,
    "strainer": Event.STRAINER,
    "set change": Event.SETTING,
    "demand change": Event.DEMAND,
    "thermal rise": Event.THERMAL,
    "backfeed": Event.BACKFEED,
    "shut off left partly shut": Event.PARTLY_SHUT,
    "shut off sinks": Event.SHUT_OFF,
    "outlet raised": Event.RAISED,
}
"""Planted events, and the event that must be told."""
NUMBERED = (*sorted(set(CALLED) - set(LATER)), *LATER)
"""Planted events by the number that their seed has: those that came later have theirs at the end."""
GROWING = {"night creep": 75.0, "strainer": 75.0, "shut off sinks": 75.0}
"""Faults that grow to the end of the year, and the days of it they are planted in."""
STAYING = {"hunting": 30.0, "set change": 30.0, "demand change": 30.0, "shut off left partly shut": 30.0}
"""Faults that stay to the end of the year."""
PASSING = 20.0
"""Days in which a fault that passes is planted, anywhere in the year."""
LOOKED_BACK = 120.0
"""Days of record that are told in the search for the first call."""
CHECKS = 16
"""Times between onset and end at which the record is told in that search."""


@dataclass(frozen=True, slots=True)
class Told:
    """What came of one fault of one year.

    `found`; lead: from the first call to the end, where the fault is at its full size [days]; delay: from the
    onset to the first call [days]; magnitude told over true; calls that nothing stands behind.
    """

    kind: str
    found: bool
    lead: float | None
    delay: float | None
    ratio: float | None
    extra: tuple[str, ...]


def ordinary(seed: int, number: int) -> Water:
    """Return a year of ordinary life: a habit, hydrants, a switched supply; a gauge between the valves."""
    rng = np.random.default_rng([seed, number, 1])
    step = float(rng.choice([300.0, 900.0]))
    start = MONDAY + float(rng.integers(0, 400)) * DAY
    year = water(rng, place(rng), start, YEAR, step)
    if rng.random() < 0.6:
        live(str(rng.choice([*HABITS])), rng, year)
    elif rng.random() < 0.2:
        EVENTS["still nights"](rng, year)
    for _ in range(int(rng.integers(0, 7))):
        EVENTS["short draw"](rng, year)
    if rng.random() < 0.3:
        EVENTS["supply change"](rng, year)
    EVENTS["sound shut off"](rng, year)
    return year


def seen_of(seed: int, number: int, year: Water) -> Seen:
    """Return what is stored of a year: the same noise with a fault and without."""
    return measured(np.random.default_rng([seed, number, 2]), year)


def with_fault(seed: int, number: int, year: Water, kind: str) -> tuple[Water, Happened]:
    """Return the year with one fault and its truth."""
    rng = np.random.default_rng([seed, number, 3, NUMBERED.index(kind)])
    days = GROWING.get(kind) or STAYING.get(kind) or PASSING
    last = YEAR if kind in GROWING or kind in STAYING else float(rng.uniform(days + 20.0, YEAR - 5.0))
    out = copy.deepcopy(year)
    at = slice(*np.searchsorted(year.t, (year.t[0] + (last - days) * DAY, year.t[0] + last * DAY)).tolist())
    part = _cut(out, at)
    {**EVENTS, **LATER}[kind](rng, part)
    if not kind.startswith("shut off"):
        sound_shut_off(rng, part)
    for name in ("inlet", "outlet", "flow", "travel", "closed", "middle"):
        getattr(out, name)[at] = getattr(part, name)
    true = part.happened[-1]
    out.happened.append(true)
    return out, true


def _cut(year: Water, at: slice) -> Water:
    middle = year.middle[at].copy() if year.middle is not None else None
    return Water(
        year.place, year.t[at], year.step, year.inlet[at].copy(), year.outlet[at].copy(),
        year.flow[at].copy(), year.travel[at].copy(), year.closed[at].copy(), [], middle,
    )  # fmt: skip


def told_of(seen: Seen, end: float | None = None) -> tuple[Happening, ...]:
    """Return what is told of a record, or of its last days up to `end` [s since 1970]."""
    if end is not None:
        seen = replace(seen, traces={name: copy.copy(trace) for name, trace in seen.traces.items()})
        for trace in seen.traces.values():
            keep = (trace.t <= end) & (trace.t > end - LOOKED_BACK * DAY)
            trace.t, trace.v = trace.t[keep], trace.v[keep]
        seen.visits = [v for v in seen.visits if end - LOOKED_BACK * DAY < (v["when"] or 0.0) <= end]
    frames, known = channels(seen), context(seen)
    return tell(frames, known, judge(frames, known)).happenings


def fits(true: Happened, code: Event, one: Happening, step: float) -> bool:
    """Return whether a call is of a fault: its kind, at its time."""
    start, end = one.start.timestamp(), one.end.timestamp()
    if code is Event.TRIP and one.code is Event.TRIPPED_AGAIN:
        return start >= true.start
    if one.code is not code:
        return False
    if code is Event.SURGE:
        return abs(start - true.start) <= 2.0 * step + 30.0
    if code in (Event.SETTING, Event.DEMAND):
        return abs(start - true.start) <= 3.0 * 3600.0
    return min(end, true.end) - max(start, true.start) >= 0.4 * max(end - start, true.end - true.start)


def tried(seed: int, number: int, year: Water, kind: str, calm: Sequence[Happening]) -> Told:
    """Tell the year with a fault; `calm`: what is told of the same year without it."""
    now, true = with_fault(seed, number, year, kind)
    seen, code = seen_of(seed, number, now), CALLED[kind]
    said = told_of(seen)
    right = [h for h in said if fits(true, code, h, year.step)]
    found = [h for h in right if h.code is code]
    extra = [h for h in said if h not in right and not _known(h, calm)]
    ratio = None
    if found and true.magnitude and found[0].magnitude is not None:
        ratio = found[0].magnitude / true.magnitude
    first = _first_call(seen, true, code) if found and (kind in GROWING or kind in STAYING) else None
    lead, delay = (None, None) if first is None else ((true.end - first) / DAY, (first - true.start) / DAY)
    words = tuple(f"{number} {kind}: {h.code}, every {year.step:g} s" for h in extra)
    return Told(kind, bool(found), lead, delay, ratio, words)


def _known(one: Happening, calm: Sequence[Happening]) -> bool:
    return any(h.code is one.code and h.start <= one.end and h.end >= one.start for h in calm)


def _first_call(seen: Seen, true: Happened, code: Event) -> float:
    """Return the first of evenly spaced times at which the fault is called, by halving. [s]"""
    low, high = 0, CHECKS
    while high - low > 1:
        middle = (low + high) // 2
        at = true.start + (true.end - true.start) * middle / CHECKS
        part = [h for h in told_of(seen, at) if h.code is code and h.end.timestamp() > true.start - 3.0 * DAY]
        low, high = (low, middle) if part else (middle, high)
    return true.start + (true.end - true.start) * high / CHECKS
