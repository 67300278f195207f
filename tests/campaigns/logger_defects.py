"""Planted defects of logger data are found, and ordinary life, true events among it, is not called a defect.

Every second record is clean: it holds true events at most (a surge, a burst, a trip, hunting …). False
calls cost as much as misses, so both stand in the result.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from steadyhead.watch.defects.episode import Code, Episode
from steadyhead.watch.defects.judging import judge
from tests.logger.defects import DEFECTS, by_exception, missing_marks
from tests.logger.handing import channels, context
from tests.logger.happening import EVENTS
from tests.logger.measuring import Seen, days_of, measured
from tests.logger.truth import MONDAY, Happened, place, water

FULL = 640
MOST_FALSE = 0.1
"""False calls on clean records. [per 30 logger-days]"""
LEAST_FOUND = 0.80
"""Share of all planted defects."""
KINDS = tuple(DEFECTS)
NO_DEFECT = tuple(EVENTS)
NEIGHBOURS = {
    frozenset(pair)
    for pair in (
        ("stuck", "sensor cock shut"),
        ("datum offset", "gauge or absolute"),
        ("gap", "clock change hour"),
    )
}
ONE_MOMENT = ("spike",)


@dataclass(slots=True)
class Tally:
    """What came of the records of one kind."""

    planted: int = 0
    found: int = 0
    near: int = 0
    late: list[float] = field(default_factory=list)
    off: list[float] = field(default_factory=list)
    missed: list[str] = field(default_factory=list)


def case(seed: int, number: int) -> tuple[Seen, str]:
    """Return a record and the defect planted in it ("" for none)."""
    rng = np.random.default_rng([seed, number])
    step = float(rng.choice([15.0, 60.0, 300.0, 300.0, 900.0]))
    days = float(rng.uniform(5.0, 10.0) if step < 100.0 else rng.uniform(8.0, 28.0))
    life = water(rng, place(rng), MONDAY + float(rng.integers(0, 400)) * 86_400.0, days, step)
    clean = number % 2 == 0
    if rng.random() < (0.75 if clean else 0.35):
        name = NO_DEFECT[number // 2 % len(NO_DEFECT)] if clean else str(rng.choice(NO_DEFECT))
        EVENTS[name](rng, life)
    seen = measured(rng, life, visits=2)
    if clean:
        if number % 20 == 0:
            by_exception(rng, seen)
        elif number % 20 == 2:
            missing_marks(rng, seen)
        return seen, ""
    kind = KINDS[number // 2 % len(KINDS)]
    DEFECTS[kind](rng, seen)
    return seen, kind


def run(seed: int, n: int) -> dict[str, Any]:
    """Judge `n` records; held when clean ones stay nearly free of calls and most defects are found."""
    tallies: dict[str, Tally] = defaultdict(Tally)
    false_clean: list[str] = []
    false_other: list[str] = []
    days = {"clean": 0.0, "planted": 0.0}
    for number in range(n):
        seen, kind = case(seed, number)
        said = judge(channels(seen), context(seen)).episodes
        wrong = score(seen, said, tallies, number)
        days["planted" if kind else "clean"] += days_of(seen)
        marks = [f"{number}: {e.code} {','.join(e.channels)}" for e in wrong]
        (false_other if kind else false_clean).extend(marks)
    return _result(n, tallies, days, false_clean, false_other)


def score(seen: Seen, said: tuple[Episode, ...], tallies: dict[str, Tally], number: int) -> list[Episode]:
    """Enter what was found into the tallies and return the calls that nothing stands behind."""
    truth = [h for h in seen.happened if h.kind in {str(c) for c in Code}]
    quantity = {name: trace.quantity for name, trace in seen.traces.items()}
    used: set[int] = set()
    for true in truth:
        tally = tallies[true.kind]
        tally.planted += 1
        fits = [k for k, e in enumerate(said) if _fits(true, e, seen.step, quantity)]
        used.update(fits)
        same = [k for k in fits if said[k].code == true.kind]
        if same:
            tally.found += 1
            best = said[same[0]]
            tally.late.append(abs(best.start.timestamp() - true.start) / seen.step)
            if true.magnitude and best.magnitude is not None:
                tally.off.append(abs(best.magnitude / true.magnitude - 1.0))
        elif fits:
            tally.near += 1
        else:
            tally.missed.append(f"{number}: {true.kind} {true.channel}")
    return [e for k, e in enumerate(said) if k not in used]


def _fits(true: Happened, e: Episode, step: float, quantity: dict[str, str]) -> bool:
    if e.code != true.kind and frozenset((str(e.code), true.kind)) not in NEIGHBOURS:
        return False
    if true.channel and e.channels and true.channel not in {quantity[c] for c in e.channels}:
        return False
    start, end = e.start.timestamp(), e.end.timestamp()
    if true.kind in ONE_MOMENT:
        return abs(start - true.start) <= 1.5 * step
    common = min(end, true.end) - max(start, true.start)
    return common >= 0.5 * max(end - start, true.end - true.start)


def _result(
    n: int, tallies: dict[str, Tally], days: dict[str, float], clean: list[str], other: list[str]
) -> dict[str, Any]:
    planted = sum(t.planted for t in tallies.values())
    found = sum(t.found for t in tallies.values())
    rate = 30.0 * len(clean) / max(days["clean"], 1.0)
    table = {
        kind: {
            "planted": t.planted,
            "found": t.found,
            "neighbouring": t.near,
            "start off, intervals (median)": _middle(t.late),
            "magnitude off (median)": _middle(t.off),
        }
        for kind, t in sorted(tallies.items())
    }
    few = max(1.0, MOST_FALSE * days["clean"] / 30.0 + 2.0 * np.sqrt(MOST_FALSE * days["clean"] / 30.0))
    return {
        "records": n,
        "logger-days, clean": round(days["clean"], 1),
        "false calls on clean records per 30 logger-days": round(rate, 3),
        "false calls on planted records per 30 logger-days": round(
            30.0 * len(other) / max(days["planted"], 1.0), 3
        ),
        "found of all planted": round(found / max(planted, 1), 3),
        "by kind": table,
        "missed": [row for t in tallies.values() for row in t.missed][:60],
        "false calls": (clean + other)[:60],
        "held": bool(len(clean) <= few and found >= LEAST_FOUND * planted - 0.8 * np.sqrt(planted)),
    }


def _middle(values: list[float]) -> float | str:
    """Return the median, or a dash where there is nothing to take it of."""
    return round(float(np.median(values)), 3) if values else "–"
