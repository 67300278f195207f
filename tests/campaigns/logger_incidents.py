"""A planted event has its own row of the table of signatures first when it is told from its loggers.

A case is an event amid ordinary life, told as `logs tell` tells it: from the two weeks before its first sign
and the two days after. Kinds, each at 5 and at 15 min: a trip, a supply loss, an outlet raised for a while.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import Any

import numpy as np

from steadyhead.watch.defects.episode import moment
from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import tell
from steadyhead.watch.incident import AROUND, Incident, incident
from tests.logger.habits import HABITS, live
from tests.logger.handing import channels, context
from tests.logger.happening import EVENTS, LATER
from tests.logger.measuring import Seen, measured
from tests.logger.truth import DAY, MONDAY, place, water
from tests.logger.years import CALLED, fits

FULL = 144
ROWS = {
    "trip": "reducer failed open",
    "supply loss": "supply loss",
    "outlet raised": "reducer failed open",
}
"""Planted events, and the row that must be first."""
STEPS = (300.0, 900.0)
DAYS = 45.0
"""Days of ordinary life in which an event is planted, two weeks after their begin at the least."""
LEAST_TOLD, LEAST_FIRST = 0.8, 0.75
"""Shares of the planted events that are told, and that have their own row first."""


def case(seed: int, number: int) -> tuple[Seen, str]:
    """Return the record about an event, and its kind."""
    rng = np.random.default_rng([seed, number, 5])
    kind, step = [*ROWS][number % len(ROWS)], STEPS[number // len(ROWS) % len(STEPS)]
    start = MONDAY + float(rng.integers(0, 400)) * DAY
    life = water(rng, place(rng), start, DAYS, step)
    if rng.random() < 0.6:
        live(str(rng.choice([*HABITS])), rng, life)
    for _ in range(int(rng.integers(0, 3))):
        EVENTS["short draw"](rng, life)
    while True:
        trial = replace(
            life, inlet=life.inlet.copy(), outlet=life.outlet.copy(), flow=life.flow.copy(),
            travel=life.travel.copy(), closed=life.closed.copy(), happened=[],
        )  # fmt: skip
        ({**EVENTS, **LATER}[kind])(rng, trial)
        true = trial.happened[-1]
        if true.start > start + AROUND[0].total_seconds() and true.end < life.t[-1] - 0.5 * DAY:
            break
    seen = measured(rng, trial)
    low, high = true.start - AROUND[0].total_seconds(), true.start + AROUND[1].total_seconds()
    for trace in seen.traces.values():
        keep = (trace.t >= low) & (trace.t <= high)
        trace.t, trace.v = trace.t[keep], trace.v[keep]
    seen.visits = [one for one in seen.visits if low < (one["when"] or 0.0) < high]
    return seen, kind


def told(seen: Seen) -> Incident | None:
    """Return the event as it is told about the first sign of the planted one."""
    frames, known = channels(seen), context(seen)
    found = judge(frames, known)
    return incident(frames, known, moment(seen.happened[-1].start), tell(frames, known, found), found)


def run(seed: int, n: int) -> dict[str, Any]:
    """Tell `n` events; held when most are told and most of all have their own row first."""
    counts: dict[str, dict[str, int]] = defaultdict(lambda: dict.fromkeys(COUNTED, 0))
    amiss: list[str] = []
    for number in range(n):
        seen, kind = case(seed, number)
        one, true = told(seen), seen.happened[-1]
        row = counts[kind]
        row["planted"] += 1
        if one is None or not fits(true, CALLED[kind], one.event, seen.step):
            amiss.append(f"{number}: {kind}, every {seen.step:g} s: {one.event.code if one else 'nothing'}")
            continue
        row["told"] += 1
        first = one.readings[0] if one.readings else None
        if first is None or first.name != ROWS[kind]:
            amiss.append(
                f"{number}: {kind}, every {seen.step:g} s: {first.name if first else 'no row'} first"
            )
            row["another row likely"] += first is not None and first.sure == "likely"
            continue
        row["own row first"] += 1
        row["own row likely"] += first.sure == "likely"
    every = {name: sum(row[name] for row in counts.values()) for name in COUNTED}
    few = 0.8 * float(np.sqrt(n))
    return {
        "events": n,
        "all": every,
        "by kind": {kind: counts[kind] for kind in ROWS if kind in counts},
        "amiss": amiss[:60],
        "held": bool(
            every["told"] >= LEAST_TOLD * n - few and every["own row first"] >= LEAST_FIRST * n - few
        ),
    }


COUNTED = ("planted", "told", "own row first", "own row likely", "another row likely")
