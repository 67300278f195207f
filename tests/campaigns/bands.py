"""Over random stations with hidden true values the plan's bands hold about 95 % of what the gauges show."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from steadyhead.records.station import Station
from steadyhead.visits.numbers import work_out
from tests.visits.random_stations import CHAINS, random_chain, random_station
from tests.visits.truth import Truth

FULL = 200
HIDDEN = 5  # true stations behind each stated one
LOWEST, HIGHEST, LEAST_BY_KEY = 0.93, 0.97, 0.90
FLAT = 0.10
MANY = 100
SCATTER = 4.0


def chain(rng: np.random.Generator, number: int) -> dict[str, Any]:
    """Return the data of a random chain, one kind after the other."""
    return random_chain(rng, CHAINS[number % len(CHAINS)])


def one_of_four(rng: np.random.Generator, number: int) -> dict[str, Any]:
    """Return the data of a random station of the four plain layouts."""
    return random_station(rng)


def run(
    seed: int, n: int, make: Callable[[np.random.Generator, int], dict[str, Any]] = one_of_four
) -> dict[str, Any]:
    """Return the share of true readings inside the bands, pooled and by key, and the bands' widths."""
    inside: dict[str, list[bool]] = defaultdict(list)
    widths: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for number in range(n):
        data = make(np.random.default_rng([seed, number, 1]), number)
        plan = work_out(Station.model_validate(data), "first")
        for hidden in range(HIDDEN):
            shown = Truth(data, plan, np.random.default_rng([seed, number, 2, hidden])).go()
            for key in shown.keys() & plan.bands.keys():
                band = plan.bands[key]
                inside[group(key)].append(band.low <= shown[key] <= band.high)
        for key, band in plan.bands.items():
            if key.split(".")[-1] in ("T0", "T1", "T2", "T2a", "T2b", "T3") and abs(band.nominal) > 1.0:
                widths[group(key)].append((band.high - band.low, 2.0 * FLAT * band.nominal))
    return _result(inside, widths, n)


def group(key: str) -> str:
    """Return the key without the name of the valve or the number of the flow point."""
    parts = key.split(".")
    if parts[0] == "turns":
        return "turns"
    return f"flow.{parts[2]}" if parts[0] == "flow" else key


def _result(
    inside: Mapping[str, list[bool]], widths: Mapping[str, list[tuple[float, float]]], n: int
) -> dict[str, Any]:
    every = [one for group in inside.values() for one in group]
    share = float(np.mean(every))
    by_key = {key: float(np.mean(found)) for key, found in sorted(inside.items())}
    slack = SCATTER * (0.05 * 0.95 / n) ** 0.5 * 1.5 if n < MANY else 0.0
    bad = [k for k, found in inside.items() if by_key[k] < LEAST_BY_KEY - _slack(len(found), n)]
    own = np.array([width for group in widths.values() for width, _ in group])
    flat = np.array([width for group in widths.values() for _, width in group])
    outlet = [pair for key, group in widths.items() if key.endswith("T3") for pair in group]
    return {
        "held": bool(LOWEST - slack <= share <= HIGHEST + slack and not bad),
        "readings": len(every),
        "inside": share,
        "lowest of any key": min(by_key.values()),
        "keys below 90 %": ", ".join(sorted(k for k, v in by_key.items() if v < LEAST_BY_KEY)) or "none",
        "mean width of the bands, bar": float(own.mean() / 1e5),
        "mean width of a flat ±10 % band, bar": float(flat.mean() / 1e5),
        "mean width at T3, bar": float(np.mean([pair[0] for pair in outlet]) / 1e5),
        "mean width of a flat ±10 % band at T3, bar": float(np.mean([pair[1] for pair in outlet]) / 1e5),
        "inside by key": by_key,
        "mean width by key, bar": {
            key: float(np.mean([pair[0] for pair in group]) / 1e5) for key, group in sorted(widths.items())
        },
    }


def _slack(count: int, n: int) -> float:
    """Return how far a key may fall by chance alone where only a share of the campaign runs."""
    return SCATTER * (0.05 * 0.95 / count) ** 0.5 if n < MANY else 0.0
