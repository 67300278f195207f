"""Planted events of a station are told from its loggers, and ordinary life is not called an event.

Every second record is clean: habits of a zone (tanks, field valves, weekends, a holiday), a hydrant's short
draw, a supply that steps, nights without flow, or nothing at all. False calls cost as much as misses, so both
stand in the result.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import Event, Happening, tell
from tests.logger.habits import HABITS, live
from tests.logger.handing import channels, context
from tests.logger.happening import EVENTS
from tests.logger.measuring import Seen, days_of, measured
from tests.logger.truth import MONDAY, Happened, place, water

FULL = 640
MOST_FALSE = 0.15
"""False calls on clean records. [per 30 logger-days]"""
LEAST_FOUND = 0.85
"""Share of all planted events."""
PLANTED = {
    "surge": Event.SURGE,
    "burst": Event.BURST,
    "supply loss": Event.SUPPLY_LOSS,
    "trip": Event.TRIP,
    "night creep": Event.CREEP,
    "hunting": Event.HUNTING,
    "strainer": Event.STRAINER,
    "set change": Event.SETTING,
    "demand change": Event.DEMAND,
}
OF_TRUTH = {"strainer blinding": "strainer"}
CLEAN = (*HABITS, "short draw", "supply change", "still nights", "", "", "", "")
STEPS = (Event.SETTING, Event.DEMAND)
HOURS = 3.0 * 3600.0
"""How near a step must lie. [s]"""


@dataclass(slots=True)
class Tally:
    """What came of the records of one kind."""

    planted: int = 0
    found: int = 0
    off: list[float] = field(default_factory=list)
    missed: list[str] = field(default_factory=list)


def case(seed: int, number: int) -> tuple[Seen, str]:
    """Return a record and the event planted in it ("" for none)."""
    rng = np.random.default_rng([seed, number])
    step = float(rng.choice([15.0, 60.0, 300.0, 300.0, 900.0]))
    days = float(rng.uniform(5.0, 10.0) if step < 100.0 else rng.uniform(8.0, 28.0))
    life = water(rng, place(rng), MONDAY + float(rng.integers(0, 400)) * 86_400.0, days, step)
    if number % 2:
        kind = sorted(PLANTED)[number // 2 % len(PLANTED)]
        EVENTS[kind](rng, life)
        return measured(rng, life), kind
    name = CLEAN[number // 2 % len(CLEAN)]
    if name in HABITS:
        live(name, rng, life)
    elif name:
        EVENTS[name](rng, life)
    return measured(rng, life), ""


def run(seed: int, n: int) -> dict[str, Any]:
    """Tell `n` records; held when clean ones stay nearly free of calls and most events are found."""
    tallies: dict[str, Tally] = defaultdict(Tally)
    false: dict[str, list[str]] = {"clean": [], "planted": []}
    days = {"clean": 0.0, "planted": 0.0}
    for number in range(n):
        seen, kind = case(seed, number)
        frames, known = channels(seen), context(seen)
        said = tell(frames, known, judge(frames, known)).happenings
        wrong = score(seen, said, tallies, number)
        side = "planted" if kind else "clean"
        days[side] += days_of(seen)
        false[side] += [f"{number}: {h.code}, every {seen.step:g} s" for h in wrong]
    return _result(n, tallies, days, false)


def score(seen: Seen, said: tuple[Happening, ...], tallies: dict[str, Tally], number: int) -> list[Happening]:
    """Enter what was found into the tallies and return the calls that nothing stands behind."""
    used: set[int] = set()
    for true in seen.happened:
        code = PLANTED.get(OF_TRUTH.get(true.kind, true.kind))
        if code is None:
            continue
        tally = tallies[code]
        tally.planted += 1
        fits = [k for k, h in enumerate(said) if _fits(true, code, h, seen.step)]
        used.update(fits)
        same = [said[k] for k in fits if said[k].code is code]
        if not same:
            tally.missed.append(f"{number}: {true.kind}, every {seen.step:g} s")
            continue
        tally.found += 1
        if true.magnitude and same[0].magnitude is not None:
            tally.off.append(abs(same[0].magnitude / true.magnitude - 1.0))
    return [h for k, h in enumerate(said) if k not in used]


def _fits(true: Happened, code: Event, h: Happening, step: float) -> bool:
    start, end = h.start.timestamp(), h.end.timestamp()
    if code is Event.TRIP and h.code is Event.TRIPPED_AGAIN:
        return start >= true.start
    if h.code is not code:
        return False
    if code is Event.SURGE:
        return abs(start - true.start) <= 2.0 * step + 30.0
    if code in STEPS:
        return abs(start - true.start) <= HOURS
    return min(end, true.end) - max(start, true.start) >= 0.4 * max(end - start, true.end - true.start)


def _result(
    n: int, tallies: dict[str, Tally], days: dict[str, float], false: dict[str, list[str]]
) -> dict[str, Any]:
    planted = sum(t.planted for t in tallies.values())
    found = sum(t.found for t in tallies.values())
    expected = MOST_FALSE * days["clean"] / 30.0
    few = max(1.0, expected + 2.0 * np.sqrt(expected))
    table = {
        str(kind): {"planted": t.planted, "found": t.found, "magnitude off (median)": _middle(t.off)}
        for kind, t in sorted(tallies.items())
    }
    return {
        "records": n,
        "logger-days, clean": round(days["clean"], 1),
        "false calls on clean records per 30 logger-days": _rate(false["clean"], days["clean"]),
        "false calls on planted records per 30 logger-days": _rate(false["planted"], days["planted"]),
        "found of all planted": round(found / max(planted, 1), 3),
        "by kind": table,
        "missed": [row for t in tallies.values() for row in t.missed][:60],
        "false calls": (false["clean"] + false["planted"])[:60],
        "held": bool(
            len(false["clean"]) <= few and found >= LEAST_FOUND * planted - 0.8 * np.sqrt(max(planted, 1))
        ),
    }


def _rate(calls: list[str], days: float) -> float:
    return round(30.0 * len(calls) / max(days, 1.0), 3)


def _middle(values: list[float]) -> float | None:
    return round(float(np.median(values)), 3) if values else None
