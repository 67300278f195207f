"""A strainer is told when it blinds and not when its supply changes; its day lies in the interval said.

A case is a record with the inlet's only gauge behind the strainer, from a quarter of a year to a year long:
of fourteen nine have a supply that changes without a blinding, four the same with one, in one others draw
from the line. Beside them days whose coefficient is made, of several lengths: the interval of the day it
meets its limit against the true one, and days that are clean.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from typing import Any

import numpy as np

from steadyhead.services.logs.limits import _strainer
from steadyhead.services.logs.measuring import MeasureView, _views
from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import Event, Happening, set_aside, tell
from steadyhead.watch.measures import Days, days_of, strainer_trend
from steadyhead.watch.measures.day import Day
from steadyhead.watch.measures.strainer import StrainerTrend
from tests.logger.handing import channels, context
from tests.logger.mains import SUPPLIES, blinds, clean, moved, shared
from tests.logger.measuring import Seen, measured
from tests.logger.truth import DAY, MONDAY, Place, place, water

FULL = 140
RATIO = 10 / 7
"""Made records of days of each length beside each case: 200 beside 140."""
LENGTHS_OF_RECORDS = ((300.0, 90.0), (900.0, 90.0), (900.0, 180.0), (900.0, 365.0))
"""Interval [s] and length [days] of records."""
LENGTHS = (20, 30, 45, 60, 90, 120)
"""Lengths of made records. [days]"""
CLEAN, SIGMA = 1e9, 0.04
"""Coefficient of made days [Pa s²/m⁶], and the scatter of one day over it."""
LEAST_HELD = 0.85
"""Share of the named days whose interval holds the true one, at least; 0.9 are meant."""
MOST_FALSE = 0.02
"""Share of clean records told as blinding, or with a day, at most."""
LEAST_TOLD = 0.85
"""Share of blindings told."""
PARTS = ("supply",) * 9 + ("blinding",) * 4 + ("others",)


@dataclass(frozen=True, slots=True)
class Said:
    """What came of one record: event, measure, whether a limit is crossed."""

    number: int
    kind: str
    true: float
    """Resistance at the end over that at first."""
    clean: float
    told: Happening | None
    trend: StrainerTrend
    crossed: bool


def case(seed: int, number: int) -> tuple[Seen, str, float, float]:
    """Return a record, its kind, the resistance at its end over that at first, and that. [Pa s²/m⁶]"""
    rng = np.random.default_rng([seed, number, 6])
    part = PARTS[number * 5 % len(PARTS)]
    step, days = LENGTHS_OF_RECORDS[int(rng.integers(0, len(LENGTHS_OF_RECORDS)))]
    start = MONDAY + float(rng.integers(0, 400)) * DAY
    life = water(rng, place(rng), start, days, step)
    if part == "others":
        shared(rng, life)
        return measured(rng, life), "others draw", 1.0, clean(life)
    if part == "supply" and number % 4 == 0:
        times = float(rng.choice([0.45, 0.6, 1.6, 2.0]))
        moved(rng, life, times)
        return measured(rng, life), "main opened or shut", times, clean(life)
    name = str(rng.choice([*SUPPLIES]))
    SUPPLIES[name](rng, life)
    true = blinds(rng, life) if part == "blinding" else 1.0
    kind = f"{name}, blinding" if part == "blinding" else name
    return measured(rng, life), kind, true, clean(life)


def said(seed: int, number: int) -> Said:
    """Return what is said of one record."""
    seen, kind, true, at_first = case(seed, number)
    frames, known = channels(seen), context(seen)
    judged = judge(frames, known)
    told = tell(frames, known, judged)
    trend = strainer_trend(days_of(frames, known, judged, set_aside(told)), own=True)
    one = next((h for h in told.happenings if h.code is Event.STRAINER), None)
    return Said(number, kind, true, at_first, one, trend, _crossed(trend))


def _crossed(trend: StrainerTrend) -> bool:
    view = next((one for one in _views(trend) if one.code == "strainer coefficient"), None)
    if not isinstance(view, MeasureView) or view.confidence not in ("good", "fair"):  # no other is held
        return False
    result = _strainer(view, None)  # type: ignore[arg-type]
    return bool(result is not None and result[1])


def run(seed: int, n: int) -> dict[str, Any]:
    """Tell `n` records and judge made days; held when clean ones are left alone and blindings are told."""
    every = [said(seed, number) for number in range(n)]
    blind = [one for one in every if one.kind.endswith("blinding")]
    others = [one for one in every if one.kind == "others draw"]
    quiet = [one for one in every if one not in blind and one not in others]
    days = of_days(seed, max(round(RATIO * n), 1))
    found = [one for one in blind if one.told is not None]
    return {
        "records": n,
        "without blinding": {
            "records": len(quiet),
            "told as blinding": sum(one.told is not None for one in quiet),
            "limit crossed": sum(one.crossed for one in quiet),
            "not measured": sum(one.trend.now.value is None for one in quiet),
            "resistance off (median)": _middle([_off(one) for one in quiet]),
        },
        "with a blinding": {
            "records": len(blind),
            "told": len(found),
            "told share": round(len(found) / max(len(blind), 1), 3),
            "size off (median)": _middle([_size_off(one) for one in found]),
            "size off (nine of ten)": _middle([_size_off(one) for one in found], 0.9),
            "resistance off (median)": _middle([_off(one) for one in blind]),
            "not measured": sum(one.trend.now.value is None for one in blind),
        },
        "others draw": {
            "records": len(others),
            "told so or not measured": sum(not _passed(one) for one in others),
            "passed for resistance": sum(_passed(one) for one in others),
            "told as blinding": sum(one.told is not None for one in others),
        },
        **days,
        "amiss": [f"{one.number}: {one.kind}" for one in quiet if one.told is not None or one.crossed][:60],
        "not told": [f"{one.number}: {one.kind}" for one in blind if one.told is None][:60],
        "held": _held(quiet, blind, days),
    }


def _held(quiet: list[Said], blind: list[Said], days: dict[str, Any]) -> bool:
    false = sum(one.told is not None or one.crossed for one in quiet)
    told = sum(one.told is not None for one in blind)
    few = 1.0 + MOST_FALSE * len(quiet) + 2.0 * float(np.sqrt(MOST_FALSE * len(quiet)))
    named, inside = days["days named"], days["days held"]
    dated, flat = days["clean with a day"], days["clean records of days"]
    return bool(
        false <= few
        and told >= LEAST_TOLD * len(blind) - 0.8 * np.sqrt(max(len(blind), 1))
        and inside >= LEAST_HELD * named - np.sqrt(max(named, 1))
        and dated <= 1.0 + MOST_FALSE * flat + 2.0 * np.sqrt(MOST_FALSE * flat)
    )


def _off(one: Said) -> float | None:
    value = one.trend.now.value
    return None if value is None else abs(value / (one.clean * one.true) - 1.0)


def _size_off(one: Said) -> float | None:
    size = one.told.magnitude if one.told is not None else None
    return None if size is None else abs(size / one.true - 1.0)


def _passed(one: Said) -> bool:
    """Return whether the draw of others passes for resistance of the strainer or line."""
    return one.told is not None or one.trend.now.value is not None


def _middle(values: list[float | None], share: float = 0.5) -> float | str:
    known = [value for value in values if value is not None]
    return round(float(np.quantile(known, share)), 3) if known else "–"


@cache
def _day() -> Day:
    quiet = Place(4.0e5, 0.15e5, 0.04e5, 0.02, 8.0e5, 0.4e5, 0.3e5, 0.012, 0.3, 120.0, 0.05)
    rng = np.random.default_rng(41)
    seen = measured(rng, water(rng, quiet, MONDAY, 1.0, 300.0))
    frames, known = channels(seen), context(seen)
    return days_of(frames, known, judge(frames, known)).days[0]


def made(rng: np.random.Generator, shares: np.ndarray) -> Days:
    """Return days whose coefficient is a share of the clean one, with the scatter of gauges."""
    day = _day()
    return Days(
        tuple(
            replace(
                day, number=day.number + at, start=day.start + at * DAY, end=day.end + at * DAY,
                resistance=(CLEAN * float(one), SIGMA * CLEAN), alone=True,
            )
            for at, one in enumerate(shares + SIGMA * rng.standard_normal(shares.size))
        )
    )  # fmt: skip


def of_days(seed: int, n: int) -> dict[str, Any]:
    """Return how often the interval of the day holds the true one, `n` records of each length."""
    named: dict[int, int] = defaultdict(int)
    held: dict[int, int] = defaultdict(int)
    dated: dict[int, int] = defaultdict(int)
    for length in LENGTHS:
        for number in range(n):
            rng = np.random.default_rng([seed, length, number, 7])
            growth = float(rng.uniform(0.4, 0.9)) / length  # meets twice the clean one after the record
            shares = 1.0 + growth * (np.arange(length) + 0.5)
            got = strainer_trend(made(rng, shares), 2.0 * CLEAN)
            if got.earliest is not None:
                named[length] += 1
                true = _day().start / DAY + 1.0 / growth
                held[length] += _number(got.earliest) <= true <= _number(got.latest)
            flat = strainer_trend(made(rng, np.ones(length)), 1.5 * CLEAN)
            dated[length] += flat.meets is not None
    shares_held = [held[length] / named[length] for length in LENGTHS if named[length]]
    return {
        "days": {
            str(length): {
                "records": n, "named": named[length], "interval holds": held[length],
                "clean with a day": dated[length],
            }
            for length in LENGTHS
        },
        "days named": sum(named.values()),
        "days held": sum(held.values()),
        "share held, least of a length": round(min(shares_held, default=0.0), 3),
        "share held, most of a length": round(max(shares_held, default=0.0), 3),
        "clean records of days": n * len(LENGTHS),
        "clean with a day": sum(dated.values()),
        "clean with a day, most of a length": max(dated.values(), default=0),
    }  # fmt: skip


def _number(when: datetime | None) -> float:
    return float("inf") if when is None else when.timestamp() / DAY
