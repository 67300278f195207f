"""Planted events of a station are told from its loggers, and ordinary life is not called an event.

A case is a year of a station: told as it is, and again with each fault planted in it, all else the same.
What is called in the year without a fault is false. Of a fault that grows or stays, the time from its first
call to its full size is the lead. Beside each year some short records of a week to four: every second is
clean, with habits of a zone (tanks, field valves, weekends, a holiday), a hydrant's draw, a supply that
steps, nights without flow, or nothing at all. False calls cost as much as misses, so both
stand in the result.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import Happening, tell
from tests.logger.habits import HABITS, live
from tests.logger.handing import channels, context
from tests.logger.happening import EVENTS, LATER
from tests.logger.measuring import Seen, days_of, measured
from tests.logger.truth import MONDAY, place, water
from tests.logger.years import CALLED, Told, fits, ordinary, seen_of, told_of, tried

FULL = 50
RECORDS = 13
"""Short records beside each year."""
MOST_IN_A_YEAR = 1.0
"""False calls in a year without a fault, in the mean of the years."""
LEAST_OF_YEARS = 0.75
"""Share of the faults planted in years that is found."""
MOST_FALSE = 0.15
"""False calls on clean records. [per 30 logger-days]"""
LEAST_FOUND = 0.85
"""Share of all planted events."""
PLANTED = {kind: code for kind, code in CALLED.items() if kind not in LATER}
"""Events planted in short records; what came later is planted in years only."""
OF_TRUTH = {
    "strainer blinding": "strainer",
    "shut-off partly shut": "shut off left partly shut",
    "shut-off resistance": "shut off sinks",
}
CLEAN = (*HABITS, "short draw", "supply change", "still nights", "sound shut off", "", "", "", "")


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


def run(seed: int, n: int, kinds: Sequence[str] = tuple(CALLED)) -> dict[str, Any]:
    """Tell `n` years and some short records; held when false calls are few and most faults found."""
    short, years = of_records(seed, RECORDS * n), of_years(seed, n, kinds)
    return {**years, "short records": short, "held": short.pop("held") and years.pop("held")}


def of_years(seed: int, n: int, kinds: Sequence[str]) -> dict[str, Any]:
    """Tell `n` years without a fault and with each; false calls and lead stand side by side."""
    calls: list[tuple[int, Happening]] = []
    told: dict[str, list[Told]] = defaultdict(list)
    for number in range(n):
        year = ordinary(seed, number)
        calm = told_of(seen_of(seed, number, year))
        calls += [(number, h) for h in calm]
        for kind in kinds:
            told[kind].append(tried(seed, number, year, kind, calm))
    by_year = [sum(1 for k, _ in calls if k == number) for number in range(n)]
    planted, found = sum(len(rows) for rows in told.values()), sum(t.found for r in told.values() for t in r)
    least = LEAST_OF_YEARS * planted - 0.8 * float(np.sqrt(planted))
    few = MOST_IN_A_YEAR * n + 2.0 * float(np.sqrt(MOST_IN_A_YEAR * n))
    return {
        "years": n,
        "false calls in a year without a fault": round(len(calls) / n, 3),
        "false calls in the worst year": max(by_year, default=0),
        "years with more than one false call": sum(k > 1 for k in by_year),
        "false calls beside a fault in its year": round(
            sum(len(t.extra) for r in told.values() for t in r) / max(planted, 1), 3
        ),
        "found of all planted in years": round(found / max(planted, 1), 3),
        "by fault": {kind: _of_kind(told[kind], kind, calls, n) for kind in kinds},
        "not found in years": [
            f"{number} {kind}" for kind in kinds for number, t in enumerate(told[kind]) if not t.found
        ][:60],
        "false calls of years": [f"{number}: {h.code}" for number, h in calls][:60],
        "false calls beside faults": [words for r in told.values() for t in r for words in t.extra][:60],
        "held": bool(len(calls) <= (few if n < FULL else MOST_IN_A_YEAR * n) and found >= least),
    }


def _of_kind(rows: list[Told], kind: str, calls: list[tuple[int, Happening]], n: int) -> dict[str, Any]:
    false = sum(1 for _, h in calls if h.code is CALLED[kind])
    return {
        "years": len(rows),
        "found": sum(t.found for t in rows),
        "found share": round(sum(t.found for t in rows) / max(len(rows), 1), 3),
        "false calls a year": round(false / max(n, 1), 3),
        "lead, days (median)": _middle([t.lead for t in rows if t.lead is not None]),
        "days from onset to call (median)": _middle([t.delay for t in rows if t.delay is not None]),
        "magnitude off (median)": _middle([abs(t.ratio - 1.0) for t in rows if t.ratio is not None]),
    }


def of_records(seed: int, n: int) -> dict[str, Any]:
    """Tell `n` short records; held when clean ones stay nearly free of calls and most events are found."""
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
        right = [k for k, h in enumerate(said) if fits(true, code, h, seen.step)]
        used.update(right)
        same = [said[k] for k in right if said[k].code is code]
        if not same:
            tally.missed.append(f"{number}: {true.kind}, every {seen.step:g} s")
            continue
        tally.found += 1
        if true.magnitude and same[0].magnitude is not None:
            tally.off.append(abs(same[0].magnitude / true.magnitude - 1.0))
    return [h for k, h in enumerate(said) if k not in used]


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


def _middle(values: list[float]) -> float | str:
    """Return the median, or a dash where there is nothing to take it of."""
    return round(float(np.median(values)), 3) if values else "–"
