"""Hold the product, through the adapter, against the slow reference program.

Tolerances of the written physics: pressures 0.1 % or 0.002 bar, flow 0.2 % or 0.05 m³/h, lift 0.001.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Mapping
from typing import Any

from steadyhead.errors import StationError
from tests.independent import slow_steady, twin_adapter
from tests.independent.case_format import merged
from tests.independent.random_cases import base_station, random_case

PRESSURES = ("p_in", "p_mid", "p_out", "p_end", "p_chamber")
VACUUM = -1.01325 + 0.01228  # a column of water does not hold together below; bar gauge
TIE = 2e-3  # of a threshold of a yes or no


def limit(key: str, value: float) -> float:
    """Return how far two answers may differ."""
    if key in PRESSURES or key in ("margin", "trip", "p2"):
        return max(0.002, 0.001 * abs(value))
    if key == "Q":
        return max(0.05, 0.002 * abs(value))
    if key in ("lift", "y"):
        return 0.001
    return max(0.002, 0.001 * abs(value))  # ratios


def disagreements(args: Mapping[str, Any], worst: dict[str, float] | None = None) -> list[str]:
    """Return where the two programs differ on a steady state; notes the largest differences in `worst`."""
    try:
        slow = slow_steady.steady_state(args)
    except slow_steady.NoSteadyState:
        slow = None
    try:
        ours = twin_adapter.run("steady_state", args)
    except StationError as error:
        if slow is None or min(slow[key] for key in PRESSURES) < VACUUM:
            return []
        return [f"no answer: {error}; expected {slow}"]
    if slow is None:
        return [f"answer where no line can pass the flow: {ours}"]
    return _differences(slow, ours, worst if worst is not None else {})


def _differences(slow: Mapping[str, Any], ours: Mapping[str, Any], worst: dict[str, float]) -> list[str]:
    runs = slow["Q"] > 0.0
    keys = ["Q", "p_in", "p_mid", "p_out", "p_end", *(("p_chamber", "lift", "y", "xF") if runs else ())]
    found = []
    for key in keys:
        off = abs(slow[key] - ours[key])
        worst[key] = max(worst.get(key, 0.0), off)
        if not off <= limit(key, slow[key]):
            found.append(f"{key}: {ours[key]:.7g}, expected {slow[key]:.7g}")
    if slow["state"] != ours["state"] and not _is_a_tie(slow):
        found.append(f"state: {ours['state']}, expected {slow['state']}")
    if runs:
        found += [
            f"{key}: {ours[key]}" for key in ("choked", "incipient") if _differs_clearly(key, slow, ours)
        ]
    return found


def _is_a_tie(slow: Mapping[str, Any]) -> bool:
    """Return whether the state hangs on a pilot or stem just at its stop."""
    pilot, lift = float(slow["y"]), float(slow["lift"])
    return abs(pilot - 1.0) < 1e-6 or 0.0 < lift < 1e-6 or 1.0 - 1e-6 < lift < 1.0


def _differs_clearly(key: str, slow: Mapping[str, Any], ours: Mapping[str, Any]) -> bool:
    return bool(slow[key] != ours[key] and slow[f"{key}_by"] > TIE)


def sequence_case(rng: random.Random) -> dict[str, Any]:
    """Return a random sequence of screws, drains, demands and resets on a level station."""
    station = base_station(rng)
    del station["demand"], station["prv"]["screw"], station["up"]["z"], station["down"]["z"]
    change = rng.choice([{}] * 6 + [{"leak": 0.3}, {"tear": 0.4}, {"x_min": 0.02}])
    choices = {
        "prv_turns": (0, 2, 4, 6, 8, 9, 11, 12),
        "osv_turns": (5, 7, 8, 9, 10, 12, 20),
        "demand_kv": (0, 0, 0.5, 5, 20),
        "drain_kv": (0, 0, 0, 1, 5),
    }
    steps = []
    for _ in range(rng.randint(4, 10)):
        step: dict[str, Any] = {key: rng.choice(some) for key, some in choices.items() if rng.random() < 0.4}
        if rng.random() < 0.25:
            step["reset"] = True
        steps.append(step)
    return {
        "station": merged(station, {"prv": change}),
        "osv_turns0": rng.choice((8, 10, 20)),
        "p0": rng.choice((0, 0, 3, 5)),
        "steps": steps,
    }


def sequence_disagreements(args: Mapping[str, Any]) -> list[str]:
    """Return where the two programs differ on a sequence."""
    slow, ours = slow_steady.setting_procedure(args), twin_adapter.run("setting_procedure", args)
    return column_differences(slow, ours)


def column_differences(slow: Mapping[str, Any], ours: Mapping[str, Any]) -> list[str]:
    """Return where lists of results differ."""
    found = []
    for key, column in slow.items():
        for number, (expected, got) in enumerate(zip(column, ours[key], strict=True)):
            if isinstance(expected, bool | str) or expected is None or got is None:
                agrees = got == expected
            else:
                agrees = abs(got - expected) <= limit(key, expected)
            if not agrees:
                found.append(f"{key}[{number}]: {got}, expected {expected}")
    return found


def compare(seed: int, n: int) -> dict[str, Any]:
    """Compare `n` random stations, every trait in turn, and `n` // 4 random sequences; return the figures."""
    rng = random.Random(seed)
    worst: dict[str, float] = {}
    per_trait: Counter[str] = Counter()
    examples = []
    for number in range(n):
        trait, station = random_case(rng, number)
        off = disagreements({"station": station}, worst)
        if off:
            per_trait[trait] += 1
            examples.append(f"{number} {trait}: {'; '.join(off)}")
    sequences = n // 4
    for number in range(sequences):
        off = sequence_disagreements(sequence_case(rng))
        if off:
            per_trait["sequence"] += 1
            examples.append(f"sequence {number}: {'; '.join(off)}")
    return {
        "held": not examples,
        "stations": n,
        "sequences": sequences,
        "disagreements": dict(per_trait),
        "largest_difference": {key: float(f"{value:.2g}") for key, value in sorted(worst.items())},
        "examples": examples[:5],
    }
