"""Random stations set by advice, by the plate, in quarter turns: closures, limits, errors, turns, minutes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import sqrt
from statistics import median
from typing import Any

from scipy.stats import binom

from devtools import risk_curve
from tests.independent.pilot_bench import WRONG_SHARE, draw
from tests.independent.turning import STRATEGIES, Job, work

FULL = 1000
BY_PUMP = 8  # one job in so many is set with a pump at the sensing line
MOST_CLOSURES, MOST_TURNS = 0.05, 1.5
CURVE = (0.02, 0.03, 0.045, 0.07, 0.1, 0.2, 0.4)  # chances allowed in one job
CURVE_PART, WORSE_PART = 5, 5  # these take one station in so many
WORSE = {"one spring in four wrong": (0.25, 0.4), "right springs within 60 %": (WRONG_SHARE, 0.6)}
FEW, RARE = 200, 0.001
"""Below so many jobs chance alone passes 5 %: so many closures must then be no rarer than this at 5 %."""

written = risk_curve.write


def run(seed: int, n: int) -> dict[str, Any]:
    """Set `n` stations by each strategy; held: no limit passed, few closures, not many more turns."""
    seeds = [seed * 10_000 + index for index in range(n)]
    jobs = {name: [_job(one, name) for one in seeds] for name in STRATEGIES}
    told = {name: _told(found) for name, found in jobs.items()}
    turns = told["advised"]["turns median"] / told["by the plate"]["turns median"]
    some = seeds[:: max(1, CURVE_PART)]
    worse = {
        name: _told([work(draw(one, wrong_share=share, off=off), "advised") for one in seeds[::WORSE_PART]])
        for name, (share, off) in WORSE.items()
    }
    advised = told["advised"]
    if n >= FEW:
        is_seldom = advised["closures per job"] <= MOST_CLOSURES
    else:
        closed = round(advised["jobs with a closure"] * n)
        is_seldom = float(binom.sf(closed - 1, n, MOST_CLOSURES)) >= RARE
    limits = [advised, *worse.values()]
    held = (
        all(one["jobs above the limit"] == 0 for one in limits)
        and is_seldom
        and (turns <= MOST_TURNS or n < FEW // 2)
        and advised["chance reckoned, most"] <= MOST_CLOSURES
    )
    return {
        "strategies": told,
        "turns, advised over by the plate": round(turns, 3),
        "curve": {f"{allowed:.1%}": _point(allowed, some) for allowed in CURVE} if n >= FEW else {},
        "worse than the table": worse,
        "held": held,
    }


def _job(seed: int, strategy: str, allowed: float | None = None) -> Job:
    return work(draw(seed), strategy, by_pump=seed % BY_PUMP == 0, chance_most=allowed)


def _point(allowed: float, seeds: Sequence[int]) -> dict[str, float]:
    """Return closures that another turn could have avoided, turns and minutes, at a chance allowed."""
    jobs = [_job(seed, "advised", allowed) for seed in seeds]
    told = _told(jobs)
    return {
        "chance allowed": allowed,
        "jobs": told["jobs"],
        "set": told["set"],
        "closures per job": told["closures per job"],
        "of them with a spring that cannot reach the trip": told[
            "of them with a spring that cannot reach the trip"
        ],
        "turns median": told["turns median"],
        "turns mean": told["turns mean"],
        "minutes median": told["minutes median"],
    }


def _told(jobs: Sequence[Job]) -> dict[str, Any]:
    n = len(jobs)
    closed = sum(bool(job.closures) for job in jobs)
    errors = sorted(abs(job.error) for job in jobs if job.error is not None)
    moves = sorted(job.moves for job in jobs)
    return {
        "jobs": n,
        "closures per job": round(sum(len(job.closures) for job in jobs) / n, 4),
        "jobs with a closure": round(closed / n, 4),
        "jobs with a closure, 95 %": [round(edge, 4) for edge in _interval(closed, n)],
        "of them with a spring that cannot reach the trip": round(
            sum(job.unavoidable for job in jobs) / n, 4
        ),
        "jobs above the limit": sum(job.above_limit > 0 for job in jobs),
        "chance reckoned, mean": round(sum(job.spent for job in jobs) / n, 4),
        "chance reckoned, most": round(max(job.spent for job in jobs), 4),
        "chance used up": round(sum(job.outcome.endswith("used up") for job in jobs) / n, 4),
        "set": round(len(errors) / n, 4),
        "error median [bar]": _part(errors, 0.5),
        "error 90 % [bar]": _part(errors, 0.9),
        "turns median": median(moves),
        "turns mean": round(sum(moves) / n, 2),
        "turns 90 %": _part(moves, 0.9),
        "turned median [turn]": round(median(job.turned for job in jobs), 2),
        "minutes median": median(job.minutes for job in jobs),
        "ended": dict(Counter(job.outcome for job in jobs).most_common()),
    }


def _part(ordered: Sequence[float], share: float) -> float | None:
    return round(ordered[min(int(share * len(ordered)), len(ordered) - 1)], 3) if ordered else None


def _interval(hits: int, n: int) -> tuple[float, float]:
    """Return the 95 % interval of a share (Wilson 1927)."""
    z, share = 1.96, hits / n
    middle, width = share + z * z / (2 * n), z * sqrt(share * (1 - share) / n + z * z / (4 * n * n))
    return max((middle - width) / (1 + z * z / n), 0.0), min((middle + width) / (1 + z * z / n), 1.0)
