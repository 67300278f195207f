"""Hold an answer for a tree against the written laws, part by part: no solver, no second answer.

Running water: what leaves a part is what enters it, and the inlet pressure is the one its law asks for.
Standing water: levels where nothing holds apart; valves that would let water pass do not hold it apart.
Inside: Pa gauge, m³/s, m.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from math import isnan
from typing import Any

from steadyhead.hydraulics.kernel import layout
from steadyhead.hydraulics.kernel.assembly import Solution
from tests.independent.comparing_trees import failures, parts_of, solved
from tests.independent.random_trees import knotted_tree, places_of, random_tree
from tests.independent.slow_tree import SlowTree

Part = Mapping[str, Any]
LOST = 1e-9  # flow that may be lost at a joint, and as a share [m³/s, 1]
SHARE = 1e-7
PRESSURE = 2.0  # Pa
SAID_SO = 1e-3  # share of knotted trees that may end as not converged, and say so; of others none may
JOINT = 200.0  # the same where many shut valves leak against one another at a joint: 0.002 bar
PASSED_OVER = 1e-9  # of a share of flow, where many pressures belong to nearly one flow
TOLD = ("solved", "trapped pressure unknown", "water column parts")


def _placed(
    line: Sequence[Part], places: Mapping[str, int], joint: int | None
) -> Iterator[tuple[Part, int, int]]:
    """Yield every part with its row and the node a reducer senses."""
    for part in line:
        row = places[part["name"]]
        remote = joint is not None and part.get("senses") == "joint"
        yield part, row, joint if remote and joint is not None else row
        for branch in part.get("branches", ()):
            yield from _placed(branch, places, row if joint is None else joint)


def broken_laws(case: dict[str, Any], ours: Solution, apart: float = PRESSURE) -> list[str]:
    """Return which laws an answer breaks; inlet pressures of running water may lie `apart` [Pa]."""
    if layout.ENDINGS[ours.ending] not in TOLD[:2]:
        return []
    tree, off = SlowTree(case), []
    places = places_of(case["line"])
    for part, row, tap in _placed(case["line"], places, None):
        if part["kind"] == "group":
            continue
        inlet, outlet, sensed = (float(ours.nodes[node]) for node in (row + 1, row, tap))
        flow = float(ours.flows[row])
        if isnan(flow):
            continue  # what runs depends on trapped water that nobody knows, and the answer says so
        off += _mass(tree, part, flow, _leaving(tree, case, ours, row), outlet)
        if isnan(inlet) or isnan(outlet) or isnan(sensed) or part["kind"] in ("drain", "relief"):
            continue
        law = _running(tree, part, flow, outlet, inlet, sensed, apart) if flow else None
        law = law if flow else _standing(tree, part, outlet, inlet, sensed)
        if law is not None:
            off.append(f"{part['name']}: q {flow:.6g}, p2 {outlet:.8g}, p1 {inlet:.8g}, {law}")
    return off


def _leaving(tree: SlowTree, case: dict[str, Any], ours: Solution, row: int) -> float:
    if row > 0:
        return float(ours.flows[row - 1])
    end = float(ours.nodes[0])
    return 0.0 if isnan(end) or not ours.is_flowing or not ours.flows[0] else tree.drawn(end)


def _mass(tree: SlowTree, part: Part, flow: float, leaving: float, pressure: float) -> list[str]:
    drawn = 0.0
    if part["kind"] in ("drain", "relief") and not isnan(pressure):
        drawn = tree.shunt(part, pressure)
    if abs(flow - leaving - drawn) <= LOST + SHARE * abs(flow):
        return []
    return [f"{part['name']}: {flow:.6g} enters, {leaving:.6g} leaves, {drawn:.6g} is drawn"]


def _running(
    tree: SlowTree, part: Part, flow: float, outlet: float, inlet: float, sensed: float, apart: float
) -> str | None:
    if _is_shut(part):
        return "water runs through a tight valve"
    least = tree.inlet(part, flow - abs(flow) * SHARE - PASSED_OVER, outlet, sensed)
    most = tree.inlet(part, flow + abs(flow) * SHARE + PASSED_OVER, outlet, sensed)
    slack = apart + 1e-7 * abs(inlet)
    if least - slack <= inlet <= most + slack:
        return None
    if part["kind"] == "reducer" and flow < 0.0 and _is_popped(tree, part, -flow, outlet - inlet, sensed):
        return None
    return f"expected p1 {least:.8g} to {most:.8g}"


def _is_popped(tree: SlowTree, part: Part, flow: float, difference: float, sensed: float) -> bool:
    """Return whether a seat is just pushed off backwards: there one difference passes many flows."""
    tree.stem(part, -flow, 0.0, sensed)
    share, xi = tree.found.share[part["name"]], part.get("debris", 0.0)
    off = (part["s0"] + part["s1"] * xi) * 1e5 / max(share - part["r0"] + part["r1"] * xi, 1e-9)
    wide = tree.k_seat(part, 1.0) + tree.water.si(part["feed"])
    return (flow / wide) ** 2 <= difference + PRESSURE and difference <= off + PRESSURE


def _is_shut(part: Part) -> bool:
    return bool(part.get("shut")) or (part["kind"] == "valve" and part["lift"] <= 0.0)


def _standing(tree: SlowTree, part: Part, outlet: float, inlet: float, sensed: float) -> str | None:
    if _is_shut(part):
        return None
    if part["kind"] in ("loss", "main", "valve"):
        apart = inlet - tree.inlet(part, 0.0, outlet, sensed)
        return None if abs(apart) <= PRESSURE else f"stands {apart:.6g} apart"
    over = inlet - outlet
    if outlet < 0.0 and any(each["kind"] == "drain" for each in parts_of(tree.line)):
        return None  # air would come in through the open drain; air is in neither program
    if part["kind"] == "check":
        return None if over <= PRESSURE else "would pass downstream"
    passes = any(part.get(fault, 0.0) > 0.0 for fault in ("tear", "leak", "debris"))
    if passes or sensed < part["closing"] * 1e5 - PRESSURE:
        return None if abs(over) <= PRESSURE else "stands open, pressures differ"
    spring = part["s0"] * 1e5 / (1.0 - part["r0"]) if part["kind"] == "reducer" else -over
    return None if -over <= spring + PRESSURE else "would be pushed off backwards"


def hold(seed: int, n: int, *, are_knotted: bool = False) -> dict[str, Any]:
    """Solve `n` trees; `held` when every answer keeps the laws or says which trapped water it cannot know.

    Of knotted ones `SAID_SO` may say that they have no answer.
    """
    make, apart = (knotted_tree, JOINT) if are_knotted else (random_tree, PRESSURE)
    counts: Counter[str] = Counter()
    failed: list[str] = []
    for number in range(n):
        trait, case = make(random.Random(f"{seed} law {number}"), number)
        ours = solved(case)
        counts[layout.ENDINGS[ours.ending]] += 1
        counts["some of it below atmosphere"] += any(pressure < 0.0 for pressure in ours.nodes)
        if are_knotted and layout.ENDINGS[ours.ending] == "not converged":
            continue
        off = failures(case, ours, apart if are_knotted else 0.0) + broken_laws(case, ours, apart)
        if off:
            failed.append(f"{number} ({trait}): {'; '.join(off[:4])}")
    counts["not converged"] += 0  # told even where none is
    held = not failed and counts["not converged"] <= SAID_SO * max(n, 1000)
    return {"trees": n, "broken": len(failed), "examples": failed[:5], "held": held, **counts}
