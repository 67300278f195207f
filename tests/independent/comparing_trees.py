"""Hold the product's trees against the slow program; tolerances of the written physics."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Mapping, Sequence
from math import isnan
from typing import Any

from steadyhead.hydraulics.kernel import assembly, layout
from steadyhead.hydraulics.kernel.assembly import Solution
from tests.independent.random_trees import BAR, TRAITS, conditions_of, places_of, random_tree, rows_of
from tests.independent.slow_steady import G
from tests.independent.slow_tree import NoFullPipe, SlowTree, Standing

HOUR = 3600.0
VACUUM = -1.01325 + 0.01228  # bar gauge
VALVES = ("reducer", "direct", "valve")


def solved(case: dict[str, Any]) -> Solution:
    """Return the product's answer to a case."""
    line = assembly.pack(rows_of(case["line"]))
    held = None
    if case["before"] is not None:
        held = _at_one_head(case, len(line.kinds) + 1)
    return assembly.solve_line(line, conditions_of(case), held)


def _at_one_head(case: dict[str, Any], count: int) -> list[float]:
    """Return node pressures of water that stood at `before` at the consumer end, by level alone."""
    level, held = 0.0, [case["before"] * BAR] * count
    branches_at = 0.0
    for row, part in enumerate(case["line"]):
        held[row] += level
        if part["kind"] == "main":
            level += case["fluid"]["rho"] * G * part["rise"]
        if part["kind"] == "group":
            branches_at = level
    held[len(case["line"])] += level
    return [p + (branches_at if node > len(case["line"]) else 0.0) for node, p in enumerate(held)]


def parts_of(line: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return all parts of a tree, those of branches behind their group."""
    found = []
    for part in line:
        found.append(dict(part))
        for branch in part.get("branches", ()):
            found += parts_of(branch)
    return found


def disagreements(case: dict[str, Any], ours: Solution) -> list[str] | None:
    """Return where the two programs differ; None where the slow one knows too little to be asked."""
    ending = layout.ENDINGS[ours.ending]
    if ending not in ("solved", "trapped pressure unknown", "water column parts"):
        return [f"ended as {ending}, left over {ours.residual} Pa"]
    if not ours.is_flowing and ending != "water column parts":
        return _standing(case, ours)
    slow = SlowTree(case)
    try:
        reading = slow.run()
    except NoFullPipe:
        return [] if ending == "water column parts" else ["answer where no full line can be"]
    if ending == "water column parts":
        lowest = min([*slow.found.above.values(), reading["p_end"]]) / BAR
        return [] if lowest < VACUUM else [f"no answer; expected {reading}"]
    if is_pushed_off(case, slow):
        return None
    if case["demand"] == 0.0 and any(part.get("senses") == "joint" for part in parts_of(case["line"])):
        return None  # what stands locked up at the joint is not known to a program of running water
    off = [
        *_off("q", float(ours.flows[len(case["line"]) - 1]) * HOUR, reading["q"] * HOUR, 0.05, 0.002),
    ]
    if reading["q_end"] * HOUR > 0.01:  # else the slow program knows nothing of what is trapped there
        off += _off("p_end", float(ours.nodes[0]) / BAR, reading["p_end"] / BAR, 0.002, 0.001)
    places = places_of(case["line"])
    for part in parts_of(case["line"]):
        row, name = places[part["name"]], part["name"]
        flow = float(ours.flows[row]) * HOUR
        off += _off(f"{name} q", flow, slow.found.flow[name] * HOUR, 0.05, 0.002)
        if part["kind"] in VALVES and abs(flow) > 0.01:
            off += _off(f"{name} p1", ours.nodes[row + 1] / BAR, slow.found.above[name] / BAR, 0.002, 0.001)
            off += _off(f"{name} p2", ours.nodes[row] / BAR, slow.found.below[name] / BAR, 0.002, 0.001)
        if name in slow.found.stem and abs(flow) > 0.01:
            off += _off(
                f"{name} stem", ours.outcomes[row][layout.OUT_LIFT], slow.found.stem[name], 0.001, 0.0
            )
    return off


def is_pushed_off(case: dict[str, Any], slow: SlowTree) -> bool:
    """Return whether water runs back through a reducer whose seat, once off, would go on to its stop.

    There the residual of the written physics changes sign more than once, and pressure falls as flow grows.
    """
    for part in parts_of(case["line"]):
        if part["kind"] != "reducer" or slow.found.flow[part["name"]] * HOUR > -0.01:
            continue
        share = slow.found.share[part["name"]]
        if (share - part["r0"]) * part["s1"] <= part["r1"] * part["s0"]:
            return True
    return False


def _standing(case: dict[str, Any], ours: Solution) -> list[str] | None:
    if case["before"] is None or any(part["kind"] == "drain" for part in parts_of(case["line"])):
        return None  # the slow program knows neither what stood before nor what has run empty
    still = Standing(SlowTree(case), case["before"] * BAR)
    heads = still.settle()
    places, off = places_of(case["line"]), []
    for part in parts_of(case["line"]):
        name = part["name"]
        low, high = still.place[name]
        if part["kind"] in ("reducer", "direct", "valve", "loss") and part["kind"] != "main":
            row, lift = places[name], still.lift_of[name] / BAR
            for word, node, pool in (("p2", row, low), ("p1", row + 1, high)):
                got = float(ours.nodes[node]) / BAR
                if isnan(got):
                    off.append(f"{name} {word} not known")
                    continue
                off += _off(f"{name} {word}", got, heads[still._root(pool)] / BAR - lift, 0.002, 0.001)
    return off


def _off(name: str, got: float, expected: float, least: float, share: float) -> list[str]:
    if abs(got - expected) <= max(least, share * abs(expected)):
        return []
    return [f"{name}: {got:.6g}, expected {expected:.6g}"]


def failures(case: dict[str, Any], ours: Solution, apart: float = 0.0) -> list[str]:
    """Return what an answer says against itself: ending, lost water, more than `apart` [Pa] left over."""
    ending = layout.ENDINGS[ours.ending]
    if ending not in ("solved", "trapped pressure unknown", "water column parts"):
        return [f"ended as {ending}, left over {ours.residual} Pa"]
    if ending == "water column parts":
        return []
    places, off = places_of(case["line"]), []
    for part in parts_of(case["line"]):
        if part["kind"] != "group":
            continue
        row = places[part["name"]]
        entering = float(ours.flows[row])
        bottoms, tops = 0.0, 0.0
        for branch in part["branches"]:
            rows = [places[inner["name"]] for inner in branch]
            bottoms += float(ours.flows[rows[0] - 1])
            tops += float(ours.flows[rows[-1]])
        leaving = _below(case, part["name"], ours, places)
        scale = 1e-9 + 1e-8 * abs(entering)
        if abs(tops - entering) > scale or abs(bottoms - leaving) > scale:
            off.append(f"{part['name']}: {entering} in, {tops} up, {bottoms} down, {leaving} out")
    if ours.is_flowing and abs(ours.residual) > max(apart, 1e-6 * max(case["supply"], 1.0) * BAR):
        off.append(f"left over {ours.residual} Pa")
    return off


def _below(case: dict[str, Any], name: str, ours: Solution, places: dict[str, int]) -> float:
    """Return the flow that leaves a group at its outlet joint."""
    row = places[name]
    if row > 0:
        return float(ours.flows[row - 1])
    pressure = max(float(ours.nodes[0]), 0.0) / BAR
    kv = case["demand"] * pressure ** case["exponent"] if pressure > 0.0 else 0.0
    return float(kv / HOUR / (case["fluid"]["rho"] / 1000.0) ** 0.5)


def compare(seed: int, n: int, every: int = 1) -> dict[str, Any]:
    """Solve `n` trees, compare one in `every` with the slow program; `held` when nothing is amiss."""
    counts: Counter[str] = Counter()
    failed: list[str] = []
    for number in range(n):
        rng = random.Random(f"{seed} tree {number}")
        trait, case = random_tree(rng, number)
        ours = solved(case)
        _count(counts, case, ours)
        off = failures(case, ours)
        turn = number // len(TRAITS)
        if turn % (4 * every if trait == "nested" else every) == 0:  # a group inside a group is slow
            found = disagreements(case, ours)
            counts["compared"] += found is not None
            off += found or []
        if off:
            failed.append(f"{number} ({trait}): {'; '.join(off[:4])}")
    return {"trees": n, "differ": len(failed), "examples": failed[:5], "held": not failed, **counts}


def _count(counts: Counter[str], case: dict[str, Any], ours: Solution) -> None:
    parts = parts_of(case["line"])
    counts[layout.ENDINGS[ours.ending]] += 1
    counts["parallel"] += any(part["kind"] == "group" for part in parts)
    if ours.ending != layout.SOLVED and ours.ending != layout.UNKNOWN_TRAPPED:
        return
    places = places_of(case["line"])
    rows = [places[part["name"]] for part in parts if part["kind"] in VALVES]
    counts["choked"] += any(
        ours.outcomes[row][layout.OUT_CHOKED] > 0.0 and float(ours.flows[row]) * HOUR > 1e-2 for row in rows
    )
    counts["water stands"] += not ours.is_flowing
    shut = [
        (part["kind"] == "valve" and part["lift"] == 0.0)
        or (part["kind"] == "reducer" and abs(float(ours.flows[places[part["name"]]])) * HOUR < 1e-2)
        for part in parts
        if part["kind"] in ("valve", "reducer")
    ]
    counts["both valves shut"] += sum(shut) >= 2
