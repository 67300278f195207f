"""Random stations of the steady twin, read with gauges that err: do the intervals of the fit hold the truth.

Half of them with a dial at the outlet, half with a logger. Readings err as their classes allow: zeros of
gauges and meter anywhere inside the class, needles that move, dials read to their division, turns by hand.
"""

from __future__ import annotations

import random
from collections import defaultdict
from statistics import fmean
from typing import Any

from steadyhead.records.baseline import Baseline, Fitted, Undetermined
from tests.visits.fitting.sites import Site

FULL = 600
WANTED = 0.95
MOST_BIAS = 0.35  # of a standard deviation, over all intervals
PLACES = ("ST.kv_clean", "SO.kv", "RV.lockup_rise", "RV.flow_force", "RV.per_turn", "SO.closing_needle_kv")


def run(seed: int, n: int) -> dict[str, Any]:
    """Fit `n` runs; held: of every value's intervals as many hold the truth as 95 % and chance allow."""
    rows: dict[str, list[tuple[bool, float, float, bool]]] = defaultdict(list)
    refused: dict[str, int] = defaultdict(int)
    lost = 0
    for number in range(n):
        truth = _truth(random.Random(seed * 10_000 + number // 4))
        found = _run(truth, seed * 10_000 + number)
        lost += len(found.left_out)
        for key in PLACES:
            one = _told(found, key)
            refused[key] += isinstance(one, Undetermined)
            if one is not None and one.value is not None and one.within:
                rows[key].append(_against(one, truth[key]))
    told = {key: _summary(rows[key], refused[key], n) for key in PLACES}
    held = all(_holds(one) for one in told.values() if one["intervals"] >= 10)
    return {"values": told, "readings left out in a run": round(lost / n, 4), "held": held}


def _truth(draw: random.Random) -> dict[str, float]:
    return {
        "ST.kv_clean": draw.uniform(100.0, 250.0),
        "SO.kv": draw.uniform(150.0, 400.0),
        "RV.lockup_rise": draw.uniform(0.15e5, 0.9e5),
        "RV.flow_force": draw.uniform(0.1, 0.22),
        "RV.per_turn": draw.uniform(0.4e5, 1.2e5),
        "RV.play": draw.uniform(0.0, 0.3),
        "SO.closing_needle_kv": draw.uniform(0.3, 1.5),
    }


def _run(truth: dict[str, float], seed: int) -> Baseline:
    site = Site(truth, seed)
    if seed % 2:
        site.outlet_gauge, site.still = "LG3", 800.0
    site.turns((0.5, 0.5, 0.5, 0.25, -0.5, -0.25, 0.5))
    site.strokes()
    site.act("H1.RV", "tighten nut", "RV.nut")
    site.lock_up()
    site.flow_test()
    return site.fit()


def _told(found: Baseline, key: str) -> Fitted | Undetermined | None:
    listed: list[Fitted | Undetermined] = [*found.fitted, *found.undetermined]
    return next((one for one in listed if one.key == key), None)


def _against(one: Fitted | Undetermined, true: float) -> tuple[bool, float, float, bool]:
    """Return whether the interval holds the truth, how far off in standard deviations, its width, if taken.

    A loss is judged as it is fitted, over the square of the flow: Kv ∝ K^−½.
    """
    value, within = one.value or 0.0, one.within or 0.0
    taken = isinstance(one, Fitted)
    if "loss" in getattr(one, "state", {}) or one.name in ("kv", "kv_clean"):
        share = 2.0 * within / value if not taken else 1.0 - (1.0 + within / value) ** -2
        value, true, within = value**-2, true**-2, share * value**-2
    return abs(value - true) <= within, 1.96 * (value - true) / within, within / true, taken


def _summary(rows: list[tuple[bool, float, float, bool]], refused: int, n: int) -> dict[str, Any]:
    taken = [row for row in rows if row[3]]
    return {
        "intervals": len(rows),
        "hold the truth": round(fmean(row[0] for row in rows), 4) if rows else None,
        "mean error in standard deviations": round(fmean(row[1] for row in rows), 3) if rows else None,
        "taken": len(taken),
        "taken and hold the truth": round(fmean(row[0] for row in taken), 4) if taken else None,
        "half-width of those taken": round(fmean(row[2] for row in taken), 4) if taken else None,
        "refused": round(refused / n, 3),
    }


def _holds(one: dict[str, Any]) -> bool:
    count = one["intervals"]
    chance = 3.0 * (WANTED * (1.0 - WANTED) / count) ** 0.5
    bias = MOST_BIAS + 3.0 / count**0.5
    return bool(
        one["hold the truth"] >= WANTED - chance and abs(one["mean error in standard deviations"]) < bias
    )
