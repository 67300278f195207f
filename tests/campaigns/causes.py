"""Random stations with one thing wrong: how often the causes listed at a step hold the true one.

A case counts where a reading lies outside the band of the plan, and the thing that is wrong has moved a
reading by more than its gauge may err. True stations, severities and readings come from
`tests.visits.signatures.faulty`.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from typing import Any

import numpy as np

from steadyhead.procedure.causes import weigh
from steadyhead.records.procedure import Procedure
from steadyhead.records.signature import AS_EXPECTED, Signature
from steadyhead.records.station import Station
from steadyhead.visits.plan import build, figures
from steadyhead.visits.signatures import signatures
from tests.visits.random_stations import random_station
from tests.visits.signatures.faulty import CLASSES, STATES, WRONGS, Faulty, Wrong

FULL = 4000
PER_STATION = 50
HEALTHY_SHARE = 0.2
LEAST_FIRST, LEAST_THREE, LEAST_CLASS = 0.4, 0.7, 0.7
MOST_NONE = 0.08
LEAST_QUIET = 0.93
CHANCE = 3.0
CHOSEN = {"E0.RV": "fits", "E0.RV1": "fits", "E0.RV2": "fits", "E0.SO": "fits"}


WATCH = None
SET = ("trickle_set", "lockup_set", "duty", "flow", "at_trip")
TURNED = (24, 25, 40)
"""Rows that are turned away where the reducer is set with the gauge that is read."""


def run(seed: int, n: int) -> dict[str, Any]:
    """Return how often the true cause is listed first, among three, or nothing fits; by row and by step."""
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    quiet: Counter[str] = Counter()
    number = done = 0
    while done < n:
        rng = np.random.default_rng([seed, number])
        number += 1
        data = random_station(rng)
        station = Station.model_validate(data)
        numbers = figures(station, "first")
        plan = build(station, "first", "", numbers)
        told = signatures(station, "first", numbers=numbers, procedure=plan)
        steps = [name for name, one in sorted(told.items()) if _simulated(one)]
        truth = Faulty(data, numbers, rng)
        truth.settle()
        for _ in range(min(PER_STATION, n - done)):
            done += 1
            step = str(rng.choice(steps))
            if rng.random() < HEALTHY_SHARE:
                _healthy(truth, told[step], plan, quiet)
            else:
                _one(truth, told[step], plan, WRONGS[int(rng.integers(len(WRONGS)))], counts)
    return _result(counts, quiet)


def _simulated(one: Signature) -> bool:
    return any(read.state.removesuffix(".early") in STATES for read in one.reads)


def _healthy(truth: Faulty, signature: Signature, plan: Procedure, quiet: Counter[str]) -> None:
    truth.heal()
    readings, flows = truth.read(signature, CHOSEN)
    if not readings or _outside(signature, plan, readings):
        return
    found = weigh(signature, readings, flows, CHOSEN)
    quiet["inside the band"] += 1
    quiet["as expected first"] += found[0].id == AS_EXPECTED
    quiet["nothing called likely or possible"] += not any(one.word in ("likely", "possible") for one in found)


def _one(
    truth: Faulty, signature: Signature, plan: Procedure, wrong: Wrong, counts: dict[str, Counter[str]]
) -> None:
    truth.heal()
    if wrong.row in TURNED and any(read.state in SET for read in signature.reads):
        return
    if not truth.put(wrong, signature):
        return
    noise = truth.rng.bit_generator.state
    readings, flows = truth.read(signature, CHOSEN)
    truth.heal()
    truth.rng.bit_generator.state = noise
    sound, _ = truth.read(signature, CHOSEN)  # the same hands and gauges, nothing wrong
    shows = any(
        abs(readings[name][0] - sound[name][0]) > readings[name][1] for name in readings if name in sound
    )
    if not shows or not _outside(signature, plan, readings):
        return
    found = weigh(signature, readings, flows, CHOSEN)
    names = [one.id for one in found]
    if WATCH is not None:
        WATCH(truth, signature, wrong, readings, flows, found)
    own = [_is(name, wrong) for name in names]
    listed = any(_is(cause.id, wrong) for cause in signature.causes)
    group = next(name for name, rows in CLASSES.items() if wrong.row in rows)
    rows = {cause.id: cause.row for cause in signature.causes}
    step = signature.step.partition(".")[0]
    for key in ("all", f"row {wrong.id}", f"step {step}"):
        count = counts[key]
        count["cases"] += 1
        count["first"] += bool(own) and own[0]
        count["first three"] += any(own[:3])
        count["listed"] += any(own)
        count["first is of its kind"] += bool(names) and rows.get(names[0], -1) in CLASSES[group]
        count["none fits"] += names == [""]
        count["none fits, though known here"] += names == [""] and listed
        count["as expected first"] += bool(names) and names[0] == AS_EXPECTED
        count["not known at this step"] += not listed


def _is(name: str, wrong: Wrong) -> bool:
    return (
        name == wrong.id
        or (name.startswith(f"{wrong.id}.") and not name.startswith("29.more"))
        or (wrong.id == "29.more" and name.startswith("29.more"))
    )


def _outside(signature: Signature, plan: Procedure, readings: Mapping[str, tuple[float, float]]) -> bool:
    for expect in plan.node(signature.step).expect:
        if expect.input not in readings:
            continue
        if expect.where is not None and CHOSEN.get(expect.where[0], "fits") != expect.where[1]:
            continue
        value = readings[expect.input][0]
        if (expect.low is not None and value < expect.low) or (
            expect.high is not None and value > expect.high
        ):
            return True
    return False


def _result(counts: Mapping[str, Counter[str]], quiet: Counter[str]) -> dict[str, Any]:
    table = {
        key: {"cases": count["cases"]}
        | {name: round(count[name] / count["cases"], 3) for name in sorted(count) if name != "cases"}
        for key, count in sorted(counts.items(), key=_order)
        if count["cases"]
    }
    every, sound = counts["all"], quiet["inside the band"]
    cases = max(every["cases"], 1)
    wide = CHANCE * 0.5 / cases**0.5
    calm = CHANCE * 0.3 / max(sound, 1) ** 0.5
    held = (
        every["first"] / cases >= LEAST_FIRST - wide
        and every["first three"] / cases >= LEAST_THREE - wide
        and every["first is of its kind"] / cases >= LEAST_CLASS - wide
        and every["none fits, though known here"] / cases <= MOST_NONE + wide
        and quiet["as expected first"] / max(sound, 1) >= LEAST_QUIET - calm
    )
    healthy = {"cases": sound} | {
        name: round(quiet[name] / max(sound, 1), 3) for name in sorted(quiet) if name != "inside the band"
    }
    return {"causes": table, "healthy readings inside their bands": healthy, "held": held}


def _order(item: tuple[str, Counter[str]]) -> tuple[int, float, str]:
    kind, _, name = item[0].partition(" ")
    head = name.partition(".")[0]
    return ("all", "row", "step").index(kind), float(head) if head.isdigit() else 0.0, name
